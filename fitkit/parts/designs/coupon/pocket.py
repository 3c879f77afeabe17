"""A pocket with walls all round, as cases have them: long enough for its walls to bow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, dimension
from fitkit.parts.designs.coupon.practice import POCKET_WALL_MM, RISE_MM
from fitkit.solids.bodies import extrude
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["Pocket"]


@dataclass(frozen=True, slots=True)
class Pocket(Item):
    """One ring of wall; its width and its length are features."""

    rank = 2

    @classmethod
    def of(cls, features: Sequence[CouponFeature]) -> Self:
        """Make it for its sizes along x and y, or for one of them."""
        first = features[0]
        along = {first.axis: first.drawn_mm, ("y" if first.axis == "x" else "x"): first.wall_mm}
        wall = 2 * POCKET_WALL_MM
        return cls(along["x"] + wall, along["y"] + wall, 1.0, 1.0, tuple(features))

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """The ring, and its volume in mm³."""
        middle = (x + self.w / 2, y + self.d / 2)
        wall = 2 * POCKET_WALL_MM
        inner = rectangle(self.w - wall, self.d - wall).moved(*middle)
        ring = rectangle(self.w, self.d).moved(*middle).with_holes(inner)
        return [extrude(ring, RISE_MM, z=thick)], ring.area * RISE_MM

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Half-way along each pair of walls, half-way down."""
        across, middle, z = x + self.w / 2, y + self.d / 2, thick + RISE_MM / 2
        for feature in self.features:
            half = feature.drawn_mm / 2
            if feature.axis == "x":
                yield dimension(feature, (across - half, middle, z), (across + half, middle, z))
            else:
                yield dimension(feature, (across, middle - half, z), (across, middle + half, z))

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """The first before it, the other along its floor."""
        room = max(self.w + 2 * self.pad_x, 11.0)
        across = x + self.w / 2
        yield Caption(self.feature.label, across, self.below(y), room, thick)
        for other in self.features[1:]:
            along = max(self.w, self.d) - 2 * POCKET_WALL_MM - 2.0
            turn = 90.0 if self.d > self.w else 0.0
            yield Caption(other.label, across, y + self.d / 2, along, thick, turn)
