"""Where the jaws of calipers go for a size: a small picture, in the view that shows the size best.

Outside jaws close on the two ends, inside jaws open against them. A distance of centres is read
with the inside jaws over the far edges of its two holes, and a height with the outside jaws.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.sizes import CENTRES
from fitkit.drawings.elements import Box, Element, Line, Point2, Words, box_of, moved
from fitkit.drawings.svg import svg_of
from fitkit.drawings.views import frames

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.drawings.views import Frame
    from fitkit.parts.contract import Body, KeyDimension
    from fitkit.solids.bodies import Shape
    from fitkit.solids.projected import Round

__all__ = ["JawPictures"]

WIDE_MM, HIGH_MM = 58.0, 33.0
_MARGIN_MM, _CAPTION_MM = 1.0, 2.2
_REACH_MM, _TIP_MM, _THICK_MM, _BEAM_MM = 5.0, 1.6, 2.2, 1.8
_SAME_MM = 1e-3
_NAMES = {"front": "from the front", "top": "from above", "right": "from the right"}


class JawPictures:
    """Pictures of one body, whose lines are worked out once for each view.

    Parameters
    ----------
    body : Body
    """

    def __init__(self, body: Body) -> None:
        self.body = body
        self._lines: dict[str, list[Line]] = {}

    @cached_property
    def _plain(self) -> Shape:
        from fitkit.solids.marks import without_marks

        return without_marks(self.body.solid)[0]

    @cached_property
    def _rounds(self) -> tuple[Round, ...]:
        from fitkit.solids.projected import rounds

        return rounds(self._plain)

    def _seen(self, look: Frame) -> list[Line]:
        from fitkit.solids.projected import projected

        if look.name not in self._lines:
            seen = projected(self._plain, look.eye, look.right, hidden=False).seen
            # As thin as letters: the picture is small.
            self._lines[look.name] = [
                Line(tuple(map(tuple, line.tolist())), "mark") for line in seen
            ]
        return self._lines[look.name]

    def svg(self, one: KeyDimension) -> str:
        """Draw where the jaws go for a size.

        Parameters
        ----------
        one : KeyDimension
            Of this body.

        Returns
        -------
        str
            An SVG element of 58 mm x 33 mm.
        """
        look = self._best(one)
        start, end = look.flat(one.start), look.flat(one.end)
        inside = one.kind is CENTRES or one.kind.jaws == "inside"
        if one.kind is CENTRES:
            start, end = self._far_edges(look, start, end)
        lines = self._seen(look)
        view = box_of(lines)
        # The jaws take the same room at any scale: first find the scale, then draw them.
        room = _REACH_MM + _BEAM_MM
        across = max(view.right - view.left, 1e-6), max(view.high - view.low, 1e-6)
        scale = min(
            (WIDE_MM - 2 * _MARGIN_MM - room) / across[0],
            (HIGH_MM - 2 * _MARGIN_MM - _CAPTION_MM - 1.0 - room) / across[1],
        )
        a, b = ((scale * x, scale * y) for x, y in (start, end))
        elements: list[Element] = [
            Line(tuple((scale * x, scale * y) for x, y in line.points), line.kind) for line in lines
        ]
        elements += _jaws(a, b, box_of(elements), inside=inside)
        box = box_of(elements)
        by = (
            (WIDE_MM - box.left - box.right) / 2,
            (HIGH_MM - _CAPTION_MM - 1.0 - box.low - box.high) / 2 + _CAPTION_MM + 1.0,
        )
        words = f"{self.body.name}, {_NAMES.get(look.name, look.name)}"
        placed = [moved(element, by) for element in elements]
        placed.append(Words(words, (_MARGIN_MM, _MARGIN_MM), _CAPTION_MM))
        title = f"{one.name}: {'inside' if inside else 'outside'} jaws, {words}"
        return svg_of(placed, (WIDE_MM, HIGH_MM), title=title)

    def _best(self, one: KeyDimension) -> Frame:
        """View in whose plane the size lies; one that shows a round size as a circle, if any."""
        way = np.subtract(one.end, one.start)
        middle = np.add(one.start, one.end) / 2
        looks = frames("third-angle")
        flat = [v for v in looks if abs(float(way @ np.asarray(v.eye))) < 1e-6 * one.value_mm]
        if one.kind.round:
            for look in flat:
                for ring in self._rounds:
                    facing = abs(float(np.dot(ring.axis, look.eye))) > 1 - 1e-9
                    off = math.dist(look.flat(ring.middle), look.flat(middle))
                    if facing and off < _SAME_MM:
                        return look
        # What is measured along x or y is best seen from above; a height from the front.
        order = ("front", "right", "top") if abs(way[2]) > 1e-6 else ("top", "front", "right")
        return min(flat or looks, key=lambda v: order.index(v.name))

    def _far_edges(self, look: Frame, start: Point2, end: Point2) -> tuple[Point2, Point2]:
        """Give the far edges of the holes that a distance of centres lies between."""
        length = max(math.dist(start, end), 1e-9)
        way = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        found = []
        for spot, sign in ((start, -1.0), (end, 1.0)):
            radius = max(
                (
                    ring.radius
                    for ring in self._rounds
                    if abs(float(np.dot(ring.axis, look.eye))) > 1 - 1e-9
                    and math.dist(look.flat(ring.middle), spot) < _SAME_MM
                ),
                default=0.0,
            )
            found.append((spot[0] + sign * radius * way[0], spot[1] + sign * radius * way[1]))
        return found[0], found[1]


def _jaws(a: Point2, b: Point2, view: Box, *, inside: bool) -> Iterator[Element]:
    """Two jaws on one beam, and arrows at the two faces that they touch."""
    length = max(math.dist(a, b), 1e-9)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    across = (-along[1], along[0])
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    # The beam lies on the side from which there is less of the part to cross.
    if _way_out(middle, across, view) > _way_out(middle, (-across[0], -across[1]), view):
        across = (-across[0], -across[1])
    reach = min(max(_way_out(middle, across, view) + 2.0, _REACH_MM), 3 * _REACH_MM)

    def at(origin: Point2, u: float, v: float) -> Point2:
        x, y = origin
        return (x + u * along[0] + v * across[0], y + u * along[1] + v * across[1])

    for origin, outwards in ((a, -1.0), (b, 1.0)):
        back = -outwards if inside else outwards
        tip = min(_TIP_MM, 0.35 * length) if inside else _TIP_MM
        yield Line(
            (
                at(origin, 0.0, -1.5),
                at(origin, 0.0, reach),
                at(origin, back * min(_THICK_MM, 0.45 * length if inside else 9.0), reach),
                at(origin, back * tip * 0.5, -1.5),
                at(origin, 0.0, -1.5),
            ),
            "jaw",
            filled=True,
        )
    more = 0.0 if inside else _THICK_MM
    yield Line(
        (
            at(a, -more, reach),
            at(b, more, reach),
            at(b, more, reach + _BEAM_MM),
            at(a, -more, reach + _BEAM_MM),
            at(a, -more, reach),
        ),
        "jaw",
        filled=True,
    )


def _way_out(spot: Point2, way: Point2, view: Box) -> float:
    """How far it is from a spot to the edge of the view, along a way."""
    far = []
    for at, step, low, high in (
        (spot[0], way[0], view.left, view.right),
        (spot[1], way[1], view.low, view.high),
    ):
        if abs(step) > 1e-9:
            far.append(max(((high if step > 0 else low) - at) / step, 0.0))
    return min(far, default=0.0)
