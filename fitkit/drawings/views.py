"""The directions to look from, and which view shows a dimension.

In first-angle projection what is seen from above lies below the front view, and what is seen from
the left lies right of it. In third-angle projection a view lies on the side that it is taken from
(ISO 5456-2, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.projected import FloatArray, Round, Vector

__all__ = ["Frame", "Projection", "Shown", "frames", "shown_in"]

Projection = Literal["first-angle", "third-angle"]
# Two points or radii nearer than this are the same, mm.
_SAME_MM = 1e-3
_ON_LINE_MM = 0.05


class Frame(NamedTuple):
    """A direction to look from: its name, where the eye is, and what is right and up."""

    name: str
    eye: Vector
    right: Vector
    up: Vector

    def flat(self, point: Sequence[float] | FloatArray) -> tuple[float, float]:
        """Where a point is in the picture, mm."""
        p = np.asarray(point, dtype=float)
        return float(p @ self.right), float(p @ self.up)


_FRONT = Frame("front", (0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
_TOP = Frame("top", (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
_LEFT = Frame("left", (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
_RIGHT = Frame("right", (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def frames(projection: Projection) -> tuple[Frame, Frame, Frame]:
    """Give front view, view from above and view from the side that a projection shows."""
    return _FRONT, _TOP, (_LEFT if projection == "first-angle" else _RIGHT)


class Shown(NamedTuple):
    """A dimension in a view.

    Attributes
    ----------
    name : str
        Of all dimensions that it says, with commas between.
    value_mm : float
    start, end : (x, y), mm
        In the picture, at full size.
    circles : tuple of (x, y), mm
        Middles of all circles of that size in the view, if it is written at one of them at the end
        of a leader; empty where it gets lines.
    elsewhere : tuple of (view name, start, end)
        Other views in whose plane it lies, the best first, for where there is no room in this one.
    across : bool
        Whether it is a diameter, which its number says even where it gets lines.
    """

    name: str
    value_mm: float
    start: tuple[float, float]
    end: tuple[float, float]
    circles: tuple[tuple[float, float], ...] = ()
    elsewhere: tuple[tuple[str, tuple[float, float], tuple[float, float]], ...] = ()
    across: bool = False

    @property
    def text(self) -> str:
        """What is written at it, to 0.01 mm."""
        number = f"{self.value_mm:.2f}"
        if not self.circles:
            return f"Ø{number}" if self.across else number
        count = len(self.circles)
        return f"{count}× Ø{number}" if count > 1 else f"Ø{number}"


def shown_in(
    dimensions: Sequence[KeyDimension],
    views: Sequence[Frame],
    circles: Sequence[Round],
    lines: Mapping[str, Sequence[FloatArray]],
) -> dict[str, list[Shown]]:
    """Give each dimension to the view that shows it best.

    Parameters
    ----------
    dimensions : sequence of KeyDimension
        Of one body.
    views : sequence of Frame
    circles : sequence of Round
        Whole round edges of that body.
    lines : mapping of view name to arrays of shape (k, 2), mm
        What each view shows in front.

    Returns
    -------
    dict of view name to list of Shown
        A round size goes to the view in which it is a circle; any other to one in whose plane it
        lies, whose lines show its ends, and that has the fewest so far. A dimension that lies in no
        plane is left out. Round ones of one size in one view are said together.
    """
    found: dict[str, list[Shown]] = {view.name: [] for view in views}
    pieces = {view.name: _pieces(lines[view.name]) for view in views}
    for one in dimensions:
        start, end = np.asarray(one.start), np.asarray(one.end)
        way, middle = end - start, (start + end) / 2
        length = float(np.linalg.norm(way))
        if length < _SAME_MM:
            continue
        flat = [v for v in views if abs(float(way @ np.asarray(v.eye))) < 1e-6 * length]
        if not flat:
            continue
        if one.kind.round:
            as_circle = [
                (view, same)
                for view in flat
                if (same := _circles(view, circles, one.value_mm / 2))
                and any(np.hypot(*(np.subtract(at, view.flat(middle)))) < _SAME_MM for at in same)
            ]
            if as_circle:
                view, same = as_circle[0]
                _say_once(
                    found[view.name],
                    Shown(one.name, length, view.flat(start), view.flat(end), tuple(same)),
                )
                continue
        best = sorted(
            flat,
            key=lambda v: (
                -sum(_on_a_line(v.flat(p), pieces[v.name]) for p in (start, end)),
                len(found[v.name]),
            ),
        )
        ends = [(v.name, v.flat(start), v.flat(end)) for v in best]
        shown = Shown(
            one.name, length, *ends[0][1:], elsewhere=tuple(ends[1:]), across=one.kind.round
        )
        found[best[0].name].append(shown)
    return found


def _say_once(so_far: list[Shown], one: Shown) -> None:
    """Add a callout, or its name to one that says the same of the same circles."""
    for index, other in enumerate(so_far):
        if other.circles == one.circles and abs(other.value_mm - one.value_mm) < _SAME_MM:
            so_far[index] = other._replace(name=f"{other.name}, {one.name}")
            return
    so_far.append(one)


def _pieces(lines: Sequence[FloatArray]) -> FloatArray:
    """Give the straight pieces of all lines: starts and ways, shape (2, k, 2)."""
    starts = [line[:-1] for line in lines]
    ways = [np.diff(line, axis=0) for line in lines]
    return np.stack([np.concatenate(s) if s else np.empty((0, 2)) for s in (starts, ways)])


def _on_a_line(point: tuple[float, float], pieces: FloatArray) -> bool:
    """Tell whether a point of the picture lies on one of the pieces of line."""
    start, way = pieces
    if not len(start):
        return False
    length = np.maximum(np.einsum("ij,ij->i", way, way), 1e-18)
    share = np.clip(np.einsum("ij,ij->i", point - start, way) / length, 0.0, 1.0)
    off = np.hypot(*(start + share[:, None] * way - point).T)
    return bool(off.min() < _ON_LINE_MM)


def _circles(view: Frame, circles: Sequence[Round], radius: float) -> list[tuple[float, float]]:
    """Middles of all circles of a radius that a view shows as circles, each once."""
    middles: list[tuple[float, float]] = []
    for circle in circles:
        facing = abs(float(np.dot(circle.axis, view.eye))) > 1 - 1e-9
        if not facing or abs(circle.radius - radius) > _SAME_MM:
            continue
        at = view.flat(circle.middle)
        if all(np.hypot(at[0] - x, at[1] - y) > _SAME_MM for x, y in middles):
            middles.append(at)
    return middles
