"""Dimensions round a view, none on another: where each line and number goes.

Straight sizes go into rows outside the view, the shortest nearest; round ones are told at the end
of a leader. Each candidate place is tried in turn, and the first is taken where its words lie on no
other words and not within the view, and no line of a dimension passes through any words. Arrows,
gaps and rows follow ISO 129-1 in general terms (from memory).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from fitkit.drawings.elements import Box, Element, Line, Point2, Words, words_corners

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.drawings.views import Shown

__all__ = ["TEXT_MM", "Placed", "free_of", "place"]

TEXT_MM = 2.5
_FIRST_MM, _ROW_MM, _ROWS = 7.0, 5.5, 14
_ARROW_MM, _GAP_MM, _OVER_MM = 2.0, 0.8, 1.2
_ROOM_MM = 0.4  # between words
_LEADERS_DEG = tuple(sign * angle for angle in (60, 120, 45, 135, 30, 150) for sign in (1, -1))


class Placed(NamedTuple):
    """A dimension with its lines and words, mm of paper from the view's origin."""

    shown: Shown
    elements: tuple[Element, ...]

    @property
    def words(self) -> Words:
        """Its number."""
        return next(one for one in self.elements if isinstance(one, Words))


def place(
    wanted: Sequence[Shown], view: Box, scale: float
) -> tuple[tuple[Placed, ...], tuple[Shown, ...]]:
    """Place the dimensions of a view.

    Parameters
    ----------
    wanted : sequence of Shown
    view : Box, mm of paper
        Round the view's own lines, from its origin.
    scale : float
        Paper over full size.

    Returns
    -------
    placed : tuple of Placed
    left : tuple of Shown
        For which there was no room.
    """
    placed: list[Placed] = []
    left: list[Shown] = []
    boxes: list[Box] = []
    strokes: list[tuple[Point2, Point2]] = []
    rails: list[tuple[Point2, Point2]] = []
    order = sorted(wanted, key=lambda one: (bool(one.circles), round(one.value_mm, 6), one.name))
    for one in order:
        ways = _callouts(one, view, scale) if one.circles else _rows(one, view, scale)
        for elements in ways:
            new_boxes = [_box(part) for part in elements if isinstance(part, Words)]
            new_strokes = [s for part in elements if isinstance(part, Line) for s in _strokes(part)]
            free = not any(
                mine.meets(other, _ROOM_MM) for mine in new_boxes for other in boxes
            ) and not any(mine.crossed_by(*stroke) for mine in new_boxes for stroke in strokes)
            free = free and not any(mine.meets(view) for mine in new_boxes)
            rail = None if one.circles else _rail(elements)
            free = free and not (rail and any(_on_one_line(rail, other) for other in rails))
            if free and not any(box.crossed_by(*mine) for box in boxes for mine in new_strokes):
                placed.append(Placed(one, tuple(elements)))
                rails += [rail] if rail else []
                boxes += new_boxes
                strokes += new_strokes
                break
        else:
            left.append(one)
    return tuple(placed), tuple(left)


def free_of(words: Words, placed: Sequence[Placed]) -> bool:
    """Tell whether words lie clear of the words and lines of dimensions that are placed."""
    mine = _box(words)
    for one in placed:
        for part in one.elements:
            if isinstance(part, Words) and mine.meets(_box(part), _ROOM_MM):
                return False
            if isinstance(part, Line) and any(mine.crossed_by(*s) for s in _strokes(part)):
                return False
    return True


def _box(words: Words) -> Box:
    (left, low), (right, high) = words_corners(words)
    return Box(left, low, right, high)


def _rail(elements: Sequence[Element]) -> tuple[Point2, Point2]:
    """Give the line between the arrows: it comes after the two that lead to it."""
    line = elements[2]
    assert isinstance(line, Line)
    return line.points[0], line.points[-1]


def _on_one_line(a: tuple[Point2, Point2], b: tuple[Point2, Point2]) -> bool:
    """Tell whether two lying or two standing lines run along each other, not only end to end."""
    for along, across in ((0, 1), (1, 0)):
        if abs(a[0][across] - b[0][across]) < 1.0 and abs(a[1][across] - b[1][across]) < 1.0:
            (a0, a1), (b0, b1) = (sorted((p[along], q[along])) for p, q in (a, b))
            if min(a1, b1) - max(a0, b0) > 0.05:
                return True
    return False


def _strokes(line: Line) -> Iterator[tuple[Point2, Point2]]:
    if not line.filled:
        yield from zip(line.points, line.points[1:], strict=False)


def _rows(one: Shown, view: Box, scale: float) -> Iterator[list[Element]]:
    """Lines and words of a straight size, row by row outwards, on the nearer side first."""
    (ax, ay), (bx, by) = ((scale * x, scale * y) for x, y in (one.start, one.end))
    upright = abs(bx - ax) < abs(by - ay)
    slanted = min(abs(bx - ax), abs(by - ay)) > 1e-6 * scale * one.value_mm + 1e-9
    if slanted:
        yield from _aslant(one, (ax, ay), (bx, by))
        return
    if upright:
        # As if it lay: swap the axes, place it, and swap back.
        flat = Box(view.low, view.left, view.high, view.right)
        for elements in _lying(one.text, (ay, ax), (by, bx), flat):
            yield [_swapped(part) for part in elements]
    else:
        yield from _lying(one.text, (ax, ay), (bx, by), view)


def _lying(text: str, a: Point2, b: Point2, view: Box) -> Iterator[list[Element]]:
    (ax, ay), (bx, by) = sorted((a, b))
    words = Words(text, (0.0, 0.0), TEXT_MM)
    span, wide = bx - ax, words.width
    inside = wide + 1.0 <= span
    roomy = span >= 2.5 * _ARROW_MM
    middle = (ay + by) / 2
    nearest = (-1, 1) if middle - view.low <= view.high - middle else (1, -1)
    for row in range(_ROWS):
        for beyond, share in _spots(span, wide, inside=inside):
            for side in nearest:
                edge = view.low if side < 0 else view.high
                y = edge + side * (_FIRST_MM + row * _ROW_MM)
                line: list[Element] = []
                for x, from_y in ((ax, ay), (bx, by)):
                    line.append(
                        Line(((x, from_y + side * _GAP_MM), (x, y + side * _OVER_MM)), "dimension")
                    )
                low, high = ax, bx
                if not roomy:
                    low, high = ax - 2 * _ARROW_MM, bx + 2 * _ARROW_MM
                if beyond:
                    low, high = min(low, ax), max(high, bx)
                    if beyond > 0:
                        at = high + 1.0
                        high = at + wide
                    else:
                        at = low - 1.0 - wide
                        low = at
                else:
                    at = ax + share * span - wide / 2
                line.append(Line(((low, y), (high, y)), "dimension"))
                inwards = 1 if roomy else -1
                line += [_arrow((ax, y), (-inwards, 0)), _arrow((bx, y), (inwards, 0))]
                line.append(Words(text, (at, y + 0.35 * TEXT_MM), TEXT_MM))
                yield line


def _spots(span: float, wide: float, *, inside: bool) -> Iterator[tuple[int, float]]:
    """Where the number may stand: beyond an end, or at a share of the line, its middle first."""
    if not inside:
        yield from ((1, 0.5), (-1, 0.5))
        return
    yield 0, 0.5
    # Beside the middle, where lines of longer sizes cross it there.
    yield from ((0, share) for share in (0.3, 0.7, 0.2, 0.8) if share * span > wide / 2 + 1.0)


def _swapped(one: Element) -> Element:
    """Turn what was placed as lying into what stands, words read from the right."""
    if isinstance(one, Line):
        return Line(tuple((y, x) for x, y in one.points), one.kind, one.filled)
    assert isinstance(one, Words)
    x, y = one.at
    # Above a lying line is left of a standing one: the foot goes to the other side.
    return Words(one.text, (y - 0.7 * TEXT_MM, x), one.height, 90.0)


def _aslant(one: Shown, a: Point2, b: Point2) -> Iterator[list[Element]]:
    """Lines beside a slanted size, its words level at the end of a shelf."""
    length = math.dist(a, b)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    across = (-along[1], along[0])
    wide = Words(one.text, (0.0, 0.0), TEXT_MM).width
    for row in range(2 * _ROWS):
        for side in (1, -1):
            off = side * (_FIRST_MM + row * _ROW_MM)
            c, d = ((p[0] + off * across[0], p[1] + off * across[1]) for p in (a, b))
            elements: list[Element] = [
                Line((p, q), "dimension") for p, q in ((a, c), (b, d), (c, d))
            ]
            elements += [_arrow(c, (-along[0], -along[1])), _arrow(d, along)]
            right = max(c, d)
            for lift in (0.0, 3.0, -3.0):
                elbow = (right[0] + 2.0, right[1] + lift)
                shelf = Line((right, elbow, (elbow[0] + wide, elbow[1])), "dimension")
                yield [*elements, shelf, Words(one.text, (elbow[0], elbow[1] + 0.9), TEXT_MM)]


def _callouts(one: Shown, view: Box, scale: float) -> Iterator[list[Element]]:
    """A leader from a circle to outside the view, and a shelf with the number."""
    radius = scale * one.value_mm / 2
    wide = Words(one.text, (0.0, 0.0), TEXT_MM).width
    ways = []
    for x, y in ((scale * x, scale * y) for x, y in one.circles):
        for angle in _LEADERS_DEG:
            dx, dy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            foot = (x + radius * dx, y + radius * dy)
            way_x = ((view.right if dx > 0 else view.left) - foot[0]) / dx
            way_y = ((view.high if dy > 0 else view.low) - foot[1]) / dy
            ways.append((max(min(way_x, way_y), 0.0), foot, (dx, dy)))
    ways.sort(key=lambda way: round(way[0], 6))
    for far in range(_ROWS):
        for out, foot, (dx, dy) in ways:
            way = out + 5.0 + far * _ROW_MM
            elbow = (foot[0] + way * dx, foot[1] + way * dy)
            end = elbow[0] + math.copysign(wide, dx)
            at = min(elbow[0], end)
            yield [
                Line((foot, elbow, (end, elbow[1])), "dimension"),
                _arrow(foot, (-dx, -dy)),
                Words(one.text, (at, elbow[1] + 0.9), TEXT_MM),
            ]


def _arrow(tip: Point2, way: Point2) -> Line:
    """A filled arrow's head whose tip points a way."""
    (x, y), (dx, dy) = tip, way
    back, half = (x - _ARROW_MM * dx, y - _ARROW_MM * dy), _ARROW_MM / 6
    left = (back[0] - half * dy, back[1] + half * dx)
    right = (back[0] + half * dy, back[1] - half * dx)
    return Line((tip, left, right, tip), "dimension", filled=True)
