"""One body on one page: three views, a section, its dimensions and a title block.

The scale is the first of ISO 5455's that fits on A4, then on A3 (from memory). The section goes
through the upright holes, or through the middle where there are none. Views are aligned as the
projection asks; the section stands in the corner that is left.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from fitkit.drawings.elements import (
    Box,
    Circle,
    Element,
    Line,
    Words,
    box_of,
    moved,
    words_corners,
)
from fitkit.drawings.placing import TEXT_MM, Placed, free_of, place
from fitkit.drawings.views import Frame, Shown, frames, shown_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from fitkit.drawings.elements import Kind
    from fitkit.drawings.views import Projection
    from fitkit.parts.contract import Body, KeyDimension, Part
    from fitkit.solids.bodies import Shape
    from fitkit.solids.projected import FloatArray, Round

__all__ = ["Drawing", "TitleBlock", "draw_body", "drawings_of"]

_PAPERS = {"A4": (297.0, 210.0), "A3": (420.0, 297.0)}
_MARGIN_MM, _BLOCK_MM, _BETWEEN_MM = 8.0, 24.0, 6.0
# Small things are drawn larger; the rest at full size where it fits.
_SCALES = (1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50)
_LARGER = ((8.0, 5.0), (25.0, 2.0))  # up to so many mm across, at this scale
_HATCH_MM = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What the title block says, beside body, scale and projection.

    Attributes
    ----------
    title, code : str
        Of the part.
    material, printer, date : str
        Empty where unknown.
    projection : {"first-angle", "third-angle"}
    """

    title: str
    code: str = ""
    material: str = ""
    printer: str = ""
    date: str = ""
    projection: Projection = "first-angle"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """A page.

    Attributes
    ----------
    body : str
    paper : str
    size_mm : (width, height), mm
    scale : float
        Paper over full size.
    elements : tuple of Element
        In mm from the lower left corner.
    placed : dict of view name to tuple of Placed
        Dimensions, in mm of paper from the origin of their view.
    left : tuple of Shown
        Dimensions for which there was no room.
    """

    body: str
    paper: str
    size_mm: tuple[float, float]
    scale: float
    elements: tuple[Element, ...]
    placed: dict[str, tuple[Placed, ...]]
    left: tuple[Shown, ...]


@dataclass(slots=True)
class _View:
    """Lines of a view at full size, and what is to be written at it."""

    name: str
    lines: list[tuple[FloatArray, Kind]]
    circles: list[tuple[tuple[float, float], float]]
    axes: list[tuple[tuple[float, float], tuple[float, float]]]
    wanted: list[Shown]
    cut_y: float | None = None
    hatched: tuple[FloatArray, ...] = ()
    caption: str = ""


def drawings_of(part: Part, block: TitleBlock) -> tuple[Drawing, ...]:
    """Draw each body of a part on a page of its own.

    Parameters
    ----------
    part : Part
    block : TitleBlock

    Returns
    -------
    tuple of Drawing
        In the order of the bodies; none of a body of triangles, which has no edges to draw.
    """
    return tuple(
        draw_body(body, [one for one in part.dimensions if one.body == body.name], block)
        for body in part.bodies
        if body.mesh is None
    )


def draw_body(body: Body, dimensions: Sequence[KeyDimension], block: TitleBlock) -> Drawing:
    """Draw a body with its dimensions.

    Parameters
    ----------
    body : Body
        Its solid, in assembly position.
    dimensions : sequence of KeyDimension
        Of this body.
    block : TitleBlock

    Returns
    -------
    Drawing
    """
    from fitkit.solids.marks import seen_marks, without_marks
    from fitkit.solids.projected import projected, rounds

    looks = frames(block.projection)
    plain, marks = without_marks(body.solid)
    circles = rounds(plain)
    low, high = _bounds(plain)
    pictures = {look.name: projected(plain, look.eye, look.right) for look in looks}
    wanted = shown_in(
        dimensions, looks, circles, {name: picture.seen for name, picture in pictures.items()}
    )
    _add_outside(wanted, looks, low, high)
    cut_y = _cut_at(circles, low, high)
    views = []
    for look in looks:
        seen = pictures[look.name]
        letters = seen_marks(plain, marks, look.eye, look.right)
        lines: list[tuple[FloatArray, Kind]] = [(line, "hidden") for line in seen.hidden]
        lines += [(line, "seen") for line in seen.seen]
        lines += [(line, "mark") for line in letters]
        faces, axes = _middles(look, circles)
        views.append(
            _View(
                name=look.name,
                lines=lines,
                circles=faces,
                axes=axes,
                wanted=wanted[look.name],
                cut_y=cut_y if look.name == "top" else None,
            )
        )
    views.append(_section(plain, cut_y, low, high))
    return _paged(body.name, views, block, float((high - low).max()))


def _bounds(solid: Shape) -> tuple[FloatArray, FloatArray]:
    from fitkit.solids.bodies import box_of as solid_box

    low, high = solid_box(solid)
    return np.asarray(low), np.asarray(high)


def _add_outside(
    wanted: dict[str, list[Shown]], looks: Sequence[Frame], low: FloatArray, high: FloatArray
) -> None:
    """Add length, width and height of the body, where no dimension says them already."""
    front, top, _ = looks
    said = [round(one.value_mm, 2) for shown in wanted.values() for one in shown]
    for axis, look, name in ((0, front, "length"), (1, top, "width"), (2, front, "height")):
        size = float(high[axis] - low[axis])
        if round(size, 2) in said:
            continue
        end = low.copy()
        end[axis] = high[axis]
        start = low.copy()
        shown = Shown(f"overall {name}", size, look.flat(start), look.flat(end))
        wanted[look.name].append(shown)


def _cut_at(circles: Sequence[Round], low: FloatArray, high: FloatArray) -> float:
    """Where to cut: through the most upright round edges, or through the middle."""
    middle = float(low[1] + high[1]) / 2
    upright = [round(one.middle[1], 3) for one in circles if abs(one.axis[2]) > 1 - 1e-9]
    if not upright:
        return middle
    count = Counter(upright)
    # Among equals the nearest to the middle, then the one in front.
    return min(count, key=lambda y: (-count[y], abs(y - middle), y))


def _middles(
    look: Frame, circles: Sequence[Round]
) -> tuple[
    list[tuple[tuple[float, float], float]], list[tuple[tuple[float, float], tuple[float, float]]]
]:
    """Middles of circles that face the eye with their largest radius, and axes seen from aside."""
    faces: dict[tuple[float, float], float] = {}
    lines: dict[tuple[float, ...], list[tuple[float, float]]] = {}
    for circle in circles:
        lean = abs(float(np.dot(circle.axis, look.eye)))
        x, y = look.flat(circle.middle)
        at = (round(x, 3) + 0.0, round(y, 3) + 0.0)
        if lean > 1 - 1e-9:
            faces[at] = max(circle.radius, faces.get(at, 0.0))
        elif lean < 1e-9:
            way = look.flat(circle.axis)
            upright = abs(way[0]) < abs(way[1])
            lines.setdefault((upright, at[0] if upright else at[1]), []).append(at)
    axes = [(min(spots), max(spots)) for spots in lines.values() if min(spots) != max(spots)]
    return sorted(faces.items()), sorted(axes)


def _section(solid: Shape, y: float, low: FloatArray, high: FloatArray) -> _View:
    from fitkit.core.errors import PartError
    from fitkit.solids.bodies import cut, extrude
    from fitkit.solids.profiles import rectangle
    from fitkit.solids.projected import projected, section_lines

    look = frames("first-angle")[0]
    size = high - low + 4.0
    middle_x = float(low[0] + high[0]) / 2
    outline = rectangle(2 * float(size[0]), 2 * float(size[1]), at=(middle_x, y - float(size[1])))
    tool = extrude(outline, float(size[2]) + 4.0, z=float(low[2]) - 4.0)
    lines: list[tuple[FloatArray, Kind]] = []
    faces: tuple[FloatArray, ...] = ()
    try:
        rest = cut(solid, tool)
        lines = [
            (line, "seen") for line in projected(rest, look.eye, look.right, hidden=False).seen
        ]
        faces = tuple(
            line[:, [0, 2]] for line in section_lines(solid, (0.0, y, 0.0), (0.0, 1.0, 0.0))
        )
    except PartError:  # nothing is left behind a plane along a face
        lines = []
    return _View("section", lines, [], [], [], None, faces, "A–A" if lines else "")


# --- on paper -----------------------------------------------------------------------------------


@dataclass(slots=True)
class _OnPaper:
    """A view at a scale, from its own origin: the lines' box, all elements, and what was placed."""

    view: Box
    elements: list[Element]
    placed: tuple[Placed, ...]
    left: tuple[Shown, ...]

    @property
    def box(self) -> Box:
        return box_of(self.elements) if self.elements else self.view


def _paged(name: str, views: Sequence[_View], block: TitleBlock, largest: float) -> Drawing:
    first = next((scale for most, scale in _LARGER if largest <= most), None)
    scales = ([first] if first else []) + list(_SCALES)
    for scale in scales:
        drawn = _all_drawn(views, scale)
        for paper, (width, height) in _PAPERS.items():
            at = _layout(drawn, block.projection, width, height)
            if at is not None or scale == scales[-1]:
                return _page(name, views, drawn, at, block, paper, scale)
    raise AssertionError("the last scale is always taken")


def _all_drawn(views: Sequence[_View], scale: float) -> list[_OnPaper]:
    """Draw all views; what has no room in one goes to another in whose plane it lies."""
    drawn = [_drawn(view, scale) for view in views]
    for nth, one in enumerate(drawn):
        for shown in one.left:
            for name, start, end in shown.elsewhere:
                other = next(n for n, view in enumerate(views) if view.name == name)
                there = views[other]
                said = [one.shown for one in drawn[other].placed]
                moved_there = shown._replace(start=start, end=end, elsewhere=())
                more = replace(there, wanted=[*said, moved_there])
                tried = _drawn(more, scale)
                if not tried.left:
                    left = tuple(item for item in drawn[nth].left if item is not shown)
                    drawn[nth] = replace(drawn[nth], left=left)
                    drawn[other] = replace(tried, left=drawn[other].left)
                    break
    return drawn


def _drawn(view: _View, scale: float) -> _OnPaper:
    elements: list[Element] = []
    for line, kind in view.lines:
        elements.append(Line(tuple(map(tuple, (scale * line).tolist())), kind))
    box = box_of(elements)
    for (x, y), radius in view.circles:
        reach = scale * radius + 1.5
        x, y = scale * x, scale * y
        elements.append(Line(((x - reach, y), (x + reach, y)), "middle"))
        elements.append(Line(((x, y - reach), (x, y + reach)), "middle"))
    for a, b in view.axes:
        elements.append(_longer(a, b, scale))
    elements += _hatching(view.hatched, scale)
    if view.caption:
        words = Words(view.caption, (0.0, 0.0), 3.5)
        middle = (box.left + box.right - words.width) / 2
        elements.append(Words(view.caption, (middle, box.high + 3.0), 3.5))
    placed, left_out = place(view.wanted, box, scale)
    elements += [part for one in placed for part in one.elements]
    if view.cut_y is not None:
        elements += _cutting_line(scale * view.cut_y, box, placed)
    return _OnPaper(box, elements, placed, left_out)


def _cutting_line(y: float, box: Box, placed: Sequence[Placed]) -> Iterator[Element]:
    """Line where the section cuts, with its letters as near as dimensions leave room."""
    ends = []
    for sign, edge in ((-1.0, box.left), (1.0, box.right)):
        for out in range(12):
            end = edge + sign * (4.0 + 5.0 * out)
            letter = Words("A", (end - 3.2 if sign < 0 else end + 0.8, y - 1.75), 3.5)
            if free_of(letter, placed):
                break
        yield letter
        ends.append((end, y))
    # It is left out where it would strike a number.
    from_x, to_x = ends[0][0], ends[1][0]
    for left, right in sorted(_struck(y, placed)):
        if left > from_x:
            yield Line(((from_x, y), (min(left, to_x), y)), "cut")
        from_x = max(from_x, right)
    if from_x < to_x:
        yield Line(((from_x, y), (to_x, y)), "cut")


def _struck(y: float, placed: Sequence[Placed]) -> Iterator[tuple[float, float]]:
    """Where the level line y passes through numbers: left and right end of each, with room."""
    for one in placed:
        (left, low), (right, high) = words_corners(one.words)
        if low - 0.4 < y < high + 0.4:
            yield left - 0.8, right + 0.8


def _longer(a: tuple[float, float], b: tuple[float, float], scale: float) -> Line:
    """Line from a to b, 2 mm of paper longer at each end."""
    length = math.dist(a, b)
    dx, dy = 2.0 * (b[0] - a[0]) / length, 2.0 * (b[1] - a[1]) / length
    return Line(
        ((scale * a[0] - dx, scale * a[1] - dy), (scale * b[0] + dx, scale * b[1] + dy)), "middle"
    )


def _hatching(outlines: Iterable[FloatArray], scale: float) -> Iterator[Line]:
    """Slanted lines within the outlines of a cut face, by the even-odd rule."""
    pieces = [np.stack([line[:-1], line[1:]], axis=1) for line in outlines if len(line) > 1]
    if not pieces:
        return
    root = math.sqrt(0.5)
    turn = np.array([[root, root], [-root, root]])  # by -45 degrees: hatching then lies
    turned = scale * np.concatenate(pieces) @ turn.T
    (x0, y0), (x1, y1) = turned[:, 0].T, turned[:, 1].T
    low, high = np.minimum(y0, y1), np.maximum(y0, y1)
    first = math.ceil(float(low.min()) / _HATCH_MM)
    for row in range(first, math.floor(float(high.max()) / _HATCH_MM) + 1):
        y = row * _HATCH_MM + 1e-5
        crossed = (low <= y) & (y < high)
        x = x0[crossed] + (y - y0[crossed]) * (x1 - x0)[crossed] / (y1 - y0)[crossed]
        x = np.sort(x)
        for start, end in zip(x[0::2], x[1::2], strict=False):
            if end - start > 0.2:
                ends = np.array([[start, y], [end, y]]) @ turn
                yield Line(tuple((float(u), float(v)) for u, v in ends), "hatch")


def _layout(
    drawn: Sequence[_OnPaper], projection: Projection, width: float, height: float
) -> list[tuple[float, float]] | None:
    """Where each view's origin goes on the paper; None where there is no room."""
    front, top, side, section = (one.box for one in drawn)
    column = (min(front.left, top.left), max(front.right, top.right))
    row = (min(front.low, side.low), max(front.high, side.high))
    other = max(top.high - top.low, section.high - section.low)
    second = max(side.right - side.left, section.right - section.left)
    wide = column[1] - column[0] + _BETWEEN_MM + second
    tall = row[1] - row[0] + _BETWEEN_MM + other
    room_x = width - 2 * _MARGIN_MM - 4.0
    room_y = height - 2 * _MARGIN_MM - _BLOCK_MM - 4.0
    fits = wide <= room_x and tall <= room_y
    x0 = _MARGIN_MM + 2.0 + max(room_x - wide, 0.0) / 2 - column[0]
    low = _MARGIN_MM + _BLOCK_MM + 2.0 + max(room_y - tall, 0.0) / 2
    x1 = x0 + column[1] + _BETWEEN_MM
    if projection == "first-angle":
        y_other, y_row = low, low + other + _BETWEEN_MM
    else:
        y_row, y_other = low, low + (row[1] - row[0]) + _BETWEEN_MM
    found = [
        (x0, y_row - row[0]),
        (x0, y_other - top.low + (other - (top.high - top.low)) / 2),
        (x1 - side.left, y_row - row[0]),
        (
            x1 - section.left + (second - (section.right - section.left)) / 2,
            y_other - section.low + (other - (section.high - section.low)) / 2,
        ),
    ]
    return found if fits else None


def _page(
    name: str,
    views: Sequence[_View],
    drawn: Sequence[_OnPaper],
    at: list[tuple[float, float]] | None,
    block: TitleBlock,
    paper: str,
    scale: float,
) -> Drawing:
    width, height = _PAPERS[paper]
    at = at or [(width / 2, height / 2)] * len(drawn)
    elements: list[Element] = [
        moved(element, origin)
        for one, origin in zip(drawn, at, strict=True)
        for element in one.elements
    ]
    left = tuple(shown for one in drawn for shown in one.left)
    elements += _frame(name, block, width, height, scale, left)
    return Drawing(
        body=name,
        paper=paper,
        size_mm=(width, height),
        scale=scale,
        elements=tuple(elements),
        placed={view.name: one.placed for view, one in zip(views, drawn, strict=True)},
        left=left,
    )


def _frame(
    name: str,
    block: TitleBlock,
    width: float,
    height: float,
    scale: float,
    left: Sequence[Shown],
) -> Iterator[Element]:
    """Frame, title block, symbol of the projection, and a bar to check the print's scale by."""
    m = _MARGIN_MM
    yield Line(((m, m), (width - m, m), (width - m, height - m), (m, height - m), (m, m)), "frame")
    top, start = m + _BLOCK_MM - 4.0, width - m - 176.0
    yield Line(((start, m), (start, top), (width - m, top)), "frame")
    middle = m + (top - m) / 2
    yield Line(((start, middle), (width - m, middle)), "frame")
    cells = (
        (("part", block.title, 62.0), ("body", name, 42.0), ("trace code", block.code, 40.0),
         ("scale", _scale_text(scale), 32.0)),
        (("material", block.material, 62.0), ("printer", block.printer, 42.0),
         ("date", block.date, 40.0), (block.projection, "", 32.0)),
    )  # fmt: skip
    for row, low in zip(cells, (middle, m), strict=True):
        x = start
        for label, value, wide in row:
            if x > start:
                yield Line(((x, low), (x, low + (top - m) / 2)), "frame")
            yield Words(label, (x + 1.0, low + (top - m) / 2 - 2.4), 1.6)
            most = max(int((wide - 2.0) / (0.78 * TEXT_MM)), 1)
            text = value if len(value) <= most else value[: most - 1] + "…"
            if text:
                yield Words(text, (x + 1.0, low + 1.8), TEXT_MM)
            x += wide
    yield from _symbol(block.projection, (width - m - 13.0, m + 4.6))
    yield Line(((m + 4.0, m + 3.0), (m + 54.0, m + 3.0)), "frame")
    for x in (m + 4.0, m + 54.0):
        yield Line(((x, m + 1.5), (x, m + 4.5)), "frame")
    yield Words("50 mm on paper: check the print", (m + 4.0, m + 5.5), 1.8)
    yield Words("sizes in mm, as drawn for this printer", (m + 4.0, m + 9.5), 1.8)
    if left:
        rest = "; ".join(f"{one.name} {one.text}" for one in left)
        most = int((start - m - 8.0) / (0.78 * 1.8))
        text = f"no room for: {rest}"
        yield Words(text if len(text) <= most else text[: most - 1] + "…", (m + 4.0, m + 13.5), 1.8)


def _scale_text(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def _symbol(projection: Projection, at: tuple[float, float]) -> Iterator[Element]:
    """A cone from the side and from its end, as each projection puts them."""
    x, y = at
    cone, rings = (x, x + 9.0) if projection == "first-angle" else (x + 5.0, x - 1.0)
    wide, narrow = 2.4, 1.2
    # The narrow end faces the rings in third angle, and away from them in first angle.
    near, far = (narrow, wide)
    yield Line(
        ((cone - 2.5, y - near), (cone - 2.5, y + near), (cone + 2.5, y + far),
         (cone + 2.5, y - far), (cone - 2.5, y - near)),
        "frame",
    )  # fmt: skip
    yield Circle((rings, y), wide, "frame")
    yield Circle((rings, y), narrow, "frame")
