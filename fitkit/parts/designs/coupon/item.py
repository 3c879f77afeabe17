"""What each item on the plate must answer: how much plate it takes, its solids, sizes and labels.

An item's place is its near left corner (x, y); it stands on a plate of thickness `thick`, whose
underside is z = 0. All are in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from fitkit.parts.contract import KeyDimension
from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.practice import LABEL_DEEP_MM, LABEL_WIDE_MM, RISE_MM
from fitkit.solids.bodies import extrude
from fitkit.solids.profiles import rectangle
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.parts.contract import Point
    from fitkit.solids.bodies import Shape
    from fitkit.solids.profiles import Profile

__all__ = ["Item", "blocks", "dimension"]


@dataclass(frozen=True, slots=True)
class Item:
    """Something to place on the plate.

    Attributes
    ----------
    w, d : float, mm
        Along x and y.
    pad_x, pad_y : float, mm
        Room for jaws on each side of it.
    features : tuple of CouponFeature
        What is read on it, one at least.
    """

    w: float
    d: float
    pad_x: float
    pad_y: float
    features: tuple[CouponFeature, ...]

    rank: ClassVar[int] = 3  # those of lower rank are placed first
    rise: ClassVar[float] = RISE_MM  # over the plate, unless it has several heights
    at_far_edge: ClassVar[bool] = False  # stands at the far edge of its free rectangle
    in_jaws_way: ClassVar[bool] = False  # so tall that no calipers reach over it
    lines_below: ClassVar[int] = 1  # of labels on the plate before it
    lines_above: ClassVar[int] = 0  # and behind it

    @property
    def feature(self) -> CouponFeature:
        """The only feature of most items, the first of others."""
        return self.features[0]

    @property
    def room(self) -> tuple[float, float]:
        """Width and depth with the jaws' room and the labels beside it, mm."""
        wide, deep = self.w + 2 * self.pad_x, self.d + 2 * self.pad_y
        lines = self.lines_below + self.lines_above
        if not lines:
            return wide, deep
        return max(wide, LABEL_WIDE_MM), deep + lines * LABEL_DEEP_MM

    def footprints(self, x: float, y: float) -> tuple[Rect, ...]:
        """Plate that it takes up, with the near left corner of its room at a place."""
        return (Rect(x, y, *self.room),)

    def places(self, free: Sequence[Rect], over: Sequence[Rect]) -> Iterable[Rect]:
        """Rectangles in which it can be placed.

        Parameters
        ----------
        free : sequence of Rect
            Plate that nothing takes up yet.
        over : sequence of Rect
            Plate that calipers can reach over.
        """
        return (rect for rect in free if rect.takes(*self.room))

    def top(self, thick: float) -> float:
        """Highest point over the bed, mm."""
        return thick + self.rise

    def stand(self, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
        """Solids that stand on the plate, and their volume in mm³; none by default."""
        return [], 0.0

    def openings(self, x: float, y: float) -> tuple[Profile, ...]:
        """Outlines of what goes through the plate; none by default."""
        return ()

    def dimensions(self, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
        """Where its features are measured; nowhere by default."""
        return ()

    def captions(self, x: float, y: float, thick: float) -> Iterable[Caption]:
        """Labels of its features; one below it by default."""
        room = max(self.w + 2 * self.pad_x, LABEL_WIDE_MM)
        yield Caption(self.feature.label, x + self.w / 2, self.below(y), room, thick)

    def below(self, y: float) -> float:
        """Middle of the line of labels before an item at y, mm."""
        return y - self.pad_y - LABEL_DEEP_MM / 2


def dimension(feature: CouponFeature, start: Point, end: Point) -> KeyDimension:
    """Span a feature between two points, mm."""
    return KeyDimension(
        name=feature.name,
        value_mm=feature.drawn_mm,
        body="coupon",
        start=start,
        end=end,
        kind=feature.kind,
    )


def blocks(made: Iterable[tuple[Rect, float]], thick: float) -> tuple[list[Shape], float]:
    """Stand blocks of the given rectangles and heights on the plate; solids, volume in mm³."""
    outlines = [(rectangle(r.w, r.d).moved(r.x + r.w / 2, r.y + r.d / 2), rise) for r, rise in made]
    shapes = [extrude(outline, rise, z=thick) for outline, rise in outlines]
    return shapes, sum(outline.area * rise for outline, rise in outlines)
