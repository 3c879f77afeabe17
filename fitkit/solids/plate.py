"""Where bodies lie on the print bed: boxes, a gap apart, centred.

`lay_out` sets rows by falling depth: simple, foreseeable, and near enough for the handful of bodies
of a part. `fewest_plates` is for jobs of many parts: it keeps the largest free rectangles of each
plate (maximal rectangles, as in any text on packing), turns boxes by quarters, and tries several
orders. Both leave out nesting in another one's hollow.
"""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.solids.rectangles import Rect, take

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["Plate", "Spot", "fewest_plates", "lay_out"]

# Orders beyond the sorted ones, and boxes times orders that are tried at the most: a large job is
# near its best by sorting alone. Choices of ours.
_SHUFFLES = 12
_MOST_TRIALS = 1500


class Plate(NamedTuple):
    """Shifts for one plate's boxes.

    Attributes
    ----------
    members : tuple of int
        Indices of the boxes on this plate.
    shifts : array of shape (len(members), 2), mm
        What to add to each box's own x and y, its lowest corner taken as the origin.
    """

    members: tuple[int, ...]
    shifts: npt.NDArray[np.float64]


class Spot(NamedTuple):
    """Where a box lies on its plate: its lowest corner (mm), and whether it is turned by 90°."""

    member: int
    x: float
    y: float
    turned: bool


def lay_out(
    sizes_mm: npt.ArrayLike, bed_mm: Sequence[float], *, gap_mm: float = 6.0
) -> tuple[Plate, ...]:
    """Lay boxes on as few plates as shelf packing finds.

    Parameters
    ----------
    sizes_mm : array of shape (n, 2), mm
        Extent of each box along x and y.
    bed_mm : (x, y), mm
        Free area of the bed.
    gap_mm : float, mm
        Least distance between boxes.

    Returns
    -------
    tuple of Plate
        Every box is on exactly one plate. A box larger than the bed gets a plate of its own,
        centred: the bed check is what stops it.

    Notes
    -----
    Next-fit decreasing height, as in any text on bin packing.

    Examples
    --------
    >>> (plate,) = lay_out([[40, 30], [40, 30]], (100, 100))
    >>> plate.shifts.round(1).tolist()
    [[7.0, 35.0], [53.0, 35.0]]
    """
    sizes = np.asarray(sizes_mm, dtype=float).reshape(-1, 2)
    width, depth = float(bed_mm[0]), float(bed_mm[1])
    plates: list[list[tuple[int, float, float]]] = []
    x = y = shelf = float("inf")  # forces a first plate
    for index in np.argsort(-sizes[:, 1], kind="stable"):
        w, d = sizes[index]
        if x + w > width:  # next shelf
            x, y = 0.0, y + shelf + gap_mm
            shelf = d
        if y + d > depth or not plates:  # next plate
            plates.append([])
            x, y, shelf = 0.0, 0.0, d
        plates[-1].append((int(index), x, y))
        x += w + gap_mm
    return tuple(_centred(plate, sizes, (width, depth)) for plate in plates)


def _centred(
    plate: list[tuple[int, float, float]],
    sizes: npt.NDArray[np.float64],
    bed: tuple[float, float],
) -> Plate:
    members = tuple(index for index, _, _ in plate)
    corners = np.array([(x, y) for _, x, y in plate])
    extent = (corners + sizes[list(members)]).max(axis=0)
    return Plate(members, corners + (np.array(bed) - extent) / 2)


def fewest_plates(
    sizes_mm: npt.ArrayLike,
    bed_mm: Sequence[float],
    *,
    gap_mm: float = 6.0,
    margin_mm: float = 2.0,
) -> tuple[tuple[Spot, ...], ...]:
    """Lay boxes on as few plates as are found, turned by quarters where that helps.

    Parameters
    ----------
    sizes_mm : array of shape (n, 2), mm
        Extent of each box along x and y.
    bed_mm : (x, y), mm
        The whole bed.
    gap_mm : float, mm
        Least distance between boxes.
    margin_mm : float, mm
        Kept free along the bed's edges.

    Returns
    -------
    tuple of plates, each a tuple of Spot
        The fullest plate first; every box is on exactly one. What is on a plate is centred. A box
        that is larger than the bed gets a plate of its own: the bed check is what stops it.

    Examples
    --------
    >>> plates = fewest_plates([[90, 40]] * 4, (100, 200))
    >>> [len(plate) for plate in plates]
    [4]
    """
    sizes = [(float(w), float(d)) for w, d in np.asarray(sizes_mm, dtype=float).reshape(-1, 2)]
    bed = (float(bed_mm[0]), float(bed_mm[1]))
    # With the gap on the right and far side of each box and of the bed, boxes may touch.
    room = Rect(0.0, 0.0, bed[0] - 2 * margin_mm + gap_mm, bed[1] - 2 * margin_mm + gap_mm)
    grown = [(w + gap_mm, d + gap_mm) for w, d in sizes]
    fit = [i for i, (w, d) in enumerate(grown) if room.takes(w, d) or room.takes(d, w)]
    least = math.ceil(sum(math.prod(grown[i]) for i in fit) / (room.w * room.d) - 1e-9)
    best: tuple[tuple[float, ...], list[list[Spot]]] | None = None
    for order in _orders(fit, grown):
        for low in (True, False):
            plates = _packed(order, grown, room, low=low)
            cost = (float(len(plates)), _area(plates[-1], grown) if plates else 0.0)
            if best is None or cost < best[0]:
                best = (cost, plates)
        if best is not None and best[0][0] <= least:
            break
    found = best[1] if best else []
    found.sort(key=lambda plate: -_area(plate, grown))
    found += [[Spot(i, 0.0, 0.0, False)] for i in range(len(sizes)) if i not in set(fit)]
    return tuple(_in_the_middle(plate, sizes, bed) for plate in found)


def _area(plate: Sequence[Spot], sizes: Sequence[tuple[float, float]]) -> float:
    return sum(math.prod(sizes[spot.member]) for spot in plate)


def _orders(fit: Sequence[int], sizes: Sequence[tuple[float, float]]) -> Iterator[list[int]]:
    """Orders worth a trial: the large ones first by several measures, then shuffled ones."""
    for large in (max, math.prod, sum, min):
        yield sorted(fit, key=lambda i: (-large(sizes[i]), -max(sizes[i]), i))
    draw = random.Random(24)  # the same orders always
    for _ in range(min(_SHUFFLES, _MOST_TRIALS // max(len(fit), 1))):
        # Large ones stay early: each is moved by chance within its neighbourhood.
        yield sorted(fit, key=lambda i: -max(sizes[i]) * draw.uniform(0.6, 1.0))


def _packed(
    order: Sequence[int], sizes: Sequence[tuple[float, float]], room: Rect, *, low: bool
) -> list[list[Spot]]:
    """Put each box on the first plate with room: lowest and leftmost, or where least is left."""
    plates: list[list[Spot]] = []
    free: list[list[Rect]] = []
    for i in order:
        for number in range(len(plates) + 1):
            if number == len(plates):
                plates.append([])
                free.append([room])
            spot = _best(i, sizes[i], free[number], low=low)
            if spot is None:
                continue
            w, d = sizes[i][::-1] if spot.turned else sizes[i]
            plates[number].append(spot)
            free[number] = take(free[number], Rect(spot.x, spot.y, w, d))
            break
    return plates


def _best(
    member: int, size: tuple[float, float], free: Sequence[Rect], *, low: bool
) -> Spot | None:
    found: list[tuple[tuple[float, ...], Spot]] = []
    for turned in (False, True):
        w, d = size[::-1] if turned else size
        for rect in free:
            if not rect.takes(w, d):
                continue
            left = sorted((rect.w - w, rect.d - d))
            place = (rect.y + d, rect.x, turned)
            key = place if low else (*left, *place)
            found.append((key, Spot(member, rect.x, rect.y, turned)))
    return min(found, key=lambda one: one[0])[1] if found else None


def _in_the_middle(
    plate: Sequence[Spot], sizes: Sequence[tuple[float, float]], bed: tuple[float, float]
) -> tuple[Spot, ...]:
    ends = [(s.x + sizes[s.member][s.turned], s.y + sizes[s.member][not s.turned]) for s in plate]
    lows = [(s.x, s.y) for s in plate]
    x, y = (
        (bed[k] - max(end[k] for end in ends) - min(low[k] for low in lows)) / 2 for k in (0, 1)
    )
    return tuple(Spot(s.member, s.x + x, s.y + y, s.turned) for s in plate)
