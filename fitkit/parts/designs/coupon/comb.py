"""All tabs and slots, as one comb: a tab is a rib of it, a slot a gap between two ribs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import Item, blocks, dimension
from fitkit.parts.designs.coupon.practice import FILLER_MM, JAW_MM, LABEL_DEEP_MM, RIB_MM, RISE_MM
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["Comb"]


class Tooth(NamedTuple):
    """A rib or a gap: its width in mm, and the feature that it is; None for filling."""

    width: float
    rib: bool
    feature: CouponFeature | None


@dataclass(frozen=True, slots=True)
class Comb(Item):
    """Ribs side by side along x; tabs are labelled below, slots above."""

    lines_above = 1

    @classmethod
    def of(cls, features: Sequence[CouponFeature]) -> Self:
        """Make it for tabs and slots, one at least."""
        return cls(sum(t.width for t in _teeth(features)), RIB_MM, JAW_MM, 1.0, tuple(features))

    def teeth(self, x: float) -> Iterable[tuple[float, Tooth]]:
        """Ribs and gaps from left to right, each with its left end, mm."""
        for tooth in _teeth(self.features):
            yield x, tooth
            x += tooth.width

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One block a rib, and their volume in mm³."""
        ribs = (Rect(left, y, tooth.width, self.d) for left, tooth in self.teeth(x) if tooth.rib)
        return blocks(((rib, RISE_MM) for rib in ribs), thick)

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Over each tab and across each slot, half-way up."""
        middle, z = y + self.d / 2, thick + RISE_MM / 2
        for left, tooth in self.teeth(x):
            if tooth.feature:
                right = left + tooth.width
                yield dimension(tooth.feature, (left, middle, z), (right, middle, z))

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """Tabs below, slots above: side by side there is no room for both."""
        above = y + self.d + self.pad_y + LABEL_DEEP_MM / 2
        for left, tooth in self.teeth(x):
            if tooth.feature:
                at = self.below(y) if tooth.rib else above
                room = max(tooth.width + 3.0, 6.0)
                yield Caption(tooth.feature.label, left + tooth.width / 2, at, room, thick)


def _teeth(features: Sequence[CouponFeature]) -> list[Tooth]:
    tabs = [f for f in features if f.kind.jaws == "outside"]
    slots = [f for f in features if f.kind.jaws == "inside"]
    teeth = []
    ribs = max(len(slots) + 1, 2 * len(tabs) - 1)
    for n in range(ribs):
        # Every other rib is a filler, which keeps the tabs' labels apart.
        tab = tabs[n // 2] if n % 2 == 0 and n // 2 < len(tabs) else None
        teeth.append(Tooth(tab.drawn_mm if tab else FILLER_MM, True, tab))
        if n < len(slots):
            teeth.append(Tooth(slots[n].drawn_mm, False, slots[n]))
        elif n + 1 < ribs:
            teeth.append(Tooth(2 * JAW_MM, False, None))
    return teeth
