"""The plate that all items stand on; its own sizes are features, too."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.item import dimension
from fitkit.parts.designs.coupon.practice import CORNER_LABEL_MM, FRONT_CUT_MM
from fitkit.solids.profiles import polygon
from fitkit.solids.rectangles import Rect, take

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension, Point
    from fitkit.parts.designs.coupon.parameters import Parameters
    from fitkit.solids.profiles import Profile

__all__ = ["Plate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A plate from (0, 0, 0), its corners cut at 45°; the front left one alone if they are whole.

    The one cut corner, or the labels of the diagonals at the far corners, tell which edge is the
    front: a square coupon can be laid down four ways.

    Attributes
    ----------
    wide, deep, thick : float, mm
        Along x, y and z.
    diagonal : float, mm
        Distance between opposite cuts; 0 for whole corners.
    corner : float, mm
        Leg of the cuts; 0 for whole corners.
    """

    wide: float
    deep: float
    thick: float
    diagonal: float
    corner: float

    @classmethod
    def of(cls, coupon: Parameters) -> Self:
        """Take the longest bars, the least height and the diagonal."""
        return cls(
            wide=max(coupon.bars_x),
            deep=max(coupon.bars_y),
            thick=min(coupon.heights),
            diagonal=coupon.diagonal,
            corner=coupon.corner_mm,
        )

    def outline(self) -> Profile:
        """Its outline seen from above."""
        wide, deep, c = self.wide, self.deep, self.corner
        if not c:
            cut = FRONT_CUT_MM
            return polygon([(cut, 0), (wide, 0), (wide, deep), (0, deep), (0, cut)])
        near = [(c, 0), (wide - c, 0), (wide, c), (wide, deep - c)]
        return polygon([*near, (wide - c, deep), (c, deep), (0, deep - c), (0, c)])

    def free(self) -> list[Rect]:
        """Largest rectangles on it that keep clear of edges, cut corners and their labels."""
        wide, deep = self.wide, self.deep
        free = [Rect(1.0, 1.0, wide - 2.0, deep - 2.0)]
        if not self.corner:
            return take(free, Rect(0.0, 0.0, FRONT_CUT_MM + 1.0, FRONT_CUT_MM + 1.0))
        cut = self.corner + 1.0
        for x in (0.0, wide - cut):
            for y in (0.0, deep - cut):
                free = take(free, Rect(x, y, cut, cut))
        w, d = CORNER_LABEL_MM
        free = take(free, Rect(cut, deep - d - 1.0, w, d))
        return take(free, Rect(wide - cut - w, deep - d - 1.0, w, d))

    def names(self, feature: CouponFeature) -> bool:
        """Whether a feature is its width, depth or thickness, whose label may stand anywhere."""
        own = (f"bar x {self.wide:g}", f"bar y {self.deep:g}", f"height {self.thick:g}")
        return feature.name in own

    def dimensions(self, features: Iterable[CouponFeature]) -> Iterable[KeyDimension]:
        """Where those of the features are measured that are sizes of the plate."""
        x, y, z = self.wide / 2, self.deep / 2, self.thick / 2
        spans: dict[str, tuple[Point, Point]] = {
            f"bar x {self.wide:g}": ((0, y, z), (self.wide, y, z)),
            f"bar y {self.deep:g}": ((x, 0, z), (x, self.deep, z)),
            f"bar x {self.wide:g} at bed": ((0, y, 0), (self.wide, y, 0)),
            f"bar y {self.deep:g} at bed": ((x, 0, 0), (x, self.deep, 0)),
            f"height {self.thick:g}": ((x, 0, 0), (x, 0, self.thick)),
        }
        reach = 0.5 * self.diagonal / math.sqrt(2.0)
        for which, sign in ((1, 1), (2, -1)):
            spans[f"diagonal {which} {self.diagonal:g}"] = (
                (x - reach, y - sign * reach, z),
                (x + reach, y + sign * reach, z),
            )
        for feature in features:
            if feature.name in spans:
                yield dimension(feature, *spans[feature.name])

    def captions(self) -> Iterable[Caption]:
        """Labels of the diagonals, each at the far corner where it ends."""
        if self.corner:
            room, y = CORNER_LABEL_MM[0], self.deep - 3.5
            yield Caption("D1", self.wide - self.corner - 5.0, y, room, self.thick)
            yield Caption("D2", self.corner + 5.0, y, room, self.thick)
