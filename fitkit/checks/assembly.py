"""Whether the measured object can be laid into the part, and the chance that a fit collides.

Things that a part holds are looked at against one another, too.

Looked at along the insertion direction, each ghost and each body is a map of heights on a fine
grid. On its way out the ghost sweeps all that is above its own underside, so a body blocks it just
where its highest point is above the ghost's lowest one. A lid comes from the other side; a body is
fine if one of the two sides is free. Overlap at rest blocks both. Exact at the grid's points: what
is narrower than its pitch can slip through, and tilting the object in is not tried.

The chance of a collision of a fit is that of a gap below zero, by Student's t.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fitkit.checks.finish import gap_left_mm
from fitkit.core.chances import say_chance
from fitkit.core.expanded import effective_df, expanded
from fitkit.core.finding import Finding
from fitkit.solids.mesh import runs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part, Point
    from fitkit.solids.mesh import Mesh

__all__ = ["blocked", "check_assembly", "p_collision"]

FloatArray = npt.NDArray[np.float64]
# Resting on a standoff is no collision; kernel meshes of curved faces are off by less than this.
_TOUCH_MM = 0.05
_FINEST_MM = 0.1
_ACROSS = 300
# Chance of a collision above which to think first, and to stop: more likely than not, as when a
# coat has eaten the gap. A choice of ours.
_P_WARN = 0.05
_P_STOP = 0.50
# A post on the grid: off the round numbers on which faces of drawn parts lie.
_OFF_GRID = (math.sqrt(2) / 3, math.sqrt(3) / 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocked:
    """A place where a body stands in a ghost's way.

    Attributes
    ----------
    depth_mm : float
        How far the body reaches over the ghost's underside there, along the insertion.
    width_mm : float
        Across the insertion: the lesser side of the place's box, or how thick a bent place is.
    grid_mm : float
        Pitch of the grid on which it was seen: the width is known to within that.
    at : point, mm
        Its middle, in assembly position.
    volume_mm3 : float
        Of the body that is in the way, summed up on the grid.
    """

    depth_mm: float
    width_mm: float
    grid_mm: float
    at: Point
    volume_mm3: float = 0.0


def p_collision(gap_mm: float, u_mm: float, df: float = math.inf) -> float:
    """Chance that a gap known to within a standard uncertainty is below zero.

    Parameters
    ----------
    gap_mm, u_mm : float, mm
        Best value of the gap and its standard uncertainty, of both sides together.
    df : float
        Degrees of freedom of `u_mm`; few make large errors likelier.

    Returns
    -------
    float
        From Student's t (JCGM 100:2008, G.3).

    Examples
    --------
    >>> round(p_collision(0.2, 0.1), 4), round(p_collision(0.2, 0.1, 5), 4)
    (0.0228, 0.051)
    """
    if u_mm == 0:
        return float(gap_mm < 0)
    if math.isinf(df):
        return 0.5 * math.erfc(gap_mm / (u_mm * math.sqrt(2)))
    from scipy.special import stdtr

    return float(stdtr(df, -gap_mm / u_mm))


def blocked(ghost: Mesh, body: Mesh, insertion: Point) -> tuple[Blocked, ...]:
    """Find where a body blocks a ghost's way in, from the freer of the two sides.

    Parameters
    ----------
    ghost, body : Mesh
        In assembly position.
    insertion : point
        Direction in which the ghost goes in, of any length but zero.

    Returns
    -------
    tuple of Blocked
        Empty if the ghost passes from at least one side. Widest first.
    """
    frame = _frame(insertion)
    # Up is against the insertion; the other side is half a turn about y away.
    if _clear(ghost.vertices @ frame.T, body.vertices @ frame.T):
        return ()
    sides = []
    for sign in (1.0, -1.0):
        turn = frame * np.array([[sign], [1.0], [sign]])
        overlap, origin, pitch, low = _overlap(
            ghost.vertices @ turn.T, ghost.triangles, body.vertices @ turn.T, body.triangles
        )
        if not overlap.any():
            return ()
        sides.append((float(overlap.sum()), overlap, origin, pitch, low, turn))
    _, overlap, origin, pitch, low, turn = min(sides, key=lambda side: side[0])
    return _places(overlap, origin, pitch, low, turn)


def _clear(ghost: FloatArray, body: FloatArray) -> bool:
    """Tell by their boxes alone that a body is aside of a ghost's way, or all on one side."""
    low, high = ghost.min(axis=0), ghost.max(axis=0)
    least, most = body.min(axis=0), body.max(axis=0)
    aside = (least[:2] >= high[:2]) | (most[:2] <= low[:2])
    return bool(aside.any() or least[2] >= high[2] - _TOUCH_MM or most[2] <= low[2] + _TOUCH_MM)


def _frame(insertion: Point) -> FloatArray:
    """Rows x, y, z of a frame whose z is against the insertion."""
    up = -np.asarray(insertion, dtype=float)
    up /= np.linalg.norm(up)
    across = np.eye(3)[int(np.abs(up).argmin())]
    x = np.cross(across, up)
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(up, x), up])


def _overlap(
    ghost: FloatArray,
    ghost_triangles: npt.NDArray[np.int32],
    body: FloatArray,
    body_triangles: npt.NDArray[np.int32],
) -> tuple[FloatArray, FloatArray, float, FloatArray]:
    """Height by which the body reaches over the ghost's underside, on a grid over the ghost."""
    least, most = ghost[:, :2].min(axis=0), ghost[:, :2].max(axis=0)
    pitch = max(_FINEST_MM, float((most - least).max()) / _ACROSS)
    origin = least - pitch * np.array(_OFF_GRID)
    shape = tuple(int(n) for n in np.ceil((most - origin) / pitch) + 1)
    # Seen from below, the ghost's triangles run the other way round.
    seen = ghost_triangles[:, ::-1]
    low = -_highest(-ghost[:, 2], ghost[:, :2], seen, origin, pitch, shape)
    high = _highest(body[:, 2], body[:, :2], body_triangles, origin, pitch, shape)
    over = np.where(np.isfinite(low) & np.isfinite(high), high - low, 0.0)
    return np.where(over > _TOUCH_MM, over, 0.0), origin, pitch, low


def _highest(
    z: FloatArray,
    xy: FloatArray,
    triangles: npt.NDArray[np.int32],
    origin: FloatArray,
    pitch: float,
    shape: tuple[int, ...],
) -> FloatArray:
    """Greatest z of a closed mesh over each point of a grid; -inf where there is none.

    All pairs of a triangle and a grid point within its box are listed at once, and those outside
    the triangle dropped. Only triangles that face up can be highest.
    """
    grid = (xy - origin) / pitch
    corners, heights = grid[triangles], z[triangles]
    first, last = np.ceil(corners.min(axis=1)), np.floor(corners.max(axis=1))
    limit = np.array(shape) - 1
    first, last = np.maximum(first, 0).astype(np.int64), np.minimum(last, limit).astype(np.int64)
    count = np.maximum(last - first + 1, 0)
    a, b, c = np.moveaxis(corners, 1, 0)
    twice = _cross(b - a, c - a)
    seen = (count.prod(axis=1) > 0) & (twice > 1e-9)
    first, count, heights, twice = first[seen], count[seen], heights[seen], twice[seen, None]
    a, p, q = a[seen], (b - a)[seen], (c - a)[seen]
    # Shares of the second and third corner in a point are linear in its i and j.
    second = np.stack([q[:, 1], -q[:, 0]], axis=1) / twice
    third = np.stack([-p[:, 1], p[:, 0]], axis=1) / twice
    start = (first - a)[:, None] * np.stack([second, third], axis=1)
    shares = np.concatenate([start.sum(axis=2), second, third], axis=1)
    pairs = count.prod(axis=1)
    owner, place = runs(np.zeros_like(pairs), pairs)
    along, across = place % (wide := np.repeat(count[:, 0], pairs)), place // wide
    v0, w0, vi, vj, wi, wj = np.repeat(shares, pairs, axis=0).T
    v, w = v0 + vi * along + vj * across, w0 + wi * along + wj * across
    inside = (v >= 0) & (w >= 0) & (v + w <= 1)
    owner = owner[inside]
    i, j = first[owner, 0] + along[inside], first[owner, 1] + across[inside]
    v, w = v[inside], w[inside]
    z0, z1, z2 = heights[owner].T
    height = z0 * (1 - v - w) + z1 * v + z2 * w
    result = np.full(shape, -np.inf)
    np.maximum.at(result, (i, j), height)
    return result


def _cross(p: FloatArray, q: FloatArray) -> FloatArray:
    return np.asarray(p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0])


def _places(
    overlap: FloatArray, origin: FloatArray, pitch: float, low: FloatArray, turn: FloatArray
) -> tuple[Blocked, ...]:
    from scipy import ndimage

    label, _ = ndimage.label(overlap > 0)
    found = []
    for number, (rows, columns) in enumerate(ndimage.find_objects(label), start=1):
        here = label[rows, columns] == number
        if here.sum() < 2:  # a single grid point is noise of the tessellation
            continue
        # A lip round a ball is as wide as its deepest point lies from its edges on both sides.
        deepest = ndimage.distance_transform_edt(np.pad(here, 1)).max()
        width = pitch * min(here.any(axis=1).sum(), here.any(axis=0).sum(), 2 * deepest - 1)
        middle = (np.array([rows.start + rows.stop, columns.start + columns.stop]) - 1) / 2
        height = float(low[rows, columns][here].min())
        at = turn.T @ np.append(origin + pitch * middle, height)
        found.append(
            Blocked(
                depth_mm=float(overlap[rows, columns][here].max()),
                width_mm=float(width),
                grid_mm=pitch,
                at=(float(at[0]), float(at[1]), float(at[2])),
                volume_mm3=float(overlap[rows, columns][here].sum()) * pitch**2,
            )
        )
    return tuple(sorted(found, key=lambda place: -place.width_mm))


def check_assembly(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find ghosts that cannot be laid in, and fits that are likely to collide."""
    yield from _fits(context)
    if not part.ghosts:
        return
    missing = None
    ways = {ghost.name: ghost.insertion or part.insertion for ghost in part.ghosts}
    if None in ways.values():
        missing = "the template does not say in which direction the object goes in"
    meshes = _assembled(part, context)
    if meshes is None:
        missing = "there are no meshes in assembly position, and the solids are not to be loaded"
    if missing or meshes is None:
        yield Finding(check="assembly", severity="note", text=f"not run, because {missing}.")
        return
    for ghost in part.ghosts:
        way = ways[ghost.name]
        assert way is not None  # told above
        for body in part.bodies:
            places = blocked(meshes[ghost.name], meshes[body.name], way)
            places = tuple(p for p in places if not _wanted(p, body.name, way, part, context))
            if places:
                yield _collision(ghost.name, body.name, places)
    yield from _things(part, meshes, ways)


def _things(
    part: Part, meshes: dict[str, Mesh], ways: dict[str, Point | None]
) -> Iterator[Finding]:
    """Find things that stand in one another, or each in the other's way, whichever goes first.

    Ghosts of one thing begin with its name and a colon; what has none is one thing by itself.
    """
    held = [(name.partition(": ")[0], name) for name in ways if ": " in name]
    for (thing, name), (other, second) in combinations(held, 2):
        way = ways[name]
        if thing == other or way is None or way != ways[second]:
            continue
        if places := blocked(meshes[name], meshes[second], way):
            worst = max(place.depth_mm for place in places)
            yield Finding(
                check="assembly",
                severity="stop",
                text=f"{name} and {second} stand in each other's way, by up to {worst:.2f} mm: "
                "neither can go in first.",
                value=worst,
                untold=("limit",),
                limit=0.0,
                unit="mm",
                basis="heights of both along the insertion",
                at=tuple(place.at for place in places[:20]),
                remedy="Move one of the two.",
            )


def _assembled(part: Part, context: CheckContext) -> dict[str, Mesh] | None:
    meshes = dict(context.assembled)
    missing = [body for body in (*part.bodies, *part.ghosts) if body.name not in meshes]
    if missing and not context.collisions:
        return None
    if missing:
        from fitkit.parts.meshed import mesh_of

        meshes |= {body.name: mesh_of(body) for body in missing}
    return meshes


def _wanted(place: Blocked, body: str, insertion: Point, part: Part, context: CheckContext) -> bool:
    """Tell whether a place is a snap arm's own nose, no wider than the arm can give way."""
    U = max((expanded(fit.u_mm, fit.df)[0] for fit in context.fits), default=0.0)
    for arm in part.arms:
        reach = math.hypot(arm.width_mm / 2, arm.thickness_mm + arm.deflection_mm) + 1.0
        offset = np.asarray(place.at) - arm.at
        way = np.asarray(insertion) / np.linalg.norm(np.asarray(insertion))
        aside = float(np.linalg.norm(offset - way * (offset @ way)))
        if arm.body == body and aside <= reach:
            return place.width_mm <= arm.deflection_mm + U + place.grid_mm
    return False


def _collision(ghost: str, body: str, places: tuple[Blocked, ...]) -> Finding:
    worst = max(places, key=lambda place: place.depth_mm)
    widest = places[0]
    return Finding(
        check="assembly",
        severity="stop",
        text=(
            f"{ghost} cannot be laid into {body}: at {len(places)} "
            f"place{'s' * (len(places) > 1)} {body} stands in its way, by up to "
            f"{worst.depth_mm:.2f} mm along the way in and {widest.width_mm:.1f} mm across it, "
            f"{sum(place.volume_mm3 for place in places):.2g} mm³ in all."
        ),
        value=worst.depth_mm,
        untold=("limit",),
        limit=0.0,
        unit="mm",
        basis="heights of both along the insertion",
        body=body,
        at=tuple(place.at for place in places[:20]),
        remedy=(
            f"If it lies too deep, raise its seat by {worst.depth_mm:.2f} mm and a margin; if it "
            "cannot pass, widen the way, cut a notch, or leave room to tilt it in."
        ),
    )


def _fits(context: CheckContext) -> Iterator[Finding]:
    coat = context.coat
    for fit in context.fits:
        gap, u, df = fit.gap_mm, fit.u_mm, fit.df
        if gap <= 0:
            continue  # an interference is wanted here
        if coat is not None and not fit.drawn_for_coat:
            df = float(effective_df((u, df), (fit.coated_faces * coat.u_mm, math.inf)))
            gap, u = gap_left_mm(
                gap, u, coat_mm=coat.thickness_mm, u_coat_mm=coat.u_mm, faces=fit.coated_faces
            )
        chance = p_collision(gap, u, df)
        if chance <= _P_WARN:
            continue
        stop = chance > _P_STOP
        yield Finding(
            check="assembly",
            severity="stop" if stop else "warn",
            text=(
                f"{fit.name}: a chance of {say_chance(chance)} that it will not go together: "
                f"its gap of {gap:.2f} mm is known to within {expanded(u, df)[0]:.2f} mm (95 %) "
                "only."
            ),
            value=100 * chance,
            untold=("limit",),
            limit=100 * (_P_STOP if stop else _P_WARN),
            unit="%",
            basis="distribution of the gap; both of its sides and their readings together",
            remedy="Measure it more often, calibrate the printer, or choose a wider gap.",
        )
