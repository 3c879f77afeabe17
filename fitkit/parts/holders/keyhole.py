"""A keyhole in a given shape: it drops over a screw's head in a wall and slides down behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from fitkit.core.sizes import HOLE
from fitkit.parts.contract import KeyDimension, Length, Wall
from fitkit.parts.designs.hanger import HangerPlate, keyhole, recess_mm, travel_mm
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import Rules
from fitkit.parts.holder import taken_from
from fitkit.parts.measuring import FromReadings, Measuring
from fitkit.parts.on_shape import ShapeFeature, Worked

if TYPE_CHECKING:
    from fitkit.parts.holder import Base

__all__ = ["Keyhole"]

_LAND_MM = 2.5  # flat ground round the opening, which lies against the wall
_OVER_MM = 0.5  # of the recess over the head


@dataclass(frozen=True, kw_only=True)
class KeyholeSizes(SizeSet):
    """A keyhole's sizes that must fit."""

    head: FitSize
    shank: FitSize


class Keyhole(ShapeFeature):
    """An opening for a head, with a slot for its shank upwards (to +y)."""

    title: ClassVar[str] = "keyhole"
    summary: ClassVar[str] = "Hangs the shape on the head of a screw in a wall."
    measuring: ClassVar[Measuring] = Measuring(
        readings=HangerPlate.measuring.readings[:3],
        sizes=(
            FromReadings(parameter="head", text="screw_head"),
            FromReadings(parameter="head_height", text="head_height"),
            FromReadings(parameter="shank", text="screw_shank"),
        ),
    )

    head: Length = taken_from(HangerPlate, "head")
    head_height: Length = taken_from(HangerPlate, "head_height")
    shank: Length = taken_from(HangerPlate, "shank")
    travel: Length | None = taken_from(HangerPlate, "travel")
    web: Length = taken_from(HangerPlate, "web")

    def must_fit(self, base: Base) -> KeyholeSizes:
        """Declare the opening for the head and the slot for the shank."""

        def hole(of: str) -> FitSize:
            return FitSize(
                nominal_mm=getattr(self, of),
                of=of,
                kind=HOLE,
                sense=1,
                pair="screw hole",
                behaviour="rotates freely",
            )

        return KeyholeSizes(head=hole("head"), shank=hole("shank"))

    def fixture(self, sizes: KeyholeSizes, base: Base) -> Worked:
        """Cut the opening, the slot and the recess behind them."""
        from fitkit.solids.bodies import extrude
        from fitkit.solids.profiles import capsule

        head, shank = sizes.head.drawn_mm, sizes.shank.drawn_mm
        rules, travel = Rules(self.title), travel_mm(self.travel, self.head)
        wide = recess_mm(rules, head, shank, travel)
        rules.refuse()
        middle, deep = travel / 2, self.head_height + _OVER_MM
        recess = capsule(travel + wide, wide, turn=90, at=(0.0, middle))
        land = capsule(travel + wide + 2 * _LAND_MM, wide + 2 * _LAND_MM, turn=90, at=(0.0, middle))
        return Worked(
            cuts=(
                extrude(keyhole(head, shank, travel), self.web + 2.0, z=-self.web - 1.0),
                extrude(recess, deep, z=-self.web - deep),
            ),
            clear=land.outer,
            clear_mm=0.5,
            dimensions=(
                KeyDimension.of(
                    sizes.head, body="", start=(-head / 2, 0.0, 0.0), end=(head / 2, 0.0, 0.0)
                ),
                KeyDimension.of(
                    sizes.shank,
                    body="",
                    start=(-shank / 2, travel, 0.0),
                    end=(shank / 2, travel, 0.0),
                ),
            ),
            walls=(
                Wall(
                    name="web",
                    body="",
                    thickness_mm=self.web,
                    at=(wide / 2 - 1.0, middle, -self.web / 2),
                ),
            ),
        )
