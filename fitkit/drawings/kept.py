"""A drawing as plain data and back, to be kept beside a record; coordinates to 0.01 mm of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitkit.drawings.elements import LOOKS, Circle, Line, Words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fitkit.drawings.drawing import Drawing
    from fitkit.drawings.elements import Element, Kind

__all__ = ["drawing_data", "elements_of"]

_KINDS: tuple[Kind, ...] = tuple(LOOKS)


def drawing_data(drawing: Drawing) -> dict[str, Any]:
    """Give a drawing as data that JSON takes.

    Lines are ``[kind, filled, x, y, x, y, ...]``, circles ``[kind, x, y, radius]``, words ``[text,
    x, y, height, turn]``; all in mm from the lower left corner of the paper.
    """
    lines, circles, words = [], [], []
    for one in drawing.elements:
        if isinstance(one, Line):
            points = [round(v, 2) for point in one.points for v in point]
            lines.append([one.kind, int(one.filled), *points])
        elif isinstance(one, Circle):
            x, y = one.middle
            circles.append([one.kind, round(x, 2), round(y, 2), round(one.radius, 2)])
        else:
            x, y = one.at
            words.append([one.text, round(x, 2), round(y, 2), one.height, one.turn_deg])
    return {
        "body": drawing.body,
        "size_mm": list(drawing.size_mm),
        "lines": lines,
        "circles": circles,
        "words": words,
    }


def elements_of(data: Mapping[str, Any]) -> Iterable[Element]:
    """Give the elements of a drawing back from its data.

    Raises
    ------
    ValueError, TypeError, KeyError
        If it is not such data.
    """
    for kind, filled, *flat in data["lines"]:
        points = tuple(zip(map(float, flat[0::2]), map(float, flat[1::2]), strict=True))
        yield Line(points, _kind(kind), bool(filled))
    for kind, x, y, radius in data["circles"]:
        yield Circle((float(x), float(y)), float(radius), _kind(kind))
    for text, x, y, height, turn in data["words"]:
        yield Words(str(text), (float(x), float(y)), float(height), float(turn))


def _kind(name: Any) -> Kind:
    if name not in _KINDS:
        raise ValueError(f"{name!r} is not a kind of line")
    return _KINDS[_KINDS.index(name)]
