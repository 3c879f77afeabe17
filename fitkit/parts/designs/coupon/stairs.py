"""All heights above the plate's own, as stairs at its near edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, blocks, dimension
from fitkit.parts.designs.coupon.practice import LABEL_DEEP_MM, STEP_MM
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["Stairs"]


@dataclass(frozen=True, slots=True)
class Stairs(Item):
    """One step a height, side by side along x, their labels behind them."""

    rank = 0  # by the near edge, where jaws reach the bed
    in_jaws_way = True
    lines_below, lines_above = 0, 1

    @classmethod
    def of(cls, heights: Sequence[CouponFeature]) -> Self:
        """Make them for features, one at least."""
        return cls(STEP_MM * len(heights), STEP_MM, 1.0, 0.0, tuple(heights))

    def top(self, thick: float) -> float:
        """Highest point over the bed, mm."""
        return max(f.drawn_mm for f in self.features)

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One block a step, and their volume in mm³."""
        steps = (
            (Rect(x + n * STEP_MM, y, STEP_MM, self.d), f.drawn_mm - thick)
            for n, f in enumerate(self.features)
        )
        return blocks(steps, thick)

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """From the bed up each step's near face."""
        for feature, middle in self._middles(x):
            yield dimension(feature, (middle, y, 0.0), (middle, y, feature.drawn_mm))

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """One behind each step."""
        behind = y + self.d + LABEL_DEEP_MM / 2
        for feature, middle in self._middles(x):
            yield Caption(feature.label, middle, behind, STEP_MM - 0.5, thick)

    def _middles(self, x: float) -> Iterable[tuple[CouponFeature, float]]:
        return ((f, x + (n + 0.5) * STEP_MM) for n, f in enumerate(self.features))
