"""Dimension lines of an assembled part for a live view along an axis, placed as a drawing's are.

`placing.place` places both, so that a picture on the screen and a drawing on paper follow one rule:
no number lies on another one, on a line or on the part. A live view shows all bodies at once, and
only those sizes that lie across its line of sight; the others are in other views.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.drawings.elements import Box, Line, Words
from fitkit.drawings.placing import Placed, place
from fitkit.drawings.views import Frame, Shown
from fitkit.solids.picture import VIEWS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["AXIS_VIEWS", "every_facing", "facing"]

AXIS_VIEWS = tuple(name for name, (eye, _up) in VIEWS.items() if sum(map(bool, eye)) == 1)
# Lengths on paper of a part's longest side, so near to each other that a view finds its size.
_LADDER_MM = (30.0, 45.0, 67.0, 100.0, 150.0, 225.0)


def _frame(view: str) -> Frame:
    eye, up = VIEWS[view]
    x, y, z = np.cross(np.asarray(up, float), np.asarray(eye, float))
    return Frame(view, eye, (float(x), float(y), float(z)), up)


def facing(head: Mapping[str, Any], view: str, scale: float) -> dict[str, Any]:
    """Place the sizes of a scene that face a view.

    Parameters
    ----------
    head : mapping
        Of a scene: its ``dimensions`` and ``bounds``.
    view : str
        One of `AXIS_VIEWS`.
    scale : float
        Paper over full size.

    Returns
    -------
    dict
        ``sizes`` with lines, arrow heads and words in mm of paper from where the part's origin
        lies; names of those ``left`` for which there was no room; how many are ``turned`` away.
    """
    frame = _frame(view)
    flat = [frame.flat(corner) for corner in head["bounds"]]
    (x0, x1), (y0, y1) = (sorted(scale * at for at in ends) for ends in zip(*flat, strict=True))
    wanted, turned = [], 0
    for one in head["dimensions"]:
        way = np.subtract(one["end"], one["start"])
        length = float(np.linalg.norm(way))
        if length <= 0 or abs(float(way @ np.asarray(frame.eye))) > 1e-6 * length:
            turned += 1
            continue
        start, end = frame.flat(one["start"]), frame.flat(one["end"])
        wanted.append(Shown(one["name"], length, start, end, across=bool(one["round"])))
    placed, left = place(wanted, Box(x0, y0, x1, y1), scale)
    return {
        "view": view,
        "scale": scale,
        "sizes": [_plain(one) for one in placed],
        "left": [one.name for one in left],
        "turned": turned,
    }


def every_facing(head: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Place the sizes for all views along an axis at a ladder of scales, where nobody can ask."""
    low, high = (np.asarray(corner, float) for corner in head["bounds"])
    longest = float((high - low).max())
    if not head["dimensions"] or longest <= 0:
        return []
    return [facing(head, view, mm / longest) for view in AXIS_VIEWS for mm in _LADDER_MM]


def _plain(one: Placed) -> dict[str, Any]:
    words = one.words
    return {
        "name": one.shown.name,
        "lines": list(_flat(one.elements, filled=False)),
        "heads": list(_flat(one.elements, filled=True)),
        "text": words.text,
        "at": [round(value, 3) for value in words.at],
        "turn": words.turn_deg,
    }


def _flat(elements: Sequence[Line | Words | Any], *, filled: bool) -> Iterator[list[float]]:
    for one in elements:
        if isinstance(one, Line) and one.filled == filled:
            yield [round(value, 3) for point in one.points for value in point]
