"""An opening with a flat roof that the printer must bridge, as ports and windows have it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from fitkit.parts.designs.coupon.item import Item, dimension
from fitkit.parts.designs.coupon.practice import BRIDGE_MM, RISE_MM, ROOF_MM, WALL_MM
from fitkit.solids.bodies import extrude, moved, turned
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import KeyDimension
    from fitkit.solids.bodies import Shape

__all__ = ["Bridge"]


@dataclass(frozen=True, slots=True)
class Bridge(Item):
    """Two posts and a roof over them; the plate is the floor."""

    rank = 1
    at_far_edge = True  # open towards it, so that jaws can go in
    in_jaws_way = True

    @classmethod
    def of(cls, feature: CouponFeature) -> Self:
        """Make it for a feature."""
        return cls(BRIDGE_MM + 2 * WALL_MM, RISE_MM, 1.0, 0.0, (feature,))

    def top(self, thick: float) -> float:
        """Highest point over the bed, mm."""
        return thick + self.feature.drawn_mm + ROOF_MM

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """One body, and its volume in mm³."""
        tall, high = self.feature.drawn_mm + ROOF_MM, self.feature.drawn_mm
        whole = rectangle(self.w, tall).moved(self.w / 2, tall / 2)
        left = rectangle(WALL_MM, tall).moved(WALL_MM / 2, tall / 2)
        right = left.moved(BRIDGE_MM + WALL_MM, 0.0)
        roof = rectangle(BRIDGE_MM, ROOF_MM).moved(self.w / 2, high + ROOF_MM / 2)
        # Drawn flat in x and z, then stood up: z of the sketch becomes -y.
        made = [
            moved(turned(extrude(face, self.d), x=90), x, y + self.d, thick)
            for face in (left, right, roof)
        ]
        return made, (whole.area - BRIDGE_MM * high) * self.d

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """On the near face, half-way across, from floor to roof."""
        across = x + self.w / 2
        yield dimension(
            self.feature, (across, y, thick), (across, y, thick + self.feature.drawn_mm)
        )
