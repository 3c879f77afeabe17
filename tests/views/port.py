"""A serial port made of a pseudo-terminal pair, into which a test types as calipers do."""

from __future__ import annotations

import os
import threading
import time
from typing import Self


class Port:
    """Our end sends; the other end is a port by its name."""

    def __init__(self) -> None:
        self.name = "no port on this system"
        self._ends: tuple[int, int] | None = None
        if hasattr(os, "openpty"):
            import tty

            self._ends = os.openpty()
            tty.setraw(self._ends[1])
            self.name = os.ttyname(self._ends[1])
        self._over = threading.Event()
        self._sender: threading.Thread | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        if self._sender:
            self._sender.join()
        for end in self._ends or ():
            os.close(end)

    def send(self, text: str) -> None:
        """Send once."""
        assert self._ends
        os.write(self._ends[0], text.encode())

    def send_on(self, text: str, *, every_s: float = 0.05) -> None:
        """Send again and again: what comes before a program opens the port is thrown away by it."""

        def send() -> None:
            while not self._over.is_set():
                self.send(text)
                time.sleep(every_s)

        if self._ends and self._sender is None:
            self._sender = threading.Thread(target=send, daemon=True)
            self._sender.start()
