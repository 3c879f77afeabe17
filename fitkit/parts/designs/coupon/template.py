"""The calibration coupon as a template."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.coupon.build import build
from fitkit.parts.designs.coupon.parameters import Parameters

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Part

__all__ = ["CalibrationCoupon"]


class CalibrationCoupon(Parameters):
    """Print it, measure it, and the printer's habits are known."""

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the coupon; it has no fit sizes, since it must be drawn as named.

        Raises
        ------
        PartError
            If the features do not fit on the plate.
        """
        self.must_fit().drawn(drawn, where=self.title)
        return build(self, title or self.title)
