"""How bodies are turned about the upright to lie on the print bed.

A body is turned only if it does not fit as it is, by a quarter if that will do, else by whole
degrees of its convex outline; or by a quarter where the bodies then need fewer plates. Leaves out
turns that would only pack more tightly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fitkit.solids.plate import lay_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.solids.mesh import Mesh

__all__ = ["MARGIN_MM", "excess_by_turn", "footprint", "turns_on_bed"]

# Kept free along the bed's edge on each side: skirt, clips and homing slack. Common practice, no
# source.
MARGIN_MM = 2.0
FloatArray = npt.NDArray[np.float64]


def excess_by_turn(mesh: Mesh, bed_xy_mm: tuple[float, float]) -> FloatArray:
    """Tell by how much a body overruns the bed at each turn about z.

    Parameters
    ----------
    mesh : Mesh
        As printed.
    bed_xy_mm : (x, y), mm
        Free room.

    Returns
    -------
    array of shape (180,), mm
        The larger of the overruns along x and y at 0, 1 ... 179 degrees; negative is room to spare.
    """
    points = _outline(mesh)
    angle = np.radians(np.arange(180.0))
    along = points @ np.stack([np.cos(angle), -np.sin(angle)])
    across = points @ np.stack([np.sin(angle), np.cos(angle)])
    excess = np.maximum(np.ptp(along, axis=0) - bed_xy_mm[0], np.ptp(across, axis=0) - bed_xy_mm[1])
    return np.asarray(excess)


def footprint(mesh: Mesh, turn_deg: float) -> tuple[float, float]:
    """Measure a laid body along x and y after a turn about the upright.

    Returns
    -------
    (x, y), mm
    """
    if turn_deg % 180 == 0:
        return (float(mesh.size[0]), float(mesh.size[1]))
    if turn_deg % 180 == 90:
        return (float(mesh.size[1]), float(mesh.size[0]))
    angle, points = np.radians(turn_deg), _outline(mesh)
    along = points @ np.array([np.cos(angle), -np.sin(angle)])
    across = points @ np.array([np.sin(angle), np.cos(angle)])
    return (float(np.ptp(along)), float(np.ptp(across)))


def turns_on_bed(meshes: Sequence[Mesh], bed_mm: Sequence[float]) -> tuple[int, ...]:
    """Choose how to turn each body about the upright.

    Parameters
    ----------
    meshes : sequence of Mesh
        As printed.
    bed_mm : (x, y), mm
        The whole bed; `MARGIN_MM` is kept free on each side.

    Returns
    -------
    tuple of int, degrees
        One a body; 0 for one that fits at no turn.
    """
    room = (float(bed_mm[0]) - 2 * MARGIN_MM, float(bed_mm[1]) - 2 * MARGIN_MM)
    needed, free = [], []
    for mesh in meshes:
        excess = excess_by_turn(mesh, room)
        best = 0 if excess[0] <= 0 else 90 if excess[90] <= 0 else int(np.argmin(excess))
        needed.append(best if excess[best] <= 0 else 0)
        free.append(excess[0] <= 0 and excess[90] <= 0)

    def plates(turns: list[int]) -> int:
        boxes = [footprint(mesh, turn) for mesh, turn in zip(meshes, turns, strict=True)]
        return len(lay_out(boxes, (float(bed_mm[0]), float(bed_mm[1]))))

    ways = [needed]
    if plates(needed) > 1:
        wide = [mesh.size[0] >= mesh.size[1] for mesh in meshes]
        ways += [
            [
                turn if not able else 0 if is_wide == long_across else 90
                for turn, able, is_wide in zip(needed, free, wide, strict=True)
            ]
            for long_across in (True, False)
        ]
    fewest: list[int] = min(ways, key=plates)
    return tuple(fewest)


def _outline(mesh: Mesh) -> FloatArray:
    """Points of the footprint that can touch a bounding box: few, so that turning them is cheap."""
    from scipy.spatial import ConvexHull, QhullError

    flat = mesh.vertices[:, :2]
    try:
        return np.asarray(flat[ConvexHull(flat).vertices])
    except QhullError:  # a footprint without area
        return np.asarray(flat)
