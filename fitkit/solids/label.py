"""Text sunk into a face, in a font that travels with fitkit, so that a label never fails.

The font is DejaVu Sans Bold, read by path: no machine's list of installed fonts decides how a part
looks. Outlines are flattened to straight sides, so that a label adds flat faces only and its
boolean stays quick. Cap height and width are checked against the room on the face: a label shrinks
to fit, and steps aside with a finding rather than run over an edge or print too small to read.
Lines of a text are set one under another or side by side, whichever is larger; where there is no
room for all, the last ones are left off and told.

Right-to-left and joining scripts are not shaped: letters are set one after another.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO
from typing import TYPE_CHECKING, Any

from fontTools.pens.basePen import BasePen  # type: ignore[import-untyped] # ships no types

from fitkit.core.finding import Finding
from fitkit.solids.bodies import Shape, turned
from fitkit.solids.profiles import Loop, Profile, above_zero
from fitkit.solids.sunk import sink
from fitkit.solids.united import crossing, united

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "FONT",
    "LEAST_CAPS_MM",
    "fitted_text",
    "fitting_caps",
    "label_caps",
    "letters_along",
    "mirror_image",
    "sink_text",
    "text_profiles",
    "text_width",
]

FONT = "DejaVuSans-Bold.ttf"
LEAST_CAPS_MM = 2.4  # stems then print as one 0.5 mm line; common practice, no source
# Added between letters, in cap heights: some reach past their own width and would cross the next
# (as YY and KA do), and a wall of plastic must stand between two pockets.
_SPACING = 0.12
_LINE = 1.6  # from one line's foot to the next one's, in cap heights: letters with tails stay apart
# How far a straight side may leave its curve, in cap heights: 0.03 mm at 5 mm caps, well under a
# printed line. The kernel's analysis of a face grows with the square of the sides on it.
_OFF_CURVE = 0.006


# Put before a text whose letters are to be drawn as seen in a mirror: a sign of the private use
# area, which no text has.
_IN_MIRROR = "\ue000"


class _Tracer(BasePen):  # type: ignore[misc] # its base ships no types
    """Collects a glyph's contours as points, its quadratic curves as straight sides."""

    def __init__(self, glyphs: Any, off_curve: float) -> None:
        super().__init__(glyphs)
        self.off_curve = off_curve
        self.contours: list[list[tuple[float, float]]] = []

    def _moveTo(self, pt: tuple[float, float]) -> None:
        self.contours.append([pt])

    def _lineTo(self, pt: tuple[float, float]) -> None:
        self.contours[-1].append(pt)

    def _qCurveToOne(self, pt1: tuple[float, float], pt2: tuple[float, float]) -> None:
        (x0, y0), (x1, y1), (x2, y2) = self._getCurrentPoint(), pt1, pt2
        # A chord leaves a curve by its step squared over 8 times the second derivative.
        bend = 2.0 * math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2)
        steps = max(1, math.ceil(math.sqrt(bend / (8.0 * self.off_curve))))
        for i in range(1, steps + 1):
            t = i / steps
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            self.contours[-1].append((a * x0 + b * x1 + c * x2, a * y0 + b * y1 + c * y2))


@cache
def _font() -> tuple[Any, dict[int, str], float]:
    """Glyphs, names by code point, and cap height in font units."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped] # ships no types

    # Lazy: of 3,539 letters, those that a label uses are taken apart when they are drawn.
    font = TTFont(BytesIO((files("fitkit.data") / "fonts" / FONT).read_bytes()), lazy=True)
    glyphs = font.getGlyphSet()
    tracer = _Tracer(glyphs, off_curve=1.0)
    glyphs["H"].draw(tracer)
    return glyphs, font.getBestCmap(), max(y for _, y in tracer.contours[0])


@lru_cache(maxsize=512)
def _glyph(character: str) -> tuple[tuple[Profile, ...], float, bool]:
    """Outlines and advance at a cap height of 1 mm, and whether the letter itself can be cut.

    A box stands for a letter that the font lacks, or whose outlines no solid can have.
    """
    _, names, _ = _font()
    drawn = _drawn(names[ord(character)]) if ord(character) in names else None
    if drawn is not None:
        return *drawn, True
    box = _drawn(".notdef")
    assert box is not None  # the font's own box is sound
    return *box, False


def _drawn(name: str) -> tuple[tuple[Profile, ...], float] | None:
    """Outlines and advance of a glyph at a cap height of 1 mm; None if they cannot be cut."""
    glyphs, _, caps = _font()
    tracer = _Tracer(glyphs, off_curve=_OFF_CURVE * caps)
    glyphs[name].draw(tracer)
    contours = [kept for contour in tracer.contours if len(kept := _without_twins(contour)) > 2]
    # The font draws outer contours clockwise, counters the other way.
    loops = [_loop(contour, caps).reversed() for contour in contours]
    if contours and (crossing(contours) or _nested(loops)):
        loops = [_scaled_loop(loop, 1 / caps) for loop in united(contours)]
        corners = [corner[:2] for loop in loops for corner in loop.corners]
        if not loops or len(set(corners)) < len(corners):
            return None  # outlines that touch at a point leave an edge that no solid has
    outers = [loop for loop in loops if loop.signed_area > 1e-9]
    holes = [loop.reversed() for loop in loops if loop.signed_area < -1e-9]
    shapes = tuple(
        Profile(outer, tuple(hole for hole in holes if _owner(hole, outers) is outer))
        for outer in outers
    )
    return shapes, glyphs[name].width / caps


def _nested(loops: Sequence[Loop]) -> bool:
    """Tell whether an outer contour lies in another with no counter between them."""
    outers = [loop for loop in loops if loop.signed_area > 0]
    holes = [loop for loop in loops if loop.signed_area < 0]

    def depth(loop: Loop, around: Sequence[Loop]) -> int:
        return sum(_inside(loop.corners[0][:2], one) for one in around if one is not loop)

    return any(depth(loop, outers) != depth(loop, holes) for loop in outers)


def _without_twins(contour: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Leave out corners that repeat the one before."""
    after = [*contour[1:], contour[0]]
    return [p for p, q in zip(contour, after, strict=True) if p != q]


def _loop(points: Sequence[tuple[float, float]], caps: float) -> Loop:
    return Loop(tuple((x / caps, y / caps, 0.0) for x, y in points))


def _scaled_loop(loop: Loop, factor: float) -> Loop:
    return Loop(tuple((x * factor, y * factor, bulge) for x, y, bulge in loop.corners))


def _owner(hole: Loop, outers: Sequence[Loop]) -> Loop | None:
    """Smallest outer contour that the hole lies in."""
    around = [outer for outer in outers if _inside(hole.corners[0][:2], outer)]
    return min(around, key=lambda outer: outer.signed_area, default=None)


def _inside(point: tuple[float, float], loop: Loop) -> bool:
    px, py = point
    crossings = (
        (y > py) != (v > py) and px < (u - x) * (py - y) / (v - y) + x
        for (x, y, _), (u, v, _) in loop.sides()
    )
    return sum(crossings) % 2 == 1


def mirror_image(text: str) -> str:
    """Give a text that is drawn with its letters as in a mirror, each line about its own middle.

    A part that is mirrored afterwards then has letters that can be read.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        For whatever draws a text; empty for an empty one, and plain again if done twice.

    Examples
    --------
    >>> (o,) = text_profiles("L", 5.0)
    >>> (p,) = fitted_text(mirror_image("L"), room=(20, 9))[0]
    >>> round(p.area - o.area, 6), mirror_image(mirror_image("L"))
    (0.0, 'L')
    """
    plain, mirrored = _read(text)
    return plain if mirrored or not plain else _IN_MIRROR + plain


def _read(text: str) -> tuple[str, bool]:
    """Text without its sign, and whether it had it."""
    return text.replace(_IN_MIRROR, ""), _IN_MIRROR in text


def text_width(text: str, caps_mm: float) -> float:
    """Width of a line of text at a cap height, mm.

    Parameters
    ----------
    text : str
        One line; a letter that the font lacks counts as its box.
    caps_mm : float, mm
        Height of capitals.

    Returns
    -------
    float, mm
        Advance of all letters, with the space between them and none after the last.
    """
    text, _ = _read(text)
    return caps_mm * (sum(_glyph(c)[1] for c in text) + _SPACING * max(len(text) - 1, 0))


def fitting_caps(text: str, *, room: tuple[float, float], caps: float) -> float:
    """Height of capitals at which one line fits a room (length, width), mm; at most `caps`."""
    # Letters with descenders and accents reach past the capitals: 1.45 of cap height in all.
    return min(caps, room[0] / max(text_width(text, 1.0), 1e-9), room[1] / 1.45)


def text_profiles(text: str, caps_mm: float) -> tuple[Profile, ...]:
    """Outlines of a line of text, its baseline from (0, 0) along x, mm.

    Examples
    --------
    >>> o = text_profiles("O", 5.0)[0]
    >>> len(o.holes), o.box[3] - o.box[1] > 5.0
    (1, True)
    """
    text, mirrored = _read(text)
    above_zero(cap_height=caps_mm)
    placed, x = [], 0.0
    for character in text:
        shapes, advance, _ = _glyph(character)
        placed += [_scaled(shape, caps_mm, x) for shape in shapes]
        x += (advance + _SPACING) * caps_mm
    if mirrored:  # about the line's middle
        wide = text_width(text, caps_mm)
        return tuple(shape.mirrored().moved(wide) for shape in placed)
    return tuple(placed)


def letters_along(text: str, caps_mm: float) -> tuple[tuple[float, tuple[Profile, ...]], ...]:
    """Outlines of each letter of a line about its own middle, for a line that bends.

    Parameters
    ----------
    text : str
    caps_mm : float, mm
        Height of capitals.

    Returns
    -------
    tuple of (middle, outlines)
        Where the letter's middle lies from the middle of the whole line, mm, and its outlines from
        there, their baseline half the capitals lower.

    Examples
    --------
    >>> [round(middle, 3) for middle, _ in letters_along("HH", 5.0)]
    [-3.17, 3.17]
    """
    text, mirrored = _read(text)
    above_zero(cap_height=caps_mm)
    found, x = [], -text_width(text, caps_mm) / 2
    for character in text:
        shapes, advance, _ = _glyph(character)
        wide = advance * caps_mm
        placed = tuple(_scaled(s, caps_mm, -wide / 2).moved(0.0, -caps_mm / 2) for s in shapes)
        found.append((x + wide / 2, placed))
        x += wide + _SPACING * caps_mm
    if mirrored:
        return tuple((-middle, tuple(s.mirrored() for s in flat)) for middle, flat in found)
    return tuple(found)


def _scaled(shape: Profile, factor: float, x: float) -> Profile:
    def loop(each: Loop) -> Loop:
        return Loop(tuple((a * factor + x, b * factor, k) for a, b, k in each.corners))

    return Profile(loop(shape.outer), tuple(loop(hole) for hole in shape.holes))


def fitted_text(
    text: str,
    *,
    room: tuple[float, float],
    at: tuple[float, float] = (0.0, 0.0),
    caps: float = 5.0,
    turn: float = 0.0,
    from_below: bool = False,
    body: str | None = None,
) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
    """Set a text into a room on a face.

    Parameters
    ----------
    text : str
        One line or more, the most important first; empty gives nothing.
    room : (length, width), mm
        Free room along and across the text.
    at : (x, y), mm
        Its middle.
    caps : float, mm
        Wanted height of capitals; made smaller to fit the room.
    turn : float, degrees
        Of the line of text, counter-clockwise as its reader sees it.
    from_below : bool
        The face looks down: the outlines are mirrored, to be read from below.
    body : str, optional
        For the findings.

    Returns
    -------
    profiles : tuple of Profile
        For `sunk.sink`, or as regions through `terraces.from_profiles`.
    findings : tuple of Finding
        Said when the label or one of its lines is left off, or lacks a letter.
    """
    text, mirrored = _read(text)
    lines = _lines(text)
    if not lines:
        return (), ()
    findings: list[Finding] = []
    for count in range(len(lines), 0, -1):
        rows, fitting = _arranged(lines[:count], room, caps)
        if fitting >= LEAST_CAPS_MM:
            break
        findings = [
            _note(
                f"{_named(lines[count - 1 :], whole=count == 1)} left off: the room of "
                f"{room[0]:.1f} x {room[1]:.1f} mm allows capitals of {max(fitting, 0):.1f} mm "
                "only.",
                body,
                value=max(fitting, 0.0),
                remedy="Shorten the label.",
            )
        ]
    else:
        return (), tuple(findings)
    missing = sorted({c for row in rows for c in row if not _glyph(c)[2]})
    if missing:
        findings.append(
            _note(
                f"The label cannot show {', '.join(map(repr, missing))}: the font that travels "
                "with fitkit does not have it in a form that can be cut. A box stands for it.",
                body,
                remedy="Use other letters.",
            )
        )
    # The first line lies highest; the block of all lines is centred by their capitals.
    high = fitting * _LINE * (len(rows) - 1) / 2
    flat = [
        shape.moved(-text_width(row, fitting) / 2, high - number * fitting * _LINE - fitting / 2)
        for number, row in enumerate(rows)
        for shape in text_profiles(row, fitting)
    ]
    sign = -1 if from_below else 1
    if from_below != mirrored:
        flat = [shape.mirrored() for shape in flat]
    placed = tuple(shape.turned(sign * turn).moved(*at) for shape in flat)
    return placed, tuple(findings)


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line for each in _read(text)[0].splitlines() if (line := " ".join(each.split())))


def label_caps(text: str, *, room: tuple[float, float], caps: float = 5.0) -> float:
    """Height of capitals at which a text of one line or more fits a room.

    Parameters
    ----------
    text : str
        As of `fitted_text`.
    room : (length, width), mm
    caps : float, mm
        Wanted height.

    Returns
    -------
    float, mm
        0 for no text; for a choice between rooms.
    """
    lines = _lines(text)
    return _arranged(lines, room, caps)[1] if lines else 0.0


def _arranged(
    lines: tuple[str, ...], room: tuple[float, float], caps: float
) -> tuple[tuple[str, ...], float]:
    """Lines as they stand, or all in one, whichever is larger; and the height of its capitals."""
    flat = " ".join(lines)
    beside = fitting_caps(flat, room=room, caps=caps)
    longest = max(lines, key=lambda line: text_width(line, 1.0))
    tall = room[1] * 1.45 / (1.45 + _LINE * (len(lines) - 1))
    under = fitting_caps(longest, room=(room[0], tall), caps=caps)
    return (lines, under) if under > beside else ((flat,), beside)


def _named(lines: tuple[str, ...], *, whole: bool) -> str:
    if whole:
        return f"The label {' '.join(lines)!r} is"
    names = ", ".join(map(repr, lines))
    return f"Of the label, {names} {'is' if len(lines) == 1 else 'are'}"


def sink_text(
    shape: Shape,
    text: str,
    *,
    room: tuple[float, float],
    z: float,
    at: tuple[float, float] = (0.0, 0.0),
    depth: float = 0.4,
    caps: float = 5.0,
    turn: float = 0.0,
    from_below: bool = False,
    body: str | None = None,
) -> tuple[Shape, tuple[Finding, ...]]:
    """Sink text into a level face of a finished solid; otherwise as `fitted_text`.

    Parameters
    ----------
    shape : kernel shape of one solid
    z : float, mm
        Height of the face; it looks up, or down if `from_below`.
    depth : float, mm
        How deep: two layers by default.

    Returns
    -------
    shape, findings
    """
    profiles, findings = fitted_text(
        text, room=room, at=at, caps=caps, turn=turn, from_below=from_below, body=body
    )
    if not profiles:
        return shape, findings
    if not from_below:
        return sink(shape, profiles, z=z, depth=depth), findings
    # Turned over about x, the face looks up: y and z change sign.
    flipped = [profile.mirrored().turned(180) for profile in profiles]
    return turned(sink(turned(shape, x=180), flipped, z=-z, depth=depth), x=180), findings


def _note(text: str, body: str | None, *, value: float | None = None, remedy: str) -> Finding:
    return Finding(
        check="label",
        severity="note",
        text=text,
        value=value,
        limit=LEAST_CAPS_MM if value is not None else None,
        untold=("limit",),
        unit="mm" if value is not None else "",
        body=body,
        remedy=remedy,
    )
