"""Openings let into upright walls, each turned to the front and back again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.board_case.openings import recess_of
from fitkit.parts.designs.board_case.practice import (
    ARM_WIDTH_MM,
    HOOK_MM,
    LEAST_TONGUE_MM,
    LEDGE_MM,
    RECESS_SKIN_MM,
    TONGUE_BACK_MM,
    TONGUE_ROOT_MM,
)
from fitkit.parts.designs.board_case.sliding import along_x
from fitkit.solids.bodies import Shape, cut, extrude, moved, turned
from fitkit.solids.profiles import polygon, rectangle
from fitkit.solids.sunk import sink

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.openings import Opening

__all__ = ["TO_FRONT", "from_wall", "louvre_cut", "open_wall", "slot_tools", "tongue"]

# Turn about z that brings a wall to the front.
TO_FRONT = {"front": 0.0, "back": 180.0, "right": -90.0, "left": 90.0}


def _to_wall(shape: Shape, wall: str) -> Shape:
    """Turn a wall's outer face up: x along it as seen from outside, y up in the case."""
    return turned(turned(shape, z=TO_FRONT[wall]), x=-90)


def from_wall(shape: Shape, wall: str) -> Shape:
    """Turn a shape made at the front back to its wall."""
    return turned(turned(shape, x=90), z=-TO_FRONT[wall])


def open_wall(form: Form, shape: Shape, wall: str, openings: Sequence[Opening]) -> Shape:
    """Let openings into a wall, louvres with their slanted blades."""
    profiles = [opening.profile for opening in openings if not opening.recess]
    stepped = [opening for opening in openings if opening.recess]
    face = form.outside[1 if wall in ("front", "back") else 0] / 2
    windows = []
    if wall in ("front", "back") and form.arms:
        low = form.wall_top - form.arm_mm - 0.3
        windows = [
            rectangle(ARM_WIDTH_MM - 2, HOOK_MM + 2.4, at=(x, low + HOOK_MM / 2 + 1.2))
            for x in form.arms
        ]
    if not profiles and not windows and not stepped:
        return shape
    there = _to_wall(shape, wall)
    there = sink(there, profiles, z=face, depth=form.case.wall) if profiles else there
    if stepped:
        deep = form.case.wall - RECESS_SKIN_MM
        there = sink(there, [recess_of(one) for one in stepped], z=face, depth=deep)
        inner = [one.profile for one in stepped]
        there = sink(there, inner, z=face - deep, depth=RECESS_SKIN_MM)
    if windows:
        notch = form.outside[1] / 2 - form.rim[1] / 2 - 0.15
        there = sink(there, windows, z=face, depth=notch)
    return from_wall(there, wall)


def slot_tools(form: Form, opening: Opening) -> list[Shape]:
    """Bodies to cut for an opening that crosses the rim or the ledge, with its recess."""
    across = opening.wall in ("front", "back")
    pocket, face = form.pocket[1 if across else 0] / 2, form.outside[1 if across else 0] / 2
    within = LEDGE_MM + 0.3 if form.case.standoff == "edge rails" else 0.25
    tools = [extrude(opening.profile, face + 1.0 - pocket + within, z=pocket - within)]
    if opening.recess:
        tools.append(recess_tool(form, opening))
        return [from_wall(tools[0], opening.wall), tools[1]]
    return [from_wall(tools[0], opening.wall)]


def recess_tool(form: Form, opening: Opening) -> Shape:
    """Body of a plug's grip, in the wall's outer part."""
    face = form.outside[1 if opening.wall in ("front", "back") else 0] / 2
    deep = form.case.wall - RECESS_SKIN_MM
    return from_wall(extrude(recess_of(opening), deep + 1.0, z=face - deep), opening.wall)


def tongue(form: Form, opening: Opening, width: float) -> Shape | None:
    """Tongue of the lid that closes an open port down to the plug; None where the lid does that."""
    across = opening.wall in ("front", "back")
    pocket, face = form.pocket[1 if across else 0] / 2, form.outside[1 if across else 0] / 2
    length = form.wall_top - opening.closed[3]
    if length < LEAST_TONGUE_MM:
        return None
    middle = (opening.closed[0] + opening.closed[2]) / 2
    low, high = opening.closed[3], form.wall_top + TONGUE_ROOT_MM
    flat = rectangle(width, high - low, at=(middle, (low + high) / 2))
    deep = face - pocket - 2 * TONGUE_BACK_MM
    made = from_wall(extrude(flat, deep, z=pocket + TONGUE_BACK_MM), opening.wall)
    return cut(made, recess_tool(form, opening)) if opening.recess else made


def louvre_cut(form: Form, opening: Opening) -> Shape:
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
    tool = moved(along_x(section, box[2] - box[0]), box[0])
    return turned(tool, z=-TO_FRONT[opening.wall])
