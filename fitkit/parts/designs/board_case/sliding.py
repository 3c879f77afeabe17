"""What holds a sliding lid: the groove's section and the ridge that it snaps over."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.parts.arms import SHARP_MM, notch_factor
from fitkit.parts.designs.board_case.practice import DETENT_MM, DETENT_STRAIN, SLACK_MM
from fitkit.solids.bodies import Shape, extrude, moved, turned
from fitkit.solids.profiles import Profile, polygon

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.form import Form

__all__ = ["along_x", "detent_of", "detent_ridge", "slide_section"]


def detent_of(form: Form) -> tuple[float, float] | None:
    """Height and length of the ridge that holds a sliding lid shut, mm; None if there is none.

    The lid lifts over it as a beam between its two grooves, pushed up in the middle: strain
    6 h y / L², which is the cantilever's 1.5 h y / (L/2)² of each half, raised by the sharp corners
    of the notch for the ridge.
    """
    case, span = form.case, form.rim[1]
    thick = case.lid_thickness - SLACK_MM
    strain = DETENT_STRAIN / notch_factor(SHARP_MM, thick)
    lift = min(DETENT_MM, strain * span**2 / (6 * thick))
    if not case.detent or lift < 0.12:
        return None
    return lift + SLACK_MM, min(10.0, form.pocket[1] / 2)


def detent_ridge(form: Form, high: float, long: float) -> Shape:
    """Ridge across the top of the right wall, sides at 30°; its foot lies at z = 0."""
    foot = high / math.tan(math.radians(30))
    section = polygon([(-foot, 0.0), (0.0, high), (foot, 0.0), (foot, -0.5), (-foot, -0.5)])
    ridge = moved(along_x(section, long), -long / 2)
    return moved(turned(ridge, z=90), form.outside[0] / 2 - form.case.wall / 2)


def slide_section(form: Form, width: float, height: float, *, over: float = 0.0) -> Profile:
    """Dovetail across the slide: upright sides, then 45° inward to the pocket's width."""
    half = width / 2
    # Groove and lid share one bevel, whatever play the lid has in height.
    bevel = min((form.rim[1] - form.pocket[1]) / 2, form.case.lid_thickness - 0.6)
    points = [(-half, 0.0), (half, 0.0), (half, height - bevel), (half - bevel, height)]
    if over:
        points += [(half - bevel, height + over), (-half + bevel, height + over)]
    return polygon([*points, (-half + bevel, height), (-half, height - bevel)])


def along_x(profile: Profile, length: float) -> Shape:
    """Extrude a section (y, z) along x from 0."""
    return turned(extrude(profile, length), x=90, z=90)
