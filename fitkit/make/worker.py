"""Solids without waiting: the newest task wins, in a child process whose crash is survived.

While a task runs, a newer one takes the place of whatever else was waiting. The running one is
given `patience_s` to finish, so that a dragged slider still shows shapes on its way, and is then
killed. Left out: more than one process for one `Worker`; make another `Worker` for that.
"""

from __future__ import annotations

import multiprocessing
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import wait
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FitkitError, PartError
from fitkit.make.child import WARM, Child, packed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["Outcome", "Worker"]


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
        preload: Sequence[str] = WARM,
    ) -> None:
        self._child = Child(preload=preload, method=method)
        self.patience_s = patience_s
        self._lock = threading.Lock()
        self._tickets = 0
        self._waiting: _Task | None = None
        self._running: _Task | None = None
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
        payload = packed(task, *args, reports=progress is not None)
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
        return self._child.pid

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
            pipe = self._child.pipe
            ready = wait([self._ear, pipe], timeout=self._time_left())
            if self._ear in ready:
                self._ear.recv_bytes()
            if pipe in ready:
                self._receive()
            self._keep_newest()
        self._child.kill()
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
            self._child.kill()
            with self._lock:
                self._running = None
            self._child.start()
        with self._lock:
            if self._running is not None or self._waiting is None:
                return
            task = self._running = self._waiting
            self._waiting = None
        task.started = time.monotonic()
        self._child.give(task.payload)

    def _receive(self) -> None:
        kind, value, details = self._child.take()
        task = self._running
        if kind == "progress":
            if task and task.progress:
                task.progress(value)
            return
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
