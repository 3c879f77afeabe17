"""A process of its own for solids: the newest task wins, a crash is survived, nothing waits.

The CAD kernel takes seconds to load, may run for long and may die. So it lives in a child process
that is forked from a server with the kernel loaded already (on systems without such a server, from
a fresh interpreter). Tasks go there by cloudpickle, so that a template class written in a notebook
works; results come back through a pipe, arrays as raw bytes.

While a task runs, a newer one takes the place of whatever else was waiting. The running one is
given `patience_s` to finish, so that a dragged slider still shows shapes on its way, and is then
killed. Left out: more than one process for one `Worker`; make another `Worker` for that.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import sys
import threading
import time
import traceback
import types
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import wait
from typing import TYPE_CHECKING, Any

import cloudpickle

from fitkit.core.errors import FitkitError, PartError
from fitkit.parts.own_file import brought_along, known_files

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

__all__ = ["Outcome", "Worker", "one_thread_each", "plain_error", "without_main"]

# Modules that each child finds loaded. The server skips one that fails; the task then says why.
_PRELOAD = ("fitkit.make.worker", "fitkit.make.warm")
# Errors of these modules are the kernel's own: their text helps nobody who makes parts.
_KERNEL = ("OCP", "build123d")
_start_lock = threading.Lock()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What became of a task: either `value` or `error`.

    Attributes
    ----------
    ticket : int
        As `Worker.submit` gave it.
    value : object or None
        What the task returned.
    error : FitkitError or None
        In plain words; an error of the kernel's own is never quoted.
    details : str
        Traceback of `error`, for whoever wrote the template.
    newest : bool
        False if a newer task was waiting already.
    seconds : float
        From the start of the task to its result.
    """

    ticket: int
    value: Any = None
    error: FitkitError | None = None
    details: str = ""
    newest: bool = True
    seconds: float = 0.0


@dataclass(slots=True, kw_only=True)
class _Task:
    ticket: int
    payload: bytes
    done: Callable[[Outcome], None]
    progress: Callable[[Any], None] | None
    started: float = 0.0


class Worker:
    """One child process that does the newest task it was given.

    Parameters
    ----------
    patience_s : float, s
        How long a running task may go on when a newer one waits.
    method : str, optional
        Start method of `multiprocessing`; by default ``forkserver`` where there is one.
    preload : sequence of str
        Modules that each child finds loaded; the first worker of a process decides for all.

    Examples
    --------
    >>> worker = Worker()
    >>> seen = threading.Event()
    >>> ticket = worker.submit(pow, 2, 10, done=lambda outcome: seen.set())
    >>> seen.wait(60)
    True
    >>> worker.close()
    """

    def __init__(
        self,
        *,
        patience_s: float = 0.4,
        method: str | None = None,
        preload: Sequence[str] = _PRELOAD,
    ) -> None:
        if method is None:
            methods = multiprocessing.get_all_start_methods()
            method = "forkserver" if "forkserver" in methods else "spawn"
        self._context: Any = multiprocessing.get_context(method)
        if method == "forkserver":
            self._context.set_forkserver_preload(list(preload))
        self.patience_s = patience_s
        self._lock = threading.Lock()
        self._tickets = 0
        self._waiting: _Task | None = None
        self._running: _Task | None = None
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._closed = False
        self._kill = False
        self._ear, self._bell = multiprocessing.Pipe(duplex=False)
        self._thread: threading.Thread | None = None

    def submit(
        self,
        task: Callable[..., Any],
        *args: Any,
        done: Callable[[Outcome], None],
        progress: Callable[[Any], None] | None = None,
    ) -> int:
        """Have a task done in the child process.

        Parameters
        ----------
        task : callable
            Called with `args`; with a keyword ``report`` as well if `progress` is given.
        *args
            All that cloudpickle can carry; no solids.
        done : callable
            Gets the `Outcome`, in a thread of the worker. Not called for a task that a newer one
            pushed out.
        progress : callable, optional
            Gets each thing that the task reports, in a thread of the worker.

        Returns
        -------
        int
            Ticket; later tickets are greater.
        """
        inner = cloudpickle.dumps((task, args, progress is not None))
        # The class of a template file is carried as the name of its module: the file goes first.
        payload = pickle.dumps((known_files(), inner))
        with self._lock:
            if self._closed:
                raise RuntimeError("this worker is closed")
            self._tickets += 1
            ticket = self._tickets
            self._waiting = _Task(ticket=ticket, payload=payload, done=done, progress=progress)
        self._wake()
        return ticket

    def warm(self) -> None:
        """Start the child process, and with it the loading of the kernel, without waiting."""
        self._wake()

    def cancel(self) -> None:
        """Drop the waiting task and kill the running one; neither gets an outcome."""
        with self._lock:
            self._waiting = None
            self._kill = self._running is not None
        self._wake()

    def close(self) -> None:
        """End the child process; a second call does nothing."""
        with self._lock:
            if self._closed:
                return
            self._closed = True
        if self._thread is None:
            return
        self._wake()
        if threading.current_thread() is not self._thread:
            self._thread.join(timeout=5)

    @property
    def busy(self) -> bool:
        """Whether a task runs or waits."""
        with self._lock:
            return self._running is not None or self._waiting is not None

    @property
    def pid(self) -> int | None:
        """Process id of the child, if there is one."""
        process = self._process
        return process.pid if process else None

    def _wake(self) -> None:
        with self._lock:
            if self._thread is None and not self._closed:
                self._thread = threading.Thread(
                    target=self._manage, name="fitkit worker", daemon=True
                )
                self._thread.start()
            with suppress(OSError):
                self._bell.send_bytes(b"!")

    # What follows runs in the managing thread alone.

    def _manage(self) -> None:
        while not self._closed:
            self._start()
            assert self._pipe is not None
            ready = wait([self._ear, self._pipe], timeout=self._time_left())
            if self._ear in ready:
                self._ear.recv_bytes()
            if self._pipe in ready:
                self._receive()
            self._keep_newest()
        self._stop()
        self._ear.close()
        self._bell.close()

    def _time_left(self) -> float | None:
        with self._lock:
            if self._running is None or self._waiting is None:
                return None
            return max(0.0, self._running.started + self.patience_s - time.monotonic())

    def _keep_newest(self) -> None:
        if self._kill or self._time_left() == 0.0:
            self._kill = False
            self._stop()
            with self._lock:
                self._running = None
            self._start()
        with self._lock:
            if self._running is not None or self._waiting is None:
                return
            task = self._running = self._waiting
            self._waiting = None
        task.started = time.monotonic()
        with suppress(OSError):  # a child that has died is told by its pipe
            assert self._pipe is not None
            self._pipe.send_bytes(task.payload)

    def _receive(self) -> None:
        assert self._pipe is not None
        try:
            kind, value, details = _receive_parts(self._pipe)
        except (EOFError, OSError):
            kind, value, details = "crash", None, ""
        task = self._running
        if kind == "progress":
            if task and task.progress:
                task.progress(value)
            return
        if kind == "crash":
            self._stop()
        with self._lock:
            self._running = None
            newest = self._waiting is None
        if task is None:
            if kind == "crash":
                time.sleep(0.2)  # a child that dies without work must not be remade in a whirl
            return
        error = value if kind == "error" else None
        if kind == "crash":
            error = PartError(
                "the CAD kernel stopped while it worked on these values",
                code="make.kernel-stopped",
                remedy="Change the last value; the last good shape is kept.",
            )
        task.done(
            Outcome(
                ticket=task.ticket,
                value=value if kind == "value" else None,
                error=error,
                details=details,
                newest=newest,
                seconds=time.monotonic() - task.started,
            )
        )

    def _start(self) -> None:
        if self._process is not None:
            return
        here, there = self._context.Pipe()
        process = self._context.Process(
            target=_serve, args=(there,), name="fitkit build process", daemon=True
        )
        with _start_lock, without_main(), one_thread_each():
            process.start()
        there.close()
        self._process, self._pipe = process, here

    def _stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None


@contextmanager
def without_main() -> Iterator[None]:
    """Keep the child from running the script that started us: cloudpickle brings what it needs."""
    main = sys.modules["__main__"]
    sys.modules["__main__"] = types.ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Have a process that is started meanwhile do its linear algebra in one thread.

    Our matrices are small: with two threads a part took a tenth longer, and processes side by side
    take the threads from each other. What the user has set stays.
    """
    ours = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1") | os.environ
    added = ours.keys() - os.environ.keys()
    os.environ.update(ours)
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


def _do(payload: bytes, pipe: Connection) -> tuple[str, Any, str]:
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
        remedy="Mend the template; this is no matter of its values.",
    )


def _send_parts(pipe: Connection, message: tuple[str, Any, str]) -> None:
    """Send a message, its arrays as bytes beside it, so that they are not copied into a pickle."""
    buffers: list[pickle.PickleBuffer] = []
    head = cloudpickle.dumps(message, protocol=5, buffer_callback=buffers.append)
    pipe.send((len(buffers), head))
    for buffer in buffers:
        pipe.send_bytes(buffer.raw())


def _receive_parts(pipe: Connection) -> tuple[str, Any, str]:
    count, head = pipe.recv()
    buffers = [pipe.recv_bytes() for _ in range(count)]
    message: tuple[str, Any, str] = pickle.loads(head, buffers=buffers)
    return message
