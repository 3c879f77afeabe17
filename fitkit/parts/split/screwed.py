"""Two screws across an upright plane: posts that stand beside the cut, inside or outside.

Of each pair one post takes the screw's head, the other its thread, in plastic or in an insert; all
sizes come from the one table of screws. Posts stand on a floor of the body as it lies, or outside
on the bed, let into its walls; so they print without support, and are drawn before the body is cut.
Where they may stand is looked for by rays: nothing of the part, and nothing that it holds, may be
in a post's room or in the way of the screwdriver. The screws hold the halves together; what places
them is the joint.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.core.errors import PartError
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.buys import inserts, into_plastic
from fitkit.parts.contract import Boss, Buy
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.screws import flat_head_mm, insert_depth_mm, lying_hole, screw_mm
from fitkit.parts.split.place import Place, Tools, no_room

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from manifold3d import Manifold

    from fitkit.parts.split.plan import Split, SplitSizes
    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["NO_ROOM", "with_screws"]

NO_ROOM = "split.no-room-for-screws"

_PLATE_MM = 5.0  # of a post under a screw's head. Common practice, no source.
_BEHIND_MM = 1.5  # of a post behind a thread's end. Common practice, no source.
_ROOM_MM = 0.8  # between a post and what stands beside it, so that no sliver is left
_DRIVER_MM = 35.0  # of room behind a screw's head. Common practice, no source.
_ROOT_MM = 0.4  # how far a post is let into its floor
_STEP_MM = 2.0


class _Form(NamedTuple):
    """A pair of posts, mm: half its width, height of its axis and of its top over the floor."""

    half: float
    axis: float
    top: float
    plate: float
    behind: float
    head: float


def with_screws(
    tools: Tools,
    split: Split,
    sizes: SplitSizes,
    place: Place,
    title: str,
    beside: Sequence[Mesh] = (),
) -> Tools:
    """Add two screws to what a joint gives.

    Parameters
    ----------
    tools : Tools
        Of the joint.
    split : Split
        With its `screw`.
    sizes : SplitSizes
        As drawn.
    place : Place
    title : str
        Of the part, for messages.
    beside : sequence of Mesh
        The other bodies and what the part holds, as this body lies.

    Returns
    -------
    Tools

    Raises
    ------
    PartError
        If the plane is level, or finds no two places for posts.
    """
    from fitkit.solids.mesh_kernel import manifold_of

    if split.screw is None:
        return tools
    if place.axis == 2:
        raise no_room(
            title,
            "screws are for upright planes: in a level one their posts would hang over air",
            "Leave 'screw' out, or choose an upright plane.",
        )
    form = _form(split)
    solids = [manifold_of(mesh) for mesh in (place.mesh, *beside)]
    found: list[tuple[FloatArray, int]] = []
    # Inside, then outside; the heads on the first half, then on the second.
    ways = [(look, way) for look in (_inside, _outside) for way in (1, -1)]
    for look, way in ways:
        spots = list(look(_Room(solids, form, place, way), tools))
        if len(spots) > 1:
            across = 1 if place.axis == 0 else 0
            ends = (
                min(spots, key=lambda at: (round(at[across], 6), at[2])),
                max(spots, key=lambda at: (round(at[across], 6), -at[2])),
            )
            if ends[1][across] - ends[0][across] > 2 * form.half + _ROOM_MM:
                found = [(at, way) for at in ends]
                break
    if not found:
        raise PartError(
            f"beside the cut there is no room for two pairs of posts of {2 * form.half:.1f} x "
            f"{form.top:.1f} mm with a screwdriver's way along them",
            where=title,
            at=("split", "screw"),
            code=NO_ROOM,
            remedy="Leave 'screw' out, take a thinner screw, or choose another place.",
        )
    return _drawn(tools, split, sizes, place, form, found)


def _form(split: Split) -> _Form:
    assert split.screw is not None
    hold, head = hold_in_plastic(split.screw), flat_head_mm(split.screw)
    insert = split.screw_into == "insert"
    boss = hold.insert_boss_mm if insert else hold.pilot_boss_mm
    deep = insert_depth_mm(hold.insert_length_mm) if insert else hold.engage_mm + 0.5
    half = max(boss, head + 1.0) / 2
    return _Form(half, half, 2 * half, _PLATE_MM, deep + _BEHIND_MM, head)


class _Room:
    """Looks by rays whether a pair of posts may stand at a point of the plane."""

    def __init__(self, solids: Sequence[Manifold], form: _Form, place: Place, way: int) -> None:
        self.solids, self.form, self.place, self.way = solids, form, place, way
        self.across = 1 if place.axis == 0 else 0
        self.ahead, self.side = np.zeros(3), np.zeros(3)
        self.ahead[place.axis], self.side[self.across] = way, 1.0
        self.up = np.array([0.0, 0.0, 1.0])
        self.wide = form.half + _ROOM_MM

    def clear(self, at: FloatArray, low: float, high: float) -> bool:
        """Nothing in the posts' room, from low to high beside the point, nor behind the head."""
        from fitkit.solids.mesh_kernel import hits_along, stands_in

        form, front = self.form, self.form.behind + _ROOM_MM
        grid = [(s, h) for s in np.linspace(low, high, 5) for h in np.linspace(0.3, form.top, 5)]
        # From the screw's own line outwards: what is in the way there is found by few rays.
        for s, h in sorted(grid, key=lambda place: math.hypot(place[0], place[1] - form.axis)):
            start = at + s * self.side + h * self.up
            # The driver's way is as wide as the head, the posts' room is wider.
            behind = form.plate + _ROOM_MM
            if math.hypot(s, h - form.axis) <= form.head / 2 + 0.6:
                behind = form.plate + _DRIVER_MM
            ends = (start - behind * self.ahead, start + front * self.ahead)
            for solid in self.solids:
                # A way along a wall, all of it inside, passes no face.
                if hits_along(solid, *ends) or stands_in(solid, start):
                    return False
        return True

    def backed(self, at: FloatArray, points: Sequence[tuple[float, float]]) -> bool:
        """Plastic at these points beside and above, all along both posts."""
        from fitkit.solids.mesh_kernel import stands_in

        return all(
            stands_in(self.solids[0], at + s * self.side + h * self.up + x * self.ahead)
            for s, h in points
            for x in np.linspace(-self.form.plate, self.form.behind, 4)
        )


def _inside(room: _Room, tools: Tools) -> Iterator[FloatArray]:
    """Points on a floor of the body where a pair of posts may stand."""
    from fitkit.solids.bodies import box_of
    from fitkit.solids.mesh_kernel import hits_along

    place, form, across, wide = room.place, room.form, room.across, room.wide
    low, high = place.mesh.bounds
    # What of a joint reaches over the plane goes all the way up: no post may stand there.
    boxes = [box_of(shape) for shape in (*tools.sockets, *tools.holes)]
    taken = [(least[across] - wide, most[across] + wide) for least, most in boxes]
    under = [(s, -0.3) for s in np.linspace(-form.half, form.half, 3)]
    for u in np.arange(low[across] + wide, high[across] - wide, _STEP_MM):
        if any(least < u < most for least, most in taken):
            continue
        top = np.zeros(3)
        top[place.axis], top[across], top[2] = place.at, u, high[2] + 1.0
        bottom = top - (high[2] - low[2] + 2.0) * room.up
        for hit in hits_along(room.solids[0], top, bottom):
            at = top + hit.share * (bottom - top)
            fits = hit.enters and at[2] + form.top < high[2] - 0.5
            if fits and room.backed(at, under) and room.clear(at, -wide, wide):
                yield at


def _outside(room: _Room, tools: Tools) -> Iterator[FloatArray]:
    """Points on the bed, one at either wall, where a pair of posts may stand."""
    from fitkit.solids.mesh_kernel import hits_along

    place, form, across = room.place, room.form, room.across
    low, high = place.mesh.bounds
    for sign in (1, -1):
        start = np.zeros(3)
        start[place.axis], start[2] = place.at, low[2] + form.axis
        start[across] = (low if sign > 0 else high)[across] - 20.0 * sign
        end = start.copy()
        end[across] = (high if sign > 0 else low)[across] + 20.0 * sign
        hits = hits_along(room.solids[0], start, end)
        if not hits:
            continue
        wall = start[across] + hits[0].share * (end[across] - start[across])
        at = start.copy()
        at[across] = wall - sign * (form.half - _ROOT_MM)
        at[2] = low[2]
        # Let into the wall up to its top, but for what the foot's chamfer takes.
        inner = sign * (form.half + 0.3)
        beside = [(inner, h) for h in np.linspace(1.0, form.top - 0.2, 3)]
        ends = sorted((-sign * room.wide, sign * (form.half - _ROOT_MM - 0.3)))
        if room.backed(at, beside) and room.clear(at, *ends):
            yield at


def _drawn(
    tools: Tools,
    split: Split,
    sizes: SplitSizes,
    place: Place,
    form: _Form,
    found: Sequence[tuple[FloatArray, int]],
) -> Tools:
    from fitkit.parts.forms import box

    across = 1 if place.axis == 0 else 0
    hole = drawn_mm(sizes.screw_hole)
    thread = sizes.screw_pilot or sizes.screw_insert_hole
    assert thread is not None
    assert split.screw is not None
    posts, throughs, threads = [], [], []
    dimensions = list(tools.dimensions)
    bosses: list[Boss] = []
    for number, (at, way) in enumerate(found, start=1):
        low, high = at.copy(), at.copy()
        low[across] -= form.half
        high[across] += form.half
        if at[2] - _ROOT_MM > place.mesh.bounds[0][2]:  # on a floor, not on the bed
            low[2] -= _ROOT_MM
        high[2] += form.top
        ends = (place.at - way * form.plate, place.at + way * form.behind)
        low[place.axis], high[place.axis] = min(ends), max(ends)
        posts.append(box(tuple(low.tolist()), tuple(high.tolist())))
        middle = at + np.array([0.0, 0.0, form.axis])
        throughs.append(_hole(place, middle, hole, -way * (form.plate + 1.0)))
        deep = form.behind - _BEHIND_MM
        threads.append(_hole(place, middle, thread.drawn_mm, way * deep))
        aside = np.zeros(3)
        aside[across] = 0.5
        head, end = (1, 2) if way > 0 else (2, 1)
        if number == 1:
            assert sizes.screw_hole is not None
            dimensions += [
                (_own(sizes.screw_hole.name), head, middle - hole * aside, middle + hole * aside),
                (
                    _own(thread.name),
                    end,
                    middle - thread.drawn_mm * aside,
                    middle + thread.drawn_mm * aside,
                ),
            ]
        just = middle.copy()
        just[place.axis] += 0.5 * way
        bosses.append(
            Boss(
                name=f"split screw {number}",
                body=split.body,
                outer_mm=2 * form.half,
                hole_mm=thread.drawn_mm,
                depth_mm=deep,
                screw_mm=screw_mm(split.screw),
                at=place.back(just),
                insert_mm=thread.drawn_mm if sizes.screw_insert_hole else None,
            )
        )
    first, second = (throughs, threads) if found[0][1] > 0 else (threads, throughs)
    return tools._replace(
        posts=posts,
        in_first=first,
        in_second=second,
        dimensions=dimensions,
        bosses=tuple(bosses),
        buys=(*tools.buys, *_buys(split, len(found))),
    )


def _own(name: str) -> str:
    from fitkit.parts.split.plan import BEFORE

    return name.removeprefix(BEFORE)


def _hole(place: Place, at: FloatArray, wide: float, long: float) -> object:
    """Tool of a lying hole from just beside the plane, its roof upwards as the body lies."""
    start = at.copy()
    # A little over the plane, so that no skin is left there.
    start[place.axis] += min(long, 0.0) - (0.5 if long > 0 else 0.0)
    x, y, z = start.tolist()
    return lying_hole(wide, abs(long) + 0.5, at=(x, y, z), along="x" if place.axis == 0 else "y")


def _buys(split: Split, count: int) -> tuple[Buy, ...]:
    assert split.screw is not None
    why = f"joint of {split.body}"
    if split.screw_into == "plastic":
        return into_plastic(screw_mm(split.screw), _PLATE_MM, count, why)
    long = hold_in_plastic(split.screw).insert_length_mm
    screw = f"screw {split.screw} with a flat underside, {math.ceil(_PLATE_MM + long)} mm long"
    return (
        *inserts(split.screw, count, why, long_mm=long),
        Buy(what=screw, count=count, why=why),
    )
