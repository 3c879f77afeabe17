"""Sizes of a board case that rest on common practice, no source, unless a line says otherwise."""

from __future__ import annotations

__all__ = [
    "ARM_MM",
    "ARM_STRAIN",
    "ARM_THICK_MM",
    "ARM_WIDTH_MM",
    "BARB_MM",
    "BORE_MM",
    "CABLE_OVER_MM",
    "CATCH_MM",
    "DETENT_MM",
    "DETENT_STRAIN",
    "EDGE_SKIN_MM",
    "FOOT_MM",
    "GROW_RING_MM",
    "HOLD_GAP_MM",
    "HOLD_POST_MM",
    "HOOK_MM",
    "IN_LINE_MM",
    "LEAST_CORNER_MM",
    "LEAST_TONGUE_MM",
    "LEDGE_MM",
    "LIP_GAP_MM",
    "LIP_MM",
    "MARGIN_MM",
    "NEAREST_WALL_MM",
    "POCKET_GAP_MM",
    "POST_ROOT_MM",
    "RECESS_OVER_BED_MM",
    "RECESS_SKIN_MM",
    "RIB_MM",
    "ROOT_MM",
    "SLACK_MM",
    "SLIT_FOOT_MM",
    "SLOT_MM",
    "TEXT_DEPTH_MM",
    "TONGUE_BACK_MM",
    "TONGUE_ROOT_MM",
    "UNDER_BORE_MM",
    "WALL_GAP_MM",
    "WELL_GAP_MM",
    "WELL_RING_MM",
]

POCKET_GAP_MM = 0.4  # by what a rim is wider for the pocket's own gap; the outside is, too
MARGIN_MM = 1.0  # air under the deepest solder joint
LIP_MM = 3.0  # how far the lid's lip enters the rim
LIP_GAP_MM = 0.3  # under the lip, so that the plate seats first
ARM_MM = 10.0  # least length of the lid's snap arms
ARM_WIDTH_MM = 8.0
ARM_THICK_MM = 1.0  # at most: two lines and a half, however thick the lip
HOOK_MM = 0.6
# Strain at the root that the lid's arms and a board's posts are made long enough for: what arms
# with layers across them bear again and again in each material of the table; PLA's is the least.
ARM_STRAIN = 0.0036
BORE_MM = 12.0  # depth of a screw's bore, where there is room
UNDER_BORE_MM = 1.0  # what is left of the floor under a bore
LEDGE_MM = 1.2  # width of the ledge under a board without holes
HOLD_GAP_MM = 0.2  # between the lid's hold-down posts and a board on a ledge
HOLD_POST_MM = 3.0  # side of those posts, more where they are tall
IN_LINE_MM = 1.0  # holes nearer than this along an axis lie in one line: no size to compensate
LEAST_CORNER_MM = 0.8
SLOT_MM = 1.6  # width of vent slots: bridged without support, too narrow for a finger
RIB_MM = 1.6  # left between vents
FOOT_MM = 0.4  # chamfer at the bed against the first layer's flare
TEXT_DEPTH_MM = 0.4
BARB_MM = 0.25  # of a snap post, on each side
WALL_GAP_MM = 0.3  # between a standoff and a wall
WELL_RING_MM = 0.6  # of a standoff round the well of a snap post, at least
WELL_GAP_MM = 0.7  # between a snap post and its well: room to bend, and for the nozzle
SLIT_FOOT_MM = 0.4  # a post is whole up to here
ROOT_MM = 0.8  # round of the corner at a standoff's foot: under the air below the board
POST_ROOT_MM = 0.5  # round of the corner between a snap post and its well
# A sliding lid's detent: it lifts by no more than this, and bends by no more than this strain.
DETENT_MM = 0.25
CATCH_MM = 2.5  # what of the lid, before its notch, is lifted over the ridge
DETENT_STRAIN = 0.005
EDGE_SKIN_MM = 0.8  # what a window at the edge leaves of a wall, or the wall is opened
NEAREST_WALL_MM = 0.3  # from a standoff's bore to the wall that it grows into
GROW_RING_MM = 1.2  # a ring thinner than this for want of room: a standoff grows into the wall
CABLE_OVER_MM = 0.6  # from the floor up to a cable's way out
LEAST_TONGUE_MM = 0.3  # a port that ends nearer to the lid needs no tongue
TONGUE_ROOT_MM = 0.5  # how deep it stands in the lid's plate
TONGUE_BACK_MM = 0.15  # a tongue of the lid stands behind the wall's faces by this
RECESS_OVER_BED_MM = 0.8
RECESS_SKIN_MM = 1.0  # what of the wall a recess round a port leaves
SLACK_MM = 0.1  # over and under a sliding lid
