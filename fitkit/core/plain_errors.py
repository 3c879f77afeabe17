"""What the operating system says of a disk, in plain words."""

from __future__ import annotations

import errno
from contextlib import contextmanager
from typing import TYPE_CHECKING

from fitkit.core.errors import ExportError, FitkitError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["plain_errors"]

# Disk full, or the user's share of it (Windows has no quota error).
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}


@contextmanager
def plain_errors(target: Path) -> Iterator[None]:
    """Say an operating system's error in the block in plain words, as an `ExportError`."""
    try:
        yield
    except (FitkitError, FileExistsError):
        raise
    except OSError as error:
        full = error.errno in _FULL
        raise ExportError(
            f"cannot be written: {error.strerror or error}",
            file=target,
            code="file.not-written",
            remedy="Free some space and do it again."
            if full
            else "Check that the folder is there and that you may write in it.",
        ) from error
