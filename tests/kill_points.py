"""Kill a program at each of its file operations, and look at what is left.

Python tells every file operation to audit hooks (PEP 578) before it is done. `killed_at` forks a
child for each point, which kills itself there by SIGKILL, which no program can catch. That takes
minutes where each child builds a solid: `states_at_kills` runs the program once, keeps a copy of
the folder as it is before each operation, and puts the copies back one after the other once the
program has ended. What SIGKILL leaves is that state: what a program holds in memory is gone.
"""

import errno
import os
import shutil
import signal
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fitkit.core.errors import FitkitError

forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")

_OPERATIONS = {"os.rename", "os.link", "os.symlink", "os.mkdir", "os.rmdir", "os.remove"}
_OPERATIONS |= {"os.truncate", "os.chmod", "os.utime", "shutil.copyfile"}
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def _watch(
    folder: Path, act: Callable[[], None], operations: frozenset[str] | set[str] = frozenset()
) -> None:
    """Have something done before each file operation below a folder, in this process."""
    operations = operations or _OPERATIONS
    busy = False

    def hook(event: str, args: tuple[object, ...]) -> None:
        nonlocal busy
        if busy:
            return
        if event == "open":
            if not isinstance(args[2], int) or not args[2] & _WRITES:
                return
        elif event not in operations:
            return
        named = [os.fsdecode(arg) for arg in args if isinstance(arg, (str, bytes, os.PathLike))]
        if any(os.path.abspath(name).startswith(str(folder)) for name in named):
            busy = True
            try:
                act()
            finally:
                busy = False

    sys.addaudithook(hook)


def killed_at(act: Callable[[], object], folder: Path, at: int) -> bool:
    """Do something in a child that dies at its file operation of this number below a folder.

    Tells whether it died; it has fewer operations if not.
    """
    child = os.fork()
    if child == 0:
        seen = 0

        def count() -> None:
            nonlocal seen
            seen += 1
            if seen == at:
                os.kill(os.getpid(), signal.SIGKILL)

        _watch(folder, count)
        _end_with(act)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return True
    assert os.WEXITSTATUS(status) == 0
    return False


# What takes room on a disk; what only names or frees it goes on when the disk is full.
_TAKES_ROOM = frozenset(("os.mkdir", "os.link", "os.symlink", "shutil.copyfile"))


def refused_from(
    act: Callable[[], object], folder: Path, at: int, error: int = errno.ENOSPC
) -> bool:
    """Do something in a child to which the system refuses to write from this operation on.

    Tells whether anything was refused. The child must then end as a command does that failed, with
    status 2, or must have been able to do without.
    """
    child = os.fork()
    if child == 0:
        seen = 0

        def refuse() -> None:
            nonlocal seen
            seen += 1
            if seen >= at:
                raise OSError(error, os.strerror(error))

        _watch(folder, refuse, _TAKES_ROOM)
        try:
            act()
        except FitkitError:
            os._exit(2)
        except SystemExit as end:
            os._exit(int(end.code or 0) or 10 * (seen >= at))
        except BaseException:
            traceback.print_exc()
            os._exit(3)
        os._exit(10 * (seen >= at))
    _, status = os.waitpid(child, 0)
    assert os.WIFEXITED(status)
    code = os.WEXITSTATUS(status)
    assert code in (0, 2, 10), code  # 10: it did without what was refused
    return code != 0


def _end_with(act: Callable[[], object]) -> None:
    """Do something, and end this process."""
    try:
        act()
    except BaseException:
        traceback.print_exc()
        os._exit(3)
    os._exit(0)


def states_at_kills(code: str, folder: Path, store: Path) -> Iterator[int]:
    """Put a folder into each state in which a kill would leave it, and last as it is when done.

    Parameters
    ----------
    code : str
        What writes below the folder; run once, in a program of its own that works there.
    folder, store : Path
        The folder, and one beside it for the copies.

    Yields
    ------
    int
        How many operations had been done; the folder may be changed meanwhile.
    """
    store.mkdir()
    program(
        "from pathlib import Path\nfrom tests.kill_points import keep_states\n"
        f"keep_states(Path({str(folder)!r}), Path({str(store)!r}))\n{code}",
        folder,
    )
    kept = sorted(store.iterdir(), key=lambda path: int(path.name))
    _copy(folder, store / str(len(kept)))
    for at in range(len(kept) + 1):
        for path in folder.iterdir():  # the folder itself stays: somebody may work in it
            shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
        _copy(store / str(at), folder)
        yield at


def program(code: str, folder: Path) -> None:
    """Run code in a program of its own: a process that has used the kernel cannot be forked."""
    root = str(Path(__file__).parents[1])
    paths = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
    command = [sys.executable, "-c", code]
    done = subprocess.run(
        command, cwd=folder, env=os.environ | {"PYTHONPATH": paths}, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


def keep_states(folder: Path, store: Path) -> None:
    """Copy a folder before each file operation below it, from now on, in this process."""
    count = 0

    def keep() -> None:
        nonlocal count
        _copy(folder, store / str(count))
        count += 1

    _watch(folder, keep)


def _copy(source: Path, target: Path) -> None:
    """Copy a tree with its times and hard links, by which what is left is told apart."""
    first: dict[int, Path] = {}
    for at, folders, names in os.walk(source):
        place = target / os.path.relpath(at, source)
        place.mkdir(parents=True, exist_ok=True)
        for name in [*names, *(one for one in folders if os.path.islink(Path(at, one)))]:
            one = Path(at, name)
            known = one.lstat()
            if known.st_nlink > 1 and known.st_ino in first:
                os.link(first[known.st_ino], place / name)
            else:
                shutil.copy2(one, place / name, follow_symlinks=False)
                first[known.st_ino] = place / name
        shutil.copystat(at, place)
