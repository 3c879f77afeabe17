"""Which items a coupon's features make."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING

from fitkit.parts.designs.coupon.bridge import Bridge
from fitkit.parts.designs.coupon.comb import Comb
from fitkit.parts.designs.coupon.lying import LyingHoles
from fitkit.parts.designs.coupon.pocket import Pocket
from fitkit.parts.designs.coupon.singles import Bar, Hole, Peg, PlateLabel
from fitkit.parts.designs.coupon.span import Span
from fitkit.parts.designs.coupon.stairs import Stairs

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.designs.coupon.item import Item
    from fitkit.parts.designs.coupon.plate import Plate

__all__ = ["items_of"]

# What a feature's name says before its size.
_FAMILY = re.compile(r"[^\d]+")


def items_of(features: Iterable[CouponFeature], plate: Plate) -> list[Item]:
    """All that stands on the plate or goes through it, not yet placed.

    The plate's own sizes have nothing but a label; its diagonals and its flare not even that.
    """
    found: dict[str, list[CouponFeature]] = defaultdict(list)
    for feature in features:
        if feature.place != "bed" and not feature.diagonal:
            found[_FAMILY.match(feature.name)[0].strip()].append(feature)  # type: ignore[index]
    bars = [f for f in found["bar x"] if f.drawn_mm != plate.wide]
    bars += [f for f in found["bar y"] if f.drawn_mm != plate.deep]
    steps = [f for f in found["height"] if f.drawn_mm != plate.thick]
    lying = found["lying hole"]
    own = [f for f in (*found["bar x"], *found["bar y"], *found["height"]) if plate.names(f)]
    comb = [*found["tab"], *found["slot"]]
    pockets: dict[tuple[float, ...], list[CouponFeature]] = defaultdict(list)
    for one in (*found["pocket x"], *found["pocket y"]):
        pockets[tuple(sorted((one.drawn_mm, one.wall_mm)))].append(one)
    return [
        *map(Bar.of, bars),
        *map(Peg.of, found["peg"]),
        *map(Hole.of, found["hole"]),
        *([Stairs.of(steps)] if steps else []),
        *([LyingHoles.of(lying)] if lying else []),
        *map(Bridge.of, found["bridge"]),
        *map(Pocket.of, pockets.values()),
        *map(PlateLabel.of, own),
        *([Comb.of(comb)] if comb else []),
        *map(Span.of, (*found["inside x"], *found["inside y"])),
    ]
