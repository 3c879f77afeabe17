"""How wide the gap is between an object and the part round it, point by point over the object.

Model: the part's faces near the object are sampled with points a pitch apart, each with its face's
normal. From each corner of the (refined) object the nearest samples whose face looks towards it
give a distance to that face's plane; the least counts. Positive is clearance, negative is overlap.
Exact for flat faces; on round ones off by no more than their meshes. Left out: gaps wider than
`REACH_MM`, which are given as NaN, and faces met more steeply than 60 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray
    from scipy.spatial import KDTree

    from fitkit.solids.mesh import FloatArray

__all__ = ["REACH_MM", "Faces", "faces_near", "gap_field", "refined"]

REACH_MM = 2.0
_PITCH_MM = 1.0
_MOST_SAMPLES = 400_000  # a bound on time and memory, far beyond a case for a board of 160 x 110 mm
_FACING = -0.5  # cosine between the two normals: they must look at each other


def refined(
    mesh: Mesh,
    edge_mm: float,
    *,
    most: int = 20_000,
    wanted: Callable[[FloatArray, FloatArray], NDArray[np.bool_]] | None = None,
) -> Mesh:
    """Split triangles at their longest sides until none is longer than `edge_mm`, or `most` is met.

    Parameters
    ----------
    mesh : Mesh, mm
    edge_mm : float, mm
    most : int
        Splitting stops when there are more triangles than this.
    wanted : callable, optional
        Given the highest and lowest corners of boxes, arrays of shape (m, 3), tells which are of
        interest; triangles in the others are dropped on the way.

    Returns
    -------
    Mesh
        Each triangle with corners of its own, so that normals may differ at a shared corner.
    """
    corners = mesh.corners
    while len(corners) < most:
        if wanted is not None:
            corners = corners[wanted(corners.max(axis=1), corners.min(axis=1))]
        # Columns, not axes of length three: numpy is several times slower along those.
        a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
        first, second, third = (np.einsum("ij,ij->i", d, d) for d in (b - a, c - b, a - c))
        longest = np.where((first >= second) & (first >= third), 0, np.where(second >= third, 1, 2))
        split = np.maximum(np.maximum(first, second), third) > edge_mm**2
        if not split.any():
            break
        rows = np.arange(len(corners))[split]
        turn = (longest[split, None] + np.arange(3)) % 3
        a, b, c = np.moveaxis(corners[rows[:, None], turn], 1, 0)
        middle = (a + b) / 2
        corners = np.concatenate(
            [corners[~split], np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)]
        )
    count = len(corners)
    return Mesh(corners.reshape(-1, 3), np.arange(3 * count, dtype=np.int32).reshape(-1, 3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Faces:
    """Samples of the faces near some objects, found once for all of them.

    Attributes
    ----------
    points, normals : array of shape (s, 3), mm and unit vectors
    tree : KDTree of `points`, or None if there are none
    """

    points: FloatArray
    normals: FloatArray
    tree: KDTree | None


def faces_near(things: Sequence[Mesh], around: Sequence[Mesh]) -> Faces:
    """Sample what of the meshes around may lie within reach of one of the things."""
    from scipy.spatial import KDTree

    boxes = [(thing.bounds[0] - REACH_MM, thing.bounds[1] + REACH_MM) for thing in things]
    points, normals = [np.empty((0, 3))], [np.empty((0, 3))]
    for mesh in around:
        piece = refined(mesh, _PITCH_MM, most=_MOST_SAMPLES, wanted=partial(_within, boxes))
        points.append(piece.corners.mean(axis=1))
        normals.append(piece.normals())
    sampled = np.concatenate(points)
    tree = KDTree(sampled) if len(sampled) else None
    return Faces(points=sampled, normals=np.concatenate(normals), tree=tree)


def _within(
    boxes: Sequence[tuple[FloatArray, FloatArray]], high: FloatArray, low: FloatArray
) -> NDArray[np.bool_]:
    """Whether each extent, arrays of shape (m, 3), reaches into one of the boxes."""
    found = np.zeros(len(low), bool)
    for least, most in boxes:
        found |= ((high >= least) & (low <= most)).all(axis=1)
    return found


def gap_field(thing: Mesh, faces: Faces) -> FloatArray:
    """Gap from each corner of `thing` to the faces around it.

    Parameters
    ----------
    thing : Mesh, mm
        As `refined` gives it: its corners are looked at with their triangle's normal.
    faces : Faces
        Of what stands around it, by `faces_near`.

    Returns
    -------
    array of shape (3 m,), mm
        For each corner of each triangle in turn; NaN where nothing faces it within `REACH_MM`.
    """
    corners = thing.corners
    points = corners.reshape(-1, 3)
    normals = np.repeat(thing.normals(), 3, axis=0)
    # A corner that lies on an edge looks a hair inwards, at the face it belongs to.
    points = points + 1e-3 * (np.repeat(corners.mean(axis=1), 3, axis=0) - points)
    gap = np.full(len(points), np.nan)
    if faces.tree is None:
        return gap
    reach = np.hypot(REACH_MM, _PITCH_MM)
    query = faces.tree.query(points, k=min(12, len(faces.points)), distance_upper_bound=reach)
    away, index = (np.reshape(answer, (len(points), -1)) for answer in query)
    found = np.isfinite(away)
    index = np.where(found, index, 0)
    towards = faces.points[index] - points[:, None]
    plane = faces.normals[index]
    distance = -np.einsum("ijk,ijk->ij", towards, plane)
    looks = np.einsum("ijk,ik->ij", plane, normals) < _FACING
    aside = towards + distance[..., None] * plane
    beside = np.einsum("ijk,ijk->ij", aside, aside) < (1.5 * _PITCH_MM) ** 2
    good = found & looks & beside & (np.abs(distance) <= REACH_MM)
    distance = np.where(good, distance, np.inf)
    # The least in size: the near side of a wall, not the far one.
    best = np.abs(distance).argmin(axis=1)
    value = distance[np.arange(len(points)), best]
    gap[np.isfinite(value)] = value[np.isfinite(value)]
    return gap
