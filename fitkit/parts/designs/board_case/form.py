"""Where everything of a board case goes: levels, outlines and openings as numbers, no kernel.

The case stands on z = 0 with the board's middle over the origin. Sizes that must fit come from the
drawn sizes; all else follows from parameters.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import (
    arm_length,
    hold_post_mm,
    outside,
    standoffs,
)
from fitkit.parts.designs.board_case.openings import (
    Opening,
    cable_opening,
    opened,
    place_arms,
    place_ears,
    place_lid_vents,
    place_wall_vents,
    port_opening,
    window_box,
    windows_in_walls,
)
from fitkit.parts.designs.board_case.posts import place_hold_posts
from fitkit.parts.designs.board_case.practice import (
    HOLD_GAP_MM,
    LEAST_CORNER_MM,
    LIP_MM,
)
from fitkit.parts.designs.board_case.rules import (
    doubt,
    doubts,
    refuse,
    refuse_openings,
)
from fitkit.parts.designs.board_case.sizes import board_z_mm, upper_mm
from fitkit.parts.fit_size import drawn_mm
from fitkit.solids.profiles import Profile, rectangle

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.parameters import Parameters
    from fitkit.parts.designs.board_case.sizes import CaseSizes

__all__ = ["Form"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A case's numbers: levels in z, outlines, openings, and what had to be said."""

    case: Parameters
    drawn: CaseSizes
    board_z: float  # board's underside
    wall_top: float  # top of the tray's walls
    corner: float  # outer corner radius as made
    openings: tuple[Opening, ...]
    in_walls: tuple[Opening, ...]  # what windows at the edges take of the walls
    windows: tuple[tuple[float, float, float, float], ...]  # boxes as drawn, from the case's middle
    hold_posts: tuple[
        tuple[float, float], ...
    ]  # middles of the lid's posts over a board on a ledge
    lid_vents: tuple[Profile, ...]
    vent_mm2: tuple[float, float]  # low, high
    ears: tuple[float, ...]  # places along x of those for lid screws, on the front and back walls
    arms: tuple[float, ...]  # places along x of the snap arms, on the front and back walls
    arm_mm: float  # their length
    findings: tuple[Finding, ...]

    @classmethod
    def of(cls, case: Parameters, drawn: CaseSizes) -> Form:
        """Work a case out.

        Raises
        ------
        PartError
            If something does not go: names the parameter, its value, the bound, what to change.
        """
        refuse(case, drawn)
        board_z = drawn_mm(drawn.underside, board_z_mm(case))
        upper = upper_mm(case, drawn.underside)
        top = upper + case.tallest_part + case.headroom
        arm_mm = arm_length(case, drawn) if case.lid_fixing == "snap" else 0.0
        reach = max(arm_mm, LIP_MM)
        ledge = board_z if case.standoff == "edge rails" else case.floor + 1.5
        blocked = {"slide": 0.0}.get(case.lid_fixing, LIP_MM)
        ports = [port_opening(i, p, case, drawn) for i, p in enumerate(case.ports, start=1)]
        if case.cable:
            ports.append(cable_opening(case, drawn))
        highest = max((o.box[3] for o in ports), default=0.0)
        top = max(top, highest + blocked + 0.8, case.floor + reach + 2.0, ledge + arm_mm + 0.5)
        ports = [opened(port, top) for port in ports]
        windows = [window_box(case, drawn, number) for number in range(len(case.windows))]
        in_walls = windows_in_walls(case, drawn, windows, upper, top)
        refuse_openings(case, drawn, [*ports, *in_walls])
        findings = doubts(case, drawn, ports, wall_top=top, board_z=board_z)
        thinnest = 1.7 * case.wall
        corner = min(case.corner_radius, thinnest)
        # Below this the chamfer at the bed would eat the rounding up; no nozzle draws it anyway.
        corner = corner if corner >= LEAST_CORNER_MM else 0.0
        if 0 < corner < case.corner_radius - 1e-9:
            findings.append(
                doubt(
                    f"Corners are rounded to {corner:.1f} mm, not {case.corner_radius:.1f} mm, "
                    "so that the wall keeps its thickness round the board's corners.",
                    value=case.corner_radius,
                    limit=thinnest,
                    remedy="Make the walls thicker for rounder corners.",
                )
            )
        ears = place_ears(case, drawn, [*ports, *in_walls], corner)
        arms = place_arms(case, drawn, [*ports, *in_walls], corner)
        posts, said = place_hold_posts(
            case,
            drawn,
            corner,
            top - upper - HOLD_GAP_MM,
            windows,
            [port for port in ports if port.name != "cable exit"],
        )
        findings += said
        vents, low = place_wall_vents(
            case, drawn, [*ports, *in_walls], arms, ears, top - blocked - 0.8
        )
        side = hold_post_mm(top - upper - HOLD_GAP_MM)
        lid_vents, high = place_lid_vents(
            case,
            drawn,
            [*(rectangle(side, side, at=at).box for at in posts), *case.carried.lid_boxes],
        )
        if case.vent_area and low + high < 0.95 * case.vent_area:
            findings.append(
                Finding(
                    check="build",
                    severity="warn",
                    text=f"Vents of {low + high:.0f} mm² find room, of {case.vent_area:.0f} mm².",
                    value=low + high,
                    limit=case.vent_area,
                    unit="mm²",
                    basis="geometry of this part",
                    remedy="Ask for less, or make the case larger.",
                )
            )
        return cls(
            case=case,
            drawn=drawn,
            board_z=board_z,
            wall_top=top,
            corner=corner,
            openings=(*ports, *vents),
            in_walls=tuple(in_walls),
            windows=tuple(windows),
            hold_posts=posts,
            lid_vents=lid_vents,
            vent_mm2=(low, high),
            ears=ears,
            arms=arms,
            arm_mm=arm_mm,
            findings=tuple(findings),
        )

    @property
    def pocket(self) -> tuple[float, float]:
        """Length and width between the walls, mm."""
        return self.drawn.pocket

    @property
    def outside(self) -> tuple[float, float]:
        """Length and width over the walls, without ears and lugs, mm."""
        return outside(self.case, self.drawn)

    @property
    def holes(self) -> tuple[tuple[float, float], ...]:
        """Standoffs' middles, mm; none on rails."""
        return standoffs(self.case, self.drawn)

    @property
    def rim(self) -> tuple[float, float]:
        """Length and width inside the rim, mm."""
        length = drawn_mm(self.drawn.rim_inside_length, self.pocket[0])
        return length, self.drawn.rim_inside_width.drawn_mm
