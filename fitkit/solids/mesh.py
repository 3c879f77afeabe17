"""A triangle mesh as two arrays: what checks measure, previews draw and files carry.

Pure NumPy; knows nothing of the kernel that made the triangles. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = [
    "Mesh",
    "feature_edge_ends",
    "feature_edges",
    "lay_flat",
    "runs",
    "turn_matrix",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int32]

_SHARP = np.cos(np.radians(25.0))  # facets that meet flatter than this belong to one curved face


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles in space, outward by the right-hand rule.

    Attributes
    ----------
    vertices : array of shape (n, 3), mm
        Corner points; shared corners appear once in a closed mesh.
    triangles : array of shape (m, 3)
        Indices into `vertices`.
    """

    vertices: FloatArray
    triangles: IntArray

    @property
    def corners(self) -> FloatArray:
        """Corner points of each triangle, shape (m, 3, 3), mm."""
        return self.vertices[self.triangles]

    @property
    def bounds(self) -> FloatArray:
        """Lowest and highest corner of the box, shape (2, 3), mm."""
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @property
    def size(self) -> FloatArray:
        """Extent along x, y, z, shape (3,), mm."""
        low, high = self.bounds[0], self.bounds[1]
        return np.asarray(high - low)

    def area_vectors(self) -> FloatArray:
        """Outward normals scaled by triangle area, shape (m, 3), mm²."""
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return np.asarray(0.5 * np.cross(b - a, c - a))

    def areas(self) -> FloatArray:
        """Area of each triangle, shape (m,), mm²."""
        return np.asarray(np.linalg.norm(self.area_vectors(), axis=1))

    def normals(self) -> FloatArray:
        """Outward unit normals, shape (m, 3); zero for a triangle without area."""
        vectors = self.area_vectors()
        length = np.linalg.norm(vectors, axis=1, keepdims=True)
        unit = np.zeros_like(vectors)
        np.divide(vectors, length, out=unit, where=length > 0)
        return unit

    def volume(self) -> float:
        """Enclosed volume by the divergence theorem, mm³ (negative if inside out)."""
        # About the mean corner, so that a part far from the origin keeps its digits.
        a, b, c = np.moveaxis(self.corners - self.vertices.mean(axis=0), 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)

    def moved(self, rotation: FloatArray, shift: FloatArray) -> Mesh:
        """Turn by a 3 x 3 rotation, then shift by a vector in mm.

        Parameters
        ----------
        rotation : array of shape (3, 3)
            A pure turn: a mirror would turn the triangles inside out.
        shift : array of shape (3,), mm
            Added after the turn.

        Returns
        -------
        Mesh
            With the same triangles, shared.
        """
        return Mesh(self.vertices @ rotation.T + shift, self.triangles)

    def __repr__(self) -> str:
        """Count, never list."""
        return f"Mesh({len(self.vertices)} vertices, {len(self.triangles)} triangles)"


def feature_edges(mesh: Mesh, towards: FloatArray | None = None) -> FloatArray:
    """Find the edges of a mesh that a draughtsman would draw.

    Parameters
    ----------
    mesh : Mesh
        With shared corners appearing once.
    towards : array of shape (3,), optional
        Direction to the eye: the outline seen from there is drawn as well.

    Returns
    -------
    array of shape (k, 2, 3), mm
        Edges where two facets meet at more than 25 degrees, or where only one facet is.
    """
    return np.asarray(mesh.vertices[feature_edge_ends(mesh, towards)])


def feature_edge_ends(mesh: Mesh, towards: FloatArray | None = None) -> npt.NDArray[np.int64]:
    """Find between which corners the edges of `feature_edges` lie.

    Parameters
    ----------
    mesh : Mesh
        With shared corners appearing once.
    towards : array of shape (3,), optional
        As for `feature_edges`.

    Returns
    -------
    array of shape (k, 2)
        Indices into the mesh's vertices.
    """
    triangles = mesh.triangles.astype(np.int64)
    pairs = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(triangles)), 3)
    key = pairs[:, 0] * len(mesh.vertices) + pairs[:, 1]
    order = np.argsort(key, kind="stable")
    key, owner, pairs = key[order], owner[order], pairs[order]
    first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
    count = np.diff(np.r_[first, len(key)])
    normals = mesh.normals()
    a = owner[first]
    b = owner[first + np.minimum(count - 1, 1)]
    drawn = (count != 2) | (np.einsum("ij,ij->i", normals[a], normals[b]) < _SHARP)
    if towards is not None:
        facing = normals @ towards > 1e-9
        drawn |= facing[a] != facing[b]
    return np.asarray(pairs[first[drawn]])


def runs(
    start: npt.NDArray[np.int64], stop: npt.NDArray[np.int64]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Spell ranges out at once: of which range each number is, and the number.

    Examples
    --------
    >>> owner, number = runs(np.array([5, 0]), np.array([8, 2]))
    >>> owner.tolist(), number.tolist()
    ([0, 0, 0, 1, 1], [5, 6, 7, 0, 1])
    """
    length = stop - start
    owner = np.repeat(np.arange(len(start)), length)
    return owner, np.arange(len(owner)) + np.repeat(start - np.cumsum(length) + length, length)


def turn_matrix(turn_deg: tuple[float, float, float]) -> FloatArray:
    """Rotation about x, then y, then z, as a 3 x 3 matrix that acts on column vectors.

    Quarter turns come out exact, so that a flat face stays flat.

    Examples
    --------
    >>> turn_matrix((180.0, 0.0, 0.0)).astype(int).tolist()
    [[1, 0, 0], [0, -1, 0], [0, 0, -1]]
    """
    matrix = np.eye(3)
    for axis, angle in enumerate(np.radians(turn_deg)):
        c, s = np.round([np.cos(angle), np.sin(angle)], 15)
        i, j = (axis + 1) % 3, (axis + 2) % 3
        step = np.eye(3)
        step[[i, i, j, j], [i, j, i, j]] = c, -s, s, c
        matrix = step @ matrix
    return matrix


def lay_flat(
    mesh: Mesh, turn_deg: tuple[float, float, float]
) -> tuple[Mesh, FloatArray, FloatArray]:
    """Turn a mesh as it will be printed and drop it to z = 0.

    Returns
    -------
    Mesh, rotation of shape (3, 3), shift of shape (3,) in mm
        The laid mesh, and how it got there: ``laid = rotation @ point + shift``.
    """
    rotation = turn_matrix(turn_deg)
    shift = np.array([0.0, 0.0, -(mesh.vertices @ rotation.T)[:, 2].min()])
    return mesh.moved(rotation, shift), rotation, shift
