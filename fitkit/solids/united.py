"""Outlines of straight sides united into outlines that neither cross nor overlap.

A font may draw a letter of several outlines that overlap, as a ç of its c and its cedilla: what is
inside is then what they wind round at all (the non-zero rule of fonts), while a solid wants the one
edge round it. Each side is split wherever another meets it; a piece stays if what lies on one side
of it is inside and what lies on the other is outside; the pieces are then put end to end.

Left out: arcs, and pieces shorter than `_SNAP`, which are taken for a point.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from fitkit.solids.profiles import Loop

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

__all__ = ["crossing", "united"]

Point = tuple[float, float]
# Shares of the outlines' size: points nearer than the first are one; how far beside a piece it is
# looked whether plastic lies there.
_SNAP = 1e-6
_BESIDE = 2e-6


def crossing(contours: Sequence[Sequence[Point]]) -> bool:
    """Tell whether sides meet elsewhere than at the corner that two of one outline share.

    Outlines that meet in corners alone count too: a letter whose outline is there twice, or one
    whose counter touches its edge.

    Parameters
    ----------
    contours : sequence of corner rows
        Closed, without the first corner at the end again.

    Returns
    -------
    bool

    Examples
    --------
    >>> square = [(0, 0), (2, 0), (2, 2), (0, 2)]
    >>> crossing([square]), crossing([square, [(x + 1, y + 1) for x, y in square]])
    (False, True)
    >>> crossing([square, square])
    True
    """
    start, end = _sides(contours)
    if len(np.unique(start, axis=0)) < len(start):
        return True
    return any(len(found) for found in _splits(start, end, _snap_of(start)))


def united(contours: Sequence[Sequence[Point]]) -> tuple[Loop, ...]:
    """Unite closed outlines: what any of them winds round is inside, as the non-zero rule has it.

    Parameters
    ----------
    contours : sequence of corner rows
        Closed, without the first corner at the end again; outer ones run one way, counters the
        other.

    Returns
    -------
    tuple of Loop
        Outer ones counter-clockwise, holes clockwise (their `signed_area` tells).

    Examples
    --------
    >>> square = [(0, 0), (2, 0), (2, 2), (0, 2)]
    >>> (loop,) = united([square, [(x + 1, y + 1) for x, y in square]])
    >>> len(loop.corners), loop.signed_area
    (8, 7.0)
    """
    start, end = _sides(contours)
    snap = _snap_of(start)
    pieces: set[tuple[Point, Point]] = set()
    named: dict[tuple[int, int], Point] = {}

    def one(point: FloatArray) -> Point:
        """Give a point that may have come out in two ways one value."""
        cell = (math.floor(point[0] / snap), math.floor(point[1] / snap))
        for i in (-1, 0, 1):
            for j in (-1, 0, 1):
                near = named.get((cell[0] + i, cell[1] + j))
                if near is not None and math.dist(near, point) < snap:
                    return near
        return named.setdefault(cell, (float(point[0]), float(point[1])))

    for a, b, splits in zip(start, end, _splits(start, end, snap), strict=True):
        shares = np.unique(np.concatenate([[0.0], splits, [1.0]]))
        points = [one(a + share * (b - a)) for share in shares]
        pieces |= {(p, q) for p, q in pairwise(points) if p != q}
    kept = set()
    for p, q in pieces:
        left, right = _beside(p, q, _BESIDE / _SNAP * snap)
        inside = _winding(np.array([left, right]), start, end) != 0
        if inside[0] != inside[1]:
            kept.add((p, q) if inside[0] else (q, p))
    return _chained(kept)


def _sides(contours: Sequence[Sequence[Point]]) -> tuple[FloatArray, FloatArray]:
    starts = [np.asarray(contour, dtype=float) for contour in contours if len(contour) > 2]
    ends = [np.roll(each, -1, axis=0) for each in starts]
    return np.concatenate(starts), np.concatenate(ends)


def _snap_of(start: FloatArray) -> float:
    return _SNAP * float(np.max(np.ptp(start, axis=0)))


def _splits(start: FloatArray, end: FloatArray, snap: float) -> list[FloatArray]:
    """Where other sides meet each side between its ends, as shares of its length."""
    along = end - start
    length = np.hypot(*along.T)[:, None]
    # Row: the side that is met; column: the side or the corner that meets it.
    x = start[None, :, 0] - start[:, None, 0]
    y = start[None, :, 1] - start[:, None, 1]
    dx, dy = along[:, :1], along[:, 1:]
    off = x * dy - y * dx
    # Corners on a side, those of sides that lie on it among them; then proper crossings.
    corner = np.where(np.abs(off) < snap * length, (x * dx + y * dy) / length**2, np.nan)
    cross = dx * along[None, :, 1] - dy * along[None, :, 0]
    safe = np.where(np.abs(cross) < 1e-12 * length, np.nan, cross)
    met = (x * along[None, :, 1] - y * along[None, :, 0]) / safe
    own = off / safe
    proper = np.where((own > 0) & (own < 1), met, np.nan)
    shares = np.concatenate([corner, proper], axis=1)
    within = (shares > snap / length) & (shares < 1 - snap / length)
    return [row[keep] for row, keep in zip(shares, within, strict=True)]


def _beside(p: Point, q: Point, far: float) -> tuple[Point, Point]:
    """Give points to the left and to the right of the middle of a piece."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = math.hypot(dx, dy)
    x, y = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
    nx, ny = -dy / length * far, dx / length * far
    return (x + nx, y + ny), (x - nx, y - ny)


def _winding(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """How often the sides wind round each point."""
    x, y = points[:, :1], points[:, 1:]
    up = (start[:, 1] <= y) & (end[:, 1] > y)
    down = (start[:, 1] > y) & (end[:, 1] <= y)
    side = (end[:, 0] - start[:, 0]) * (y - start[:, 1]) - (x - start[:, 0]) * (
        end[:, 1] - start[:, 1]
    )
    return np.asarray(np.sum(up & (side > 0), axis=1) - np.sum(down & (side < 0), axis=1), float)


def _chained(pieces: set[tuple[Point, Point]]) -> tuple[Loop, ...]:
    """Put pieces with the inside on their left end to end."""
    onward: dict[Point, list[Point]] = {}
    for p, q in sorted(pieces):
        onward.setdefault(p, []).append(q)
    loops = []
    while onward:
        first = next(iter(onward))
        row = [first]
        before: Point | None = None
        while True:
            here = row[-1]
            ways = onward.get(here)
            if not ways:
                break
            # Where outlines touch at a corner, the sharpest turn to the left stays round the same
            # piece of plastic.
            after = ways[0]
            if before is not None and len(ways) > 1:
                after = max((_turn(before, here, way), way) for way in ways)[1]
            ways.remove(after)
            if not ways:
                del onward[here]
            before = here
            if after == first:
                loops.append(Loop(tuple((x, y, 0.0) for x, y in row)))
                break
            row.append(after)
    return tuple(loop for loop in loops if len(loop.corners) > 2)


def _turn(a: Point, b: Point, c: Point) -> float:
    """Turn to the left at b, from -pi to pi."""
    first = math.atan2(b[1] - a[1], b[0] - a[0])
    second = math.atan2(c[1] - b[1], c[0] - b[0])
    return (second - first + math.pi) % (2 * math.pi) - math.pi
