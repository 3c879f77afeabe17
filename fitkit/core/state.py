"""What fitkit keeps of one user between its runs, outside all workshops."""

from __future__ import annotations

import tempfile
from pathlib import Path

from fitkit.core.errors import ExportError
from fitkit.core.files import write_atomic

__all__ = ["laid_out", "state_folder"]


def state_folder() -> Path:
    """Folder in which fitkit keeps what it must remember of this user."""
    import platformdirs

    return platformdirs.user_state_path("fitkit", appauthor=False)


def laid_out(folder: Path, name: str, text: str) -> Path:
    """Lay a record's own copy of something down as a file, for readers that want a path.

    Parameters
    ----------
    folder : Path
        In the state folder: the same text lies there once, however often it is asked for.
    name : str
    text : str

    Returns
    -------
    Path
        In a temporary folder, where the state folder takes no files.
    """
    try:
        return write_atomic(folder / name, text)
    except ExportError:
        return write_atomic(Path(tempfile.mkdtemp(prefix="fitkit-")) / name, text)
