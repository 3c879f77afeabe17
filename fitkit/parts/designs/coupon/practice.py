"""Sizes of a calibration coupon that rest on common practice, no source."""

from __future__ import annotations

__all__ = [
    "BRIDGE_MM",
    "CAPS_MM",
    "CORNER_LABEL_MM",
    "FILLER_MM",
    "FRONT_CUT_MM",
    "JAW_MM",
    "LABEL_DEEP_MM",
    "LABEL_WIDE_MM",
    "LIMB_MM",
    "POCKET_WALL_MM",
    "RIB_MM",
    "RISE_MM",
    "ROOF_MM",
    "STEP_MM",
    "SUNK_MM",
    "WALL_MM",
]

LIMB_MM = 5.0  # width of a bar
RISE_MM = 6.0  # how far bars, pegs, ribs stand above the plate
FILLER_MM = 4.0  # thickness of a rib that nobody measures
RIB_MM = 10.0  # length of the comb's ribs
STEP_MM = 9.0  # side of a stair
POCKET_WALL_MM = 2.0  # walls of the pocket, as of a case
BRIDGE_MM = 12.0  # free width of the bridge, as of a usual port
ROOF_MM = 1.6  # thickness of its roof
WALL_MM = 2.5  # least wall round a lying hole
JAW_MM = 4.0  # room for a jaw
CAPS_MM = 3.0  # height of the labels' capitals
SUNK_MM = 0.4  # depth of the labels, two layers
LABEL_WIDE_MM, LABEL_DEEP_MM = 11.0, 4.6  # room for a label
FRONT_CUT_MM = 3.0  # leg of the one cut corner, front left, of a plate whose others are whole
CORNER_LABEL_MM = (8.0, 5.0)  # room for a diagonal's label at its corner
