"""The plain numbers that checks need: dimensions, walls, arms, lugs, bosses, vents, bridges."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from fitkit.core.sizes import HEIGHT, OUTSIDE
from fitkit.fits.fasteners import hold_of_size
from fitkit.parts.arms import SHARP_MM
from fitkit.parts.contract import Boss, Bridge, Flat, KeyDimension, Lug, SnapArm, Vent, Wall, Warm
from fitkit.parts.cut_away import cut_share
from fitkit.parts.designs.board_case.levels import (
    arm_deflection,
    arm_thickness,
    ear_mm,
    hold_post_mm,
    lid_bore_mm,
    lip_thickness,
)
from fitkit.parts.designs.board_case.lid import hold_height
from fitkit.parts.designs.board_case.lugs import lug_places, lug_reach, lug_sizes
from fitkit.parts.designs.board_case.practice import (
    ARM_WIDTH_MM,
    BARB_MM,
    CABLE_OVER_MM,
    HOOK_MM,
    LEAST_TONGUE_MM,
    LEDGE_MM,
    SLACK_MM,
)
from fitkit.parts.designs.board_case.sizes import board_screw_mm, bore_floor_mm, datum
from fitkit.parts.designs.board_case.sliding import detent_of
from fitkit.parts.designs.board_case.snap_posts import (
    post_root_mm,
    slit_foot_mm,
    slit_width,
)
from fitkit.parts.designs.board_case.tray import (
    bore_diameter,
    ear_holes,
    standoff_radius,
    tray_height,
    well_depth,
)
from fitkit.parts.fit_size import FitSize, drawn_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.core.sizes import SizeKind
    from fitkit.parts.contract import Point
    from fitkit.parts.designs.board_case.form import Form
    from fitkit.solids.profiles import Profile

__all__ = [
    "arm_numbers",
    "boss_numbers",
    "bridge_numbers",
    "key_dimensions",
    "lug_numbers",
    "vent_numbers",
    "wall_numbers",
    "warm_place",
]

_AXES: tuple[Literal["x", "y", "z"], ...] = ("x", "y", "z")


def key_dimensions(form: Form) -> tuple[KeyDimension, ...]:
    """Give the sizes that must fit, each with where it is on the part."""
    drawn, found = form.drawn, []

    def show(fit: FitSize, body: str, middle: Point, axis: int) -> None:
        found.append(KeyDimension.across(fit, middle, _AXES[axis], body=body))

    def span(name: str, body: str, middle: Point, axis: int, kind: SizeKind, size: float) -> None:
        show(FitSize(name=name, nominal_mm=size, kind=kind), body, middle, axis)

    top = tray_height(form)
    mid = (0.0, 0.0, form.board_z + form.case.board_thickness)
    for axis, word in enumerate(("length", "width")):
        span(f"outside {word}", "tray", (0, 0, top / 2), axis, OUTSIDE, form.outside[axis])
        show((drawn.pocket_length, drawn.pocket_width)[axis], "tray", mid, axis)
        spacing = (drawn.standoff_spacing_x, drawn.standoff_spacing_y)[axis]
        if spacing:
            hole = form.holes[0]
            place = [0.0, 0.0, form.board_z]
            place[axis] = (form.case.hole_offset_x, form.case.hole_offset_y)[axis]
            place[1 - axis] = hole[1 - axis]
            show(spacing, "tray", (place[0], place[1], place[2]), axis)
        for distance, hole in zip(drawn.distances, form.holes[1:], strict=False):
            fit = (distance.x, distance.y)[axis]
            if fit:
                half_way = [hole[0], hole[1]]
                half_way[axis] = (hole[axis] + form.holes[0][axis]) / 2
                show(fit, "tray", (half_way[0], half_way[1], form.board_z), axis)
        rim, lid = drawn.rims[axis], drawn.lids[axis]
        if rim:
            show(rim, "tray", (0.0, 0.0, form.wall_top - 0.5), axis)
        if lid:
            over = SLACK_MM if form.case.lid_fixing == "slide" else -1.0
            show(lid, "lid", (0.0, 0.0, form.wall_top + over), axis)
    if drawn.underside:
        x, y = _rest(form)
        span("underside", "tray", (x, y, form.board_z / 2), 2, HEIGHT, form.board_z)
    bore = drawn.screw_pilot or drawn.insert_hole
    if bore and form.holes:
        show(bore, "tray", (*form.holes[0], form.board_z), 0)
    for fit, at, axis in _lug_sizes(form):
        show(fit, "tray", at, axis)
    threads = drawn.lid_screw_pilot or drawn.lid_insert_hole
    if drawn.lid_screw_hole and threads:
        x, y = ear_holes(form)[0]
        show(threads, "tray", (x, y, form.wall_top), 0)
        show(drawn.lid_screw_hole, "lid", (x, y, top + form.case.lid_thickness / 2), 0)
    if form.hold_posts:
        x, y = form.hold_posts[0]
        height = hold_height(form)
        middle = (x, y, form.wall_top - height / 2)
        span("hold-down post height", "lid", middle, 2, HEIGHT, height)
    span("outside height", "tray", (0, 0, top / 2), 2, HEIGHT, top)
    # The ports' openings come first, in their order; the cable's and the vents' follow.
    for sizes, opening in zip(drawn.ports, form.openings, strict=False):
        box = opening.closed
        u, v = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        x, y = _on_wall(form, opening.wall, u)
        axis = 0 if opening.wall in ("front", "back") else 1
        for fit, along in (
            (sizes.width, axis),
            (None if opening.open_top else sizes.height, 2),
            (sizes.diameter, axis),
        ):
            if fit:
                show(fit, "tray", (x, y, v), along)
        if sizes.floor:
            span(sizes.floor.name, "tray", (x, y, box[1] / 2), 2, HEIGHT, box[1])
        # Where the port reaches up to the lid, there is no tongue.
        there = opening.open_top and form.wall_top - box[3] >= LEAST_TONGUE_MM
        if sizes.tongue and there:
            show(sizes.tongue, "lid", (x, y, (box[3] + form.wall_top) / 2), axis)
    cable = next((o for o in form.openings if o.name == "cable exit"), None)
    if drawn.cable_exit and cable:
        side = 1 if cable.wall == "right" else -1
        y = side * (cable.profile.box[0] + cable.profile.box[2]) / 2
        z = form.case.floor + drawn.cable_exit.drawn_mm / 2 + CABLE_OVER_MM
        show(drawn.cable_exit, "tray", (side * form.outside[0] / 2, y, z), 1)
    if drawn.snap_post and form.holes:
        over = form.board_z + form.case.board_thickness / 2
        show(drawn.snap_post, "tray", (*form.holes[0], over), 0)
    found += _places(form)
    return tuple(found)


def _lug_sizes(form: Form) -> list[tuple[FitSize, Point, int]]:
    """Sizes of the ears' screws, where the middle of each is, and along which axis."""
    drawn = form.drawn
    if not drawn.lug_hole:
        return []
    places, thick = lug_places(form), lug_sizes(form)[0]
    ear = places[0]
    (x, y), (u, v, _), reach = ear.foot(form), ear.outward, lug_reach(form, ear)
    x, y = x + u * reach, y + v * reach
    found: list[tuple[FitSize, Point, int]] = [(drawn.lug_hole, (x, y, thick), 0)]
    across, along = drawn.lug_spacing, drawn.lug_spacing_along
    if across and across.axis == ("x" if u else "y"):
        found.append((across, (0.0, y, thick) if u else (x, 0.0, thick), 0 if u else 1))
    if along and along.axis == ("y" if u else "x"):
        middle = (places[0].at + places[1].at) / 2
        found.append((along, (x, middle, thick) if u else (middle, y, thick), 1 if u else 0))
    return found


def _on_wall(form: Form, wall: str, u: float) -> tuple[float, float]:
    """Place on a wall's outer face, u from its middle to the right as seen from outside, mm."""
    half_x, half_y = form.outside[0] / 2, form.outside[1] / 2
    if wall in ("front", "back"):
        return (u, -half_y) if wall == "front" else (-u, half_y)
    return (half_x, u) if wall == "right" else (-half_x, -u)


def _rest(form: Form) -> tuple[float, float]:
    """A place on which the board rests: on a standoff's rim, or on a ledge."""
    length, width = form.pocket
    if not form.holes:
        if form.case.ledge_sides == "left and right":
            return (LEDGE_MM - length) / 2, 0.0
        return 0.0, (LEDGE_MM - width) / 2
    x, y = form.holes[0]
    return x + math.copysign(standoff_radius(form) - 0.3, -x), y


def _places(form: Form) -> list[KeyDimension]:
    """Distances of openings from what the board is held by, at the face that they are seen on."""
    case, drawn, found = form.case, form.drawn, []
    start = {"x": datum(case, "x"), "y": datum(case, "y")}

    def along(fit: FitSize | None, body: str, axis: Literal["x", "y"], at: Point) -> None:
        if fit is None:
            return
        here = [at[0], at[1], at[2]]
        here[0 if axis == "x" else 1] = start[axis]
        found.append(KeyDimension.of(fit, body=body, start=(here[0], here[1], here[2]), end=at))

    fits = [sizes.along for sizes in drawn.ports]
    if case.cable:
        fits.append(drawn.cable_along)
    for fit, opening in zip(fits, form.openings, strict=False):
        box = opening.profile.box if opening.name == "cable exit" else opening.closed
        u, v = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        x, y = _on_wall(form, opening.wall, u)
        along(fit, "tray", "x" if opening.wall in ("front", "back") else "y", (x, y, v))
    top = tray_height(form) + case.lid_thickness
    for place, (left, front, right, back) in zip(drawn.windows, form.windows, strict=True):
        middle = ((left + right) / 2, (front + back) / 2, top)
        along(place.x, "lid", "x", middle)
        along(place.y, "lid", "y", middle)
    return found


def wall_numbers(form: Form) -> tuple[Wall, ...]:
    """Give the walls, for what a printer and a hand can do to them."""
    case, (length, width) = form.case, form.outside
    lies = Flat(
        along_mm=length - 2 * case.wall,
        across_mm=width - 2 * case.wall,
        held=("simple", "simple", "simple", "simple"),
        open_share=_lid_cut_away(form),
    )
    found = [
        Wall(
            name="side wall",
            body="tray",
            thickness_mm=case.wall,
            at=(0.0, -width / 2, form.board_z),
            # The longest wall is the weakest. Its top leans on the lid, until that is off.
            flat=Flat(
                along_mm=length - 2 * case.wall,
                across_mm=form.wall_top - case.floor,
                held=("joined", "joined", "joined", "simple"),
                layers="across it",
                open_held=("joined", "joined", "joined", "free"),
            ),
        ),
        Wall(
            name="floor",
            body="tray",
            thickness_mm=case.floor,
            at=(0.0, 0.0, case.floor),
            flat=replace(lies, open_share=0.0, backed=True),
        ),
        Wall(
            name="plate",
            body="lid",
            thickness_mm=case.lid_thickness,
            at=(0.0, 0.0, tray_height(form)),
            flat=_lid_plate(form, lies),
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
        side, z = hold_post_mm(hold_height(form)), form.wall_top - hold_height(form)
        found.append(Wall(name="hold-down post", body="lid", thickness_mm=side, at=(x, y, z)))
    if form.holes and case.standoff != "snap-post":
        x, y = form.holes[0]
        thick = standoff_radius(form) - bore_diameter(form) / 2
        found.append(
            Wall(name="standoff", body="tray", thickness_mm=thick, at=(x, y, form.board_z))
        )
    return tuple(found)


def _lid_cut_away(form: Form) -> float:
    """Share of the lid's section that windows and vents within the plate take away."""
    length, width = (side - 2 * form.case.wall for side in form.outside)
    at_sides = _side_windows(form)
    boxes = [vent.box for vent in form.lid_vents]
    boxes += [box for box in form.windows if not any(box in side for side in at_sides)]
    return cut_share(boxes, length, width)


# A window nearer to a side of the plate than this makes that side a free edge, if it and others
# take more than two thirds of it. Common practice, no source.
_SIDE_MM, _SIDE_SHARE = 3.0, 2 / 3


def _side_windows(form: Form) -> tuple[list[tuple[float, float, float, float]], ...]:
    """Windows at the left, right, front and back side of the lid's plate."""
    half_x, half_y = (side / 2 - form.case.wall for side in form.outside)

    def along_it(
        boxes: list[tuple[float, float, float, float]], axis: int, half: float
    ) -> list[tuple[float, float, float, float]]:
        # Where most of a side still lies on the wall, that holds it.
        covered = sum(box[axis + 2] - box[axis] for box in boxes)
        return boxes if covered > _SIDE_SHARE * 2 * half else []

    return (
        along_it([box for box in form.windows if box[0] < _SIDE_MM - half_x], 1, half_y),
        along_it([box for box in form.windows if box[2] > half_x - _SIDE_MM], 1, half_y),
        along_it([box for box in form.windows if box[1] < _SIDE_MM - half_y], 0, half_x),
        along_it([box for box in form.windows if box[3] > half_y - _SIDE_MM], 0, half_x),
    )


def _lid_plate(form: Form, whole: Flat) -> Flat:
    """The plate between windows at its sides: a strip whose edges there nothing holds."""
    length, width = (side - 2 * form.case.wall for side in form.outside)
    left, right, front, back = _side_windows(form)
    cuts = (
        max((box[2] + length / 2 for box in left), default=0.0),
        max((length / 2 - box[0] for box in right), default=0.0),
        max((box[3] + width / 2 for box in front), default=0.0),
        max((width / 2 - box[1] for box in back), default=0.0),
    )
    a, b, c, d = ("free" if cut else held for cut, held in zip(cuts, whole.held, strict=True))
    along, across = length - cuts[0] - cuts[1], width - cuts[2] - cuts[3]
    if min(along, across) < 1.0 or (a, b, c, d).count("free") > 2:
        return whole  # little of a plate is left: the share that is open tells it
    return replace(whole, along_mm=along, across_mm=across, held=(a, b, c, d))


def arm_numbers(form: Form) -> tuple[SnapArm, ...]:
    """Give the snap arms with how far they bend, for the strain check."""
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
                root_radius_mm=SHARP_MM,
                layers_across=True,
                count=2 * len(form.arms),
                along=(0.0, 0.0, -1.0),
            )
        )
    detent = detent_of(form) if form.case.lid_fixing == "slide" else None
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
                # It bends most in its middle, where the notch for the ridge ends sharp.
                root_radius_mm=SHARP_MM,
                count=2,
                along=(0.0, 1.0, 0.0),
            )
        )
    if form.case.standoff == "snap-post":
        size = drawn_mm(form.drawn.snap_post)
        # One by one, so that the assembly check knows each barb that the board snaps over.
        found += [
            SnapArm(
                name=f"snap post {number}",
                body="tray",
                length_mm=form.case.board_thickness + 0.3 + well_depth(form) - slit_foot_mm(size),
                thickness_mm=(size - slit_width(size)) / 2,
                width_mm=size * 0.8,
                deflection_mm=max(BARB_MM - (form.case.hole_diameter - size) / 2, 0.1),
                at=(x, y, form.board_z),
                root_radius_mm=post_root_mm(size, well_depth(form)),
                layers_across=True,
                count=2,
                along=(0.0, 0.0, 1.0),
            )
            for number, (x, y) in enumerate(form.holes, start=1)
        ]
    return tuple(found)


def lug_numbers(form: Form) -> tuple[Lug, ...]:
    """Give the lugs with their holes, for the strength check."""
    thick, width, _ = lug_sizes(form)
    return tuple(
        Lug(
            name=f"ear {number}",
            body="tray",
            reach_mm=lug_reach(form, ear),
            width_mm=width,
            thickness_mm=thick,
            hole_mm=drawn_mm(form.drawn.lug_hole),
            at=(*ear.foot(form), thick / 2),
            along=ear.outward,
        )
        for number, ear in enumerate(lug_places(form), start=1)
    )


def boss_numbers(form: Form) -> tuple[Boss, ...]:
    """Give the standoffs that a screw or an insert goes into."""
    case, found = form.case, []
    if case.standoff in ("screw", "heat-set"):
        found += [
            Boss(
                name=f"standoff {number}",
                body="tray",
                outer_mm=2 * standoff_radius(form),
                hole_mm=bore_diameter(form),
                depth_mm=form.board_z - bore_floor_mm(case),
                screw_mm=board_screw_mm(case),
                at=(x, y, form.board_z),
                insert_mm=bore_diameter(form) if case.standoff == "heat-set" else None,
            )
            for number, (x, y) in enumerate(form.holes, start=1)
        ]
    found += [
        Boss(
            name=f"lid ear {number}",
            body="tray",
            outer_mm=ear_mm(case) - 1.0,
            hole_mm=drawn_mm(form.drawn.lid_screw_pilot or form.drawn.lid_insert_hole),
            depth_mm=form.wall_top - max(form.wall_top - lid_bore_mm(case), 2.0)
            if case.lid_thread == "plastic"
            else hold_of_size(case.lid_screw).insert_length_mm,
            screw_mm=case.lid_screw,
            at=(x, y, form.wall_top),
            insert_mm=drawn_mm(form.drawn.lid_insert_hole) if form.drawn.lid_insert_hole else None,
        )
        for number, (x, y) in enumerate(ear_holes(form), start=1)
    ]
    return tuple(found)


def vent_numbers(form: Form) -> tuple[Vent, ...]:
    """Give the free areas, low and high, for the heat check."""
    low, high = form.vent_mm2
    found = []
    walls = [o for o in form.openings if not o.port]
    for wall in dict.fromkeys(o.wall for o in walls):
        there = [o.profile for o in walls if o.wall == wall]
        u, z, share = _middle_of(there, every=[o.profile for o in walls])
        at = (*_on_wall(form, wall, u), z)
        found.append(
            Vent(name=f"{wall} vents", body="tray", free_area_mm2=share * low, height_mm=z, at=at)
        )
    if form.lid_vents:
        x, y, _ = _middle_of(form.lid_vents, every=form.lid_vents)
        z = tray_height(form)
        at = (x, y, z)
        found.append(Vent(name="lid vents", body="lid", free_area_mm2=high, height_mm=z, at=at))
    return tuple(found)


def _middle_of(
    openings: Sequence[Profile], *, every: Sequence[Profile]
) -> tuple[float, float, float]:
    """Middle of some openings by area, mm, and their share of the area of all."""
    area = sum(o.area for o in openings)
    u = sum(o.area * (o.box[0] + o.box[2]) / 2 for o in openings) / area
    v = sum(o.area * (o.box[1] + o.box[3]) / 2 for o in openings) / area
    return u, v, area / sum(o.area for o in every)


# What is warm on a board that says where: so far to each side. Common practice, no source.
_WARM_HALF_MM = 12.0


def warm_place(form: Form) -> Warm:
    """Give the board, or what of it gets warm, for the heat check."""
    case = form.case
    half_x, half_y = case.board_length / 2, case.board_width / 2
    z = form.board_z + case.board_thickness
    if case.warm_at is None:
        return Warm(at=(0.0, 0.0, z), half_x_mm=half_x, half_y_mm=half_y)
    return Warm(
        at=(case.warm_at.x - half_x, case.warm_at.y - half_y, z),
        half_x_mm=min(_WARM_HALF_MM, half_x),
        half_y_mm=min(_WARM_HALF_MM, half_y),
    )


def bridge_numbers(form: Form) -> tuple[Bridge, ...]:
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
        if flat and len(corners) > 2 and not opening.open_top:
            at = (*_on_wall(form, opening.wall, (box[0] + box[2]) / 2), box[3])
            found.append(Bridge(name=opening.name, body="tray", span_mm=max(flat), at=at))
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
