"""The notebook's own thread, where views may be spoken to."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["later", "running_loop"]


def running_loop() -> asyncio.AbstractEventLoop | None:
    """Give the loop of this thread; None where there is none, as in a script."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def later(loop: asyncio.AbstractEventLoop | None, act: Callable[[], None]) -> None:
    """Go on in the thread of a loop, or at once where there is none.

    Parameters
    ----------
    loop : event loop or None
    act : callable
    """
    if loop is not None and not loop.is_closed():
        loop.call_soon_threadsafe(act)
    else:
        act()
