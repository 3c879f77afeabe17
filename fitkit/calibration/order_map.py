"""A map of a coupon for its order sheet: each feature where it lies, numbered as it is read.

Seen from above, front edge below, its cut corner to the left. A line ends where the jaws go; what
is round is drawn round. A number stands at the middle of its line, or beside the plate where the
line is the plate's own side, and moves aside where another number stands.
"""

from __future__ import annotations

import html
import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fitkit.calibration.coupon import CouponFeature

    Point = Sequence[float]

__all__ = ["order_map"]

# In mm of the coupon: half the size of a number's dot, room round the plate, and the cut corner.
_DOT, _MARGIN, _CUT = 2.3, 12.0, 3.0


def order_map(features: Sequence[CouponFeature], places: Mapping[str, tuple[Point, Point]]) -> str:
    """Draw the map.

    Parameters
    ----------
    features : sequence of CouponFeature
        In the order of reading; one that comes twice has two numbers.
    places : mapping of feature name to (start, end), mm
        Where each is read, x to the right and y to the back; those not named are left out.

    Returns
    -------
    str
        An SVG element with a title; empty if no place is known.
    """
    numbers: dict[str, list[int]] = {}
    for number, feature in enumerate(features, start=1):
        if feature.name in places:
            numbers.setdefault(feature.name, []).append(number)
    if not numbers:
        return ""
    known = {feature.name: feature for feature in features if feature.name in numbers}
    ends = [point for name in known for point in places[name]]
    wide, deep = (max(point[i] for point in ends) for i in (0, 1))
    high = deep + 2 * _MARGIN
    # With diagonals to read all corners are cut, and their labels tell the far edge.
    cut = 0.0 if any(one.diagonal for one in features) else _CUT
    dots = _Dots()
    # Lines first, so that numbers lie over them; short ones first, so that they keep their middles.
    drawn = [_shape(known[name], *places[name], deep) for name in known]
    for name in sorted(known, key=lambda n: math.dist(places[n][0][:2], places[n][1][:2])):
        start, end = places[name]
        x, y = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])
        if abs(end[0] - start[0]) >= wide - 1e-6:  # the plate's own sides
            x = wide + 2 * _DOT
        elif abs(end[1] - start[1]) >= deep - 1e-6:
            y = deep + 2 * _DOT
        text = ", ".join(map(str, numbers[name]))
        drawn.append(dots.put(text, name, x, deep - y))
    width = wide + 2 * _MARGIN
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="100%" style="max-width:17cm" '
        f'viewBox="{-_MARGIN:g} {-_MARGIN:g} {width:g} {high + 2:g}">'
        "<title>Where each feature is, seen from above with the front edge below, numbered as it "
        "is read</title>"
        f'<path d="M0 0H{wide:g}V{deep:g}H{cut:g}L0 {deep - cut:g}Z" fill="none" '
        f'stroke="currentColor" stroke-width=".5"/>{"".join(drawn)}'
        f'<text x="{wide / 2:g}" y="{deep + 8:g}" font-size="4" text-anchor="middle" '
        'fill="currentColor">FRONT</text></svg>'
    )


def _shape(feature: CouponFeature, start: Point, end: Point, deep: float) -> str:
    (x1, y1), (x2, y2) = ((p[0], deep - p[1]) for p in (start, end))
    if feature.kind.round and not feature.kind.lying:
        x, y, r = 0.5 * (x1 + x2), 0.5 * (y1 + y2), 0.5 * feature.drawn_mm
        return (
            f'<circle cx="{x:.4g}" cy="{y:.4g}" r="{r:.4g}" fill="none" stroke="currentColor" '
            'stroke-width=".3"/>'
        )
    dash = "" if feature.mode == "outside" else ' stroke-dasharray="1.2 .8"'
    return (
        f'<line x1="{x1:.4g}" y1="{y1:.4g}" x2="{x2:.4g}" y2="{y2:.4g}" stroke="currentColor" '
        f'stroke-width=".35"{dash}/>'
    )


class _Dots:
    """Numbers that keep clear of each other."""

    def __init__(self) -> None:
        self.boxes: list[tuple[float, float, float]] = []

    def put(self, text: str, name: str, x: float, y: float) -> str:
        """Write a number as near to its place as there is room."""
        half = max(_DOT, 1.15 * len(text))
        x, y = next((x + dx, y + dy) for dx, dy in _around() if self._free(x + dx, y + dy, half))
        self.boxes.append((x, y, half))
        return (
            f'<g><title>{html.escape(name)}</title><rect x="{x - half:.4g}" y="{y - _DOT:.4g}" '
            f'width="{2 * half:.4g}" height="{2 * _DOT:.4g}" rx="{_DOT:g}" fill="white" '
            f'stroke="currentColor" stroke-width=".25"/><text x="{x:.4g}" y="{y + 1.15:.4g}" '
            f'font-size="3.2" text-anchor="middle" fill="black">{html.escape(text)}</text></g>'
        )

    def _free(self, x: float, y: float, half: float) -> bool:
        return all(
            abs(x - a) >= half + other or abs(y - b) >= 2 * _DOT for a, b, other in self.boxes
        )


def _around() -> Iterable[tuple[float, float]]:
    """Offsets from a place, the nearest first."""
    yield 0.0, 0.0
    for ring in range(1, 200):
        for turn in range(8):
            angle = turn * math.pi / 4
            yield 1.2 * ring * math.cos(angle), 1.2 * ring * math.sin(angle)
