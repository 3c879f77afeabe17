"""Items of one feature each: bars, pegs, holes, and the labels of the plate's own sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, blocks, dimension
from fitkit.parts.designs.coupon.practice import JAW_MM, LIMB_MM, RISE_MM
from fitkit.solids.bodies import extrude
from fitkit.solids.profiles import circle
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape
    from fitkit.solids.profiles import Profile

__all__ = ["Bar", "Hole", "Peg", "PlateLabel"]


@dataclass(frozen=True, slots=True)
class Bar(Item):
    """A bar along x or y, its label on top."""

    lines_below = 0

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature along x or y."""
        if feature.axis == "y":
            return cls(LIMB_MM, feature.drawn_mm, 1.0, JAW_MM, (feature,))
        return cls(feature.drawn_mm, LIMB_MM, JAW_MM, 1.0, (feature,))

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One block, and its volume in mm³."""
        return blocks([(Rect(x, y, self.w, self.d), RISE_MM)], thick)

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Over its ends, half-way up."""
        z = thick + RISE_MM / 2
        if self.feature.axis == "y":
            across = x + self.w / 2
            yield dimension(self.feature, (across, y, z), (across, y + self.d, z))
        else:
            yield _along_x(self, x, y, z)

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """One on top, along the bar."""
        turn = 90.0 if self.feature.axis == "y" else 0.0
        middle = (x + self.w / 2, y + self.d / 2)
        room = self.feature.drawn_mm - 1.0
        yield Caption(self.feature.label, *middle, room, self.top(thick), turn)


@dataclass(frozen=True, slots=True)
class Peg(Item):
    """An upright peg."""

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature."""
        return cls(feature.drawn_mm, feature.drawn_mm, JAW_MM, 2.0, (feature,))

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One cylinder, and its volume in mm³."""
        outline = _round(self, x, y)
        return [extrude(outline, RISE_MM, z=thick)], outline.area * RISE_MM

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Along x, half-way up."""
        yield _along_x(self, x, y, thick + RISE_MM / 2)


@dataclass(frozen=True, slots=True)
class Hole(Item):
    """An upright hole through the plate."""

    rise = 0.0

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature."""
        return cls(feature.drawn_mm, feature.drawn_mm, 1.5, 1.5, (feature,))

    def openings(self, x: float, y: float) -> tuple[Profile, ...]:
        """One circle."""
        return (_round(self, x, y),)

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Along x, half-way down."""
        yield _along_x(self, x, y, thick / 2)


@dataclass(frozen=True, slots=True)
class PlateLabel(Item):
    """The label of one of the plate's own sizes, which `plate` says where to measure."""

    rise = 0.0

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature."""
        return cls(0.0, 0.0, 0.0, 0.0, (feature,))


def _round(item: Item, x: float, y: float) -> Profile:
    return circle(item.w, at=(x + item.w / 2, y + item.d / 2))


def _along_x(item: Item, x: float, y: float, z: float) -> KeyDimension:
    middle = y + item.d / 2
    return dimension(item.feature, (x, middle, z), (x + item.w, middle, z))
