"""Levels and places of a board case that follow from its parameters and drawn sizes, as numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

from fitkit.fits.fasteners import hold_of_size
from fitkit.parts.arms import SHARP_MM, arm_length_mm, notch_factor
from fitkit.parts.designs.board_case.practice import (
    ARM_MM,
    ARM_STRAIN,
    ARM_THICK_MM,
    BORE_MM,
    GROW_RING_MM,
    HOLD_POST_MM,
    HOOK_MM,
    WELL_GAP_MM,
    WELL_RING_MM,
)
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.screws import SUNK_ROOM_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.parameters import Parameters
    from fitkit.parts.designs.board_case.sizes import CaseSizes, Distance
    from fitkit.parts.fit_size import FitSize

__all__ = [
    "arm_deflection",
    "arm_length",
    "arm_thickness",
    "ear_mm",
    "ears",
    "hold_post_mm",
    "least_ring_mm",
    "lid_bore_mm",
    "lip_inside",
    "lip_thickness",
    "near_each_other",
    "outside",
    "rim_corner",
    "standoffs",
]


class Spaced(Protocol):
    """Sizes that say how far the standoffs are apart."""

    @property
    def distances(self) -> tuple[Distance, ...]:
        """Of holes given one by one, from the second on."""

    @property
    def spacing(self) -> tuple[float, float]:
        """Along x and y, mm; 0 where there is none."""


def ear_mm(case: Parameters) -> float:
    """Width of the ears that take the lid's screws, mm: half a millimetre round their bosses."""
    hold = hold_of_size(case.lid_screw)
    boss = hold.insert_boss_mm if case.lid_thread == "insert" else hold.pilot_boss_mm
    return max(boss, lid_head_mm(case)) + 1.0


def lid_head_mm(case: Parameters) -> float:
    """Diameter of the countersinks of the lid's screws at its face, mm; 0 for flat heads."""
    if case.lid_fixing != "screws" or case.lid_head == "flat":
        return 0.0
    return hold_of_size(case.lid_screw).sunk_head_mm + SUNK_ROOM_MM


def lid_bore_mm(case: Parameters) -> float:
    """Depth of the holes for the lid's screws, mm: as deep as their thread should hold."""
    return max(BORE_MM, hold_of_size(case.lid_screw).engage_mm + 0.5)


def ears(case: Parameters, drawn: CaseSizes, corner: float) -> tuple[float, ...]:
    """Places along x of the ears for the lid's screws: near the corners, or in the middle."""
    wide = ear_mm(case)
    reach = outside(case, drawn)[0] / 2 - corner - wide / 2 - 0.2
    return (-reach, reach) if reach > wide / 2 + 0.5 else (0.0,)


def hold_post_mm(height: float) -> float:
    """Side of a hold-down post, mm: a sixth of its height, so that it neither sways nor snaps."""
    return min(max(HOLD_POST_MM, height / 6), 5.0)


def lip_thickness(case: Parameters, drawn: CaseSizes) -> float:
    """Thickness of the lid's lip, mm: flush with the pocket, 0.8 mm at least."""
    flush = min(
        (lip - pocket) / 2 - 0.05 for lip, pocket in zip(drawn.lip, drawn.pocket, strict=True)
    )
    return max(0.8, flush)


def arm_thickness(case: Parameters, drawn: CaseSizes) -> float:
    """Thickness of the lid's snap arms, mm: 0.1 mm less than the lip's, at most `ARM_THICK_MM`."""
    return min(lip_thickness(case, drawn) - 0.1, ARM_THICK_MM)


def arm_deflection(drawn: CaseSizes) -> float:
    """How far a snap arm of the lid bends as its hook passes the rim, mm."""
    play = (drawn.rim_inside_width.drawn_mm - drawn.lip[1]) / 2
    return max(HOOK_MM - 0.2 - play, 0.1)


def arm_length(case: Parameters, drawn: CaseSizes) -> float:
    """Length at which the lid's snap arms bear their bending across the layers, mm.

    L = sqrt(1.5 h y / strain), the straight cantilever, with the strain raised by the corner at its
    root: the rim stands right under the lid's plate, so that it stays sharp.
    """
    thick = arm_thickness(case, drawn)
    strain = ARM_STRAIN / notch_factor(SHARP_MM, thick)
    return max(ARM_MM, arm_length_mm(thick, arm_deflection(drawn), strain))


def rim_corner(case: Parameters, drawn: CaseSizes, corner: float) -> float:
    """Radius of the corners inside the rim, mm: the pocket's sharp ones must lie inside it.

    Parameters
    ----------
    case : Parameters
    drawn : CaseSizes
    corner : float, mm
        Of the outside.

    Returns
    -------
    float, mm
    """
    length, width = drawn.pocket
    rim = (drawn_mm(drawn.rim_inside_length, length), drawn.rim_inside_width.drawn_mm)
    wall = (outside(case, drawn)[0] - rim[0]) / 2
    step = max(min(rim[0] - length, rim[1] - width) / 2 - 0.02, 0.0)
    return min(max(corner - wall, 0.0), step / (1 - math.sqrt(0.5)))


def lip_inside(case: Parameters, drawn: CaseSizes, corner: float) -> tuple[float, float, float]:
    """Length, width and corner radius inside the lid's lip, mm."""
    thick = lip_thickness(case, drawn)
    length, width = drawn.lip
    radius = max(rim_corner(case, drawn, corner) - thick, 0.0)
    return length - 2 * thick, width - 2 * thick, radius


def outside(case: Parameters, drawn: CaseSizes) -> tuple[float, float]:
    """Length and width over the walls, mm."""
    length, width = drawn.pocket
    return length + 2 * case.wall, width + 2 * case.wall


def standoffs(case: Parameters, drawn: Spaced) -> tuple[tuple[float, float], ...]:
    """Middles of the standoffs; two or one where a spacing is nil, mm."""
    if not case.on_holes:
        return ()
    if case.holes:
        return _free_standoffs(case, drawn)
    xs, ys = (sorted({-spacing / 2, spacing / 2}) for spacing in drawn.spacing)
    return tuple((x + case.hole_offset_x, y + case.hole_offset_y) for x in xs for y in ys)


def _free_standoffs(case: Parameters, drawn: Spaced) -> tuple[tuple[float, float], ...]:
    """Middles of holes given one by one: drawn distances about the middle of the given places."""
    columns = []
    for axis, board in (("x", case.board_length), ("y", case.board_width)):
        given = [getattr(hole, axis) - board / 2 for hole in case.holes]
        fits: list[FitSize | None] = [None, *(getattr(d, axis) for d in drawn.distances)]
        made = [
            given[0] + math.copysign(drawn_mm(fit, abs(place - given[0])), place - given[0])
            for fit, place in zip(fits, given, strict=True)
        ]
        shift = (sum(given) - sum(made)) / len(given)
        columns.append([place + shift for place in made])
    return tuple(zip(*columns, strict=True))


def near_each_other(a: Sequence[float], b: Sequence[float], gap: float) -> bool:
    """Tell whether two boxes are nearer to each other than a gap, mm."""
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap


def least_ring_mm(case: Parameters) -> float:
    """Plastic round a standoff's bore, mm: where a wall leaves less, it grows into the wall."""
    return WELL_GAP_MM + WELL_RING_MM if case.standoff == "snap-post" else GROW_RING_MM
