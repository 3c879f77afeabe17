"""Where bodies lie on the print bed: rows of boxes, a gap apart, centred.

Shelf packing by falling depth: simple, foreseeable, and near enough for the handful of bodies of a
part. Leaves out turning bodies about z and nesting one in another's hollow.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Plate", "lay_out"]


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
