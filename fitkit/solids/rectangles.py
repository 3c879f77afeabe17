"""Rectangles on a plate, and what is left of the free ones when one is taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Rect", "take"]

_LEAST_MM = 2.0  # nothing fits into what is narrower
_TOLERANCE_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Rect:
    """Near left corner, width along x and depth along y, mm."""

    x: float
    y: float
    w: float
    d: float

    def meets(self, other: Rect) -> bool:
        """Whether two rectangles share area."""
        return (
            self.x < other.x + other.w - _TOLERANCE_MM
            and other.x < self.x + self.w - _TOLERANCE_MM
            and self.y < other.y + other.d - _TOLERANCE_MM
            and other.y < self.y + self.d - _TOLERANCE_MM
        )

    def within(self, other: Rect) -> bool:
        """Whether it lies in another one, edges touching or not."""
        return (
            self.x >= other.x - _TOLERANCE_MM
            and self.y >= other.y - _TOLERANCE_MM
            and self.x + self.w <= other.x + other.w + _TOLERANCE_MM
            and self.y + self.d <= other.y + other.d + _TOLERANCE_MM
        )

    def takes(self, w: float, d: float) -> bool:
        """Whether there is room in it for a width and depth, mm."""
        return self.w >= w - _TOLERANCE_MM and self.d >= d - _TOLERANCE_MM

    def without(self, other: Rect) -> Iterable[Rect]:
        """Largest rectangles of this one that the other leaves free; they may overlap."""
        if not self.meets(other):
            yield self
            return
        right, far = self.x + self.w, self.y + self.d
        if other.x > self.x:
            yield Rect(self.x, self.y, other.x - self.x, self.d)
        if other.x + other.w < right:
            yield Rect(other.x + other.w, self.y, right - other.x - other.w, self.d)
        if other.y > self.y:
            yield Rect(self.x, self.y, self.w, other.y - self.y)
        if other.y + other.d < far:
            yield Rect(self.x, other.y + other.d, self.w, far - other.y - other.d)


def take(free: Iterable[Rect], taken: Rect) -> list[Rect]:
    """Free rectangles after one is taken, those inside others dropped."""
    parts = [p for r in free for p in r.without(taken) if p.w > _LEAST_MM and p.d > _LEAST_MM]
    return [
        a
        for i, a in enumerate(parts)
        # Of equal ones the first is kept.
        if not any(
            a.within(b) and (i > j or not b.within(a)) for j, b in enumerate(parts) if i != j
        )
    ]
