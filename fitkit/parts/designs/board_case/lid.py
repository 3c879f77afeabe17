"""The lid: on a rim with screws, snap arms or friction, or sliding in a groove."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import (
    arm_thickness,
    ear_mm,
    hold_post_mm,
    lid_head_mm,
    lip_inside,
    rim_corner,
)
from fitkit.parts.designs.board_case.openings import bumped, window_over_edge
from fitkit.parts.designs.board_case.practice import (
    ARM_WIDTH_MM,
    CATCH_MM,
    FOOT_MM,
    HOLD_GAP_MM,
    HOOK_MM,
    LIP_GAP_MM,
    LIP_MM,
    SLACK_MM,
    TEXT_DEPTH_MM,
)
from fitkit.parts.designs.board_case.shell import stepped
from fitkit.parts.designs.board_case.sliding import (
    along_x,
    detent_of,
    detent_ridge,
    slide_section,
)
from fitkit.parts.designs.board_case.tray import ear_holes
from fitkit.parts.designs.board_case.walls import tongue
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.screws import countersink_mm
from fitkit.solids.bodies import (
    Shape,
    chamfer,
    checked,
    cut,
    edges,
    extrude,
    fuse,
    moved,
    turned,
    volume_of,
)
from fitkit.solids.label import fitted_text
from fitkit.solids.profiles import Profile, circle, polygon, rectangle
from fitkit.solids.sunk import sink
from fitkit.solids.terraces import Terrace, from_profiles

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.form import Form

__all__ = ["build_lid", "hold_height", "label_strip"]


def build_lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    """Build the lid that the case's fixing asks for, and say what was left off."""
    return _slide_lid(form) if form.case.lid_fixing == "slide" else _rim_lid(form)


def _lid_openings(form: Form, *, flipped: bool) -> list[Profile]:
    """Windows and vents; those at the edges first."""
    edge = _edge_windows(form)
    windows = [_flat(box) for box in (*edge, *(b for b in form.windows if b not in edge))]
    openings = [*windows, *form.lid_vents]
    return [v.mirrored().turned(180) for v in openings] if flipped else openings


def _flat(box: Sequence[float]) -> Profile:
    left, front, right, back = box
    return rectangle(right - left, back - front, at=((left + right) / 2, (front + back) / 2))


def _edge_windows(form: Form) -> list[tuple[float, float, float, float]]:
    """Windows that reach the lid's lip or go over it."""
    if form.case.lid_fixing == "slide":
        return []
    length, width, radius = lip_inside(form.case, form.drawn, form.corner)
    corner = 0.3 * radius
    half_x, half_y = length / 2 - 0.2, width / 2 - 0.2

    def reaches(box: tuple[float, float, float, float]) -> bool:
        x, y = max(-box[0], box[2]), max(-box[1], box[3])
        in_corner = x > half_x - corner and y > half_y - corner
        return x > half_x or y > half_y or in_corner

    return [box for box in form.windows if reaches(box)]


def _lid_text(form: Form, openings: Sequence[Profile], *, flipped: bool) -> Any:
    """Room for the label: a strip along the front if nothing opens there, else along the back."""
    length, strips = _strips(form)
    for last, (y, strip) in enumerate(strips):
        box = rectangle(length - 8.0, strip, at=(0.0, y)).box
        taken = _meets(box, openings)
        if not taken or last:
            room = (length - 8.0, 0.0 if taken else strip)
            return fitted_text(form.case.label, room=room, at=(0.0, y), body="lid")
    raise AssertionError("one of the two is returned")


def _strips(form: Form) -> tuple[float, list[tuple[float, float]]]:
    """Length of the room for the label, and middle and width of the strips that it may be in."""
    length, width = form.pocket
    if form.hold_posts:  # the label stays between them
        length = 2 * (abs(form.hold_posts[0][0]) - hold_post_mm(hold_height(form)) / 2) + 7.0
    strip = min(8.5, width / 3)
    return length, [(y * (width / 2 - 3.0 - strip / 2), strip) for y in (-1, 1)]


def _meets(box: Sequence[float], openings: Sequence[Profile]) -> bool:
    return any(
        p.box[0] < box[2] and box[0] < p.box[2] and p.box[1] < box[3] and box[1] < p.box[3]
        for p in openings
    )


def label_strip(form: Form) -> list[tuple[float, float, float, float]]:
    """Give the strip of the lid that its label is in, seen from above the case; none if nowhere.

    Parameters
    ----------
    form : Form

    Returns
    -------
    list of box, mm
        One or none.
    """
    flipped = form.case.lid_fixing != "slide"
    openings = _lid_openings(form, flipped=flipped)
    if flipped:
        openings += [_flat(box).mirrored().turned(180) for box in form.case.carried.lid_boxes]
    length, strips = _strips(form)
    for y, strip in strips:
        box = rectangle(length - 8.0, strip, at=(0.0, y)).box
        if not _meets(box, openings):
            low, front, high, back = box
            return [(low, -back, high, -front) if flipped else (low, front, high, back)]
    return []


def _rim_lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    """Plate with a lip, built as it prints: outer face on the bed, turned over at the end."""
    case = form.case
    plate = case.lid_thickness
    openings = _lid_openings(form, flipped=True)
    taken = [_flat(box).mirrored().turned(180) for box in case.carried.lid_boxes]
    text, said = _lid_text(form, [*openings, *taken], flipped=True)
    length, width = form.drawn.lip
    arm = arm_thickness(case, form.drawn)
    corner = rim_corner(case, form.drawn, form.corner)
    within = lip_inside(case, form.drawn, form.corner)
    height = hold_height(form)
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
            *(Terrace(opening.outer, 0.0) for opening in openings[len(_edge_windows(form)) :]),
            *case.carried.lid,
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
    # The lid's outside lies on the bed, so that a countersink is a chamfer there.
    sunk = 0.0
    too_thin: tuple[Finding, ...] = ()
    if form.drawn.lid_screw_hole:
        sunk, too_thin = countersink_mm(
            hole=form.drawn.lid_screw_hole.drawn_mm, head=lid_head_mm(case), plate=plate, body="lid"
        )
    holes = tuple(
        Terrace(
            circle(drawn_mm(form.drawn.lid_screw_hole), at=at).outer, 0.0, edge=max(sunk, FOOT_MM)
        )
        for at in ear_holes(form)
    )
    root = Terrace(outline, plate, (lip, *holes))
    shape, dressed, expected = stepped(root, "lid")
    if form.arms:
        hooks = [_hook(form, x, s, width, plate) for x in form.arms for s in (-1, 1)]
        shape = fuse(shape, *hooks)
    shape = moved(turned(shape, x=180), z=form.wall_top + plate)
    tongues, slots = _tongues(form), _edge_tools(form)
    shape = fuse(shape, *tongues) if tongues else shape
    shape = cut(shape, *slots) if slots else shape
    bounds = (
        0.9999 * expected - sum(map(volume_of, slots)),
        1.0001 * expected + 20.0 * len(form.arms) * 2 + sum(map(volume_of, tongues)),
    )
    proved = not (form.arms or tongues or slots)
    return checked(shape, "lid", volume=bounds, proved=proved), (*said, *dressed, *too_thin)


def _tongues(form: Form) -> list[Shape]:
    """Tongues that close ports which are open up to the rim."""
    found = []
    for sizes, opening in zip(form.drawn.ports, form.openings, strict=False):
        if opening.open_top:
            box = opening.closed
            made = tongue(form, opening, drawn_mm(sizes.tongue, box[2] - box[0] - 0.4))
            found += [made] if made is not None else []
    return found


def _edge_tools(form: Form) -> list[Shape]:
    """Bodies of windows at the edges, through plate and lip."""
    low, high = form.wall_top - LIP_MM - 1.0, form.wall_top + form.case.lid_thickness + 1.0
    return [
        extrude(_flat(window_over_edge(box, form.outside)), high - low, z=low)
        for box in _edge_windows(form)
    ]


def hold_height(form: Form) -> float:
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
    hook = moved(along_x(section, wide), -wide / 2)
    return moved(hook if side > 0 else turned(hook, z=180), x)


def _slide_lid(form: Form) -> tuple[Any, tuple[Finding, ...]]:
    case = form.case
    height = form.case.lid_thickness - SLACK_MM
    start = -(form.pocket[0] / 2 + (form.rim[1] - form.pocket[1]) / 2) + SLACK_MM
    length = form.outside[0] / 2 - start
    section = slide_section(form, drawn_mm(form.drawn.lid_outside_width), height)
    plain = moved(along_x(section, length), start)
    # The chamfer leaves 0.2 mm of the upright side, which is what fits in the groove.
    foot = min(FOOT_MM, section.outer.corners[2][1] - 0.2)
    shape, dressed = chamfer(
        plain, edges(plain, z=0.0), foot, name="Chamfer at the bed", body="lid"
    )
    before = volume_of(shape)
    openings = _lid_openings(form, flipped=False)
    shape = sink(shape, openings, z=height, depth=height) if openings else shape
    text, said = _lid_text(form, openings, flipped=False)
    shape = sink(shape, text, z=height, depth=TEXT_DEPTH_MM) if text else shape
    expected = before - height * sum(p.area for p in openings)
    expected -= TEXT_DEPTH_MM * sum(p.area for p in text)
    detent, least = detent_of(form), expected
    if detent:  # a notch for the ridge, 0.1 mm wider and deeper on all sides; after all openings,
        high, long = detent  # which may cross it
        notch = moved(detent_ridge(form, high + 0.15, long + 0.6), z=-SLACK_MM / 2)
        tools = [notch, *_relief(form, start, high, long)]
        least -= sum(map(volume_of, tools))
        shape = cut(shape, *tools)
    elif case.detent:
        dressed = (*dressed, _no_detent(form))
    shape = moved(shape, z=form.wall_top + SLACK_MM / 2)
    bounds = (0.9999 * least, 1.0001 * expected)
    return checked(shape, "lid", volume=bounds), (*said, *dressed)


def _relief(form: Form, start: float, high: float, long: float) -> list[Shape]:
    """Room under the lid for the ridge on all of its way but the last bit before the notch.

    The ridge stands at the open end, so that a lid without it would lie bent over the ridge from
    the first millimetre to the last.
    """
    foot = (high + 0.15) / math.tan(math.radians(30))
    end = form.outside[0] / 2 - form.case.wall / 2 - foot - CATCH_MM
    if end - start < 1.0:
        return []
    flat = rectangle(end - start + 1.0, long + 0.6, at=((start - 1.0 + end) / 2, 0.0))
    return [extrude(flat, high + 0.1 + SLACK_MM, z=-SLACK_MM)]


def _no_detent(form: Form) -> Finding:
    return Finding(
        check="build",
        severity="note",
        text="The sliding lid gets no detent: over so short a span it is too stiff to lift over "
        "one.",
        value=form.rim[1],
        untold=("value",),
        unit="mm",
        basis="beam between the grooves",
        body="lid",
        remedy="Make the lid thinner, or secure it by other means.",
    )
