"""Calls of functions when a readings file is saved here: a panel follows a grid's file so."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["tell_saved", "when_saved"]

_listeners: dict[Path, list[Callable[[], None]]] = defaultdict(list)


def when_saved(path: Path, act: Callable[[], None]) -> Callable[[], None]:
    """Have `act` called after each save of `path`; give a function that ends this."""
    place = path.resolve()
    _listeners[place].append(act)

    def forget() -> None:
        if act in _listeners[place]:
            _listeners[place].remove(act)

    return forget


def tell_saved(path: Path) -> None:
    """Call every function that waits for a save of `path`."""
    for act in tuple(_listeners[path.resolve()]):
        act()
