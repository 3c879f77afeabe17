"""Shapes for a slider before it is dragged, so that the page can draw each value at once.

Model: while a size changes and no face comes or goes, each corner of the part moves along a
straight line, as long as the template's own rules stay straight. A `Piece` holds a stretch of a
slider's values over which that is so: one exact shape, and how far each corner moves per unit. It
is found, not assumed: the far end of a stretch is built by the CAD kernel too, every shape that was
built between its ends must lie within `HOLDS_MM` of the straight line, and no triangle may turn
over. Where that ends, the next piece begins, down to a single value with its exact shape. So what
the page draws at a value is within 0.05 mm of what the kernel builds there.

Runs in the build process. Left out: values between two steps of the slider, which it does not give.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.export.scene import scene_of
from fitkit.solids.mesh import Mesh, feature_edge_ends

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fitkit.export.scene import Scene
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import FloatArray, IntArray

__all__ = ["HOLDS_MM", "Piece", "drawn_at", "pieces"]

HOLDS_MM = 0.02
_SAME_MM = 1e-4  # copies of one corner, as two faces have it
_MOST_BUILT = 48
_RATES = ("rates", "edge_rates")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A stretch of a slider's values with the shape at one of them and how its corners move.

    Attributes
    ----------
    low, high, at : float
        The first and last value, and that of the shape.
    bodies : list of dict
        As a scene's head has them, with the names of their arrays.
    arrays : list of arrays
        Those of a scene, and after those of each solid how its corners (n, 3) and the ends of its
        edges (k, 2, 3) move, mm per unit of the value.
    """

    low: float
    high: float
    at: float
    bodies: list[dict[str, Any]]
    arrays: list[np.ndarray[Any, Any]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solid:
    """A meshed solid whose corners can be found again in a neighbour's."""

    mesh: Mesh
    named: FloatArray  # corners, face by face
    counts: tuple[int, ...]
    node: IntArray | None  # for each corner of the mesh, one of those; None if one is not there
    corner: IntArray | None  # for each of those, the corner of the mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Built:
    value: float
    part: Part
    solids: dict[str, _Solid]


def pieces(
    build: Callable[[float], Part | None],
    values: Sequence[float],
    start: int,
    *,
    bed_mm: Sequence[float] | None = None,
    most: int = _MOST_BUILT,
) -> Iterator[Piece]:
    """Find the pieces of a slider's values, beginning where it stands and going both ways.

    Parameters
    ----------
    build : callable
        Gives the part at a value; None where there is none.
    values : sequence of float
        All that the slider can give, ascending.
    start : int
        Which of them it stands at.
    bed_mm : (x, y), mm, optional
    most : int
        Parts that are built at most.

    Yields
    ------
    Piece
        One that has grown takes the place of an earlier one with the same shape.
    """
    search = _Search(build, values, bed_mm)
    sides = [search.side(start, 1), search.side(start, -1)]
    while sides and search.count < most:
        for side in tuple(sides):
            try:
                found = next(side)
            except StopIteration:
                sides.remove(side)
                continue
            if found is not None:
                yield found


class _Search:
    def __init__(
        self,
        build: Callable[[float], Part | None],
        values: Sequence[float],
        bed_mm: Sequence[float] | None,
    ) -> None:
        self._build, self._values, self._bed_mm = build, values, bed_mm
        self._known: dict[int, _Built | None] = {}
        self._scene: tuple[int, Scene] | None = None  # the last, and of which value
        self.count = 0

    def side(self, start: int, step: int) -> Iterator[Piece | None]:
        """Go one way from a value; None says that a part was built and there is no news yet."""
        begin, end = start, len(self._values) - 1 if step > 0 else 0
        while (end - begin) * step >= 0:
            if self._at(begin) is None:
                yield None
                begin += step
                continue
            good, far, stride = begin, None, 1
            if begin != start:
                yield self._piece(begin, good)
            told = good
            while good != end and far is None:
                there = begin + step * min(stride, abs(end - begin))
                if self._straight(begin, there):
                    told = good = there
                    yield self._piece(begin, good)
                else:
                    far = there
                    yield None
                stride *= 2
            while far is not None and abs(far - good) > 1:
                middle = (far + good) // 2 if step > 0 else -((-far - good) // 2)
                if self._straight(begin, middle):
                    good = middle
                else:
                    far = middle
                yield None
            if good != told:
                yield self._piece(begin, good)
            begin = good + step

    def _at(self, number: int) -> _Built | None:
        if number not in self._known:
            self.count += 1
            value = self._values[number]
            part = self._build(value)
            self._known[number] = None if part is None else _built(value, part)
        return self._known[number]

    def _straight(self, begin: int, end: int) -> bool:
        one, two = self._at(begin), self._at(end)
        if one is None or two is None or not _alike(one, two):
            return False
        low, high = sorted((begin, end))
        between = [self._known[n] for n in range(low + 1, high) if n in self._known]
        return all(middle is not None and _on_the_way(one, two, middle) for middle in between)

    def _piece(self, begin: int, end: int) -> Piece:
        one, two = self._at(begin), self._at(end)
        assert one is not None
        assert two is not None
        if self._scene is None or self._scene[0] != begin:
            self._scene = (begin, scene_of(one.part, bed_mm=self._bed_mm))
        scene = self._scene[1]
        bodies: list[dict[str, Any]] = []
        arrays: list[np.ndarray[Any, Any]] = []
        given = iter(scene.arrays)
        for entry in scene.head["bodies"]:
            solid, other = one.solids[entry["name"]], two.solids[entry["name"]]
            arrays += [next(given) for _ in entry["arrays"]]
            rates = _moves(solid, other) / ((two.value - one.value) or 1.0)
            ends = feature_edge_ends(solid.mesh)
            arrays += [rates.astype(np.float32), rates[ends].astype(np.float32)]
            bodies.append(entry | {"arrays": [*entry["arrays"], *_RATES]})
        low, high = sorted((one.value, two.value))
        return Piece(low=low, high=high, at=one.value, bodies=bodies, arrays=arrays)


def drawn_at(piece: Piece, value: float) -> dict[str, Mesh]:
    """Give the meshes that the page draws at a value of a piece, by the name of the solid.

    Parameters
    ----------
    piece : Piece
    value : float
        From `Piece.low` to `Piece.high`.

    Returns
    -------
    dict of str to Mesh
    """
    found: dict[str, Mesh] = {}
    given = iter(piece.arrays)
    for entry in piece.bodies:
        own = {name: next(given) for name in entry["arrays"]}
        corners = own["corners"] + own["rates"] * np.float32(value - piece.at)
        triangles = own["triangles"].astype(np.int32)
        found[entry["name"]] = Mesh(corners.astype(np.float64), triangles)
    return found


def _built(value: float, part: Part) -> _Built:
    from fitkit.parts.meshed import mesh_of
    from fitkit.solids.named import named_corners

    solids: dict[str, _Solid] = {}
    for body in (*part.bodies, *part.ghosts):
        mesh = mesh_of(body)
        node = corner = None
        if body.mesh is None:
            named, counts = named_corners(body.solid)
            node, corner = _found_again(mesh, named)
        else:  # a mesh that was put together by triangles has no corner that stays
            named, counts = mesh.vertices, ()
        solids[body.name] = _Solid(mesh=mesh, named=named, counts=counts, node=node, corner=corner)
    return _Built(value=value, part=part, solids=solids)


def _found_again(mesh: Mesh, named: FloatArray) -> tuple[IntArray | None, IntArray | None]:
    """Match the corners of a mesh with those of its faces, which are equal to the last bit."""
    row = np.dtype((np.void, 12))
    ours, theirs = (
        np.ascontiguousarray(points.astype(np.float32) + np.float32(0)).view(row).ravel()
        for points in (mesh.vertices, named)
    )
    _, first, index = np.unique(
        np.concatenate([ours, theirs]), return_index=True, return_inverse=True
    )
    corner = first[index[len(ours) :]]
    node = np.full(len(ours), -1)
    node[corner[corner < len(ours)]] = np.flatnonzero(corner < len(ours))
    if (corner >= len(ours)).any() or (node < 0).any():
        return None, None
    return node.astype(np.int32), corner.astype(np.int32)


def _alike(one: _Built, two: _Built) -> bool:
    """Whether two parts have the same faces and facets, and no triangle is turned over."""
    if list(one.solids) != list(two.solids):
        return False
    for name, solid in one.solids.items():
        other = two.solids[name]
        if solid.counts != other.counts or solid.node is None or solid.corner is None:
            return False
        moved = other.named[solid.node]
        # What is one corner here must be one corner there.
        if np.abs(other.named - moved[solid.corner]).max() > _SAME_MM:
            return False
        area = Mesh(moved, solid.mesh.triangles).area_vectors()
        if (np.einsum("ij,ij->i", area, solid.mesh.normals()) < -1e-6).any():
            return False
    return True


def _on_the_way(one: _Built, two: _Built, middle: _Built) -> bool:
    """Whether a part lies on the straight line between two others."""
    if not _alike(one, middle):
        return False
    share = (middle.value - one.value) / (two.value - one.value)
    return all(
        np.abs(_moves(solid, two.solids[name]) * share - _moves(solid, middle.solids[name])).max()
        <= HOLDS_MM
        for name, solid in one.solids.items()
    )


def _moves(solid: _Solid, other: _Solid) -> FloatArray:
    """How far each corner of a mesh lies from the same corner of another."""
    if solid is other or solid.node is None:
        return np.zeros_like(solid.mesh.vertices)
    return np.asarray(other.named[solid.node] - solid.named[solid.node])
