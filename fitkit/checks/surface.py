"""A mesh with what several checks need of it, worked out once: area vectors, areas, neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from fitkit.solids.mesh import Mesh

__all__ = ["Neighbours", "Surface"]

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


class Neighbours(NamedTuple):
    """Pairs of triangles that share an edge, and the edge's two vertices, each of shape (e,)."""

    first: IndexArray
    second: IndexArray
    start: IndexArray
    end: IndexArray


@dataclass(frozen=True, eq=False)
class Surface:
    """A mesh as printed, standing on z = 0 (no slots: its properties are cached).

    Attributes
    ----------
    mesh : Mesh
    on_bed_mm : float, mm
        Triangles wholly below this height lie on the bed: half a layer.
    """

    mesh: Mesh
    on_bed_mm: float = 0.1

    @cached_property
    def vectors(self) -> FloatArray:
        """Outward normals scaled by area, shape (m, 3), mm²."""
        return self.mesh.area_vectors()

    @cached_property
    def areas(self) -> FloatArray:
        """Area of each triangle, shape (m,), mm²."""
        return np.asarray(np.sqrt(np.einsum("ij,ij->i", self.vectors, self.vectors)))

    @cached_property
    def on_bed(self) -> BoolArray:
        """Triangles that lie on the bed."""
        low = self.mesh.vertices[:, 2] < self.on_bed_mm
        a, b, c = self.mesh.triangles.T
        return np.asarray(low[a] & low[b] & low[c])

    @cached_property
    def down(self) -> FloatArray:
        """How squarely each triangle faces down: 1 for a ceiling, 0 for a wall, -1 for a floor."""
        down = np.zeros_like(self.areas)
        np.divide(-self.vectors[:, 2], self.areas, out=down, where=self.areas > 0)
        return down

    @cached_property
    def neighbours(self) -> Neighbours:
        """Which triangles share an edge."""
        t = self.mesh.triangles.astype(np.int64)
        a, b = t.ravel(), np.roll(t, -1, axis=1).ravel()
        owner = np.repeat(np.arange(len(t)), 3)
        key = np.minimum(a, b) * (len(self.mesh.vertices) + 1) + np.maximum(a, b)
        order = np.argsort(key)
        same = np.flatnonzero(key[order][:-1] == key[order][1:])
        first, second = order[same], order[same + 1]
        return Neighbours(owner[first], owner[second], a[first], b[first])

    def laid(self, axis: int, sign: float) -> Surface:
        """Lay the body so that an axis (0, 1, 2), or its reverse, points up, standing on z = 0."""
        turn = np.roll(np.eye(3), axis - 2, axis=1)  # z takes the axis; right-handed
        if sign < 0:
            turn = np.diag([1.0, -1.0, -1.0]) @ turn
        vertices = self.mesh.vertices @ turn.T
        vertices[:, 2] -= vertices[:, 2].min()
        laid = Surface(type(self.mesh)(vertices, self.mesh.triangles), self.on_bed_mm)
        # A turn keeps areas and neighbours: hand them on instead of working them out again.
        laid.__dict__.update(
            vectors=self.vectors @ turn.T, areas=self.areas, neighbours=self.neighbours
        )
        return laid
