"""Keyhole hanger plate: drops over one or two screw heads in a wall and slides down behind them.

The plate's front (wall) side is a web with keyholes; behind the web a wider recess lets the head
travel. Screwed to the back of an exhibit through countersunk holes at its corners. It prints wall
side down, so that nothing hangs over air.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from fitkit.core.sizes import CENTRES
from fitkit.parts.contract import (
    Body,
    FitSize,
    KeyDimension,
    Length,
    Part,
    Template,
    size,
)
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, bed_edge, choice
from fitkit.parts.holders.keyhole import Keyed, KeyedSizes, keyhole
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.screws import Screw, ScrewHoles, head_mm, screw_fit
from fitkit.solids.bodies import checked
from fitkit.solids.profiles import capsule, rectangle
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["HangerPlate"]

_EDGE_MM = 3.0  # plate beyond every recess and hole
_STRIP_MM = 6.0  # above the recesses, for the label


@dataclass(frozen=True, kw_only=True)
class HangerSizes(KeyedSizes):
    """Sizes of a hanger plate that must fit."""

    spacing: FitSize | None = None
    fixing_hole: FitSize


class HangerPlate(Keyed, Template):
    """Plate with keyholes for screw heads in a wall."""

    title: ClassVar[str] = "hanger plate"
    summary: ClassVar[str] = "Keyhole plate that hangs an exhibit on one or two screws."
    measuring: ClassVar[Measuring] = replace(
        Keyed.measuring,
        readings=(
            *Keyed.measuring.readings,
            Reading(
                feature="heads far edges",
                note="outside jaws over the far edges of both heads in the wall",
            ),
        ),
        sizes=(
            *Keyed.measuring.sizes,
            FromReadings(
                parameter="spacing", text="heads_far_edges - screw_head", when={"count": (2,)}
            ),
        ),
        often=("count", "travel", "web", "label"),
    )

    count: Annotated[int, Field(ge=1, le=2)] = choice(1, "Number of keyholes.")
    spacing: Length = size(
        "60 mm", low="15 mm", high="200 mm", measured=True, help="Between two wall screws."
    )
    screw: Screw = choice("M3", "Screws that hold the plate to the exhibit.", "Fixing")

    def must_fit(self) -> HangerSizes:
        """Declare head, shank, spacing and fixing holes."""
        two = self.count == 2
        spacing = FitSize(nominal_mm=self.spacing, of="spacing", kind=CENTRES) if two else None
        names = ("spacing",) if two else ()
        return HangerSizes(
            head=self.opening("head", *names),
            shank=self.opening("shank", *names),
            spacing=spacing,
            fixing_hole=screw_fit(self.screw),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the plate, wall side down."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        head, shank = sizes.head.drawn_mm, sizes.shank.drawn_mm
        fixing, spacing = sizes.fixing_hole.drawn_mm, drawn_mm(sizes.spacing, 0.0)
        rules, travel = Rules(self.title), self.travel_mm
        wide = self.recess(rules, sizes)
        if self.count == 2:
            rules.at_least("spacing", spacing, wide + _EDGE_MM, "recesses meet")
        rules.refuse()
        thick = self.web + self.head_height + 0.5
        big = max(head_mm(self.screw), fixing)
        # Fixing holes stand left and right of all recesses.
        aside = spacing / 2 + wide / 2 + _EDGE_MM + big / 2
        length = 2 * (aside + big / 2 + _EDGE_MM)
        tall = travel + wide + 2 * _EDGE_MM
        middle = travel / 2
        outline = rectangle(length, tall + _STRIP_MM, radius=3.0, at=(0.0, middle + _STRIP_MM / 2))
        places = [0.0] if self.count == 1 else [-spacing / 2, spacing / 2]
        inner = tuple(
            Terrace(
                capsule(travel + wide, wide, turn=90, at=(x, middle)).outer,
                self.web,
                (Terrace(keyhole(head, shank, travel).outer.moved(x), 0.0),),
            )
            for x in places
        )
        root = Terrace(outline.outer, thick, inner)
        volume = root.volume()
        solid = checked(terraces(root), "plate", volume=volume, proved=True)
        shape, findings = bed_edge(solid, body="plate", before=volume)
        y = tall / 2 - _EDGE_MM - big / 2
        spots = [(x, middle + v) for x in (-aside, aside) for v in ((-y, y) if y > big else (0.0,))]
        holes = ScrewHoles(
            screw=self.screw, size=sizes.fixing_hole, spots=spots, top=thick, body="plate"
        )
        shape, left_off = holes.into(shape)
        from fitkit.solids.label import sink_text

        shape, said = sink_text(
            shape,
            self.label,
            room=(length - 6, _STRIP_MM),
            at=(0.0, middle + tall / 2 + _STRIP_MM / 2 - 1.0),
            z=thick,
            body="plate",
        )
        dimensions, web = self.shown(sizes, (places[0], 0.0, BED_EDGE_MM), wide, 1, "plate")
        dimensions = (*dimensions, *holes.dimensions())
        if sizes.spacing:
            between = KeyDimension.across(sizes.spacing, (0, travel, 0), body="plate")
            dimensions = (*dimensions, between)
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="plate", solid=checked(shape, "plate")),),
            dimensions=dimensions,
            walls=(web,),
            findings=(*findings, *left_off, *said),
            buys=holes.buys("plate"),
        )
