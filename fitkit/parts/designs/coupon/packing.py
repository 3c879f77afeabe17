"""Where each item goes on the plate: the lowest, leftmost free room, one item after another."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from fitkit.core.errors import PartError
from fitkit.parts.designs.coupon.practice import LABEL_DEEP_MM
from fitkit.solids.rectangles import take

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.coupon.item import Item
    from fitkit.parts.designs.coupon.plate import Plate
    from fitkit.solids.rectangles import Rect

__all__ = ["pack"]


class Packed(NamedTuple):
    """Items with their near left corners (mm), in the order of placing, and plate left free."""

    placed: list[tuple[Item, float, float]]
    free: list[Rect]


def pack(items: Sequence[Item], plate: Plate, *, where: str) -> Packed:
    """Place items, edges' foremost, then largest first.

    Largest by their longer side; if that leaves one without room, by their area.

    Parameters
    ----------
    items : sequence of Item
    plate : Plate
    where : str
        For the message.

    Raises
    ------
    PartError
        If an item has no room left: names its first feature.
    """

    def by_side(item: Item) -> tuple[float, ...]:
        return item.rank, -max(item.room), -min(item.room)

    def by_area(item: Item) -> tuple[float, ...]:
        return item.rank, -math.prod(item.room)

    try:
        return _packed(sorted(items, key=by_side), plate, where)
    except PartError:
        return _packed(sorted(items, key=by_area), plate, where)


def _packed(items: Sequence[Item], plate: Plate, where: str) -> Packed:
    """Place items in their order."""
    free = plate.free()
    over = free  # where calipers may reach over the plate
    placed: list[tuple[Item, float, float]] = []
    for item in items:
        w, d = item.room
        places = list(item.places(free, over))
        if not places:
            raise PartError(
                f"{item.feature.name!r} has no room left on {plate.wide:g} x {plate.deep:g} mm",
                where=where,
                code="part.coupon-full",
                remedy="Leave some features out, or make the plate (the longest bars) larger.",
            )
        if item.at_far_edge:
            best = min(places, key=lambda r: (-r.y - r.d, r.x))
            y = best.y + best.d - d
        else:
            best = min(places, key=lambda r: (r.y, r.x))
            y = best.y
        for taken in item.footprints(best.x, y):
            free = take(free, taken)
        if item.in_jaws_way:
            over = free
        x_inside = best.x + 0.5 * (w - item.w)
        y_inside = y + item.pad_y + item.lines_below * LABEL_DEEP_MM
        placed.append((item, x_inside, y_inside))
    return Packed(placed, free)
