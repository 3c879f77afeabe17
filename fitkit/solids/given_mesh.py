"""A shape that somebody gives as a file: read, mended where that is safe, refused where it is not.

STL (binary or text) has no unit, so one must be said; 3MF and STEP have their own. What is mended
is told: equal corners shared, triangles without area and doubled ones left out, faces turned the
right way, small holes closed by a fan about their middle, shells that stand in each other united.
Holes that are larger, edges where more than two faces meet, a surface with one side only and a
surface that crosses itself are refused with the place.

Whether a shape is inside out, doubled or crosses itself is looked at along rays on a grid from
three sides: along each, plastic must begin and end in turn. A crossing between the rays, which lie
a fortieth of the shape apart, can be missed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from fitkit.core.errors import PartError
from fitkit.core.given_file import GivenShape, shape_at
from fitkit.solids.mesh_kernel import (
    added,
    coarser,
    cut_out,
    hits_along,
    mesh_from,
    pieces_of,
    stands_in,
    unchecked,
)

if TYPE_CHECKING:
    from pathlib import Path

    from manifold3d import Manifold

    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["ENDINGS", "MOST_TRIANGLES", "Sound", "Unit", "given_shape", "mended"]

ENDINGS = (".stl", ".3mf", ".step", ".stp")
MOST_TRIANGLES = 2_000_000
Unit = Literal["mm", "cm", "m", "in", "ft"]
MM_IN = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
_ROW = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
# A hole is closed if it is no wider than this share of the shape's diagonal. A choice of ours.
_SMALL_HOLE = 0.05
_NEAR_MM = 0.01  # corners at a gap that lie so near are one
_RAYS = 40  # a side of the grid of rays


@dataclass(frozen=True, eq=False)
class Sound:
    """A given shape that is a closed solid, in mm.

    Attributes
    ----------
    solid : Manifold
    said : tuple of str
        What was mended, in full sentences.
    where : str
        Name of the file.
    """

    solid: Manifold
    said: tuple[str, ...]
    where: str

    @cached_property
    def mesh(self) -> Mesh:
        """Its triangles."""
        return mesh_from(self.solid)

    @cached_property
    def coarse(self) -> Mesh:
        """A coarser copy for views."""
        return coarser(self.solid)

    @cached_property
    def size(self) -> FloatArray:
        """Overall size along x, y, z, shape (3,), mm."""
        return np.ptp(self.bounds, axis=0)

    @cached_property
    def bounds(self) -> FloatArray:
        """Lowest and highest corner of its box, shape (2, 3), mm."""
        return np.reshape(self.solid.bounding_box(), (2, 3))

    @cached_property
    def _boxes(self) -> tuple[Any, Any]:
        corners = self.mesh.vertices.astype(np.float32)[self.mesh.triangles]
        return corners.min(axis=1), corners.max(axis=1)

    def near(self, point: FloatArray, radius: float) -> FloatArray:
        """Give the triangles whose boxes come within a distance of a point, shape (k, 3, 3), mm."""
        low, high = self._boxes
        at = np.asarray(point, np.float32)
        apart = np.maximum(np.maximum(low - at, at - high), 0.0)
        close = np.einsum("ij,ij->i", apart, apart) <= np.float32(radius) ** 2
        return self.mesh.vertices[self.mesh.triangles[close]]

    def closest(self, point: FloatArray) -> tuple[FloatArray, float]:
        """Find the nearest point of its surface, and how far away that is, mm.

        Parameters
        ----------
        point : array of shape (3,), mm

        Returns
        -------
        array of shape (3,), float
        """
        point = np.asarray(point, float)
        radius = 1.0
        while True:
            found = self.near(point, radius)
            if len(found):
                nearest = _closest_on(found, point)
                away = np.linalg.norm(nearest - point, axis=1)
                best = int(np.argmin(away))
                if away[best] <= radius:
                    return nearest[best], float(away[best])
            radius *= 4.0

    def normal_at(self, point: FloatArray, *, over_mm: float = 2.0) -> FloatArray:
        """Give the way out of the shape at a point of its surface, averaged over some distance.

        Parameters
        ----------
        point : array of shape (3,), mm
        over_mm : float, mm
            Radius about the point.

        Returns
        -------
        array of shape (3,)
            A unit vector.
        """
        found = self.near(point, over_mm)
        vectors = np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0])
        # Of a thin wall, only the side on which the point lies.
        own = _closest_on(found, np.asarray(point, float)) - point
        first = vectors[np.argmin(np.einsum("ij,ij->i", own, own))]
        total = vectors[vectors @ first > 0].sum(axis=0)
        length = float(np.linalg.norm(total))
        return np.asarray(total / length)


def _closest_on(corners: FloatArray, point: FloatArray) -> FloatArray:
    """Nearest point of each triangle to a point, shape (k, 3).

    By regions of the triangle (C. Ericson, Real-Time Collision Detection, 2005, 5.1.5).
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac, ap = b - a, c - a, point - a
    bp, cp = point - b, point - c

    def dot(u: FloatArray, v: FloatArray) -> FloatArray:
        return np.asarray(np.einsum("ij,ij->i", u, v))

    d1, d2, d3 = dot(ab, ap), dot(ac, ap), dot(ab, bp)
    d4, d5, d6 = dot(ac, bp), dot(ab, cp), dot(ac, cp)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    with np.errstate(all="ignore"):
        on_ab = np.clip(np.nan_to_num(d1 / (d1 - d3)), 0, 1)[:, None]
        on_ac = np.clip(np.nan_to_num(d2 / (d2 - d6)), 0, 1)[:, None]
        on_bc = np.clip(np.nan_to_num((d4 - d3) / ((d4 - d3) + (d5 - d6))), 0, 1)[:, None]
        total = va + vb + vc
        inside = (
            a + ab * np.nan_to_num(vb / total)[:, None] + ac * np.nan_to_num(vc / total)[:, None]
        )
    result = inside
    for case, value in (
        ((va <= 0) & (d4 - d3 >= 0) & (d5 - d6 >= 0), b + on_bc * (c - b)),
        ((vb <= 0) & (d2 >= 0) & (d6 <= 0), a + on_ac * ac),
        ((vc <= 0) & (d1 >= 0) & (d3 <= 0), a + on_ab * ab),
        ((d6 >= 0) & (d5 <= d6), c),
        ((d3 >= 0) & (d4 <= d3), b),
        ((d1 <= 0) & (d2 <= 0), a),
    ):
        result = np.where(case[:, None], value, result)
    return result


# --- reading -------------------------------------------------------------------------------------


def given_shape(file: str, unit: str | None) -> Sound:
    """Read and mend a given shape; the last two are remembered by their content.

    Parameters
    ----------
    file : str
        As `given_file.referred` holds it, or a path.
    unit : str or None
        Of an STL file; of others only to be held against their own.

    Returns
    -------
    Sound

    Raises
    ------
    PartError
        If it cannot be read, has no unit, is too large, or is not a solid that can be mended.
    """
    return _sound(shape_at(file), unit)


@lru_cache(maxsize=2)
def _sound(file: GivenShape, unit: str | None) -> Sound:
    path, where = file.path, file.name
    ending = path.suffix.lower()
    if ending == ".stl":
        if unit is None:
            raise PartError(
                "an STL file does not say its unit",
                where=where,
                at=("unit",),
                code="shape.no-unit",
                remedy=_as_sizes(path),
            )
        vertices, triangles = _read_stl(path, where)
        vertices = vertices * MM_IN[unit]
    elif ending == ".3mf":
        vertices, triangles = _read_3mf(path, where)
    elif ending in (".step", ".stp"):
        vertices, triangles = _read_step(path, where)
    else:
        raise PartError(
            f"{ending or 'a file without ending'} is not a kind of file that can be read",
            where=where,
            code="shape.kind",
            remedy=f"Give one of: {', '.join(ENDINGS)}.",
        )
    if ending != ".stl" and unit not in (None, "mm"):
        raise PartError(
            f"a {ending[1:].upper()} file says its own unit",
            where=where,
            at=("unit",),
            code="shape.own-unit",
            remedy="Leave the key 'unit' out.",
        )
    return mended(vertices, triangles, where=where)


def _as_sizes(path: Path) -> str:
    """Say how large the shape would be in each unit."""
    try:
        vertices, _ = _read_stl(path, path.name)
        size = np.ptp(vertices, axis=0)
    except (PartError, ValueError):
        return 'Write unit = "mm", or the unit in which it was drawn.'
    said = "; ".join(
        f'"{unit}" if it is {" x ".join(f"{x * MM_IN[unit]:.4g}" for x in size)} mm'
        for unit in ("mm", "cm", "in", "m")
    )
    return f"Measure its overall size, and write unit = {said}."


def _refuse_too_many(count: int, where: str) -> None:
    if count > MOST_TRIANGLES:
        raise PartError(
            f"it has {count:,} triangles, over {MOST_TRIANGLES:,}",
            where=where,
            code="shape.too-many-triangles",
            remedy="Have your modelling program reduce it to a million: that is finer than a "
            "layer at the size of a print.",
        )


def _read_stl(path: Path, where: str) -> tuple[FloatArray, Any]:
    content = path.read_bytes()
    count = int(np.frombuffer(content, "<u4", 1, 80)[0]) if len(content) >= 84 else 0
    if len(content) >= 84 and len(content) >= 84 + 50 * count and count:
        is_text = content[:5] == b"solid" and b"facet" in content[:1000]
        if not is_text:
            _refuse_too_many(count, where)
            corners = np.frombuffer(content, _ROW, count, 84)["corners"].reshape(-1, 3)
            return corners.astype(np.float64), np.arange(3 * count).reshape(-1, 3)
    if content.lstrip()[:5] != b"solid":
        raise PartError(
            "this is not an STL file that can be read"
            + (f": it says {count:,} triangles and ends before" if count else ""),
            where=where,
            code="shape.not-stl",
            remedy="Export it again.",
        )
    _refuse_too_many(content.count(b"endfacet"), where)
    texts = re.findall(rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)", content)
    try:
        corners = np.array(texts, dtype=np.float64).reshape(-1, 3)
    except ValueError:
        corners = np.empty((0, 3))
    if not len(corners) or len(corners) % 3:
        raise PartError(
            "this is not an STL file that can be read",
            where=where,
            code="shape.not-stl",
            remedy="Export it again, in the binary form.",
        )
    return corners, np.arange(len(corners)).reshape(-1, 3)


def _read_3mf(path: Path, where: str) -> tuple[FloatArray, Any]:
    from fitkit.core.errors import ExportError
    from fitkit.solids.read_3mf import read_3mf

    try:
        bodies, _ = read_3mf(path)
    except ExportError as error:
        raise error.placed(PartError, where=where) from error
    return _joined([body.mesh for body in bodies], where)


def _read_step(path: Path, where: str) -> tuple[FloatArray, Any]:
    from fitkit.core.given_file import MOST_BYTES
    from fitkit.solids.kernel import tessellate
    from fitkit.solids.outline import read_bodies

    if path.stat().st_size > MOST_BYTES:
        raise PartError(
            f"it has {path.stat().st_size / 1e6:.0f} MB, over {MOST_BYTES / 1e6:.0f} MB",
            where=where,
            code="file.too-large",
            remedy="Export it as STL or 3MF.",
        )
    return _joined([tessellate(one, tolerance_mm=0.01) for one in read_bodies(path)], where)


def _joined(meshes: list[Mesh], where: str) -> tuple[FloatArray, Any]:
    _refuse_too_many(sum(len(one.triangles) for one in meshes), where)
    starts = np.cumsum([0, *(len(one.vertices) for one in meshes)])
    return (
        np.concatenate([one.vertices for one in meshes] or [np.empty((0, 3))]),
        np.concatenate(
            [one.triangles + start for one, start in zip(meshes, starts, strict=False)]
            or [np.empty((0, 3), int)]
        ),
    )


# --- mending -------------------------------------------------------------------------------------


def mended(vertices: FloatArray, triangles: Any, *, where: str = "") -> Sound:
    """Make a closed solid of triangles, or say why that cannot be.

    Parameters
    ----------
    vertices : array of shape (n, 3), mm
        Equal corners may come several times.
    triangles : array of shape (m, 3)
    where : str
        Name of the file, for messages.

    Returns
    -------
    Sound

    Raises
    ------
    PartError
        If it has no volume, holes, a surface with one side only, or crosses itself.
    """
    if not len(triangles):
        raise _bad("it holds no triangles", where, "shape.empty", "Export the shape again.")
    if not np.isfinite(vertices).all():
        count = int((~np.isfinite(vertices).all(axis=1)).sum())
        raise _bad(
            f"{count} of its corners have no place (not a number, or endless)",
            where,
            "shape.not-finite",
            "Export the shape again.",
        )
    said: list[str] = []
    corners, index = _shared(np.asarray(vertices, np.float64))
    faces = index[np.asarray(triangles, np.int64)]
    faces = _with_area(faces)
    if not len(faces):
        raise _bad("it has no volume", where, "shape.flat", "Give a solid shape.")
    solid = unchecked(corners, faces)
    if solid.status().name != "NoError":
        corners, faces = _repaired(corners, faces, where, said)
        solid = unchecked(corners, faces)
        if solid.status().name != "NoError":
            raise _open(corners, faces, where)
    return Sound(_right_way_out(solid, where, said), tuple(said), where)


def _bad(what: str, where: str, code: str, remedy: str) -> PartError:
    return PartError(what, where=where or None, code=code, remedy=remedy)


_MEND = "Mend it in your modelling program, and export it again."


def _at(point: FloatArray) -> str:
    return "(" + ", ".join(f"{round(x, 1) + 0.0:.1f}" for x in np.asarray(point).tolist()) + ") mm"


def _shared(vertices: FloatArray) -> tuple[FloatArray, Any]:
    """Share equal corners: the corners, and of each corner before the number now."""
    import pandas as pd

    bits = np.ascontiguousarray(vertices + 0.0).view(np.uint64)  # + 0.0 makes -0.0 the same
    keys = bits[:, 0].copy()
    for column, factor in ((1, 0x9E3779B97F4A7C15), (2, 0xC2B2AE3D27D4EB4F)):
        keys = (keys ^ (keys >> np.uint64(29))) * np.uint64(factor) + bits[:, column]
    index, unique = pd.factorize(keys)
    first = np.empty(len(unique), np.int64)
    first[index[::-1]] = np.arange(len(index))[::-1]
    corners = vertices[first]
    if not np.array_equal(corners[index], vertices):  # two corners had one key
        corners, index = np.unique(vertices, axis=0, return_inverse=True)
    return corners, index.ravel()


def _with_area(faces: Any) -> Any:
    a, b, c = faces.T
    return faces[(a != b) & (b != c) & (c != a)]


def _repaired(corners: FloatArray, faces: Any, where: str, said: list[str]) -> tuple[Any, Any]:
    """Join near corners, drop doubled faces, turn faces alike, close small holes."""
    count = len(faces)
    order = np.sort(faces, axis=1)
    _, first, same = np.unique(order, axis=0, return_index=True, return_counts=True)
    if len(first) < count:
        # Of faces that lie on one another one is kept; of pairs that look both ways, none.
        keep = np.sort(first[same % 2 == 1])
        said.append(f"{count - len(keep)} doubled triangles were left out.")
        faces = faces[keep]
    corners, faces, joined = _near_joined(corners, faces)
    if joined:
        said.append(f"{joined} corners that lay within {_NEAR_MM:g} mm of others were joined.")
    faces, turned = _turned_alike(corners, faces, where)
    if turned:
        said.append(f"{turned} triangles looked the other way than their neighbours: turned round.")
    return _closed(corners, faces, where, said)


def _unmatched(faces: Any, count: int) -> Any:
    """Directed edges without their opposite, shape (k, 2)."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    forward, backward = start * count + end, end * count + start
    keys, times = np.unique(forward, return_counts=True)
    back, back_times = np.unique(backward, return_counts=True)
    place = np.searchsorted(back, keys)
    place[place == len(back)] = 0
    other = np.where(back[place] == keys, back_times[place], 0)
    odd = keys[times != other]
    return np.stack([odd // count, odd % count], axis=1)


def _near_joined(corners: FloatArray, faces: Any) -> tuple[FloatArray, Any, int]:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    rim = np.unique(_unmatched(faces, len(corners)))
    if not len(rim):
        return corners, faces, 0
    pairs = cKDTree(corners[rim]).query_pairs(_NEAR_MM, output_type="ndarray")
    if not len(pairs):
        return corners, faces, 0
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), (len(rim), len(rim)))
    groups, label = connected_components(graph, directed=False)
    first = np.full(groups, len(corners))
    np.minimum.at(first, label, rim)
    index = np.arange(len(corners))
    index[rim] = first[label]
    return corners, _with_area(index[faces]), len(rim) - groups


def _turned_alike(corners: FloatArray, faces: Any, where: str) -> tuple[Any, int]:
    """Turn faces so that each agrees with its neighbours: the fewer of each shell are turned."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(faces)
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    owner = np.repeat(np.arange(count), 3)
    low, high = np.minimum(start, end), np.maximum(start, end)
    key = low * len(corners) + high
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.r_[True, np.diff(key[order]) != 0])
    times = np.diff(np.r_[first, len(key)])
    if (worst := int(times.max())) > 2:
        edge = order[first[np.argmax(times)]]
        middle = (corners[start[edge]] + corners[end[edge]]) / 2
        raise _bad(
            f"{int((times > 2).sum())} of its edges have more than two faces, as one with {worst} "
            f"at {_at(middle)}",
            where,
            "shape.edge",
            _MEND,
        )
    two = first[times == 2]
    one, other = order[two], order[two + 1]
    alike = start[one] == end[other]
    a, b = owner[one], owner[other]
    rows = np.r_[a, a + count]
    columns = np.r_[np.where(alike, b, b + count), np.where(alike, b + count, b)]
    graph = coo_matrix((np.ones(len(rows), np.int8), (rows, columns)), (2 * count, 2 * count))
    _, label = connected_components(graph, directed=False)
    kept, flipped = label[:count], label[count:]
    if (kept == flipped).any():
        place = corners[faces[np.argmax(kept == flipped)]].mean(axis=0)
        raise _bad(
            f"its surface has one side only, near {_at(place)}",
            where,
            "shape.one-sided",
            _MEND,
        )
    # A shell has two labels, one for each way to turn it: that which leaves more faces as they are.
    weight = np.bincount(kept, minlength=2 * count)
    lesser = weight[kept] < weight[flipped]
    equal = weight[kept] == weight[flipped]
    turn = lesser | (equal & (kept > flipped))
    faces = np.where(turn[:, None], faces[:, ::-1], faces)
    return faces, int(turn.sum())


def _loops(edges: Any) -> list[list[int]]:
    """Ways round holes: the open edges walked backwards, corner by corner."""
    after: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        after.setdefault(end, []).append(start)
    loops = []
    for begin in sorted(after):
        while after.get(begin):
            loop, here = [begin], after[begin].pop()
            while here != begin and after.get(here):
                loop.append(here)
                here = after[here].pop()
            loops.append(loop)
    return loops


def _closed(corners: FloatArray, faces: Any, where: str, said: list[str]) -> tuple[Any, Any]:
    edges = _unmatched(faces, len(corners))
    if not len(edges):
        return corners, faces
    diagonal = float(np.linalg.norm(np.ptp(corners, axis=0)))
    holes = []
    for loop in _loops(edges):
        rim = corners[loop]
        holes.append((float(np.linalg.norm(np.ptp(rim, axis=0))), rim.mean(axis=0), loop))
    holes.sort(key=lambda hole: -hole[0])
    wide, middle, _ = holes[0]
    many = f"{len(holes)} hole{'' if len(holes) == 1 else 's'}"
    if wide > _SMALL_HOLE * diagonal:
        raise _bad(
            f"it has {many}; the largest is {wide:.1f} mm wide at {_at(middle)}",
            where,
            "shape.open",
            f"Close it in your modelling program: up to {_SMALL_HOLE * diagonal:.1f} mm would be "
            "closed here.",
        )
    extra: list[FloatArray] = []
    more: list[tuple[int, int, int]] = []
    for _, centre, loop in holes:
        number = len(corners) + len(extra)
        extra.append(centre)
        nexts = [*loop[1:], loop[0]]
        more += [(a, b, number) for a, b in zip(loop, nexts, strict=True)]
    said.append(f"{many} up to {wide:.1f} mm wide, such as at {_at(middle)}, closed.")
    return np.vstack([corners, extra]), np.vstack([faces, more])


def _open(corners: FloatArray, faces: Any, where: str) -> PartError:
    edges = _unmatched(np.asarray(faces, np.int64), len(corners))
    place = corners[edges[0]].mean(axis=0) if len(edges) else corners[faces[0]].mean(axis=0)
    return _bad(
        f"it is not closed near {_at(place)}, and could not be mended", where, "shape.open", _MEND
    )


# --- which side is out ---------------------------------------------------------------------------


def _right_way_out(solid: Manifold, where: str, said: list[str]) -> Manifold:
    size = np.ptp(np.reshape(solid.bounding_box(), (2, 3)), axis=0)
    if abs(solid.volume()) < 1e-9 * max(float(size.max()), 1e-9) ** 3:
        raise _bad("it has no volume", where, "shape.flat", "Give a solid shape.")
    if solid.volume() < 0:
        solid = _inside_out(solid)
        said.append("It was inside out, and is turned.")
    if _crossing(solid) is None:
        return solid
    shells = pieces_of(solid)
    if len(shells) > 1:
        solid = _united(shells, said)
    if (place := _crossing(solid)) is not None:
        raise _bad(f"its surface crosses itself near {_at(place)}", where, "shape.crosses", _MEND)
    return solid


def _inside_out(solid: Manifold) -> Manifold:
    mesh = solid.to_mesh64()
    return unchecked(
        np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts, np.int64)[:, ::-1]
    )


def _united(shells: list[Manifold], said: list[str]) -> Manifold:
    """Unite shells: a hollow is one that looks inwards inside of another."""
    outer = [one for one in shells if one.volume() > 0]
    hollow, turned = [], 0
    for shell in shells:
        if shell.volume() >= 0:
            continue
        right = _inside_out(shell)
        point = np.asarray(shell.to_mesh64().vert_properties)[0, :3]
        if any(stands_in(one, point) for one in outer):
            hollow.append(right)
        else:
            outer.append(right)
            turned += 1
    if turned:
        said.append(
            f"{turned} of its shells {'was' if turned == 1 else 'were'} inside out: turned."
        )
    before = sum(one.volume() for one in outer)
    solid = added(outer)
    if before - solid.volume() > 1e-6 * before:
        said.append(f"{len(outer)} shells that stood in each other were united.")
    return cut_out(solid, hollow) if hollow else solid


def _crossing(solid: Manifold) -> FloatArray | None:
    """Look along rays from three sides for plastic that begins twice or ends twice: the place."""
    low, high = np.reshape(solid.bounding_box(), (2, 3))
    share = (np.arange(_RAYS) + 0.41421356) / _RAYS
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for i, s in enumerate(share):
            for j, t in enumerate(share):
                start = np.empty(3)
                # Off the rows of a regular mesh, so that few rays meet an edge.
                start[u] = low[u] + (s + 0.0031 * np.sin(7.0 * j)) * (high[u] - low[u])
                start[v] = low[v] + (t + 0.0029 * np.sin(5.0 * i)) * (high[v] - low[v])
                start[axis] = low[axis] - 1.0
                end = start.copy()
                end[axis] = high[axis] + 1.0
                depth = 0
                for hit in hits_along(solid, start, end):
                    depth += 1 if hit.enters else -1
                    if not 0 <= depth <= 1:
                        return start + hit.share * (end - start)
    return None
