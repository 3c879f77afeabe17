"""How much of a body would print over air: leaning faces, ceilings, bridges, islands, first layer.

All on the triangles of the body as printed, vectorised. A face leans too far if it is more than the
limit angle from the upright. A level ceiling counts as a bridge along a direction if it is held at
both ends of it. An island is a lowest point above the bed with material over it. Leaves out support
that rests on the part itself and the printer's own skill at bridges: limits are common practice,
no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.checks.surface import Surface
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["ceilings", "check_overhang", "contact_area_mm2", "islands", "leaning", "overhangs"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Common practice, no source: spans that sag visibly, and that fail.
BRIDGE_WARN_MM = 20.0
BRIDGE_STOP_MM = 60.0
# Common practice, no source: share of the surface over air that makes supports worth a thought.
SHARE_WARN = 0.05
# Under the first figure a body has nothing to stick by; under the second a brim is wise.
CONTACT_STOP_MM2 = 4.0
CONTACT_WARN_MM2 = 60.0
# Faces at just the limit angle, such as 45° chamfers, print; tessellation wobbles by less.
_ANGLE_SLACK_DEG = 0.5
# A normal this close to straight down is a ceiling.
_LEVEL = 0.9995
# Heights closer than this are one level: meshes carry single-precision points.
_LEVEL_MM = 1e-4
# Directions along which a ceiling is tried as a bridge, and how much of its width must be held.
_DIRECTIONS = 12
_HELD = 0.7


def leaning(surface: Surface, *, limit_deg: float) -> BoolArray:
    """Tell which triangles face down more steeply than the limit, those on the bed left out.

    Parameters
    ----------
    surface : Surface
    limit_deg : float, degrees
        Lean from the upright that still prints.

    Returns
    -------
    array of bool of shape (m,)
    """
    steep = surface.down > np.sin(np.radians(limit_deg + _ANGLE_SLACK_DEG))
    return np.asarray(steep & ~surface.on_bed)


def contact_area_mm2(surface: Surface) -> float:
    """Area of the faces that lie on the bed, mm²."""
    return float(-surface.vectors[surface.on_bed, 2].sum())


class Ceilings(NamedTuple):
    """Level ceilings of a body, each of k connected sets of triangles.

    Attributes
    ----------
    label : array of int of shape (m,)
        Ceiling of each triangle, -1 for none.
    area_mm2, span_mm : arrays of shape (k,)
        `span_mm` is the shortest way across between two held sides; infinite if there are none.
    centre : array of shape (k, 3), mm
    """

    label: npt.NDArray[np.intp]
    area_mm2: FloatArray
    span_mm: FloatArray
    centre: FloatArray


def ceilings(surface: Surface) -> Ceilings:
    """Find the level ceilings of a body and how far each must bridge.

    Notes
    -----
    An edge of the ceiling is held if the face beyond it goes down (there is material below the
    edge). Along a direction the ceiling is a bridge if the held edges cover most of its width on
    both ends; its span is its extent that way. Holes that pierce a ceiling are counted as held ends
    only where their own walls go down.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    mesh = surface.mesh
    flat = (surface.down > _LEVEL) & ~surface.on_bed
    label = np.full(len(mesh.triangles), -1, dtype=np.intp)
    if not flat.any():
        none = np.empty(0)
        return Ceilings(label, none, none, np.empty((0, 3)))
    first, second, start, end = surface.neighbours
    inner = flat[first] & flat[second]
    k = int(flat.sum())
    number = np.cumsum(flat) - 1  # of each level triangle among themselves
    pairs = number[first[inner]], number[second[inner]]
    links = coo_array((np.ones(len(pairs[0])), pairs), shape=(k, k))
    k, label[flat] = connected_components(links, directed=False)

    areas = surface.areas
    weight = np.asarray(np.bincount(label[flat], areas[flat], k), dtype=float)
    corners = mesh.vertices[mesh.triangles[flat]]
    middle = corners.mean(axis=1)
    centre = np.stack(
        [np.bincount(label[flat], areas[flat] * middle[:, i], k) / weight for i in range(3)], axis=1
    )

    # Rim edges: the ceiling's triangle on one side, another face beyond.
    rim = flat[first] != flat[second]
    inside = np.where(flat[first], first, second)[rim]
    beyond = np.where(flat[first], second, first)[rim]
    edge = (mesh.vertices[end[rim]] - mesh.vertices[start[rim]])[:, :2]
    out = np.stack([edge[:, 1], -edge[:, 0]], axis=1)  # in the plane, as long as the edge
    towards = mesh.vertices[mesh.triangles[inside], :2].mean(axis=1) - mesh.vertices[start[rim], :2]
    out *= -np.sign(np.einsum("ij,ij->i", out, towards))[:, None]
    held = (
        mesh.vertices[mesh.triangles[beyond], 2].min(axis=1)
        < mesh.vertices[start[rim], 2] - _LEVEL_MM
    )
    owner = label[inside]

    angle = np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    way = np.stack([np.cos(angle), np.sin(angle)])  # (2, directions)
    points = corners[:, :, :2].reshape(-1, 2) @ way
    extent = _extent(points, np.repeat(label[flat], 3), k)  # (k, directions)
    width = np.roll(extent, -_DIRECTIONS // 2, axis=1)  # extent a quarter turn away
    pull = (out @ way)[held]
    ahead = _sum(np.maximum(pull, 0), owner[held], k)
    behind = _sum(np.maximum(-pull, 0), owner[held], k)
    bridged = np.minimum(ahead, behind) >= _HELD * width
    span = np.where(bridged, extent, np.inf).min(axis=1)
    return Ceilings(label, weight, span, centre)


def _sum(values: FloatArray, owner: npt.NDArray[np.intp], k: int) -> FloatArray:
    return np.stack([np.bincount(owner, column, k) for column in values.T], axis=1)


def _extent(points: FloatArray, owner: npt.NDArray[np.intp], k: int) -> FloatArray:
    order = np.argsort(owner, kind="stable")
    starts = np.searchsorted(owner[order], np.arange(k))
    high = np.maximum.reduceat(points[order], starts, axis=0)
    low = np.minimum.reduceat(points[order], starts, axis=0)
    return np.asarray(high - low)


def overhangs(surface: Surface, *, limit_deg: float) -> BoolArray:
    """Triangles over air: leaning ones and ceilings, less what bridges within the usual span."""
    over = leaning(surface, limit_deg=limit_deg)
    found = ceilings(surface)
    easy = np.append(found.span_mm <= BRIDGE_WARN_MM, False)  # label -1, no ceiling, is the last
    return np.asarray(over & ~easy[found.label])


def islands(surface: Surface) -> FloatArray:
    """Places where a body would start in mid-air.

    Returns
    -------
    array of shape (k, 3), mm
        One point for each lowest vertex, edge or face above the bed that has material above it.

    Notes
    -----
    Vertices joined by level edges count as one place. It is lowest if no neighbour is lower, and it
    hangs if its faces look down on the whole; the floor of a pocket looks up and is no island.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    mesh = surface.mesh
    z, t = mesh.vertices[:, 2], mesh.triangles
    a, b = t.ravel(), np.roll(t, -1, axis=1).ravel()
    count = len(z)
    level = np.abs(z[a] - z[b]) < _LEVEL_MM
    links = coo_array((np.ones(level.sum()), (a[level], b[level])), shape=(count, count))
    k, place = connected_components(links, directed=False)
    steep_a, steep_b = a[~level], b[~level]
    upper = np.where(z[steep_a] > z[steep_b], steep_a, steep_b)
    lowest = np.ones(k, dtype=bool)
    lowest[place[upper]] = False  # a neighbour is lower
    # A vertex that no triangle uses faces nowhere.
    facing = np.bincount(place[t.ravel()], np.repeat(surface.vectors[:, 2], 3), k)
    lowest &= facing < 0
    used, index = np.unique(place, return_index=True)
    at = mesh.vertices[index]
    return np.asarray(at[lowest[used] & (at[:, 2] > surface.on_bed_mm)])


def check_overhang(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find overhangs, islands, long bridges and too little first layer."""
    for body in part.bodies:
        mesh = context.meshes.get(body.name)
        if mesh is None:
            yield Finding(
                check="overhang",
                severity="note",
                text=f"not run for {body.name}, because it has no mesh.",
                body=body.name,
            )
            continue
        surface = Surface(mesh, 0.5 * context.layer_height_mm)
        yield from _overhang(body.name, surface, context)
        yield from _islands(body.name, surface, context)
        yield from _contact(body.name, surface)
    yield from _bridges(part)


def _overhang(name: str, surface: Surface, context: CheckContext) -> Iterator[Finding]:
    over = overhangs(surface, limit_deg=context.overhang_deg)
    area = float(surface.areas[over].sum())
    share = area / float(surface.areas.sum())
    if share > SHARE_WARN:
        yield Finding(
            check="overhang",
            severity="warn",
            text=(
                f"{100 * share:.0f} % of the surface of {name} ({area:.0f} mm²) leans more than "
                f"{context.overhang_deg:.0f}° from the upright or hangs over air."
            ),
            value=100 * share,
            untold=("limit",),
            limit=100 * SHARE_WARN,
            unit="%",
            body=name,
            remedy="Lay it another way, chamfer its undersides, or have supports made.",
        )


def _islands(name: str, surface: Surface, context: CheckContext) -> Iterator[Finding]:
    found = islands(surface)
    if len(found):
        yield Finding(
            check="islands",
            severity="stop",
            text=(
                f"{name} starts in mid-air at {len(found)} place{'s' * (len(found) > 1)}, the "
                f"lowest {found[:, 2].min():.1f} mm above the bed."
            ),
            value=float(len(found)),
            untold=("limit",),
            limit=0.0,
            unit="places",
            basis="a layer needs one below it",
            body=name,
            at=context.in_assembly(name, found[:20]),
            remedy="Lay it another way, join the place to what is below, or add support there.",
        )


def _contact(name: str, surface: Surface) -> Iterator[Finding]:
    area = contact_area_mm2(surface)
    if area >= CONTACT_WARN_MM2:
        return
    stop = area < CONTACT_STOP_MM2
    yield Finding(
        check="first layer",
        severity="stop" if stop else "warn",
        text=f"{name} touches the bed with {area:.0f} mm² only.",
        value=area,
        untold=("limit",),
        limit=CONTACT_STOP_MM2 if stop else CONTACT_WARN_MM2,
        unit="mm²",
        body=name,
        remedy="Lay it on a larger face, or give it a foot." if stop else "Print it with a brim.",
    )


def _bridges(part: Part) -> Iterator[Finding]:
    for bridge in part.bridges:
        if bridge.span_mm > BRIDGE_WARN_MM:
            stop = bridge.span_mm > BRIDGE_STOP_MM
            yield Finding(
                check="bridges",
                severity="stop" if stop else "warn",
                text=f"{bridge.name} spans {bridge.span_mm:.1f} mm over air.",
                value=bridge.span_mm,
                untold=("limit",),
                limit=BRIDGE_STOP_MM if stop else BRIDGE_WARN_MM,
                unit="mm",
                body=bridge.body,
                at=(bridge.at,),
                remedy="Shorten the span, arch its underside, or add a pillar or support.",
            )
