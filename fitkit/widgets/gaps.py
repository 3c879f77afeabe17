"""How wide the gap is between an object and the part round it, point by point over the object.

Model: the part's faces near the object are sampled with points a pitch apart, each with its face's
normal. From each corner of the (refined) object the nearest samples whose face looks towards it
give a distance to that face's plane; the least counts. Positive is clearance, negative is overlap.
Exact for flat faces; on round ones off by no more than their meshes. Left out: gaps wider than
`REACH_MM`, which are given as NaN, and faces met more steeply than 60 degrees.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.mesh import Mesh

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.mesh import FloatArray

__all__ = ["REACH_MM", "gap_field", "refined"]

REACH_MM = 2.0
_PITCH_MM = 1.0
_MOST_SAMPLES = 40_000
_FACING = -0.5  # cosine between the two normals: they must look at each other


def refined(mesh: Mesh, edge_mm: float, *, most: int = 20_000) -> Mesh:
    """Split triangles at their longest sides until none is longer than `edge_mm`, or `most` is met.

    Parameters
    ----------
    mesh : Mesh, mm
    edge_mm : float, mm
    most : int
        Splitting stops when there are more triangles than this.

    Returns
    -------
    Mesh
        Each triangle with corners of its own, so that normals may differ at a shared corner.
    """
    corners = mesh.corners
    while len(corners) < most:
        sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
        longest = sides.argmax(axis=1)
        split = sides.max(axis=1) > edge_mm
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


def gap_field(thing: Mesh, around: Sequence[Mesh]) -> FloatArray:
    """Gap from each corner of `thing` to the meshes around it.

    Parameters
    ----------
    thing : Mesh, mm
        As `refined` gives it: its corners are looked at with their triangle's normal.
    around : sequence of Mesh, mm

    Returns
    -------
    array of shape (3 m,), mm
        For each corner of each triangle in turn; NaN where nothing faces it within `REACH_MM`.
    """
    from scipy.spatial import KDTree

    corners = thing.corners
    points = corners.reshape(-1, 3)
    normals = np.repeat(thing.normals(), 3, axis=0)
    # A corner that lies on an edge looks a hair inwards, at the face it belongs to.
    points = points + 1e-3 * (np.repeat(corners.mean(axis=1), 3, axis=0) - points)
    low, high = thing.bounds[0] - REACH_MM, thing.bounds[1] + REACH_MM
    samples, facing = _samples(around, low, high)
    gap = np.full(len(points), np.nan)
    if not len(samples):
        return gap
    tree = KDTree(samples)
    reach = np.hypot(REACH_MM, _PITCH_MM)
    query = tree.query(points, k=min(12, len(samples)), distance_upper_bound=reach)
    away, index = (np.reshape(answer, (len(points), -1)) for answer in query)
    found = np.isfinite(away)
    index = np.where(found, index, 0)
    towards = samples[index] - points[:, None]
    plane = facing[index]
    distance = -np.einsum("ijk,ijk->ij", towards, plane)
    looks = np.einsum("ijk,ik->ij", plane, normals) < _FACING
    beside = np.linalg.norm(towards + distance[..., None] * plane, axis=2)
    good = found & looks & (beside < 1.5 * _PITCH_MM) & (np.abs(distance) <= REACH_MM)
    distance = np.where(good, distance, np.inf)
    # The least in size: the near side of a wall, not the far one.
    best = np.abs(distance).argmin(axis=1)
    value = distance[np.arange(len(points)), best]
    gap[np.isfinite(value)] = value[np.isfinite(value)]
    return gap


def _samples(
    meshes: Sequence[Mesh], low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Points over the faces within a box, and the normal of the face each is on."""
    points, normals = [], []
    for mesh in meshes:
        corners = mesh.corners
        near = ((corners.max(axis=1) >= low) & (corners.min(axis=1) <= high)).all(axis=1)
        if not near.any():
            continue
        piece = refined(Mesh(mesh.vertices, mesh.triangles[near]), _PITCH_MM, most=_MOST_SAMPLES)
        centre = piece.corners.mean(axis=1)
        inside = ((centre >= low) & (centre <= high)).all(axis=1)
        points.append(centre[inside])
        normals.append(piece.normals()[inside])
    if not points:
        return np.empty((0, 3)), np.empty((0, 3))
    return np.concatenate(points), np.concatenate(normals)
