"""Names of files and folders that are under way, and whether their maker still runs.

Such a name is ``.NAME.HOST-PID-HEX.KIND``: the name that it will bear, the machine and process that
made it, and what it is: ``part`` (not finished), ``old`` (renamed aside, to be deleted), ``ready``
(finished, its plan lies elsewhere), ``plan`` (steps to finish or undo).
"""

from __future__ import annotations

import os
import platform
import re
import secrets
import time
import zlib
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["LEAVING", "is_left_behind", "neighbour"]

Kind = Literal["part", "old", "ready", "plan"]
# Names of the first release bear no machine.
LEAVING = re.compile(
    r"\.(?P<name>.+)\.(?:(?P<host>[0-9a-f]{8})-)?(?P<pid>\d+)-(?P<hex>[0-9a-f]{8})"
    r"\.(?P<kind>part|old|ready|plan)",
    re.DOTALL,
)
# What another machine left is taken for dead after this: no write of ours lasts so long.
_OTHERS_LIVE_S = 86_400.0
# A file's time and a process's start are known to about this.
_CLOCK_S = 2.0


def _host() -> str:
    return f"{zlib.crc32(platform.node().encode(errors='replace')):08x}"


def neighbour(target: Path, kind: Kind = "part") -> Path:
    """Name a hidden neighbour of a file or folder that no other process will choose.

    Parameters
    ----------
    target : Path
    kind : str
        What the neighbour is for; its name ends so.

    Returns
    -------
    Path
        In the folder of `target`; nothing is made.
    """
    return target.with_name(f".{target.name}.{_host()}-{os.getpid()}-{secrets.token_hex(4)}.{kind}")


def is_left_behind(path: Path) -> bool:
    """Tell whether whoever made such a file or folder has ended without finishing it.

    Parameters
    ----------
    path : Path
        A name as `neighbour` gives it; others are never left behind.
    """
    match = LEAVING.fullmatch(path.name)
    if match is None:
        return False
    try:
        changed = path.lstat().st_mtime
    except OSError:  # gone since
        return False
    if match["host"] not in (None, _host()):
        return time.time() - changed > _OTHERS_LIVE_S
    pid = int(match["pid"])
    if pid == os.getpid() and match["host"]:
        return False
    import psutil

    try:
        # A number that another process bears by now: that one began after the file was made.
        return bool(psutil.Process(pid).create_time() > changed + _CLOCK_S)
    except psutil.NoSuchProcess:
        return True
    except (psutil.Error, OSError, OverflowError):
        return False
