"""Booleans, cuts and rays of closed meshes, by manifold3d: the only file that calls it.

The exact kernel (`bodies`) makes what fitkit draws; a shape that somebody gives as triangles stays
triangles. manifold3d guarantees a closed result for closed operands. That it reports no error is no
proof that a shape is sound: inside-out, doubled and self-crossing ones pass it, so that
`given_mesh` looks for these itself. Lengths in mm, directions of any length.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import PartError
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import Manifold

    from fitkit.solids.mesh import FloatArray
    from fitkit.solids.profiles import Profile

__all__ = [
    "Hit",
    "added",
    "area_at",
    "area_of",
    "coarser",
    "common_part",
    "cut_out",
    "flat_sum",
    "hits_along",
    "manifold_of",
    "mesh_from",
    "opened_area",
    "outlines_at",
    "pieces_of",
    "placed",
    "profiles_of",
    "split_apart",
    "stands_in",
    "thickness_along",
]

# A coarser copy for views and checks: first so fine, then doubled until it is small enough.
_COARSE_MM = 0.02
_COARSE_MOST = 80_000


class Hit(NamedTuple):
    """Where a ray passes a face: share of its length, and whether it enters the plastic there."""

    share: float
    enters: bool


def manifold_of(mesh: Mesh) -> Manifold:
    """Hand a closed mesh over.

    Parameters
    ----------
    mesh : Mesh
        Closed, corners shared.

    Returns
    -------
    Manifold

    Raises
    ------
    PartError
        If it is not closed, or not oriented as one.
    """
    made = unchecked(mesh.vertices, mesh.triangles)
    if made.status().name != "NoError":
        raise PartError(
            f"its mesh is not that of a closed solid ({made.status().name})",
            code="mesh.not-closed",
            remedy="Change a size a little.",
        )
    return made


def unchecked(vertices: Any, triangles: Any) -> Manifold:
    """Hand triangles over as they are; ask the result's `status`."""
    import manifold3d

    # It takes no arrays that cannot be written to.
    corners = np.require(vertices, np.float64, ["C", "W", "O"])
    faces = np.require(triangles, np.uint64, ["C", "W", "O"])
    return manifold3d.Manifold(manifold3d.Mesh64(corners, faces))


def mesh_from(solid: Manifold) -> Mesh:
    """Take the triangles back, in single precision, as files hold them.

    Returns
    -------
    Mesh
        Closed; its corners are what a file in single precision gives back to the last bit.
    """
    made = solid.to_mesh()
    corners = np.asarray(made.vert_properties)[:, :3].astype(np.float64)
    return Mesh(corners, np.ascontiguousarray(made.tri_verts, np.int32))


def coarser(solid: Manifold, *, most: int = _COARSE_MOST) -> Mesh:
    """Give a copy of at most so many triangles, no corner moved by more than that asks for.

    Parameters
    ----------
    solid : Manifold
    most : int
        Triangles.

    Returns
    -------
    Mesh
        The solid's own mesh where it is small enough.
    """
    off = _COARSE_MM
    while solid.num_tri() > most and off < 2.0:
        simpler = solid.simplify(off)
        if simpler.num_tri() <= most:
            return mesh_from(simpler)
        solid, off = simpler, 2 * off
    return mesh_from(solid)


def placed(solid: Manifold, rotation: FloatArray, shift: FloatArray) -> Manifold:
    """Turn by a rotation (3, 3), then shift, mm."""
    return solid.transform(np.column_stack([rotation, shift]))


def added(solids: Sequence[Manifold]) -> Manifold:
    """Unite solids."""
    return _batch(solids, "Add")


def cut_out(solid: Manifold, tools: Sequence[Manifold]) -> Manifold:
    """Take all tools out of a solid."""
    return _batch([solid, *tools], "Subtract")


def common_part(one: Manifold, other: Manifold) -> Manifold:
    """Keep what both share."""
    return _batch([one, other], "Intersect")


def _batch(solids: Sequence[Manifold], what: str) -> Manifold:
    import manifold3d

    if len(solids) == 1:
        return solids[0]
    return manifold3d.Manifold.batch_boolean(list(solids), manifold3d.OpType[what])


def split_apart(solid: Manifold, point: FloatArray, normal: FloatArray) -> tuple[Manifold, ...]:
    """Cut by a plane: what lies where the normal points, and the rest."""
    unit = normal / np.linalg.norm(normal)
    return solid.split_by_plane(unit, float(unit @ point))


def pieces_of(solid: Manifold) -> list[Manifold]:
    """Give the shells that do not touch, the largest first; a hollow is a shell of its own."""
    return sorted(solid.decompose(), key=lambda one: -abs(one.volume()))


def hits_along(solid: Manifold, start: FloatArray, end: FloatArray) -> list[Hit]:
    """Find where the way from one point to another passes faces, in order.

    Parameters
    ----------
    solid : Manifold
    start, end : array of shape (3,), mm

    Returns
    -------
    list of Hit
    """
    way = np.asarray(end) - np.asarray(start)
    length = float(np.linalg.norm(way))
    return [
        Hit(
            float(np.dot(np.subtract(hit.position, start), way)) / length**2,
            bool(np.dot(hit.normal, way) < 0),
        )
        for hit in solid.ray_cast(start, end)
    ]


def stands_in(solid: Manifold, point: FloatArray) -> bool:
    """Tell whether a point lies in the plastic: a ray out of it leaves once more than it enters."""
    box = np.reshape(solid.bounding_box(), (2, 3))
    far = np.array([0.4142, 0.7321, 1.0]) * (2 * float(np.ptp(box, axis=0).max()) + 1.0)
    hits = hits_along(solid, point, np.asarray(point) + far + (box[1] - box[0]))
    return sum(-1 if hit.enters else 1 for hit in hits) > 0


def thickness_along(
    solid: Manifold, point: FloatArray, direction: FloatArray, *, reach_mm: float
) -> float | None:
    """Measure from a point in the plastic to where a direction leaves it.

    Parameters
    ----------
    solid : Manifold
    point, direction : array of shape (3,), mm
    reach_mm : float, mm
        How far is looked.

    Returns
    -------
    float or None
        None where the plastic goes on beyond the reach.
    """
    unit = direction / np.linalg.norm(direction)
    for hit in hits_along(solid, point, np.asarray(point) + reach_mm * unit):
        if not hit.enters:
            return hit.share * reach_mm
    return None


def area_at(solid: Manifold, height: float) -> float:
    """Give the area of a level section, mm²."""
    return float(solid.slice(height).area())


def outlines_at(
    solid: Manifold,
    height: float,
    *,
    grown_mm: float = 0.0,
    within: tuple[float, float, float, float] | None = None,
    without: tuple[float, float, float, float] | None = None,
) -> list[FloatArray]:
    """Give the outlines of a level section.

    Parameters
    ----------
    solid : Manifold
    height : float, mm
    grown_mm : float, mm
        By how much the section is grown, or drawn in if negative; corners stay sharp.
    within : box, mm, optional
        Only what lies in it.
    without : box, mm, optional
        Left out of what was grown.

    Returns
    -------
    list of arrays of shape (n, 2), mm
        Counter-clockwise round plastic, clockwise round holes.
    """
    import manifold3d

    def rectangle(box: tuple[float, float, float, float]) -> Any:
        low_x, low_y, high_x, high_y = box
        square = manifold3d.CrossSection.square((high_x - low_x, high_y - low_y))
        return square.translate((low_x, low_y))

    flat = solid.slice(height).simplify(1e-3)
    if within is not None:
        flat = flat ^ rectangle(within)
    if grown_mm:
        flat = flat.offset(grown_mm, manifold3d.JoinType.Miter).simplify(1e-3)
    if without is not None:
        flat = flat - rectangle(without)
    return [np.asarray(outline) for outline in flat.to_polygons()]


def area_of(outlines: Sequence[FloatArray]) -> float:
    """Area that outlines enclose, holes taken off, mm² (the shoelace formula)."""
    total = 0.0
    for outline in outlines:
        x, y = outline[:, 0], outline[:, 1]
        total += 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return total


# --- flat areas ----------------------------------------------------------------------------------


def flat_sum(areas: Sequence[tuple[Sequence[FloatArray], bool, bool]]) -> list[FloatArray]:
    """Lay flat areas over one another in their order.

    Parameters
    ----------
    areas : sequence of (rings, even and odd, takes away)
        Closed rings of an area; whether what is in an odd number of them is inside, or what they
        wind round at all; whether it is taken from what lies below it.

    Returns
    -------
    list of array of shape (n, 2)
        Outlines, holes clockwise.
    """
    import manifold3d

    found = manifold3d.CrossSection()
    for rings, odd, away in areas:
        rule = manifold3d.FillRule.EvenOdd if odd else manifold3d.FillRule.NonZero
        one = manifold3d.CrossSection([np.asarray(ring) for ring in rings], rule)
        found = found - one if away else found + one
    return [np.asarray(outline) for outline in found.to_polygons()]


def opened_area(rings: Sequence[FloatArray], least_mm: float) -> float:
    """Area of what a disc of a diameter can be moved about in, mm².

    Parameters
    ----------
    rings : sequence of array of shape (n, 2)
        Outlines, holes clockwise.
    least_mm : float, mm

    Returns
    -------
    float, mm²
    """
    import manifold3d

    r = least_mm / 2
    flat = manifold3d.CrossSection([np.asarray(ring) for ring in rings])
    inner = flat.offset(-r, manifold3d.JoinType.Round, 2.0, 32)
    return float((inner.offset(r, manifold3d.JoinType.Round, 2.0, 32) ^ flat).area())


def profiles_of(outlines: Sequence[FloatArray], *, least_mm2: float = 0.01) -> list[Profile]:
    """Sort outlines into areas with their holes.

    Parameters
    ----------
    outlines : sequence of array of shape (n, 2)
        Holes clockwise.
    least_mm2 : float, mm²
        Smaller areas are left out.

    Returns
    -------
    list of Profile
    """
    from fitkit.solids.profiles import polygon

    outer = [one for one in outlines if area_of([one]) > least_mm2]
    holes = [one for one in outlines if area_of([one]) < -0.01]
    found = []
    for one in outer:
        flat = polygon([(float(x), float(y)) for x, y in one])
        inside = [
            polygon([(float(x), float(y)) for x, y in hole[::-1]])
            for hole in holes
            if _owner(hole[0], outer) is one
        ]
        found.append(flat.with_holes(*inside) if inside else flat)
    return found


def _owner(point: FloatArray, outer: Sequence[FloatArray]) -> FloatArray | None:
    """Smallest outline that a point lies in."""
    around = [one for one in outer if _lies_in(point, one)]
    return min(around, key=lambda one: area_of([one])) if around else None


def _lies_in(point: FloatArray, outline: FloatArray) -> bool:
    x, y = point
    a, b = outline, np.roll(outline, -1, axis=0)
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(crosses & (x < at)) % 2)
