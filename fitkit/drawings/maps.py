"""A map of numbered places on a part, seen from above, with its front marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.drawings.elements import Circle, Element, Line, Words, box_of, moved
from fitkit.drawings.svg import svg_of
from fitkit.drawings.views import frames

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.parts.contract import Body

__all__ = ["map_from_above"]

_TEXT_MM, _RING_MM, _MARGIN_MM = 3.0, 2.9, 1.0


def map_from_above(
    bodies: Iterable[Body],
    places: Sequence[tuple[str, tuple[float, float]]],
    *,
    wide_mm: float = 170.0,
    high_mm: float = 110.0,
) -> str:
    """Draw the bodies from above, each place with its number.

    Parameters
    ----------
    bodies : iterable of Body
    places : sequence of (number, (x, y) in mm of the part)
    wide_mm, high_mm : float, mm
        The most that the map may take; it is at most three times as large as the part.

    Returns
    -------
    str
        An SVG element.
    """
    from fitkit.solids.marks import seen_marks, without_marks
    from fitkit.solids.projected import projected

    _, look, _ = frames("third-angle")
    lines: list[Line] = []
    for body in bodies:
        plain, marks = without_marks(body.solid)
        seen = projected(plain, look.eye, look.right, hidden=False).seen
        lines += [Line(tuple(map(tuple, line.tolist())), "seen") for line in seen]
        letters = seen_marks(plain, marks, look.eye, look.right)
        lines += [Line(tuple(map(tuple, line.tolist())), "mark") for line in letters]
    view = box_of(lines)
    foot = 2 * _TEXT_MM + 2.0  # for the word below
    scale = min(
        (wide_mm - 2 * _MARGIN_MM) / max(view.right - view.left, 1e-6),
        (high_mm - 2 * _MARGIN_MM - foot) / max(view.high - view.low, 1e-6),
        3.0,
    )
    elements: list[Element] = [
        Line(tuple((scale * x, scale * y) for x, y in line.points), line.kind) for line in lines
    ]
    for number, (x, y) in places:
        middle = (scale * x, scale * y)
        words = Words(number, (0.0, 0.0), _TEXT_MM)
        start = (middle[0] - words.width / 2 + 0.1 * _TEXT_MM, middle[1] - _TEXT_MM / 2)
        elements.append(Circle(middle, max(_RING_MM, 0.62 * words.width), "dimension"))
        elements.append(Words(number, start, _TEXT_MM))
    front = Words("FRONT", (0.0, 0.0), _TEXT_MM)
    left = scale * (view.left + view.right) / 2 - front.width / 2
    elements.append(Words("FRONT", (left, scale * view.low - foot), _TEXT_MM))
    box = box_of(elements)
    size = (box.right - box.left + 2 * _MARGIN_MM, box.high - box.low + 2 * _MARGIN_MM)
    by = (_MARGIN_MM - box.left, _MARGIN_MM - box.low)
    title = "Where each place is, seen from above with the front edge below"
    return svg_of([moved(one, by) for one in elements], size, title=title)
