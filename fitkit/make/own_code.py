"""A hash of fitkit's own code and tables, so that what an older code made can be told.

Left out: the libraries that it uses, and the rooms that only show what was made.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

__all__ = ["code_hash"]

_SHOWING = ("views", "widgets")
_KINDS = (".py", ".csv", ".ttf", ".j2")


@cache
def code_hash(folder: Path = Path(__file__).parents[1]) -> str:
    """Hash the files of a package; once a process, since later changes are not what it runs.

    Parameters
    ----------
    folder : Path
        Of the package: fitkit's own.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits.
    """
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if name.parts[0] not in _SHOWING and path.suffix in _KINDS:
            digest.update(f"{name.as_posix()}\0".encode())
            digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()
