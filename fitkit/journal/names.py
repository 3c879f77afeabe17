"""Names of files inside a journal: never a way out of its folder, fit for any file system."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["inside", "safe_name", "sanitised"]

MAX_LENGTH = 120
# Names that a file cannot bear on Windows, whatever its ending.
_RESERVED = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?$", re.IGNORECASE)
_FOREIGN = re.compile(r'[\x00-\x1f\x7f/\\:*?"<>|]')


def safe_name(name: str) -> str:
    """Pass a plain file name through.

    Raises
    ------
    ValueError
        If it is a path, hidden, reserved or too long: such a name was not made by fitkit.
    """
    if (
        not name
        or name != unicodedata.normalize("NFC", name)
        or len(name) > MAX_LENGTH
        or name.startswith(".")
        or name.endswith((".", " "))
        or _FOREIGN.search(name)
        or _RESERVED.match(name)
    ):
        raise ValueError(f"{name!r} is not a plain file name")
    return name


def sanitised(text: str, *, default: str = "file") -> str:
    """Turn any words into a plain file name.

    Examples
    --------
    >>> sanitised("../Sound board: case?.stl")
    'Sound board case .stl'
    """
    name = _FOREIGN.sub(" ", unicodedata.normalize("NFC", text))
    name = " ".join(name.split())[:MAX_LENGTH].strip(" .")
    return f"{default} {name}".strip() if not name or _RESERVED.match(name) else name


def inside(folder: Path, *parts: str) -> Path:
    """Resolve a name under a folder, links followed.

    Raises
    ------
    JournalError
        If it leads out of the folder.
    """
    path = folder.joinpath(*parts)
    if not path.resolve().is_relative_to(folder.resolve()):
        raise JournalError(
            f"{'/'.join(parts)!r} leads out of the journal's folder",
            where=str(folder),
            code="journal.outside-folder",
        )
    return path
