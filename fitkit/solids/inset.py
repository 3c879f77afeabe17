"""Outlines drawn in: each side moved inwards by a distance, corners kept sharp.

What a 45° chamfer along an outline leaves of it at the chamfered face. Sides stay as many as they
were, so that each side of the chamfer joins a side of the outline to its like. A corner lies as
deep under both of its sides as asked, which for two straight sides has a closed form (the mitre);
for arcs its steps are repeated (Newton). Left out: sides that run into others across the outline.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.solids.profiles import Loop, arc_centre

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["chamfer_mm3", "inset"]

_CLOSE_MM = 1e-9
_STEPS = 12  # the mitre takes one, an arc at an angle a few


def inset(outline: Loop, distance: float) -> Loop | None:
    """Move all sides of a counter-clockwise outline inwards, or outwards if negative, mm.

    Returns
    -------
    Loop or None
        None where a side would vanish: a rounding smaller than the distance, a side too short.

    Examples
    --------
    >>> from fitkit.solids.profiles import rectangle
    >>> inset(rectangle(20, 10, radius=2).outer, 0.5).box
    (-9.5, -4.5, 9.5, 4.5)
    >>> inset(rectangle(20, 10, radius=2).outer, 2.5) is None
    True
    """
    depths = [_depth(start, end) for start, end in outline.sides()]
    points = []
    for i, (x, y, _) in enumerate(outline.corners):
        point = _corner((x, y), distance, depths[i - 1], depths[i])
        if point is None:
            return None
        points.append(point)
    corners = []
    for (start, end), a, b in zip(outline.sides(), points, points[1:] + points[:1], strict=True):
        bulge = _bulge(start, end, a, b)
        if bulge is None:
            return None
        corners.append((*a, bulge))
    return Loop(tuple(corners))


def chamfer_mm3(outline: Loop, leg: float) -> float:
    """Volume under a 45° chamfer of a leg along an outline: inside it, or outside if negative.

    An inset's area falls at first as the outline is long, and is quadratic in the distance, so that
    the volume follows from the areas at both ends; except by some ten-millionths where an arc meets
    another side at an angle. 0 where the chamfer cannot be drawn.
    """
    end = inset(outline, leg) if leg else None
    if end is None:
        return 0.0
    return abs(leg * (outline.length * leg / 2 + outline.signed_area - end.signed_area)) / 3


def _depth(
    start: tuple[float, float, float], end: tuple[float, float, float]
) -> Callable[[float, float], tuple[float, float, float]]:
    """Give, for a side, the depth of a point on its left and the direction in which it rises."""
    (x0, y0, bulge), (x1, y1, _) = start, end
    if bulge:
        cx, cy, radius = arc_centre((x0, y0), (x1, y1), bulge)
        sign = math.copysign(1.0, bulge)

        def of_arc(x: float, y: float) -> tuple[float, float, float]:
            away = math.hypot(x - cx, y - cy) or _CLOSE_MM
            return (
                sign * (radius - away),
                sign * (cx - x) / away,
                sign * (cy - y) / away,
            )

        return of_arc
    long = math.hypot(x1 - x0, y1 - y0)
    u, v = (y0 - y1) / long, (x1 - x0) / long
    return lambda x, y: ((x - x0) * u + (y - y0) * v, u, v)


def _corner(
    at: tuple[float, float],
    distance: float,
    before: Callable[[float, float], tuple[float, float, float]],
    after: Callable[[float, float], tuple[float, float, float]],
) -> tuple[float, float] | None:
    """Point near a corner that lies at a depth under both of its sides."""
    x, y = at
    for _ in range(_STEPS):
        (d, u, v), (e, s, t) = before(x, y), after(x, y)
        d, e = distance - d, distance - e
        if abs(d) < _CLOSE_MM and abs(e) < _CLOSE_MM:
            return x, y
        cos = u * s + v * t
        if cos < -1 + 1e-8:  # the outline folds back on itself
            return None
        # The step that rises by d over one side and by e over the other, made of both directions;
        # where the outline runs on smoothly, they are one.
        if cos > 1 - 1e-8:
            a = b = (d + e) / 4
        else:
            a, b = (d - cos * e) / (1 - cos * cos), (e - cos * d) / (1 - cos * cos)
        x, y = x + a * u + b * s, y + a * v + b * t
    return None


def _bulge(
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    a: tuple[float, float],
    b: tuple[float, float],
) -> float | None:
    """Bulge of a side between its moved ends; None where it has vanished or turned round."""
    (x0, y0, bulge), (x1, y1, _) = start, end
    if not bulge:
        kept = (b[0] - a[0]) * (x1 - x0) + (b[1] - a[1]) * (y1 - y0) > 0
        return 0.0 if kept else None
    cx, cy, _ = arc_centre((x0, y0), (x1, y1), bulge)
    turn = math.atan2(b[1] - cy, b[0] - cx) - math.atan2(a[1] - cy, a[0] - cx)
    sweep = math.copysign(turn * math.copysign(1, bulge) % (2 * math.pi), bulge)
    # An arc that has turned round sweeps almost all of the circle.
    kept = abs(sweep) < abs(4 * math.atan(bulge)) + math.pi / 2
    return math.tan(sweep / 4) if kept else None
