"""The plane that cuts a body in two with the least cut area, so that both halves fit the bed.

Planes square to the bed's axes are tried at steps along each axis, in the pose in which the body is
printed. A half fits if its box does, as it lies or turned by a quarter. Left out: slanted planes,
and more than one cut.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from fitkit.solids.mesh_kernel import area_at, manifold_of, placed
from fitkit.solids.turns import MARGIN_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import Manifold

    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["Along", "CutPlane", "best_plane", "facing", "fits_bed"]

Along = Literal["x", "y", "z"]
_AXES: tuple[Along, ...] = ("x", "y", "z")
_STEPS = 48  # places that are tried along an axis
# Areas that differ by less than this share are equal: then the plane nearer to the middle wins.
_ALIKE = 0.02


class CutPlane(NamedTuple):
    """A plane across a body as it lies on the bed.

    `along` is the axis that it is square to, `at_mm` its distance from the body's lowest point on
    that axis, `area_mm2` the area that it cuts.
    """

    along: Along
    at_mm: float
    area_mm2: float


def fits_bed(size: Sequence[float] | FloatArray, bed_mm: Sequence[float]) -> bool:
    """Tell whether a box fits the printer, as it lies or turned by a quarter.

    Parameters
    ----------
    size : (x, y, z), mm
    bed_mm : (x, y, z), mm
        `MARGIN_MM` is kept free along the bed's edge.

    Returns
    -------
    bool

    Examples
    --------
    >>> fits_bed((100, 200, 50), (210, 110, 100)), fits_bed((100, 200, 50), (190, 190, 100))
    (True, False)
    """
    x, y, z = (float(length) for length in size)
    wide, deep = float(bed_mm[0]) - 2 * MARGIN_MM, float(bed_mm[1]) - 2 * MARGIN_MM
    high = float(bed_mm[2]) if len(bed_mm) > 2 else float("inf")
    flat = (x <= wide and y <= deep) or (y <= wide and x <= deep)
    return flat and z <= high


def facing(along: Along) -> FloatArray:
    """Rotation that takes an axis to z, and keeps the hand of the others.

    Examples
    --------
    >>> facing("x").astype(int).tolist()
    [[0, 1, 0], [0, 0, 1], [1, 0, 0]]
    """
    turn = np.zeros((3, 3))
    first = _AXES.index(along)
    for row in range(3):
        turn[row, (first + 1 + row) % 3] = 1.0
    return turn


def best_plane(
    mesh: Mesh,
    bed_mm: Sequence[float],
    *,
    beyond_mm: float = 8.0,
    along: Along | None = None,
    solid: Manifold | None = None,
) -> CutPlane | None:
    """Propose a plane.

    Parameters
    ----------
    mesh : Mesh
        Closed, as it lies on the bed.
    bed_mm : (x, y, z), mm
    beyond_mm : float, mm
        How far a joint may stand out of one of the halves.
    along : {"x", "y", "z"}, optional
        Only planes square to this axis.
    solid : Manifold, optional
        The same as a manifold, if it is there already.

    Returns
    -------
    CutPlane or None
        None where no single plane makes both halves fit.
    """
    if solid is None:
        solid = manifold_of(mesh)
    low, size = mesh.bounds[0], mesh.size
    found: list[CutPlane] = []
    for number, axis in enumerate(_AXES):
        if along not in (None, axis):
            continue
        turned = placed(solid, facing(axis), np.zeros(3))
        for at in np.linspace(0.0, size[number], _STEPS + 1)[1:-1].tolist():
            halves = []
            for part in (at + beyond_mm, size[number] - at):
                half = size.copy()
                half[number] = min(part, size[number])
                halves.append(half)
            if all(fits_bed(half, bed_mm) for half in halves):
                # A hair off the place: a plane in a face of the body cuts no defined area.
                area = area_at(turned, float(low[number]) + at + 1e-4)
                if area > 0.0:
                    found.append(CutPlane(axis, round(at, 2), area))
    if not found:
        return None
    least = min(plane.area_mm2 for plane in found)
    near = [plane for plane in found if plane.area_mm2 <= (1 + _ALIKE) * least]
    middle = {axis: size[number] / 2 for number, axis in enumerate(_AXES)}
    return min(near, key=lambda plane: (abs(plane.at_mm - middle[plane.along]), plane.along))
