"""One writer at a time: a lock held while a file is looked at and replaced.

The lock is the operating system's own (flock on POSIX, LockFileEx on Windows, through filelock), so
it ends with the process that held it, however that ended. It is taken on a hidden file beside the
target, which all who share the folder see. Left out: network folders that do not pass locks on.
"""

from __future__ import annotations

import os
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import StateError
from fitkit.core.plain_errors import plain_errors

if TYPE_CHECKING:
    from collections.abc import Iterator
    from os import PathLike

__all__ = ["sole_writer"]


@contextmanager
def sole_writer(path: str | PathLike[str], *, patience_s: float = 20.0) -> Iterator[None]:
    """Keep all others who ask for the same out while the block runs.

    Parameters
    ----------
    path : path
        The file or folder that is to be written; its folder must be there. Links are followed, so
        that two names of one file have one lock.
    patience_s : float, s
        How long to wait for another writer.

    Yields
    ------
    None

    Raises
    ------
    StateError
        If another writer does not end in that time.
    ExportError
        If no lock can be made there, as on a full disk.
    """
    from filelock import FileLock, Timeout

    target = Path(os.path.realpath(path))
    lock = FileLock(target.with_name(f".{target.name}.lock"), poll_interval=0.005)
    with plain_errors(target):
        try:
            lock.acquire(timeout=patience_s)
        except Timeout:
            raise StateError(
                f"another program has been writing it for {patience_s:g} s",
                where=str(target),
                code="file.busy",
                remedy="Wait until it ends, then do it again.",
            ) from None
    try:
        yield
    finally:
        if os.name == "posix":
            # Taken away while it is held: whoever waits on it sees that it has no name any more,
            # and begins again. On other systems filelock does so itself.
            with suppress(OSError):
                os.unlink(lock.lock_file)
        lock.release()
