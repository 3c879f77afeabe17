"""Kill a program at each of its file operations, and look at what is left.

Python tells every file operation to audit hooks (PEP 578) before it is done; a child process that
is forked for each point kills itself there by SIGKILL, which no program can catch.
"""

import os
import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path

import pytest

forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")

_OPERATIONS = {"os.rename", "os.link", "os.symlink", "os.mkdir", "os.rmdir", "os.remove"}
_OPERATIONS |= {"os.truncate", "os.chmod", "os.utime", "shutil.copyfile"}
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def killed_at(act: Callable[[], object], folder: Path, at: int) -> bool:
    """Do something in a child that dies at its file operation of this number below a folder.

    Tells whether it died; it has fewer operations if not.
    """
    child = os.fork()
    if child == 0:
        seen = 0

        def hook(event: str, args: tuple[object, ...]) -> None:
            nonlocal seen
            if event == "open":
                if not isinstance(args[2], int) or not args[2] & _WRITES:
                    return
            elif event not in _OPERATIONS:
                return
            named = [os.fsdecode(arg) for arg in args if isinstance(arg, (str, bytes, os.PathLike))]
            if any(os.path.abspath(name).startswith(str(folder)) for name in named):
                seen += 1
                if seen == at:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        try:
            act()
        except BaseException:
            traceback.print_exc()
            os._exit(3)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return True
    assert os.WEXITSTATUS(status) == 0
    return False
