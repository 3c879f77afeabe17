"""Keyhole hanger plate: drops over one or two screw heads in a wall and slides down behind them.

The plate's front (wall) side is a web with keyholes; behind the web a wider recess lets the head
travel. Screwed to the back of an exhibit through countersunk holes at its corners. It prints wall
side down, so that nothing hangs over air.
"""

from __future__ import annotations

import math
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
    Wall,
    size,
    usual_size,
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, bed_edge, choice
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.screws import Screw, ScrewHoles, head_mm, screw_fit
from fitkit.solids.bodies import checked
from fitkit.solids.profiles import Loop, Profile, capsule, rectangle
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["HangerPlate", "keyhole", "recess_mm", "travel_mm"]

_EDGE_MM = 3.0  # plate beyond every recess and hole
_STRIP_MM = 6.0  # above the recesses, for the label
_PASSES = 0.75  # of the recess: so far the head must go to be past its opening
_GAP_MM = 1.2  # the most that a printer's gap adds to a head
_TRAVEL_MM = 10.0  # common practice, no source
_ROOM_MM = 0.6  # of the recess round the head


def keyhole(head: float, shank: float, travel: float) -> Profile:
    """Round opening for a head about the origin, with a slot for the shank to y = travel, mm.

    Examples
    --------
    >>> k = keyhole(9, 4.5, 10)
    >>> [round(value, 3) for value in k.box]
    [-4.5, -4.5, 4.5, 12.25]
    """
    r, s = head / 2, shank / 2
    y = math.sqrt(r * r - s * s)
    # From the slot's left foot round below to its right foot, in two arcs.
    half = math.tan((2 * math.pi - 2 * math.asin(s / r)) / 8)
    corners = ((-s, y, half), (0.0, -r, half), (s, y, 0.0), (s, travel, 1.0), (-s, travel, 0.0))
    return Profile(Loop(corners))


def travel_mm(given: float | None, head: float) -> float:
    """How far a keyhole slides, mm: as given, or 10 mm, and more where the head needs it.

    Parameters
    ----------
    given : float or None, mm
    head : float, mm
        Diameter of the round opening, before any gap.

    Returns
    -------
    float, mm

    Examples
    --------
    >>> travel_mm(None, 8.0), travel_mm(None, 14.0), travel_mm(6.0, 14.0)
    (10.0, 13.0, 6.0)
    """
    if given is not None:
        return given
    wide = head + _GAP_MM + 2 * _ROOM_MM
    return max(_TRAVEL_MM, float(math.ceil(_PASSES * wide)))


def recess_mm(rules: Rules, head: float, shank: float, travel: float) -> float:
    """Width of the recess behind a keyhole, mm; refuse a keyhole that could not hold.

    Parameters
    ----------
    rules : Rules
        Where what is refused is gathered, under ``head`` and ``travel``.
    head, shank : float, mm
        As drawn.
    travel : float, mm
        How far the screw slides.

    Returns
    -------
    float, mm
    """
    wide = head + 2 * _ROOM_MM
    rules.at_least("head", head, shank + 1.5, "head on the web")
    rules.at_least("travel", travel, _PASSES * wide, "head through the opening")
    return wide


@dataclass(frozen=True, kw_only=True)
class HangerSizes(SizeSet):
    """Sizes of a hanger plate that must fit."""

    head: FitSize
    shank: FitSize
    spacing: FitSize | None = None
    fixing_hole: FitSize


class HangerPlate(Template):
    """Plate with keyholes for screw heads in a wall."""

    title: ClassVar[str] = "hanger plate"
    summary: ClassVar[str] = "Keyhole plate that hangs an exhibit on one or two screws."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="screw head", round=True, note="over the head of the screw in the wall"
            ),
            Reading(
                feature="head height",
                note="from the head's underside to its top; take a loose screw of the same kind",
            ),
            Reading(
                feature="screw shank",
                round=True,
                note="over the shank just below the head, over the thread if it has one there",
            ),
            Reading(
                feature="heads far edges",
                note="outside jaws over the far edges of both heads in the wall",
            ),
        ),
        sizes=(
            FromReadings(parameter="head", text="screw_head"),
            FromReadings(parameter="head_height", text="head_height"),
            FromReadings(parameter="shank", text="screw_shank"),
            FromReadings(
                parameter="spacing", text="heads_far_edges - screw_head", when={"count": (2,)}
            ),
        ),
        often=("count", "travel", "web", "label"),
    )

    head: Length = size(
        "8 mm", low="4 mm", high="20 mm", measured=True, help="Head of the screw in the wall."
    )
    head_height: Length = size(
        "3 mm", low="1 mm", high="10 mm", measured=True, help="Height of that head."
    )
    shank: Length = size(
        "4 mm", low="2 mm", high="12 mm", measured=True, help="Screw below its head."
    )
    travel: Length | None = usual_size(
        "10 mm",
        low="4 mm",
        high="40 mm",
        help="How far it slides down; 10 mm, or more for a large head, if not given.",
    )
    count: Annotated[int, Field(ge=1, le=2)] = choice(1, "Number of keyholes.")
    spacing: Length = size(
        "60 mm", low="15 mm", high="200 mm", measured=True, help="Between two wall screws."
    )
    web: Length = size("2 mm", low="1.2 mm", high="6 mm", help="Plate behind the head.")
    screw: Screw = choice("M3", "Screws that hold the plate to the exhibit.", "Fixing")

    def must_fit(self) -> HangerSizes:
        """Declare head, shank, spacing and fixing holes."""
        two = self.count == 2

        def hole(value: float, of: str) -> FitSize:
            spaced = ("spacing",) if two else ()
            return replace(screw_fit(self.screw, spacing=spaced), nominal_mm=value, of=of)

        return HangerSizes(
            head=hole(self.head, "head"),
            shank=hole(self.shank, "shank"),
            spacing=FitSize(nominal_mm=self.spacing, of="spacing", kind=CENTRES) if two else None,
            fixing_hole=screw_fit(self.screw),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the plate, wall side down."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        head, shank = sizes.head.drawn_mm, sizes.shank.drawn_mm
        fixing, spacing = sizes.fixing_hole.drawn_mm, drawn_mm(sizes.spacing, 0.0)
        rules, travel = Rules(self.title), travel_mm(self.travel, self.head)
        wide = recess_mm(rules, head, shank, travel)
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
        x, at = places[0], (places[0] + wide / 2 - 1, middle, self.web / 2)
        dimensions = (
            KeyDimension.across(sizes.head, (x, 0, BED_EDGE_MM), body="plate"),
            KeyDimension.across(sizes.shank, (x, travel, BED_EDGE_MM), body="plate"),
            *holes.dimensions(),
        )
        if sizes.spacing:
            between = KeyDimension.across(sizes.spacing, (0, travel, 0), body="plate")
            dimensions = (*dimensions, between)
        web = Wall(name="web", body="plate", thickness_mm=self.web, at=at)
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="plate", solid=checked(shape, "plate")),),
            dimensions=dimensions,
            walls=(web,),
            findings=(*findings, *left_off, *said),
            buys=holes.buys("plate"),
        )
