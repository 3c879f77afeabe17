"""Builds a board case from its form: tray, lid, ghost, and the plain numbers that checks need.

Tray and lid are stepped solids put together face by face; ports and vents are let into flat walls.
Booleans are left for what is neither: ears beside the case, hooks, split posts, slanted louvres,
the groove of a sliding lid. What ports, windows and label do not change is cached.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any

from fitkit.checks.finding import Finding
from fitkit.errors import PartError
from fitkit.parts.board_case_form import (
    ARM_WIDTH_MM,
    HOLD_GAP_MM,
    HOOK_MM,
    LEDGE_MM,
    LIP_GAP_MM,
    LIP_MM,
    Form,
    Opening,
    arm_deflection,
    arm_thickness,
    bumped,
    centred,
    ear_mm,
    hold_post_mm,
    hole_distance,
    lip_inside,
    lip_thickness,
)
from fitkit.parts.contract import (
    Body,
    Boss,
    Bridge,
    KeyDimension,
    Lug,
    Part,
    SnapArm,
    Vent,
    Wall,
)
from fitkit.parts.label import fitted_text
from fitkit.parts.outline import read_bodies, read_outline
from fitkit.parts.profiles import Loop, Profile, capsule, circle, polygon, rectangle
from fitkit.parts.solids import (
    Shape,
    box_of,
    chamfer,
    checked,
    cut,
    edges,
    extrude,
    fuse,
    moved,
    revolve,
    turned,
    volume_of,
)
from fitkit.parts.terraces import Terrace, from_profiles, sink, terraces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.contract import Point

__all__ = ["build"]

FOOT_MM = 0.4  # chamfer at the bed against the first layer's flare; common practice, no source
TEXT_DEPTH_MM = 0.4
BARB_MM = 0.25  # of a snap post, on each side
WELL_GAP_MM = 0.7  # between a snap post and its well: room to bend, and for the nozzle
_SLIT_FOOT_MM = 0.4  # a post is whole up to here
# A sliding lid's detent: it lifts by no more than this, and bends by no more than this strain.
DETENT_MM = 0.25
DETENT_STRAIN = 0.005
SLACK_MM = 0.1  # over and under a sliding lid
# Turn about z that brings a wall to the front.
TO_FRONT = {"front": 0.0, "back": 180.0, "right": -90.0, "left": 90.0}


def build(form: Form, title: str) -> Part:
    """Build all bodies of a case."""
    tray, tray_said = _tray(form)
    lid, lid_said = _lid(form)
    board, board_said = _reference(form) if form.case.ghost_step else (_board(form), ())
    turn = (0.0, 0.0, 0.0) if form.case.lid_fixing == "slide" else (180.0, 0.0, 0.0)
    return Part(
        title=title,
        template=form.case.title,
        bodies=(
            Body(name="tray", solid=tray),
            Body(name="lid", solid=lid, print_turn=turn),
        ),
        ghosts=(*board, *_plugs(form)),
        insertion=(0.0, 0.0, -1.0),
        dimensions=_dimensions(form),
        walls=_walls(form),
        arms=_arms(form),
        lugs=_lug_numbers(form),
        bosses=_bosses(form),
        vents=_vents(form),
        bridges=_bridges(form),
        findings=(*form.findings, *tray_said, *lid_said, *board_said),
    )


@lru_cache(maxsize=32)
def _stepped(root: Terrace, name: str) -> tuple[Shape, tuple[Finding, ...], float]:
    """Stepped solid with its chamfer at the bed; cached, since most changes leave it as it is."""
    shape = terraces(root)
    # The root is built first, so its own edges are those of the outer wire at the bed; holes
    # through the floor keep their edges.
    inner = [region.outline.box for region in root.inner]

    def on_outline(low: Point, high: Point) -> bool:
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        return not any(b[0] <= middle[0] <= b[2] and b[1] <= middle[1] <= b[3] for b in inner)

    picked = edges(shape, z=0.0, where=on_outline)
    whole = root.volume()
    made, said = chamfer(
        shape,
        picked,
        FOOT_MM,
        name="Chamfer at the bed",
        body=name,
        before=whole,
        analyse=False,
    )
    left = volume_of(made)
    # A chamfer takes half its leg squared along the outline; anything else is a shape gone wrong.
    outline = root.outline.points()
    around = sum(math.dist(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))
    if not said and not 0 < whole - left < FOOT_MM**2 * around:
        return shape, (_foot_left_off("Chamfer at the bed", name),), whole
    return made, said, left


# --- the tray ----------------------------------------------------------------------------------


def tray_height(form: Form) -> float:
    """Top of the walls, mm; a sliding lid lies between them."""
    return form.wall_top + (form.case.lid_thickness if form.case.lid_fixing == "slide" else 0.0)


def _tray(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    case = form.case
    text, said = _tray_text(form)
    root = _tray_root(form, text)
    shape, dressed, before = _stepped(root, "tray")
    added, footed = _additions(form)
    if added:
        shape = fuse(shape, *added)
    removed = _removals(form)
    if removed:
        shape = cut(shape, *removed)
    louvres = [o for o in form.openings if not o.port and case.vent_style == "louvres"]
    plain = [o for o in form.openings if o not in louvres]
    for wall in TO_FRONT:
        shape = _open_wall(form, shape, wall, [o for o in plain if o.wall == wall])
    if louvres:
        shape = cut(shape, *(_louvre(form, opening) for opening in louvres))
    plain_area = sum(o.profile.area for o in form.openings)
    plain_area += 2 * len(form.arms) * (ARM_WIDTH_MM - 2) * (HOOK_MM + 2.4)
    groove = case.lid_thickness * form.outside[0] * form.rim[1] if case.lid_fixing == "slide" else 0
    bounds = (
        0.99 * (before - (4 if louvres else 2) * case.wall * plain_area - groove),
        1.0001 * before + sum(volume_of(a) for a in added),
    )
    simple = not added and not removed and not louvres
    solid = checked(shape, "tray", volume=bounds, proved=simple)
    return solid, (*said, *dressed, *footed)


def _tray_text(form: Form) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
    """Label in the floor, between the standoffs, where it prints as a top face."""
    length, width = form.pocket
    inset = 2 * LEDGE_MM if form.case.standoff == "edge rails" else 0.0
    ys = [abs(y) for _, y in form.holes]
    room_y = (2 * (min(ys) - _standoff_radius(form) - 0.6) if ys else width - inset) - 1.0
    # A single row of standoffs along the middle leaves the half behind it.
    at = (0.0, 0.0)
    if ys and min(ys) < _standoff_radius(form) + 2.0:
        low = max(y for _, y in form.holes) + _standoff_radius(form) + 0.6
        room_y = width / 2 - low - 1.0
        at = (0.0, low + max(room_y, 0.0) / 2)
    return fitted_text(
        form.case.label, room=(length - inset - 2.0, max(room_y, 0.0)), at=at, body="tray"
    )


def _tray_root(form: Form, text: Sequence[Profile]) -> Terrace:
    case, (length, width) = form.case, form.pocket
    features = (*_standoffs(form), *from_profiles(text, case.floor - TEXT_DEPTH_MM, case.floor))
    rim_length, rim_width = form.rim
    bumps = [(x, ARM_WIDTH_MM) for x in form.arms]
    notches = [(x, w + 0.8) for x, w in bumps]
    pocket = bumped(length, width, 0.0, notches, (rim_width - width) / 2 + 0.15)
    if case.standoff == "edge rails":
        lower = rectangle(length - 2 * LEDGE_MM, width - 2 * LEDGE_MM).outer
        inside = Terrace(pocket, form.board_z, (Terrace(lower, case.floor, features),))
    else:
        inside = Terrace(pocket, case.floor, features)
    over = form.outside
    if case.lid_fixing == "slide":
        return Terrace(rectangle(*over, radius=form.corner).outer, tray_height(form), (inside,))
    thick = (over[0] - rim_length) / 2
    wide = [(x, w + 1.2) for x, w in bumps]
    rim = bumped(rim_length, rim_width, max(form.corner - thick, 0.0), wide, 0.3)
    outline = bumped(*over, form.corner, [(x, ear_mm(case)) for x in form.ears], ear_mm(case) - 1.0)
    top = form.wall_top
    pilots = tuple(
        Terrace(circle(form.drawn["lid screw pilot"], at=at).outer, max(top - 12.0, 2.0))
        for at in _ear_holes(form)
    )
    return Terrace(outline, top, (Terrace(rim, top - LIP_MM, (inside,)), *pilots))


def _ear_holes(form: Form) -> list[tuple[float, float]]:
    y = form.outside[1] / 2 + (ear_mm(form.case) - 1.0) / 2
    return [(x, side * y) for x in form.ears for side in (-1, 1)]


def _standoff_radius(form: Form) -> float:
    """Radius of the standoffs: 1.6 mm round the hole, less where wall or neighbour is near."""
    hole = _bore(form)
    room = [1e9]
    for (x, y), (length, width) in ((h, form.pocket) for h in form.holes):
        room += [length / 2 - abs(x) - 0.3, width / 2 - abs(y) - 0.3]
    room += [math.dist(a, b) / 2 - 0.3 for a, b in combinations(form.holes, 2)]
    return min(hole / 2 + 1.6, *room)


def _bore(form: Form) -> float:
    for name in ("screw pilot", "insert hole", "snap post"):
        if name in form.drawn:
            return form.drawn[name]
    return 2.0


def _standoffs(form: Form) -> tuple[Terrace, ...]:
    made, radius = [], _standoff_radius(form)
    for at in form.holes:
        bottom = max(1.0, form.board_z - 12.0)
        bore: tuple[Terrace, ...] = (Terrace(circle(_bore(form), at=at).outer, bottom),)
        if form.case.standoff == "snap-post":
            well = circle(_bore(form) + 2 * WELL_GAP_MM, at=at).outer
            depth = _well_depth(form)
            bore = (Terrace(well, form.board_z - depth),) if depth else ()
        made.append(Terrace(circle(2 * radius, at=at).outer, form.board_z, bore))
    return tuple(made)


def _additions(form: Form) -> tuple[list[Shape], tuple[Finding, ...]]:
    case = form.case
    added: list[Shape] = []
    said: tuple[Finding, ...] = ()
    half = form.outside[0] / 2
    thick, width, reach = _lug_sizes(form)
    for side, y in _lug_places(form):
        ear, said = _ear(reach + 0.75 * case.wall, width, form.drawn["lug hole"], thick)
        placed = moved(ear, half - 0.75 * case.wall, side * y)
        added.append(placed if side > 0 else turned(placed, z=180))
    if case.cable:
        shelf, footed = _shelf(form)
        added.append(shelf)
        said += footed
    if case.standoff == "snap-post":
        post = _snap_post(form.drawn["snap post"], case.board_thickness, _well_depth(form))
        added += [moved(post, x, y, form.board_z) for x, y in form.holes]
    return added, said


@lru_cache(maxsize=8)
def _ear(
    middle: float, width: float, hole: float, thick: float
) -> tuple[Shape, tuple[Finding, ...]]:
    """Plate from x = 0 to a half-round end about `middle`, with a hole there."""
    r = width / 2
    outline = Loop(((0.0, -r, 0.0), (middle, -r, 1.0), (middle, r, 0.0), (0.0, r, 0.0)))
    return _footed(Profile(outline).with_holes(circle(hole, at=(middle, 0.0))), thick, "ears")


def _footed(profile: Profile, height: float, what: str) -> tuple[Shape, tuple[Finding, ...]]:
    """Extrude with a chamfer at the bed, along holes too; without it, in words, where it fails."""
    plain = extrude(profile, height)
    name = f"Chamfer at the bed of the {what}"
    made, said = chamfer(plain, edges(plain, z=0.0), FOOT_MM, name=name, body="tray")
    around = sum(
        math.dist(a, b)
        for loop in (profile.outer, *profile.holes)
        for a, b in pairwise([*loop.points(), loop.points()[0]])
    )
    taken = profile.area * height - volume_of(made)
    if said or 0 < taken < FOOT_MM**2 * around:
        return made, said
    return plain, (_foot_left_off(name, "tray"),)


def _foot_left_off(name: str, body: str) -> Finding:
    return Finding(
        check="build",
        severity="note",
        text=f"{name} of {FOOT_MM:.1f} mm cannot be made here and is left off.",
        value=FOOT_MM,
        unit="mm",
        basis="geometry of this part",
        body=body,
        remedy="Let the first layer be drawn in by the slicer instead.",
    )


def _lug_sizes(form: Form) -> tuple[float, float, float]:
    """Thickness, width, and reach from wall to hole, mm."""
    screw = form.case.lug_screw
    return max(3.0, form.case.floor), 2 * screw + 4.0, screw + 3.0


def _lug_places(form: Form) -> list[tuple[int, float]]:
    """Side and place along it of each ear, clear of the cable's shelf."""
    case = form.case
    if not case.lugs:
        return []
    width = _lug_sizes(form)[1]
    far = max(form.outside[1] / 2 - form.corner - width / 2, 0.0)
    pairs = case.lugs == 4 and far >= width / 2 + 0.5
    places = []
    for side in (-1, 1):
        clear = [y for y in (0.0, far, -far) if not _at_shelf(form, side, y, width)]
        wanted = [-far, far] if pairs else clear[:1]
        if not wanted or not set(wanted) <= set(clear):
            raise PartError(
                f"{case.lugs} ears and the cable's shelf do not find room on one wall",
                where=f"{case.title}, lugs",
                remedy="Move the cable along its wall, or leave the ears out.",
            )
        places += [(side, y) for y in wanted]
    return places


def _at_shelf(form: Form, side: int, y: float, width: float) -> bool:
    cable = form.case.cable
    if cable is None or (cable.wall == "right") != (side > 0):
        return False
    middle = cable.along - form.case.board_width / 2
    return abs(y - middle) < (width + form.drawn["cable exit"] + 10.0) / 2 + 0.5


def _shelf(form: Form) -> tuple[Shape, tuple[Finding, ...]]:
    """Shelf outside under the cable, with two slots for a cable tie."""
    assert form.case.cable is not None
    hole = next(o for o in form.openings if o.name == "cable exit")
    u = (hole.profile.box[0] + hole.profile.box[2]) / 2
    side = 1 if hole.wall == "right" else -1
    size = form.drawn["cable exit"]
    half, y = form.outside[0] / 2, u * side
    low, reach, width = half - form.case.wall / 2, 12.0, size + 10.0
    plate = rectangle(half + reach - low, width, at=(side * (low + half + reach) / 2, y))
    slots = [
        rectangle(4.0, 2.0, at=(side * (half + 7.0), y + s * (size / 2 + 1.8))) for s in (-1, 1)
    ]
    return _footed(plate.with_holes(*slots), form.case.floor, "cable shelf")


def _slit(post: float) -> float:
    return max(0.6, 0.4 * post)


def _well_depth(form: Form) -> float:
    """How deep a post stands in a well of its standoff, which lets it bend; 0 without room, mm."""
    ring = _standoff_radius(form) - _bore(form) / 2 - WELL_GAP_MM
    return max(0.0, form.board_z - max(1.0, form.board_z - 12.0)) if ring >= 0.6 else 0.0


@lru_cache(maxsize=8)
def _snap_post(diameter: float, board: float, well: float) -> Shape:
    """Split pin with a barb over the board (its underside at z = 0), rooted under its well."""
    r = diameter / 2
    top = board + 0.2
    outline = [(0, -well - 0.5), (r, -well - 0.5), (r, top)]
    outline += [(r + BARB_MM, top + BARB_MM), (r + BARB_MM, top + 0.5)]
    outline += [(0.6 * r, top + 1.8), (0, top + 1.8)]
    pin = revolve(polygon(outline))
    slit = rectangle(_slit(diameter), 4 * diameter)
    return cut(pin, extrude(slit, well + top + 3.0, z=_SLIT_FOOT_MM - well))


def _removals(form: Form) -> list[Shape]:
    """Groove of a sliding lid, open to the right."""
    if form.case.lid_fixing != "slide":
        return []
    end = -(form.pocket[0] / 2 + (form.rim[1] - form.pocket[1]) / 2)
    profile = _slide_section(form, form.rim[1], form.case.lid_thickness, over=0.1)
    tool = moved(_along_x(profile, form.outside[0] / 2 + 1.0 - end), end)
    detent = _detent(form)
    if detent:  # the ridge is what the groove's tool leaves standing
        high, long = detent
        tool = cut(tool, _ridge(form, high, long))
    return [moved(tool, z=form.wall_top)]


def _detent(form: Form) -> tuple[float, float] | None:
    """Height and length of the ridge that holds a sliding lid shut, mm; None if there is none.

    The lid lifts over it as a beam between its two grooves, pushed up in the middle: strain
    6 h y / L², which is the cantilever's 1.5 h y / (L/2)² of each half.
    """
    case, span = form.case, form.rim[1]
    lift = min(DETENT_MM, DETENT_STRAIN * span**2 / (6 * (case.lid_thickness - SLACK_MM)))
    if not case.detent or lift < 0.12:
        return None
    return lift + SLACK_MM, min(10.0, form.pocket[1] / 2)


def _ridge(form: Form, high: float, long: float) -> Shape:
    """Ridge across the top of the right wall, sides at 30°; its foot lies at z = 0."""
    foot = high / math.tan(math.radians(30))
    section = polygon([(-foot, 0.0), (0.0, high), (foot, 0.0), (foot, -0.5), (-foot, -0.5)])
    ridge = moved(_along_x(section, long), -long / 2)
    return moved(turned(ridge, z=90), form.outside[0] / 2 - form.case.wall / 2)


def _slide_section(form: Form, width: float, height: float, *, over: float = 0.0) -> Profile:
    """Dovetail across the slide: upright sides, then 45° inward to the pocket's width."""
    half = width / 2
    # Groove and lid share one bevel, whatever play the lid has in height.
    bevel = min((form.rim[1] - form.pocket[1]) / 2, form.case.lid_thickness - 0.6)
    points = [(-half, 0.0), (half, 0.0), (half, height - bevel), (half - bevel, height)]
    if over:
        points += [(half - bevel, height + over), (-half + bevel, height + over)]
    return polygon([*points, (-half + bevel, height), (-half, height - bevel)])


def _along_x(profile: Profile, length: float) -> Shape:
    """Extrude a section (y, z) along x from 0."""
    return turned(extrude(profile, length), x=90, z=90)


def _to_wall(shape: Shape, wall: str) -> Shape:
    """Turn a wall's outer face up: x along it as seen from outside, y up in the case."""
    return turned(turned(shape, z=TO_FRONT[wall]), x=-90)


def _from_wall(shape: Shape, wall: str) -> Shape:
    return turned(turned(shape, x=90), z=-TO_FRONT[wall])


def _open_wall(form: Form, shape: Shape, wall: str, openings: Sequence[Opening]) -> Shape:
    profiles = [opening.profile for opening in openings]
    face = form.outside[1 if wall in ("front", "back") else 0] / 2
    windows = []
    if wall in ("front", "back") and form.arms:
        low = form.wall_top - form.arm_mm - 0.3
        windows = [
            rectangle(ARM_WIDTH_MM - 2, HOOK_MM + 2.4, at=(x, low + HOOK_MM / 2 + 1.2))
            for x in form.arms
        ]
    if not profiles and not windows:
        return shape
    there = _to_wall(shape, wall)
    there = sink(there, profiles, z=face, depth=form.case.wall) if profiles else there
    if windows:
        notch = form.outside[1] / 2 - form.rim[1] / 2 - 0.15
        there = sink(there, windows, z=face, depth=notch)
    return _from_wall(there, wall)


def _louvre(form: Form, opening: Opening) -> Shape:
    """Slanted slot that falls outward at 45°, so that drips run off and it prints unsupported."""
    box = opening.profile.box
    low, high, wall = box[1], box[3], form.case.wall
    face = form.outside[1] / 2
    out, depth = 0.5, wall + 1.0
    # Section across the wall: y outward is negative at the front; inside lies higher.
    section = polygon(
        [
            (-face - out, low - out),
            (-face + depth, low + depth),
            (-face + depth, high + depth),
            (-face - out, high - out),
        ]
    )
    tool = moved(_along_x(section, box[2] - box[0]), box[0])
    return turned(tool, z=-TO_FRONT[opening.wall])


# --- the lid -----------------------------------------------------------------------------------


def _lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    return _slide_lid(form) if form.case.lid_fixing == "slide" else _rim_lid(form)


def _lid_openings(form: Form, *, flipped: bool) -> list[Profile]:
    case, sign = form.case, -1 if flipped else 1
    windows = [
        rectangle(
            w.length, w.width, at=(w.x - case.board_length / 2, sign * (w.y - case.board_width / 2))
        )
        for w in case.windows
    ]
    vents = [v.mirrored().turned(180) if flipped else v for v in form.lid_vents]
    return windows + vents


def _lid_text(form: Form, openings: Sequence[Profile], *, flipped: bool) -> Any:
    """Room for the label: a strip along the front if nothing opens there, else along the back."""
    length, width = form.pocket
    if form.hold_posts:  # the label stays between them
        length = 2 * (abs(form.hold_posts[0][0]) - hold_post_mm(_hold_height(form)) / 2) + 7.0
    strip = min(8.5, width / 3)
    for y in (-1, 1):
        middle = y * (width / 2 - 3.0 - strip / 2)
        box = rectangle(length - 8.0, strip, at=(0.0, middle)).box
        taken = any(
            p.box[0] < box[2] and box[0] < p.box[2] and p.box[1] < box[3] and box[1] < p.box[3]
            for p in openings
        )
        if not taken or y == 1:
            room = (length - 8.0, 0.0 if taken else strip)
            return fitted_text(form.case.label, room=room, at=(0.0, middle), body="lid")
    raise AssertionError("one of the two is returned")


def _rim_lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    """Plate with a lip, built as it prints: outer face on the bed, turned over at the end."""
    case = form.case
    plate = case.lid_thickness
    openings = _lid_openings(form, flipped=True)
    text, said = _lid_text(form, openings, flipped=True)
    length, width = form.drawn["lid lip outside length"], form.drawn["lid lip outside width"]
    arm = arm_thickness(case, form.drawn)
    rim_wall = (form.outside[0] - form.rim[0]) / 2
    corner = max(form.corner - rim_wall, 0.0)
    within = lip_inside(case, form.drawn, form.corner)
    height = _hold_height(form)
    side = hold_post_mm(height)
    inside = Terrace(
        rectangle(within[0], within[1], radius=within[2]).outer,
        plate,
        (
            # Turned over, y changes sign.
            *(
                Terrace(rectangle(side, side, at=(x, -y)).outer, plate + height)
                for x, y in form.hold_posts
            ),
            *(Terrace(opening.outer, 0.0) for opening in openings),
            *from_profiles(text, plate - TEXT_DEPTH_MM, plate),
        ),
    )
    arms = tuple(
        Terrace(
            rectangle(ARM_WIDTH_MM, arm, at=(x, s * (width - arm - 0.1) / 2)).outer,
            plate + form.arm_mm,
        )
        for x in form.arms
        for s in (-1, 1)
    )
    lip = Terrace(
        rectangle(length, width, radius=corner).outer, plate + LIP_MM - LIP_GAP_MM, (inside, *arms)
    )
    outline = bumped(
        *form.outside, form.corner, [(x, ear_mm(case)) for x in form.ears], ear_mm(case) - 1.0
    )
    holes = tuple(
        Terrace(circle(form.drawn["lid screw hole"], at=at).outer, 0.0) for at in _ear_holes(form)
    )
    root = Terrace(outline, plate, (lip, *holes))
    shape, dressed, expected = _stepped(root, "lid")
    if form.arms:
        hooks = [_hook(form, x, s, width, plate) for x in form.arms for s in (-1, 1)]
        shape = fuse(shape, *hooks)
    shape = moved(turned(shape, x=180), z=form.wall_top + plate)
    bounds = (0.9999 * expected, 1.0001 * expected + 20.0 * len(form.arms) * 2)
    return checked(shape, "lid", volume=bounds, proved=not form.arms), (*said, *dressed)


def _hold_height(form: Form) -> float:
    """Length of the lid's hold-down posts, from its plate to just over the board, mm."""
    return form.wall_top - form.board_z - form.case.board_thickness - HOLD_GAP_MM


def _hook(form: Form, x: float, side: int, lip: float, plate: float) -> Shape:
    """Wedge at an arm's tip: 45° below, so that it prints and lets go; a long lead above."""
    face, tip = lip / 2 - 0.05, plate + form.arm_mm
    section = polygon(
        [
            (face - 0.4, tip - 1.8 - HOOK_MM),
            (face, tip - 1.8 - HOOK_MM),
            (face + HOOK_MM, tip - 1.8),
            (face + HOOK_MM, tip - 1.2),
            (face, tip),
            (face - 0.4, tip),
        ]
    )
    wide = ARM_WIDTH_MM - 3.0
    hook = moved(_along_x(section, wide), -wide / 2)
    return moved(hook if side > 0 else turned(hook, z=180), x)


def _slide_lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    case = form.case
    height = form.case.lid_thickness - SLACK_MM
    start = -(form.pocket[0] / 2 + (form.rim[1] - form.pocket[1]) / 2) + SLACK_MM
    length = form.outside[0] / 2 - start
    section = _slide_section(form, form.drawn["lid outside width"], height)
    plain = moved(_along_x(section, length), start)
    # The chamfer leaves 0.2 mm of the upright side, which is what fits in the groove.
    foot = min(FOOT_MM, section.outer.corners[2][1] - 0.2)
    shape, dressed = chamfer(
        plain, edges(plain, z=0.0), foot, name="Chamfer at the bed", body="lid"
    )
    detent = _detent(form)
    if detent:  # a notch for the ridge, 0.1 mm wider and deeper on all sides
        high, long = detent
        shape = cut(shape, moved(_ridge(form, high + 0.15, long + 0.6), z=-SLACK_MM / 2))
    elif case.detent:
        dressed = (*dressed, _no_detent(form))
    before = volume_of(shape)
    openings = _lid_openings(form, flipped=False)
    shape = sink(shape, openings, z=height, depth=height) if openings else shape
    text, said = _lid_text(form, openings, flipped=False)
    shape = sink(shape, text, z=height, depth=TEXT_DEPTH_MM) if text else shape
    expected = before - height * sum(p.area for p in openings)
    expected -= TEXT_DEPTH_MM * sum(p.area for p in text)
    shape = moved(shape, z=form.wall_top + SLACK_MM / 2)
    return checked(shape, "lid", volume=expected), (*said, *dressed)


def _no_detent(form: Form) -> Finding:
    return Finding(
        check="build",
        severity="note",
        text="The sliding lid gets no detent: over so short a span it is too stiff to lift over "
        "one.",
        value=form.rim[1],
        unit="mm",
        basis="beam between the grooves",
        body="lid",
        remedy="Make the lid thinner, or secure it by other means.",
    )


# --- what the case is measured by --------------------------------------------------------------


# The way in through each wall.
_INWARD: dict[str, tuple[float, float, float]] = {
    "left": (1.0, 0.0, 0.0),
    "right": (-1.0, 0.0, 0.0),
    "front": (0.0, 1.0, 0.0),
    "back": (0.0, -1.0, 0.0),
}


def _board(form: Form) -> tuple[Body, ...]:
    """Board and tallest part as plain blocks."""
    case = form.case
    holes = [
        circle(case.hole_diameter, at=at)
        for at in form.holes
        if abs(at[0]) + case.hole_diameter / 2 < case.board_length / 2 - 0.1
        and abs(at[1]) + case.hole_diameter / 2 < case.board_width / 2 - 0.1
    ]
    board = rectangle(case.board_length, case.board_width).with_holes(*holes)
    z = form.board_z
    found = [Body(name="board", solid=_solid(extrude(board, case.board_thickness, z=z)))]
    upper = z + case.board_thickness
    if case.tallest_part > 0:
        part = rectangle(0.25 * case.board_length, 0.25 * case.board_width)
        found.append(
            Body(name="tallest part", solid=_solid(extrude(part, case.tallest_part, z=upper)))
        )
    return tuple(found)


def _reference(form: Form) -> tuple[tuple[Body, ...], tuple[Finding, ...]]:
    """Give the board from its STEP file, laid on the standoffs, and where the readings belie it."""
    case = form.case
    corner = case.ghost_origin == "corner"
    shift = (-case.board_length / 2, -case.board_width / 2) if corner else (0.0, 0.0)
    solids = [moved(one, *shift, form.board_z) for one in read_bodies(case.ghost_step)]
    bodies = tuple(
        Body(name="board" if number == 1 else f"board part {number}", solid=_solid(shape))
        for number, shape in enumerate(solids, start=1)
    )
    lows, highs = zip(*(box_of(shape) for shape in solids), strict=True)
    upper = form.board_z + case.board_thickness
    reaches = (
        ("tallest_part", max(high[2] for high in highs) - upper, case.tallest_part, "above it"),
        ("below_board", form.board_z - min(low[2] for low in lows), case.below_board, "below it"),
    )
    said = tuple(
        Finding(
            check="build",
            severity="warn",
            text=f"The board's file reaches {reach:.1f} mm {side}, and {name} says {given:.1f} mm.",
            value=reach,
            limit=given,
            unit="mm",
            basis="box of the STEP file",
            body="tray",
            remedy=f"Measure again, set {name} to {reach:.1f} mm, or check ghost_origin.",
        )
        for name, reach, given, side in reaches
        if reach > given + 0.1
    )
    return bodies, said


def _plugs(form: Form) -> tuple[Body, ...]:
    case, found = form.case, []
    upper = form.board_z + case.board_thickness
    for opening, port in zip(form.openings, case.ports, strict=False):
        box = opening.profile.box
        at = ((box[0] + box[2]) / 2, upper + port.above)
        if port.shape == "outline":
            flat = centred(read_outline(port.outline).filled(), at)
        elif port.shape == "round":
            flat = circle(port.width, at=at)
        elif port.shape == "slot":
            a, b = max(port.width, port.height), min(port.width, port.height)
            flat = capsule(a, b, turn=0 if port.width >= port.height else 90, at=at)
        else:
            flat = rectangle(port.width, port.height, at=at)
        edge = (case.board_width if port.wall in ("front", "back") else case.board_length) / 2
        plug = _from_wall(extrude(flat, case.wall + 12.0, z=edge + port.depth), port.wall)
        found.append(
            Body(name=f"plug {opening.name[5:]}", solid=_solid(plug), insertion=_INWARD[port.wall])
        )
    return tuple(found)


def _solid(shape: Shape) -> Any:
    from build123d import Solid

    from fitkit.parts.solids import solids_in

    return Solid(solids_in(shape)[0])


def _dimensions(form: Form) -> tuple[KeyDimension, ...]:
    drawn, found = form.drawn, []

    def span(name: str, body: str, middle: Point, axis: int, kind: Any, size: float) -> None:
        start, end = list(middle), list(middle)
        start[axis] -= size / 2
        end[axis] += size / 2
        found.append(
            KeyDimension(
                name=name,
                value_mm=size,
                body=body,
                start=(start[0], start[1], start[2]),
                end=(end[0], end[1], end[2]),
                kind=kind,
            )
        )

    top = tray_height(form)
    for axis, word in enumerate(("length", "width")):
        span(f"outside {word}", "tray", (0, 0, top / 2), axis, "outside", form.outside[axis])
        mid = (0.0, 0.0, form.board_z + form.case.board_thickness)
        span(f"pocket {word}", "tray", mid, axis, "inside", form.pocket[axis])
        letter = "xy"[axis]
        if f"standoff spacing {letter}" in drawn:
            hole = form.holes[0]
            place = [0.0, 0.0, form.board_z]
            place[axis] = (form.case.hole_offset_x, form.case.hole_offset_y)[axis]
            place[1 - axis] = hole[1 - axis]
            name = f"standoff spacing {letter}"
            span(name, "tray", (place[0], place[1], place[2]), axis, "centres", drawn[name])
        pairs = [(hole, form.holes[0]) for hole in form.holes]
        for number, (hole, first) in enumerate(pairs, start=1):
            name = hole_distance(number, letter)
            if name in drawn:
                half_way = [hole[0], hole[1]]
                half_way[axis] = (hole[axis] + first[axis]) / 2
                at = (half_way[0], half_way[1], form.board_z)
                span(name, "tray", at, axis, "centres", drawn[name])
        if f"rim inside {word}" in drawn:
            name, mid = f"rim inside {word}", (0.0, 0.0, form.wall_top - 0.5)
            span(name, "tray", mid, axis, "inside", drawn[name])
        for name in (f"lid lip outside {word}", f"lid outside {word}"):
            if name in drawn:
                z = form.wall_top - 1.0 if "lip" in name else form.wall_top + SLACK_MM
                span(name, "lid", (0.0, 0.0, z), axis, "outside", drawn[name])
    if form.hold_posts:
        x, y = form.hold_posts[0]
        height = _hold_height(form)
        middle = (x, y, form.wall_top - height / 2)
        span("hold-down post height", "lid", middle, 2, "height", height)
    span("outside height", "tray", (0, 0, top / 2), 2, "height", top)
    for opening in form.openings:
        if not opening.name.startswith("port"):
            continue
        box = opening.profile.box
        u, v = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        face = form.outside[1 if opening.wall in ("front", "back") else 0] / 2
        x, y = {"front": (u, -face), "back": (-u, face), "right": (face, u), "left": (-face, -u)}[
            opening.wall
        ]
        axis = 0 if opening.wall in ("front", "back") else 1
        for word, along in (("width", axis), ("height", 2)):
            name = f"{opening.name} {word}"
            if name in drawn:
                span(name, "tray", (x, y, v), along, "inside", drawn[name])
    return tuple(found)


def _walls(form: Form) -> tuple[Wall, ...]:
    case, (length, width) = form.case, form.outside
    found = [
        Wall(
            name="side wall",
            body="tray",
            thickness_mm=case.wall,
            at=(0.0, -width / 2, form.board_z),
            span_mm=min(form.wall_top - case.floor, length - 2 * case.wall),
        ),
        Wall(
            name="floor",
            body="tray",
            thickness_mm=case.floor,
            at=(0.0, 0.0, case.floor),
            span_mm=min(length, width) - 2 * case.wall,
        ),
        Wall(
            name="plate",
            body="lid",
            thickness_mm=case.lid_thickness,
            at=(0.0, 0.0, tray_height(form)),
            span_mm=min(length, width) - 2 * case.wall,
        ),
        Wall(
            name="rim",
            body="tray",
            thickness_mm=(width - form.rim[1]) / 2 - (0.3 if form.arms else 0.0),
            at=(length / 4, -width / 2, form.wall_top - 1.0),
        ),
    ]
    if case.lid_fixing != "slide":
        found.append(
            Wall(
                name="lip",
                body="lid",
                thickness_mm=lip_thickness(case, form.drawn),
                at=(0.0, -form.rim[1] / 2, form.wall_top - 1.0),
            )
        )
    if form.hold_posts:
        x, y = form.hold_posts[0]
        side, z = hold_post_mm(_hold_height(form)), form.wall_top - _hold_height(form)
        found.append(Wall(name="hold-down post", body="lid", thickness_mm=side, at=(x, y, z)))
    if form.holes and case.standoff != "snap-post":
        x, y = form.holes[0]
        thick = _standoff_radius(form) - _bore(form) / 2
        found.append(
            Wall(name="standoff", body="tray", thickness_mm=thick, at=(x, y, form.board_z))
        )
    return tuple(found)


def _arms(form: Form) -> tuple[SnapArm, ...]:
    found = []
    if form.arms:
        found.append(
            SnapArm(
                name="lid arm",
                body="lid",
                length_mm=form.arm_mm,
                thickness_mm=arm_thickness(form.case, form.drawn),
                width_mm=ARM_WIDTH_MM,
                deflection_mm=arm_deflection(form.drawn),
                at=(form.arms[0], -form.rim[1] / 2, form.wall_top),
                lead_angle_deg=math.degrees(math.atan(HOOK_MM / 1.2)),
                layers_across=True,
                count=2 * len(form.arms),
                along=(0.0, 0.0, -1.0),
            )
        )
    detent = _detent(form) if form.case.lid_fixing == "slide" else None
    if detent:
        high, long = detent
        found.append(
            SnapArm(
                name="lid detent",
                body="lid",
                length_mm=form.rim[1] / 2,
                thickness_mm=form.case.lid_thickness - SLACK_MM,
                width_mm=long,
                deflection_mm=high - SLACK_MM,
                at=(form.outside[0] / 2 - form.case.wall / 2, 0.0, form.wall_top),
                lead_angle_deg=30.0,
                release_angle_deg=30.0,
                count=2,
                along=(0.0, 1.0, 0.0),
            )
        )
    if form.case.standoff == "snap-post":
        size = form.drawn["snap post"]
        # One by one, so that the assembly check knows each barb that the board snaps over.
        found += [
            SnapArm(
                name=f"snap post {number}",
                body="tray",
                length_mm=form.case.board_thickness + 0.3 + _well_depth(form) - _SLIT_FOOT_MM,
                thickness_mm=(size - _slit(size)) / 2,
                width_mm=size * 0.8,
                deflection_mm=max(BARB_MM - (form.case.hole_diameter - size) / 2, 0.1),
                at=(x, y, form.board_z),
                layers_across=True,
                count=2,
                along=(0.0, 0.0, 1.0),
            )
            for number, (x, y) in enumerate(form.holes, start=1)
        ]
    return tuple(found)


def _lug_numbers(form: Form) -> tuple[Lug, ...]:
    thick, width, reach = _lug_sizes(form)
    half = form.outside[0] / 2
    return tuple(
        Lug(
            name=f"ear {number}",
            body="tray",
            reach_mm=reach,
            width_mm=width,
            thickness_mm=thick,
            hole_mm=form.drawn["lug hole"],
            at=(side * half, y, thick / 2),
            along=(float(side), 0.0, 0.0),
        )
        for number, (side, y) in enumerate(_lug_places(form), start=1)
    )


def _bosses(form: Form) -> tuple[Boss, ...]:
    case, found = form.case, []
    if case.standoff in ("screw", "heat-set"):
        found += [
            Boss(
                name=f"standoff {number}",
                body="tray",
                outer_mm=2 * _standoff_radius(form),
                hole_mm=_bore(form),
                depth_mm=form.board_z - max(1.0, form.board_z - 12.0),
                screw_mm=case.hole_diameter - 0.2,
                at=(x, y, form.board_z),
            )
            for number, (x, y) in enumerate(form.holes, start=1)
        ]
    found += [
        Boss(
            name=f"lid ear {number}",
            body="tray",
            outer_mm=ear_mm(case) - 1.0,
            hole_mm=form.drawn["lid screw pilot"],
            depth_mm=form.wall_top - max(form.wall_top - 12.0, 2.0),
            screw_mm=case.lid_screw,
            at=(x, y, form.wall_top),
        )
        for number, (x, y) in enumerate(_ear_holes(form), start=1)
    ]
    return tuple(found)


def _vents(form: Form) -> tuple[Vent, ...]:
    low, high = form.vent_mm2
    found = []
    walls = [o for o in form.openings if not o.port]
    if walls:
        z = (walls[0].profile.box[1] + walls[0].profile.box[3]) / 2
        at = (0.0, -form.outside[1] / 2, z)
        found.append(Vent(name="low vents", body="tray", free_area_mm2=low, height_mm=z, at=at))
    if form.lid_vents:
        z = tray_height(form)
        at = (0.0, 0.0, z)
        found.append(Vent(name="lid vents", body="lid", free_area_mm2=high, height_mm=z, at=at))
    return tuple(found)


def _bridges(form: Form) -> tuple[Bridge, ...]:
    """Flat tops of openings in the walls; round and hexagonal ones carry themselves."""
    found = []
    for opening in form.openings:
        box = opening.profile.box
        corners = opening.profile.outer.corners
        flat = [
            abs(u - x)
            for (x, y, bulge), (u, v, _) in opening.profile.outer.sides()
            if not bulge and abs(y - box[3]) < 1e-6 and abs(v - box[3]) < 1e-6
        ]
        if flat and len(corners) > 2:
            at = ((box[0] + box[2]) / 2, box[3])
            face = form.outside[1 if opening.wall in ("front", "back") else 0] / 2
            x, y = {
                "front": (at[0], -face),
                "back": (-at[0], face),
                "right": (face, at[0]),
                "left": (-face, -at[0]),
            }[opening.wall]
            found.append(
                Bridge(name=opening.name, body="tray", span_mm=max(flat), at=(x, y, at[1]))
            )
    low = form.wall_top - form.arm_mm - 0.3
    found += [
        Bridge(
            name="window of a snap arm",
            body="tray",
            span_mm=ARM_WIDTH_MM - 2,
            at=(x, side * form.outside[1] / 2, low + HOOK_MM + 2.4),
        )
        for x in form.arms
        for side in (-1, 1)
    ]
    return tuple(found)
