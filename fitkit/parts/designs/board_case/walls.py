"""Openings let into upright walls, each turned to the front and back again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.board_case.practice import ARM_WIDTH_MM, HOOK_MM
from fitkit.parts.designs.board_case.sliding import along_x
from fitkit.solids.bodies import Shape, moved, turned
from fitkit.solids.profiles import polygon, rectangle
from fitkit.solids.sunk import sink

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.openings import Opening

__all__ = ["TO_FRONT", "from_wall", "louvre_cut", "open_wall"]

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
    return from_wall(there, wall)


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
