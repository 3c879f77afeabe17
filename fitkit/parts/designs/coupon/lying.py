"""All holes whose axis lies in the layers, as one block that they go through along y."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, dimension
from fitkit.parts.designs.coupon.practice import RISE_MM, WALL_MM
from fitkit.solids.bodies import extrude, moved, turned
from fitkit.solids.profiles import circle, rectangle

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["LyingHoles"]


@dataclass(frozen=True, slots=True)
class LyingHoles(Item):
    """Holes side by side along x; each has two features, its width and its height."""

    rank = 1
    at_far_edge = True  # open towards it, so that jaws can go in
    in_jaws_way = True

    @classmethod
    def of(cls, features: Sequence[CouponFeature]) -> Self:
        """Make them for widths (along x) and heights (along z), one of each at least."""
        long = WALL_MM + sum(f.drawn_mm + WALL_MM for f in features if f.axis == "x")
        return cls(long, RISE_MM, 1.0, 0.0, tuple(features))

    def holes(self) -> Iterable[tuple[CouponFeature, float]]:
        """Each hole's width, with its left end from the block's left side, mm."""
        left = WALL_MM
        for feature in self.features:
            if feature.axis == "x":
                yield feature, left
                left += feature.drawn_mm + WALL_MM

    def top(self, thick: float) -> float:
        """Highest point over the bed, mm."""
        return thick + max(f.drawn_mm for f in self.features) + 2 * WALL_MM

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One block with its holes, and its volume in mm³."""
        tall = self.top(thick) - thick
        face = rectangle(self.w, tall).moved(self.w / 2, tall / 2)
        for feature, left in self.holes():
            radius = feature.drawn_mm / 2
            face = face.with_holes(circle(feature.drawn_mm, at=(left + radius, WALL_MM + radius)))
        # Drawn flat in x and z, then stood up: z of the sketch becomes -y.
        upright = turned(extrude(face, self.d), x=90)
        return [moved(upright, x, y + self.d, thick)], face.area * self.d

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """On the near face: widths at mid-height, heights from floor to roof."""
        lefts = {feature.drawn_mm: x + left for feature, left in self.holes()}
        low = thick + WALL_MM
        for feature in self.features:
            size, left = feature.drawn_mm, lefts[feature.drawn_mm]
            if feature.axis == "x":
                z = low + size / 2
                yield dimension(feature, (left, y, z), (left + size, y, z))
            else:
                across = left + size / 2
                yield dimension(feature, (across, y, low), (across, y, low + size))

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """One below each hole."""
        for feature, left in self.holes():
            middle = x + left + feature.drawn_mm / 2
            room = feature.drawn_mm + WALL_MM - 0.3
            yield Caption(feature.label, middle, self.below(y), room, thick)
