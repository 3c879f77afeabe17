"""Keyholes, which drop over a screw's head in a wall and slide down behind it; one in a shape."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from fitkit.core.models import StrictModel
from fitkit.parts.contract import KeyDimension, Length, Wall, size, usual_size
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import Rules
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.on_shape import ShapeFeature, Worked
from fitkit.parts.screws import screw_fit
from fitkit.solids.bodies import extrude
from fitkit.solids.profiles import Loop, Profile, capsule

if TYPE_CHECKING:
    from fitkit.parts.contract import Point
    from fitkit.parts.holder import Base

__all__ = ["Keyed", "KeyedSizes", "Keyhole", "keyhole"]

_PASSES = 0.75  # of the recess: so far the head must go to be past its opening
_GAP_MM = 1.2  # the most that a printer's gap adds to a head
_TRAVEL_MM = 10.0  # common practice, no source
_ROOM_MM = 0.6  # of the recess round the head
_LAND_MM = 2.5  # flat ground round the opening, which lies against the wall
_OVER_MM = 0.5  # of the recess over the head


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


@dataclass(frozen=True, kw_only=True)
class KeyedSizes(SizeSet):
    """A keyhole's sizes that must fit."""

    head: FitSize
    shank: FitSize


class Keyed(StrictModel):
    """What hangs by keyholes on screws in a wall: the screws, and the web that holds."""

    title: ClassVar[str]
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
        ),
        sizes=(
            FromReadings(parameter="head", text="screw_head"),
            FromReadings(parameter="head_height", text="head_height"),
            FromReadings(parameter="shank", text="screw_shank"),
        ),
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
    web: Length = size("2 mm", low="1.2 mm", high="6 mm", help="Plate behind the head.")

    @property
    def travel_mm(self) -> float:
        """How far it slides, mm: as given, or 10 mm, and more where the head needs it."""
        wide = self.head + _GAP_MM + 2 * _ROOM_MM
        return self.travel or max(_TRAVEL_MM, float(math.ceil(_PASSES * wide)))

    def opening(self, of: str, *spacing: str) -> FitSize:
        """Declare the opening for the head, or the slot for the shank.

        Parameters
        ----------
        of : str
            ``head`` or ``shank``.
        *spacing : str
            Names of the sizes that tell how far it is from the other keyhole.

        Returns
        -------
        FitSize
        """
        usual = screw_fit("M3", spacing=spacing)
        return replace(usual, nominal_mm=getattr(self, of), of=of, counterpart="fixed")

    def recess(self, rules: Rules, sizes: KeyedSizes) -> float:
        """Width of the recess behind a keyhole, mm; refuse a keyhole that could not hold.

        Parameters
        ----------
        rules : Rules
            Where what is refused is gathered, under ``head`` and ``travel``.
        sizes : KeyedSizes
            As drawn.

        Returns
        -------
        float, mm
        """
        head, shank = sizes.head.drawn_mm, sizes.shank.drawn_mm
        wide = head + 2 * _ROOM_MM
        rules.at_least("head", head, shank + 1.5, "head on the web")
        rules.at_least("travel", self.travel_mm, _PASSES * wide, "head through the opening")
        return wide

    def shown(
        self, sizes: KeyedSizes, at: Point, wide: float, inwards: int, body: str = ""
    ) -> tuple[tuple[KeyDimension, ...], Wall]:
        """Show head and shank of the keyhole whose head goes in at a place, and its web.

        Parameters
        ----------
        sizes : KeyedSizes
            As drawn.
        at : point, mm
            Where the head is measured, near the wall side.
        wide : float, mm
            Of the recess.
        inwards : {-1, 1}
            Which way the web's other face lies along z.
        body : str

        Returns
        -------
        tuple of KeyDimension, Wall
        """
        x, y, z = at
        web = (x + wide / 2 - 1.0, y + self.travel_mm / 2, inwards * self.web / 2)
        return (
            KeyDimension.across(sizes.head, at, body=body),
            KeyDimension.across(sizes.shank, (x, y + self.travel_mm, z), body=body),
        ), Wall(name="web", body=body, thickness_mm=self.web, at=web)


class Keyhole(Keyed, ShapeFeature):
    """An opening for a head, with a slot for its shank upwards (to +y)."""

    title: ClassVar[str] = "keyhole"
    summary: ClassVar[str] = "Hangs the shape on the head of a screw in a wall."

    def must_fit(self, base: Base) -> KeyedSizes:
        """Declare the opening for the head and the slot for the shank."""
        return KeyedSizes(head=self.opening("head"), shank=self.opening("shank"))

    def fixture(self, sizes: KeyedSizes, base: Base) -> Worked:
        """Cut the opening, the slot and the recess behind them."""
        rules, travel = Rules(self.title), self.travel_mm
        wide = self.recess(rules, sizes)
        rules.refuse()
        middle, deep = (0.0, travel / 2), self.head_height + _OVER_MM
        recess = capsule(travel + wide, wide, turn=90, at=middle)
        land = capsule(travel + wide + 2 * _LAND_MM, wide + 2 * _LAND_MM, turn=90, at=middle)
        through = keyhole(sizes.head.drawn_mm, sizes.shank.drawn_mm, travel)
        dimensions, web = self.shown(sizes, (0.0, 0.0, 0.0), wide, -1)
        return Worked(
            cuts=(
                extrude(through, self.web + 2.0, z=-self.web - 1.0),
                extrude(recess, deep, z=-self.web - deep),
            ),
            clear=land.outer,
            clear_mm=0.5,
            dimensions=dimensions,
            walls=(web,),
        )
