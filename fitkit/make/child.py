"""A warm child process: it starts with the kernel loaded, does tasks, and its death is a message.

The CAD kernel takes seconds to load, may run for long and may die. So solids are built in child
processes, forked from a server with the kernel loaded already (on systems without such a server,
from a fresh interpreter). Tasks go there by cloudpickle, so that a template class written in a
notebook works; results come back through a pipe, arrays as raw bytes. What is done with one or
several of them is told elsewhere: `worker` has the newest task win, `many` shares out rows.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import sys
import threading
import traceback
import types
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import cloudpickle

from fitkit.core.errors import FitkitError, PartError
from fitkit.core.threads import one_thread_each
from fitkit.parts.own_file import brought_along, known_files

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

__all__ = ["WARM", "Child", "Message", "packed", "plain_error"]

# Modules that each child finds loaded. The server skips one that fails; the task then says why.
WARM = ("fitkit.make.child", "fitkit.make.warm")
# Errors of these modules are the kernel's own: their text helps nobody who makes parts.
_KERNEL = ("OCP", "build123d")
# Starting a child changes what the whole process shares, for a moment.
_start_lock = threading.Lock()

Kind = Literal["value", "error", "progress", "crash"]


class Message(NamedTuple):
    """What came back from a child.

    Attributes
    ----------
    kind : {"value", "error", "progress", "crash"}
        What the task returned, raised or reports; or that the child died.
    value : object
        Of an error a `FitkitError`; of a crash None.
    details : str
        Traceback of an error.
    """

    kind: Kind
    value: Any
    details: str


class Child:
    """One child process that does the tasks it is given, one after the other.

    Parameters
    ----------
    preload : sequence of str
        Modules that each child finds loaded; the first child of a process decides for all.
    method : str, optional
        Start method of `multiprocessing`; by default ``forkserver`` where there is one.
    """

    def __init__(self, *, preload: Sequence[str] = WARM, method: str | None = None) -> None:
        if method is None:
            methods = multiprocessing.get_all_start_methods()
            method = "forkserver" if "forkserver" in methods else "spawn"
        self._context: Any = multiprocessing.get_context(method)
        if method == "forkserver":
            self._context.set_forkserver_preload(list(preload))
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    @property
    def pipe(self) -> Connection:
        """Where messages arrive, for `multiprocessing.connection.wait`; starts the child."""
        self.start()
        assert self._pipe is not None
        return self._pipe

    @property
    def pid(self) -> int | None:
        """Process id, if it runs."""
        process = self._process
        return process.pid if process else None

    def start(self) -> None:
        """Start the process, and with it the loading of the kernel, without waiting."""
        if self._process is not None:
            return
        here, there = self._context.Pipe()
        process = self._context.Process(
            target=_serve, args=(there,), name="fitkit build process", daemon=True
        )
        with _start_lock, _without_main(), _one_thread_each():
            process.start()
        there.close()
        self._process, self._pipe = process, here

    def give(self, payload: bytes) -> None:
        """Give it a task, as `packed` makes it; a child that has died is found out by `take`."""
        with suppress(OSError):
            self.pipe.send_bytes(payload)

    def take(self) -> Message:
        """Wait for its next message; after a crash, the next task starts a new process."""
        with suppress(EOFError, OSError):
            if self._pipe is not None:
                return _receive_parts(self._pipe)
        self.kill()
        return Message("crash", None, "")

    def kill(self) -> None:
        """End the process at once, whatever it does."""
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None


def packed(task: Callable[..., Any], *args: Any, reports: bool = False) -> bytes:
    """Pack a task for a child.

    Parameters
    ----------
    task : callable
        Called with `args`; with a keyword ``report`` as well if `reports`.
    *args
        All that cloudpickle can carry; no solids.
    reports : bool
        Each thing that the task reports then comes back as a message of its own.
    """
    inner = cloudpickle.dumps((task, args, reports))
    # The class of a template file is carried as the name of its module: the file goes first.
    return pickle.dumps((known_files(), inner))


@contextmanager
def _without_main() -> Iterator[None]:
    """Keep the child from running the script that started us: cloudpickle brings what it needs."""
    main = sys.modules["__main__"]
    sys.modules["__main__"] = types.ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Have a process that is started meanwhile do its linear algebra in one thread."""
    added = one_thread_each()
    try:
        yield
    finally:
        for name in added:
            del os.environ[name]


def _serve(pipe: Connection) -> None:
    """Do tasks until the pipe closes (in the child process)."""
    with suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            payload = pipe.recv_bytes()
            _send_parts(pipe, _do(payload, pipe))


def _do(payload: bytes, pipe: Connection) -> tuple[Kind, Any, str]:
    try:
        files, inner = pickle.loads(payload)
        brought_along(files)
        task, args, reports = pickle.loads(inner)
        extra = {"report": lambda said: _send_parts(pipe, ("progress", said, ""))}
        return "value", task(*args, **(extra if reports else {})), ""
    except FitkitError as error:
        return "error", error, traceback.format_exc()
    except Exception as error:
        return "error", plain_error(error), traceback.format_exc()


def plain_error(error: Exception) -> PartError:
    """Say an error that nobody foresaw: the kernel's in our words, a template's in its own."""
    frames = traceback.extract_tb(error.__traceback__)
    from_kernel = type(error).__module__.split(".")[0] in _KERNEL or any(
        f"{os.sep}{name}{os.sep}" in frames[-1].filename for name in _KERNEL
    )
    if from_kernel:
        return PartError(
            "the CAD kernel could not make a solid of these values",
            code="make.kernel-failed",
            remedy="Change the last value, most often a radius, a wall or a gap.",
        )
    last = frames[-1]
    return PartError(
        f"{type(error).__name__}: {error}",
        where=f"{last.name}, line {last.lineno}",
        code="make.template-failed",
        remedy="Mend the template's code; the values of its parameters are not the cause.",
    )


def _send_parts(pipe: Connection, message: tuple[Kind, Any, str]) -> None:
    """Send a message, its arrays as bytes beside it, so that they are not copied into a pickle."""
    buffers: list[pickle.PickleBuffer] = []
    head = cloudpickle.dumps(message, protocol=5, buffer_callback=buffers.append)
    pipe.send((len(buffers), head))
    for buffer in buffers:
        pipe.send_bytes(buffer.raw())


def _receive_parts(pipe: Connection) -> Message:
    count, head = pipe.recv()
    buffers = [pipe.recv_bytes() for _ in range(count)]
    return Message(*pickle.loads(head, buffers=buffers))
