"""Spacer: a round or hexagonal sleeve under a screw, or a standoff that holds a screw's thread.

The bore is open for the screw to pass, a pilot hole in which it forms its own thread, or a pocket
for a heat-set insert at each end. Its height is a fit size: two layers more tilt a display.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from fitkit.core.sizes import HEIGHT, HOLE
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.buys import inserts
from fitkit.parts.contract import (
    Body,
    Boss,
    FitSize,
    KeyDimension,
    Length,
    Part,
    Template,
    Wall,
    size,
)
from fitkit.parts.fit_size import SizeSet
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice, side_text
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.screws import Screw, insert_depth_mm, screw_fit, screw_mm
from fitkit.solids.bodies import checked
from fitkit.solids.profiles import circle, hexagon
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Spacer"]

_LEAST_WALL_MM = 1.2


@dataclass(frozen=True, kw_only=True)
class SpacerSizes(SizeSet):
    """Sizes of a spacer that must fit."""

    bore: FitSize
    height: FitSize


class Spacer(Template):
    """Spacer or standoff under a screw."""

    title: ClassVar[str] = "spacer"
    summary: ClassVar[str] = "Round or hexagonal spacer with a screw, pilot or insert bore."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="gap",
                mode="inside",
                note="inside jaws between the two faces that it keeps apart; over an old spacer, "
                "write outside as mode",
            ),
        ),
        sizes=(FromReadings(parameter="height", text="gap"),),
        often=("outside", "shape", "bore", "screw", "label"),
    )

    height: Length = size(
        "10 mm", low="2 mm", high="120 mm", measured=True, help="Distance that it keeps."
    )
    outside: Length = size(
        "8 mm", low="4 mm", high="40 mm", help="Diameter, or size over the flats."
    )
    shape: Literal["round", "hexagon"] = choice("round", "Outside of the spacer.")
    bore: Literal["screw", "pilot", "insert"] = choice(
        "screw", "Lets the screw pass, holds its thread, or takes an insert at each end."
    )
    screw: Screw = choice("M3", "Screw that goes through or in.")

    def must_fit(self) -> SpacerSizes:
        """Declare the bore and the height."""
        height = FitSize(nominal_mm=self.height, of="height", kind=HEIGHT, axis="z")
        return SpacerSizes(bore=self._bore_fit(), height=height)

    def _bore_fit(self) -> FitSize:
        if self.bore == "screw":
            return screw_fit(self.screw)
        hold = hold_in_plastic(self.screw)
        if self.bore == "pilot":
            return FitSize(nominal_mm=hold.pilot_mm, kind=HOLE)
        return FitSize(
            nominal_mm=hold.insert_knurl_mm,
            kind=HOLE,
            sense=1,
            pair="heat-set insert",
            behaviour="press by tool",
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the spacer; it stands on the bed."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        bore, height = sizes.bore.drawn_mm, sizes.height.drawn_mm
        rules = Rules(self.title)
        rules.at_least(
            "outside",
            self.outside,
            bore + 2 * _LEAST_WALL_MM,
            "walls of the spacer",
            bore=bore,
            least=_LEAST_WALL_MM,
        )
        rules.refuse()
        outline = circle(self.outside) if self.shape == "round" else hexagon(self.outside)
        hole, depth = circle(bore).outer, self._pocket_depth(height)
        root = Terrace(
            outline.outer,
            height,
            inner=(Terrace(hole, height - depth if depth else 0.0, edge=BED_EDGE_MM),),
            under=(Terrace(hole, depth, edge=BED_EDGE_MM),) if depth else (),
            edge=BED_EDGE_MM,
        )
        solid = checked(terraces(root), "spacer", volume=root.volume())
        r, b = self.outside / 2, bore / 2
        dimensions = (
            KeyDimension.across(sizes.bore, (0.0, 0, height), body="spacer"),
            KeyDimension.of(sizes.height, body="spacer", start=(0, -r, 0), end=(0, -r, height)),
        )
        bosses: tuple[Boss, ...] = ()
        if self.bore != "screw":
            boss = Boss(
                name="bore",
                body="spacer",
                outer_mm=self.outside,
                hole_mm=bore,
                depth_mm=depth or height,
                screw_mm=screw_mm(self.screw),
                at=(0, 0, height),
            )
            bosses = (boss,)
        shape, said = side_text(
            solid,
            self.label,
            radius=r,
            low=0.0,
            high=height,
            body="spacer",
            round_deg=300.0 if self.shape == "round" else 0.0,
        )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="spacer", solid=checked(shape, "spacer", proved=not self.label)),),
            dimensions=dimensions,
            walls=(
                Wall(
                    name="round the bore",
                    body="spacer",
                    thickness_mm=r - b,
                    at=((r + b) / 2, 0, height / 2),
                ),
            ),
            bosses=bosses,
            findings=said,
            buys=inserts(self.screw, (2 if depth else 1) if self.bore == "insert" else 0, ""),
        )

    def _pocket_depth(self, height: float) -> float | None:
        """Depth of an insert's pocket at each end; None where the bore goes through."""
        if self.bore != "insert":
            return None
        depth = insert_depth_mm(hold_in_plastic(self.screw).insert_length_mm)
        return depth if height > 2 * depth + 1.0 else None
