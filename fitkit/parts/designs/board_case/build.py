"""Builds a board case from its form: tray, lid, ghosts, and the plain numbers that checks need.

Tray and lid are stepped solids put together face by face; ports and vents are let into flat walls.
Booleans are left for what is neither: ears beside the case, hooks, split posts, slanted louvres,
the groove of a sliding lid. What ports, windows and label do not change is cached.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.contract import Body, Part
from fitkit.parts.designs.board_case.buys import board_buys, case_buys
from fitkit.parts.designs.board_case.ghosts import board_ghost, plug_ghosts, reference_ghosts
from fitkit.parts.designs.board_case.lid import build_lid
from fitkit.parts.designs.board_case.numbers import (
    arm_numbers,
    boss_numbers,
    bridge_numbers,
    key_dimensions,
    lug_numbers,
    vent_numbers,
    wall_numbers,
    warm_place,
)
from fitkit.parts.designs.board_case.tray import build_tray

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.form import Form

__all__ = ["build"]


def build(form: Form, title: str) -> Part:
    """Build all bodies of a case."""
    tray, tray_said = build_tray(form)
    lid, lid_said = build_lid(form)
    board, board_said = reference_ghosts(form) if form.case.ghost_step else (board_ghost(form), ())
    turn = (0.0, 0.0, 0.0) if form.case.lid_fixing == "slide" else (180.0, 0.0, 0.0)
    return Part(
        title=title,
        template=form.case.title,
        bodies=(
            Body(name="tray", solid=tray),
            Body(name="lid", solid=lid, print_turn=turn),
        ),
        ghosts=(*board, *plug_ghosts(form)),
        insertion=(0.0, 0.0, -1.0),
        dimensions=key_dimensions(form),
        walls=wall_numbers(form),
        arms=arm_numbers(form),
        lugs=lug_numbers(form),
        bosses=boss_numbers(form),
        vents=vent_numbers(form),
        bridges=bridge_numbers(form),
        warm=warm_place(form),
        findings=(*form.findings, *tray_said, *lid_said, *board_said),
        buys=(
            *(board_buys(form.case, len(form.holes), "board") if form.case.on_holes else ()),
            *case_buys(form),
        ),
    )
