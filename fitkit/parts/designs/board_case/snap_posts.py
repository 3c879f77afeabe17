"""Split posts that a board snaps over: slit, root, and how deep a well they need to bend."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.arms import SHARP_MM, arm_length_mm, notch_factor
from fitkit.parts.designs.board_case.practice import (
    ARM_STRAIN,
    BARB_MM,
    BORE_MM,
    POST_ROOT_MM,
    SLIT_FOOT_MM,
)

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.parameters import Parameters

__all__ = ["post_root_mm", "post_well_mm", "slit_foot_mm", "slit_width"]


def slit_width(post: float) -> float:
    """Width of the slit that lets a snap post of this diameter give way, mm."""
    return max(0.6, 0.4 * post)


def slit_foot_mm(post: float) -> float:
    """Height over the foot of a snap post of this diameter from which its halves are apart, mm."""
    return max(SLIT_FOOT_MM, slit_width(post) / 2)


def post_root_mm(post: float, well: float) -> float:
    """Radius of the corners at the root of a snap post's halves, mm; the smaller of the two.

    Outside, a round has room in a well alone: the board lies on the standoff's top.
    """
    return min(POST_ROOT_MM if well else SHARP_MM, slit_width(post) / 2)


def post_well_mm(case: Parameters) -> float:
    """Depth of the wells at which snap posts bear their bending across the layers, mm.

    L = sqrt(1.5 h y / strain) with the corner at their root, as for the lid's arms; the barb's
    whole width is bent, as if the post filled its hole.
    """
    post = case.hole_diameter
    thick = (post - slit_width(post)) / 2
    strain = ARM_STRAIN / notch_factor(post_root_mm(post, 1.0), thick)
    length = arm_length_mm(thick, BARB_MM, strain)
    return min(length - case.board_thickness - 0.3 + slit_foot_mm(post), BORE_MM)
