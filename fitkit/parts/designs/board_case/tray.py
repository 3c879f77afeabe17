"""The tray: floor, walls, standoffs, lugs and label."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING, Any

from fitkit.parts.arms import SHARP_MM
from fitkit.parts.designs.board_case.levels import (
    ear_mm,
    least_ring_mm,
    lid_bore_mm,
    rim_corner,
)
from fitkit.parts.designs.board_case.lugs import (
    lug_findings,
    lug_places,
    lug_reach,
    lug_sizes,
)
from fitkit.parts.designs.board_case.openings import bumped, window_over_edge
from fitkit.parts.designs.board_case.practice import (
    ARM_WIDTH_MM,
    BARB_MM,
    HOOK_MM,
    LEDGE_MM,
    LIP_MM,
    POST_ROOT_MM,
    ROOT_MM,
    TEXT_DEPTH_MM,
    WALL_GAP_MM,
    WELL_GAP_MM,
    WELL_RING_MM,
)
from fitkit.parts.designs.board_case.shell import footed, stepped
from fitkit.parts.designs.board_case.sizes import board_hold, bore_floor_mm
from fitkit.parts.designs.board_case.sliding import (
    along_x,
    detent_of,
    detent_ridge,
    slide_section,
)
from fitkit.parts.designs.board_case.snap_posts import (
    slit_foot_mm,
    slit_width,
)
from fitkit.parts.designs.board_case.walls import TO_FRONT, louvre_cut, open_wall, slot_tools
from fitkit.parts.fit_size import drawn_mm
from fitkit.solids.bodies import (
    Shape,
    checked,
    cut,
    extrude,
    fuse,
    moved,
    revolve,
    turned,
    volume_of,
)
from fitkit.solids.kept import Kept
from fitkit.solids.label import fitted_text
from fitkit.solids.profiles import QUARTER, Loop, Profile, circle, rectangle
from fitkit.solids.terraces import Terrace, from_profiles, terraces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.core.finding import Finding
    from fitkit.parts.designs.board_case.form import Form

__all__ = [
    "bore_diameter",
    "build_tray",
    "ear_holes",
    "kept_trays",
    "root_mm",
    "standoff_radius",
    "tray_height",
    "well_depth",
]


def tray_height(form: Form) -> float:
    """Top of the walls, mm; a sliding lid lies between them."""
    return form.wall_top + (form.case.lid_thickness if form.case.lid_fixing == "slide" else 0.0)


# Of the case's parameters those that the lid alone takes.
_OF_THE_LID = frozenset({"windows"})
kept_trays: Kept[tuple[Any, tuple[Finding, ...]]] = Kept()


def build_tray(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    """Build the tray, and say what was left off; one that was built lately is taken again.

    Parameters
    ----------
    form : Form

    Returns
    -------
    solid, tuple of Finding
    """
    key = _depends_on(form)
    if (kept := kept_trays.get(key)) is not None:
        return kept
    return kept_trays.put(key, _built(form))


def _depends_on(form: Form) -> tuple[object, ...]:
    """All that a tray is made from, without what the lid alone takes."""
    case = form.case
    values = tuple(
        (name, getattr(case, name)) for name in type(case).model_fields if name not in _OF_THE_LID
    )
    return (
        type(case),
        values,
        case.carried.floor,
        case.carried.floor_text,
        form.drawn,
        form.board_z,
        form.wall_top,
        form.corner,
        form.openings,
        form.in_walls,
        (form.windows, case.windows) if form.in_walls else (),
        form.ears,
        form.arms,
        form.arm_mm,
    )


def _built(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    case = form.case
    text, said = _tray_text(form)
    root = _tray_root(form, text)
    shape, dressed, before = stepped(root, "tray")
    added, footed = _additions(form)
    if added:
        shape = fuse(shape, *added)
    removed = _removals(form)
    if removed:
        shape = cut(shape, *removed)
    louvres = [o for o in form.openings if not o.port and case.vent_style == "louvres"]
    plain = [o for o in form.openings if o not in louvres and not o.through]
    for wall in TO_FRONT:
        shape = open_wall(form, shape, wall, [o for o in plain if o.wall == wall])
    if louvres:
        shape = cut(shape, *(louvre_cut(form, opening) for opening in louvres))
    plain_area = sum((o.box[2] - o.box[0]) * (o.box[3] - o.box[1]) for o in form.openings)
    plain_area += 2 * len(form.arms) * (ARM_WIDTH_MM - 2) * (HOOK_MM + 2.4)
    groove = case.lid_thickness * form.outside[0] * form.rim[1] if case.lid_fixing == "slide" else 0
    bounds = (
        0.99 * (before - (4 if louvres else 2) * case.wall * plain_area - groove)
        - (sum(volume_of(tool) for tool in removed) if case.lid_fixing != "slide" else 0.0),
        1.0001 * before + sum(volume_of(a) for a in added),
    )
    simple = not added and not removed and not louvres
    solid = checked(shape, "tray", volume=bounds, proved=simple)
    return solid, (*said, *dressed, *footed)


def _tray_text(form: Form) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
    """Label in the floor, between the standoffs, where it prints as a top face."""
    if form.case.carried.floor_text:
        room, at = form.case.carried.floor_text
        return fitted_text(form.case.label, room=room, at=at, body="tray")
    length, width = form.pocket
    inset = 2 * LEDGE_MM if form.case.standoff == "edge rails" else 0.0
    ys = [abs(y) for _, y in form.holes]
    room_y = (2 * (min(ys) - standoff_radius(form) - 0.6) if ys else width - inset) - 1.0
    # A single row of standoffs along the middle leaves the half behind it.
    at = (0.0, 0.0)
    if ys and min(ys) < standoff_radius(form) + 2.0:
        low = max(y for _, y in form.holes) + standoff_radius(form) + 0.6
        room_y = width / 2 - low - 1.0
        at = (0.0, low + max(room_y, 0.0) / 2)
    return fitted_text(
        form.case.label, room=(length - inset - 2.0, max(room_y, 0.0)), at=at, body="tray"
    )


def _tray_root(form: Form, text: Sequence[Profile]) -> Terrace:
    case, (length, width) = form.case, form.pocket
    features = (
        *_standoffs(form),
        *case.carried.floor,
        *from_profiles(text, case.floor - TEXT_DEPTH_MM, case.floor),
    )
    rim_length, rim_width = form.rim
    bumps = [(x, ARM_WIDTH_MM) for x in form.arms]
    notches = [(x, w + 0.8) for x, w in bumps]
    pocket = bumped(length, width, 0.0, notches, (rim_width - width) / 2 + 0.15)
    if case.standoff == "edge rails" and case.ledge_sides == "all":
        lower = rectangle(length - 2 * LEDGE_MM, width - 2 * LEDGE_MM).outer
        inside = Terrace(pocket, form.board_z, (Terrace(lower, case.floor, features),))
    else:
        inside = Terrace(pocket, case.floor, features)
    over = form.outside
    if case.lid_fixing == "slide":
        return Terrace(rectangle(*over, radius=form.corner).outer, tray_height(form), (inside,))
    round_in = rim_corner(case, form.drawn, form.corner)
    wide = [(x, w + 1.2) for x, w in bumps]
    rim = bumped(rim_length, rim_width, round_in, wide, 0.3)
    outline = bumped(*over, form.corner, [(x, ear_mm(case)) for x in form.ears], ear_mm(case) - 1.0)
    top = form.wall_top
    floor, pilot = (
        max(top - lid_bore_mm(form.case), 2.0),
        (form.drawn.lid_screw_pilot or form.drawn.lid_insert_hole),
    )
    pilots = tuple(Terrace(circle(drawn_mm(pilot), at=at).outer, floor) for at in ear_holes(form))
    return Terrace(outline, top, (Terrace(rim, top - LIP_MM, (inside,)), *pilots))


def ear_holes(form: Form) -> list[tuple[float, float]]:
    """Places of the holes in the ears for the lid's screws, mm."""
    y = form.outside[1] / 2 + (ear_mm(form.case) - 1.0) / 2
    return [(x, side * y) for x in form.ears for side in (-1, 1)]


def standoff_radius(form: Form) -> float:
    """Radius of the standoffs, mm: the table's boss, less where wall or neighbour is near.

    Round a snap post it is 1.6 mm.
    """
    hole, hold = bore_diameter(form), board_hold(form.case)
    boss = {"screw": hold.pilot_boss_mm, "heat-set": hold.insert_boss_mm}
    wanted = boss.get(form.case.standoff, hole + 3.2)
    least = hole / 2 + least_ring_mm(form.case)
    room = [wall for h in form.holes if (wall := _to_wall(form, h)) >= least]
    room += [math.dist(a, b) / 2 - 0.3 for a, b in combinations(form.holes, 2)]
    return min([max(least, wanted / 2), *room])


def _to_wall(form: Form, at: tuple[float, float]) -> float:
    """Radius that a standoff may have without meeting a wall, mm."""
    (x, y), (length, width) = at, form.pocket
    return min(length / 2 - abs(x), width / 2 - abs(y)) - WALL_GAP_MM


def in_wall(form: Form, at: tuple[float, float]) -> bool:
    """Tell whether a standoff is so near to a wall that it grows into it."""
    return _to_wall(form, at) < bore_diameter(form) / 2 + least_ring_mm(form.case)


def bore_diameter(form: Form) -> float:
    """Diameter of the standoffs' bores, as drawn, mm."""
    drawn = form.drawn
    return drawn_mm(drawn.screw_pilot or drawn.insert_hole or drawn.snap_post, 2.0)


def _standoffs(form: Form) -> tuple[Terrace, ...]:
    return tuple(
        replace(_standoff(form, at), root=_root(form, at))
        for at in form.holes
        if not in_wall(form, at)
    )


def _root(form: Form, at: tuple[float, float]) -> float:
    """Radius of the corner at a standoff's foot, mm; 0 where wall or neighbour is too near."""
    beside = [_to_wall(form, at) + WALL_GAP_MM]
    beside += [math.dist(at, other) / 2 for other in form.holes if other != at]
    return root_mm(standoff_radius(form), form.board_z - form.case.floor, beside)


def root_mm(radius: float, height: float, beside: Sequence[float]) -> float:
    """Radius of the corner at the foot of a standoff, mm; 0 where it finds no room.

    Parameters
    ----------
    radius, height : float, mm
        Of the standoff, over the floor.
    beside : sequence of float, mm
        How far from the standoff's middle it may reach, one for each thing that is near.

    Returns
    -------
    float, mm
    """
    root = min([ROOT_MM, height / 2, *(far - radius - 0.05 for far in beside)])
    return root if root > SHARP_MM else 0.0


def _standoff(form: Form, at: tuple[float, float]) -> Terrace:
    bottom = bore_floor_mm(form.case)
    bore: tuple[Terrace, ...] = (Terrace(circle(bore_diameter(form), at=at).outer, bottom),)
    if form.case.standoff == "snap-post":
        well = circle(bore_diameter(form) + 2 * WELL_GAP_MM, at=at).outer
        depth = well_depth(form)
        bore = (Terrace(well, form.board_z - depth),) if depth else ()
    return Terrace(circle(2 * standoff_radius(form), at=at).outer, form.board_z, bore)


def _ledges(form: Form) -> list[Shape]:
    """Ledges under two edges only, each let into wall and floor."""
    case, (length, width) = form.case, form.pocket
    if case.standoff != "edge rails" or case.ledge_sides == "all":
        return []
    low, into = form.case.floor - 0.3, 0.3
    deep = LEDGE_MM + into
    found = []
    for side in (-1, 1):
        if case.ledge_sides == "left and right":
            flat = rectangle(deep, width + 2 * into, at=(side * (length / 2 + into - deep / 2), 0))
        else:
            flat = rectangle(length + 2 * into, deep, at=(0, side * (width / 2 + into - deep / 2)))
        found.append(extrude(flat, form.board_z - low, z=low))
    return found


def _additions(form: Form) -> tuple[list[Shape], tuple[Finding, ...]]:
    case = form.case
    added: list[Shape] = _ledges(form)
    added += [
        terraces(_standoff(form, at), base=min(form.case.floor - 0.3, 0.9))
        for at in form.holes
        if in_wall(form, at)
    ]
    said: tuple[Finding, ...] = ()
    thick, width, _ = lug_sizes(form)
    for place in lug_places(form):
        reach = lug_reach(form, place)
        ear, said = _ear(reach + 0.75 * case.wall, width, drawn_mm(form.drawn.lug_hole), thick)
        x, y, _ = place.outward
        turn = {(1.0, 0.0): 0, (-1.0, 0.0): 180, (0.0, 1.0): 90, (0.0, -1.0): -90}[(x, y)]
        half = form.outside[0 if x else 1] / 2
        aside = place.at * (x - y)  # a turn about the middle brings it to its own side
        placed = moved(ear, half - 0.75 * case.wall, aside)
        added.append(turned(placed, z=turn) if turn else placed)
    said += lug_findings(form)
    if case.cable:
        shelf, footed = _shelf(form)
        added.append(shelf)
        said += footed
    if case.standoff == "snap-post":
        post = _snap_post(drawn_mm(form.drawn.snap_post), case.board_thickness, well_depth(form))
        added += [moved(post, x, y, form.board_z) for x, y in form.holes]
    return added, said


@lru_cache(maxsize=8)
def _ear(
    middle: float, width: float, hole: float, thick: float
) -> tuple[Shape, tuple[Finding, ...]]:
    """Plate from x = 0 to a half-round end about `middle`, with a hole there."""
    r = width / 2
    outline = Loop(((0.0, -r, 0.0), (middle, -r, 1.0), (middle, r, 0.0), (0.0, r, 0.0)))
    return footed(Profile(outline).with_holes(circle(hole, at=(middle, 0.0))), thick, "ears")


def _shelf(form: Form) -> tuple[Shape, tuple[Finding, ...]]:
    """Shelf outside under the cable, with two slots for a cable tie."""
    assert form.case.cable is not None
    hole = next(o for o in form.openings if o.name == "cable exit")
    u = (hole.profile.box[0] + hole.profile.box[2]) / 2
    side = 1 if hole.wall == "right" else -1
    size = drawn_mm(form.drawn.cable_exit)
    half, y = form.outside[0] / 2, u * side
    low, reach, width = half - form.case.wall / 2, 12.0, size + 10.0
    plate = rectangle(half + reach - low, width, at=(side * (low + half + reach) / 2, y))
    slots = [
        rectangle(4.0, 2.0, at=(side * (half + 7.0), y + s * (size / 2 + 1.8))) for s in (-1, 1)
    ]
    return footed(plate.with_holes(*slots), form.case.floor, "cable shelf")


def well_depth(form: Form) -> float:
    """How deep a post stands in a well of its standoff, which lets it bend; 0 without room, mm."""
    ring = standoff_radius(form) - bore_diameter(form) / 2 - WELL_GAP_MM
    return max(0.0, form.board_z - bore_floor_mm(form.case)) if ring >= WELL_RING_MM - 1e-9 else 0.0


@lru_cache(maxsize=8)
def _snap_post(diameter: float, board: float, well: float) -> Shape:
    """Split pin with a barb over the board (its underside at z = 0), rooted under its well."""
    r, wide = diameter / 2, slit_width(diameter)
    top, foot = board + 0.2, slit_foot_mm(diameter) - well
    line = [(0.0, -well - 0.5, 0.0)]
    if well:  # the corner between post and well is round
        line += [(r + POST_ROOT_MM, -well - 0.5, 0.0), (r + POST_ROOT_MM, -well, -QUARTER)]
        line += [(r, POST_ROOT_MM - well, 0.0)]
    else:
        line += [(r, -well - 0.5, 0.0)]
    line += [(r, top, 0.0), (r + BARB_MM, top + BARB_MM, 0.0), (r + BARB_MM, top + 0.5, 0.0)]
    line += [(0.6 * r, top + 1.8, 0.0), (0, top + 1.8, 0.0)]
    pin = revolve(Profile(Loop(tuple(line))))
    # The slit ends round, drawn in (x, z) and stretched along y.
    h, high = wide / 2, top + 3.0
    slit = Profile(Loop(((h, foot, 0.0), (h, high, 0.0), (-h, high, 0.0), (-h, foot, 1.0))))
    return cut(pin, moved(turned(extrude(slit, 4 * diameter), x=90), y=2 * diameter))


def _wells_in_walls(form: Form) -> list[Shape]:
    """What a wall would fill of the wells round snap posts."""
    depth = well_depth(form) if form.case.standoff == "snap-post" else 0.0
    if not depth:
        return []
    size = drawn_mm(form.drawn.snap_post)
    wide = size + 2 * WELL_GAP_MM
    nearer = [at for at in form.holes if _to_wall(form, at) + WALL_GAP_MM < wide / 2 + 0.01]
    well = extrude(circle(wide), depth + 0.5, z=-depth)
    tool = cut(well, _snap_post(size, form.case.board_thickness, depth)) if nearer else well
    return [moved(tool, x, y, form.board_z) for x, y in nearer]


def _removals(form: Form) -> list[Shape]:
    """Open ports, what windows take of the walls, groove of a sliding lid, open to the right."""
    tools = [tool for o in form.openings if o.through for tool in slot_tools(form, o)]
    if form.case.standoff in ("screw", "heat-set"):
        # What grew into a wall was joined to the floor, which its bore goes into, too.
        low = bore_floor_mm(form.case)
        bore = extrude(circle(bore_diameter(form)), form.board_z + 0.5 - low, z=low)
        tools += [moved(bore, x, y) for x, y in form.holes if in_wall(form, (x, y))]
    tools += _wells_in_walls(form)
    upper = form.board_z + form.case.board_thickness
    for number in sorted({o.path[1] for o in form.in_walls}):
        left, front, right, back = window_over_edge(form.windows[int(number)], form.outside)
        low = upper + form.case.windows[int(number)].above
        flat = rectangle(right - left, back - front, at=((left + right) / 2, (front + back) / 2))
        tools.append(extrude(flat, form.wall_top + 1.0 - low, z=low))
    if form.case.lid_fixing != "slide":
        return tools
    end = -(form.pocket[0] / 2 + (form.rim[1] - form.pocket[1]) / 2)
    profile = slide_section(form, form.rim[1], form.case.lid_thickness, over=0.1)
    tool = moved(along_x(profile, form.outside[0] / 2 + 1.0 - end), end)
    detent = detent_of(form)
    if detent:  # the ridge is what the groove's tool leaves standing
        high, long = detent
        tool = cut(tool, detent_ridge(form, high, long))
    return [*tools, moved(tool, z=form.wall_top)]
