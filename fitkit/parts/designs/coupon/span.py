"""A wide inside: two ribs that face each other, with room for other items in between."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, blocks, dimension
from fitkit.parts.designs.coupon.practice import JAW_MM, LIMB_MM, RIB_MM, RISE_MM
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["Span"]


@dataclass(frozen=True, slots=True)
class Span(Item):
    """Two ribs, the feature between them; its label is on top of both."""

    rank = 2
    lines_below = 0

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature along x or y."""
        over = feature.drawn_mm + 2 * LIMB_MM
        w, d = (over, RIB_MM) if feature.axis == "x" else (RIB_MM, over)
        return cls(w, d, 1.0, 1.0, (feature,))

    def footprints(self, x: float, y: float) -> tuple[Rect, ...]:
        """Plate that the ribs and their jaws take up, with the corner of its room at a place."""
        w, d = self.room
        if self.feature.axis == "x":
            rib = LIMB_MM + self.pad_x + JAW_MM
            return Rect(x, y, rib, d), Rect(x + w - rib, y, rib, d)
        rib = LIMB_MM + self.pad_y + JAW_MM
        return Rect(x, y, w, rib), Rect(x, y + d - rib, w, rib)

    def places(self, free: Sequence[Rect], over: Sequence[Rect]) -> Iterable[Rect]:
        """Where its ribs stand on free plate, and nothing tall is in the way of the jaws."""
        w, d = self.room
        lefts = {v for r in free for v in (r.x, r.x + r.w - w)}
        nears = {v for r in free for v in (r.y, r.y + r.d - d)}
        for x in lefts:
            for y in nears:
                whole = Rect(x, y, w, d)
                if any(whole.within(r) for r in over) and all(
                    any(rib.within(r) for r in free) for rib in self.footprints(x, y)
                ):
                    yield whole

    def ribs(self, x: float, y: float) -> tuple[Rect, Rect]:
        """The left and the right rib, or the near and the far one."""
        if self.feature.axis == "x":
            return Rect(x, y, LIMB_MM, self.d), Rect(x + self.w - LIMB_MM, y, LIMB_MM, self.d)
        return Rect(x, y, self.w, LIMB_MM), Rect(x, y + self.d - LIMB_MM, self.w, LIMB_MM)

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """Both ribs, and their volume in mm³."""
        return blocks(((rib, RISE_MM) for rib in self.ribs(x, y)), thick)

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Between the ribs, half-way up."""
        one, other = self.ribs(x, y)
        z = thick + RISE_MM / 2
        if self.feature.axis == "x":
            middle = y + self.d / 2
            yield dimension(self.feature, (one.x + one.w, middle, z), (other.x, middle, z))
        else:
            across = x + self.w / 2
            yield dimension(self.feature, (across, one.y + one.d, z), (across, other.y, z))

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """One on top of each rib, along it."""
        turn = 90.0 if self.feature.axis == "x" else 0.0
        for rib in self.ribs(x, y):
            middle = (rib.x + rib.w / 2, rib.y + rib.d / 2)
            yield Caption(self.feature.label, *middle, RIB_MM - 0.5, self.top(thick), turn)
