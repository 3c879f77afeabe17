"""Lines, circles and words on paper, in mm from its lower left corner, and how each looks.

Line types and widths follow ISO 128 in general terms (from memory): wide for what is seen, narrow
dashes for what is hidden, narrow chains for middles and cutting planes, narrow for all the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["LOOKS", "Box", "Circle", "Element", "Kind", "Line", "Look", "Words", "box_of", "moved"]

Kind = Literal["seen", "mark", "hidden", "middle", "cut", "hatch", "dimension", "frame", "jaw"]
Point2 = tuple[float, float]


class Look(NamedTuple):
    """Width of a line, and its dashes and gaps, mm of paper."""

    width: float
    dashes: tuple[float, ...] = ()


LOOKS: dict[Kind, Look] = {
    "seen": Look(0.5),
    "mark": Look(0.18),
    "hidden": Look(0.25, (2.0, 1.0)),
    "middle": Look(0.18, (6.0, 1.0, 1.0, 1.0)),
    "cut": Look(0.35, (6.0, 1.0, 1.0, 1.0)),
    "hatch": Look(0.18),
    "dimension": Look(0.18),
    "frame": Look(0.35),
    "jaw": Look(0.25),
}


@dataclass(frozen=True, slots=True)
class Line:
    """A line through two points or more; a filled one is an arrow's head."""

    points: tuple[Point2, ...]
    kind: Kind
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle."""

    middle: Point2
    radius: float
    kind: Kind


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words: where its foot begins, how high its capitals are, and how it is turned."""

    text: str
    at: Point2
    height: float
    turn_deg: float = 0.0

    @property
    def width(self) -> float:
        """How far it reaches, at most: letters of a bold sans are hardly wider than this."""
        return 0.78 * self.height * len(self.text)


Element = Line | Circle | Words


class Box(NamedTuple):
    """Low and high corner."""

    left: float
    low: float
    right: float
    high: float

    def meets(self, other: Box, room: float = 0.0) -> bool:
        """Tell whether two boxes overlap, or come nearer than there should be room between."""
        return (
            self.left < other.right + room
            and other.left < self.right + room
            and self.low < other.high + room
            and other.low < self.high + room
        )

    def crossed_by(self, a: Point2, b: Point2) -> bool:
        """Tell whether a straight line from a to b passes through the box."""
        low, high = 0.0, 1.0
        for start, step, near, far in (
            (a[0], b[0] - a[0], self.left, self.right),
            (a[1], b[1] - a[1], self.low, self.high),
        ):
            if abs(step) < 1e-12:
                if not near < start < far:
                    return False
                continue
            first, last = sorted(((near - start) / step, (far - start) / step))
            low, high = max(low, first), min(high, last)
        return low < high


def box_of(elements: Iterable[Element]) -> Box:
    """Give the box round all elements; a box of nothing at the origin if there are none."""
    xs: list[float] = []
    ys: list[float] = []
    for one in elements:
        if isinstance(one, Line):
            corners: tuple[Point2, ...] = one.points
        elif isinstance(one, Circle):
            (x, y), r = one.middle, one.radius
            corners = ((x - r, y - r), (x + r, y + r))
        else:
            corners = words_corners(one)
        xs += [x for x, _ in corners]
        ys += [y for _, y in corners]
    return Box(min(xs), min(ys), max(xs), max(ys)) if xs else Box(0.0, 0.0, 0.0, 0.0)


def words_corners(words: Words) -> tuple[Point2, ...]:
    """Corners of the box of words; words are level or turned by 90 degrees to the left."""
    (x, y), wide, high = words.at, words.width, 1.25 * words.height
    if words.turn_deg == 0.0:
        return (x, y - 0.25 * words.height), (x + wide, y + high - 0.25 * words.height)
    return (x - high + 0.25 * words.height, y), (x + 0.25 * words.height, y + wide)


def moved(one: Element, by: Point2) -> Element:
    """Shift an element."""
    dx, dy = by
    if isinstance(one, Line):
        return replace(one, points=tuple((x + dx, y + dy) for x, y in one.points))
    if isinstance(one, Circle):
        return replace(one, middle=(one.middle[0] + dx, one.middle[1] + dy))
    return replace(one, at=(one.at[0] + dx, one.at[1] + dy))
