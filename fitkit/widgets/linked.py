"""What grids and panels point at in a readings file: picked in one, it is marked in the other."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

__all__ = ["From", "point_at", "when_pointed"]

From = Literal["grid", "panel"]
_listeners: dict[tuple[Path, From], list[Callable[[Sequence[str]], None]]] = defaultdict(list)


def when_pointed(path: Path, by: From, act: Callable[[Sequence[str]], None]) -> Callable[[], None]:
    """Have `act` called with the features that a grid or a panel points at.

    Parameters
    ----------
    path : Path
        Of the readings file.
    by : {"grid", "panel"}
        Who points.
    act : callable

    Returns
    -------
    callable
        Ends this.
    """
    place = (path.resolve(), by)
    _listeners[place].append(act)

    def forget() -> None:
        if act in _listeners[place]:
            _listeners[place].remove(act)

    return forget


def point_at(path: Path, by: From, features: Sequence[str]) -> None:
    """Tell all that listen which features of a readings file a grid or a panel points at.

    Parameters
    ----------
    path : Path
    by : {"grid", "panel"}
    features : sequence of str
        None of them if nothing is picked any more.
    """
    for act in tuple(_listeners[path.resolve(), by]):
        act(features)
