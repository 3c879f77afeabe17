"""What several templates share: refusing sizes that do not go together, boxes, the edge at the bed.

`Rules` collects every cross-parameter fault of a template, so that a user sees all at once, each
with the parameter, its value, the bound, why, and what to change.
"""

from __future__ import annotations

import math
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FaultList, PartError
from fitkit.solids.bodies import (
    Shape,
    chamfer,
    cut,
    edges,
    extrude,
    moved,
    smaller_note,
    turned,
)
from fitkit.solids.inset import inset
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.solids.profiles import Loop, Profile

    Path = tuple[str | int, ...]

__all__ = [
    "BED_EDGE_MM",
    "Rules",
    "bed_edge",
    "box",
    "choice",
    "foot_mm",
    "ring_room",
    "side_text",
    "told_at",
]

# Leg of the chamfer where a part stands on the bed: takes up the flare of the first layer.
# Common practice, no source.
BED_EDGE_MM = 0.3


class Rules:
    """Bounds between parameters of one template.

    A bound is held at a parameter's name, or at the path of one: ``("cutouts", 0, "x")``.

    Examples
    --------
    >>> rules = Rules("spacer")
    >>> rules.at_least("outside", 5.0, 7.4, "walls are thin", "Widen it.")
    >>> rules.refuse()
    Traceback (most recent call last):
    fitkit.core.errors.FaultList: spacer, outside: 5 mm is below 7.4 mm: walls are thin. Widen it.
    """

    def __init__(self, title: str) -> None:
        self.title = title
        self.faults: list[PartError] = []

    def at_least(
        self,
        name: str | Path,
        value: float,
        bound: float,
        why: str,
        remedy: str = "",
        **said: object,
    ) -> None:
        """Hold a length against a lower bound, mm.

        Parameters
        ----------
        name : str or path
            The parameter that the user changes.
        value, bound : float, mm
            A shortfall below 1e-9 mm is rounding and passes.
        why : str
            Ends the sentence ``... is below ...:``. Without a remedy it names a rule of the table
            ``part_rules``, which has the words of the shipped parts.
        remedy : str
            A full sentence.
        **said
            What the table's words say of this case.
        """
        if value < bound - 1e-9:
            what = f"{value:.4g} mm is below {bound:.4g} mm"
            self._add(name, "part.too-small", what, why, remedy, said)

    def at_most(
        self,
        name: str | Path,
        value: float,
        bound: float,
        why: str,
        remedy: str = "",
        **said: object,
    ) -> None:
        """Hold a length against an upper bound, mm.

        Parameters
        ----------
        name, value, bound, why, remedy, **said
            As of `at_least`.
        """
        if value > bound + 1e-9:
            what = f"{value:.4g} mm is above {bound:.4g} mm"
            self._add(name, "part.too-large", what, why, remedy, said)

    def _add(
        self,
        name: str | Path,
        code: str,
        what: str,
        why: str,
        remedy: str,
        said: Mapping[str, object],
    ) -> None:
        if not remedy:
            why, remedy = (words.format_map(said) for words in _words(why))
        at = (name,) if isinstance(name, str) else name
        self.faults.append(
            PartError(f"{what}: {why}", where=self.title, at=at, code=code, remedy=remedy)
        )

    def refuse(self) -> None:
        """Raise all faults at once, if there are any."""
        if self.faults:
            raise FaultList(self.faults)


@cache
def _words(rule: str) -> tuple[str, str]:
    """Why a rule of the table holds, and what to do; read when the first one is broken."""
    from fitkit.data import load_table

    why, remedy = load_table("part_rules").frame.set_index("rule").loc[rule, ["why", "remedy"]]
    return str(why), str(remedy)


@contextmanager
def told_at(title: str, *at: str | int) -> Iterator[None]:
    """Tell what goes wrong inside at a parameter: files and shapes do not know which one it is.

    Parameters
    ----------
    title : str
        The template's.
    *at : str and int
        Path of the parameter.
    """
    try:
        yield
    except PartError as error:
        where = f"{title}, {error.about}" if error.about else title
        raise error.placed(where=where, at=at, code=error.code or "part.wrong") from error


def choice(default: object, text: str, group: str = "Form", *, label: str = "") -> Any:
    """Declare a parameter that is not a length.

    Parameters
    ----------
    default : object
        Also tells the panel what kind of field it is.
    text : str
        One plain sentence.
    group : str
        Heading under which a panel lists it.
    label : str
        Name in the panel; made of the parameter's own name if empty.

    Returns
    -------
    pydantic field
        Typed `Any`, since a field stands where its value will.
    """
    from pydantic import Field

    extra: dict[str, Any] = {"group": group, "label": label}
    return Field(default=default, description=text, json_schema_extra=extra)


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Shape:
    """Box between two corners, mm."""
    (a, b, c), (d, e, f) = low, high
    return extrude(rectangle(d - a, e - b, at=((a + d) / 2, (b + e) / 2)), f - c, z=c)


def bed_edge(
    shape: Shape,
    *,
    body: str,
    size: float = BED_EDGE_MM,
    z: float = 0.0,
    before: float | None = None,
) -> tuple[Shape, tuple[Finding, ...]]:
    """Chamfer all edges that lie on the bed at z; steps aside with a finding.

    The result is a valid solid if the shape was one: the kernel's analysis is asked here, and need
    not be asked again. `before` is the shape's volume, mm³, where it is known.
    """
    picked = edges(shape, z=z)
    return chamfer(shape, picked, size, name="chamfer at the bed", body=body, before=before)


def foot_mm(
    outline: Loop, *, body: str, size: float = BED_EDGE_MM
) -> tuple[float, tuple[Finding, ...]]:
    """Leg of the chamfer at the bed that goes round an outline; steps aside with a finding.

    For bodies made by `terraces`, whose faces it then joins: `bed_edge` dresses any other shape.

    Examples
    --------
    >>> foot_mm(rectangle(20, 10, radius=2).outer, body="panel")
    (0.3, ())
    >>> foot_mm(rectangle(20, 10, radius=0.2).outer, body="panel")[0]
    0.15
    """
    made = next((leg for leg in (size, size / 2) if inset(outline, leg)), 0.0)
    if made == size:
        return size, ()
    return made, (smaller_note("chamfer at the bed", size, made, body=body),)


def ring_room(
    text: str,
    *,
    inner: float,
    outer: float,
    clear: float = 0.8,
    keep_off: Sequence[tuple[float, float, float]] = (),
) -> tuple[tuple[float, float], float]:
    """Find the room for a text on a flat ring, below its middle (towards -y).

    Of all upright strips between the two rounds, clear of both and of what is kept off, the one
    that takes the largest letters.

    Parameters
    ----------
    text : str
        One line or more.
    inner, outer : float, mm
        Radii between which the text must lie.
    clear : float, mm
        From the text to either round and to what is kept off.
    keep_off : sequence of (x, y, radius), mm
        Round places, such as heads of screws, that the text stays beside.

    Returns
    -------
    room : (length, width), mm
        As `fitted_text` takes it; without length where there is none.
    y : float, mm
        The text's middle; its x is 0.
    """
    from fitkit.solids.label import label_caps

    rooms = []
    near, most = inner + clear, max(outer - inner - 2 * clear, 0.0)
    for share in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        width = share * most
        half = math.sqrt(max((outer - clear) ** 2 - (near + width) ** 2, 0.0))
        for x, y, radius in keep_off:
            if -(near + width) - radius - clear < y < -near + radius + clear:
                half = min(half, max(abs(x) - radius - clear, 0.0))
        rooms.append(((2 * half, width), -near - width / 2))
    return max(rooms, key=lambda each: label_caps(text, room=each[0]))


def side_text(
    shape: Shape,
    text: str,
    *,
    radius: float,
    low: float,
    high: float,
    body: str,
    round_deg: float = 0.0,
) -> tuple[Shape, tuple[Finding, ...]]:
    """Sink text into a round (or six-sided) outside about the z axis, its middle at -y.

    It runs upwards, or round the outside where that takes larger letters. They are cut straight in,
    0.4 mm deep at the least: so high upwards, or so wide round it, that the round falls away by no
    more than 0.3 mm under a letter.

    Parameters
    ----------
    shape : kernel shape
    text : str
        As of `label.fitted_text`.
    radius : float, mm
        Of the outside, or half its size over the flats.
    low, high : float, mm
        Between which heights it is free.
    body : str
        For the findings.
    round_deg : float, degrees
        How far round the outside is free, half of it to either side of -y; 0 on flats. More than
        180 only for a body that is the same all round the z axis.

    Returns
    -------
    shape, findings
    """
    from fitkit.solids.label import LEAST_CAPS_MM, fitted_text, label_caps, letters_along

    across = 2 * math.sqrt(max(radius**2 - max(radius - 0.3, 0.0) ** 2, 0.0))
    room = (max(high - low - 1.0, 0.1), 1.45 * across)
    row = " ".join(text.split())
    wide = max((2 * middle + _wide(flat) for middle, flat in _bent(row, 1.0)), default=0.0)
    widest = max((_wide(flat) for _, flat in _bent(row, 1.0)), default=0.0)
    about = 0.0
    if round_deg and widest:
        free = radius * math.radians(round_deg)
        about = min(5.0, room[0] / 1.45, across / widest, free / wide)
    upwards = label_caps(text, room=room)
    if about < LEAST_CAPS_MM or about <= upwards:
        letters, findings = fitted_text(text, room=room, turn=90, body=body)
        placed = [(0.0, letter) for letter in letters]
    else:
        # What the font lacks is told as for any label.
        _, findings = fitted_text(row, room=(1e3, 1e3), body=body)
        placed = [
            (math.degrees(middle / radius), letter)
            for middle, flat in letters_along(row, about)
            for letter in flat
        ]
    if not placed:
        return shape, findings
    if round_deg > 180.0:
        # The kernel begins a round at +x. A letter that just touches that seam leaves a sliver of a
        # face there, too small to be meshed (one spacer in 1,200); across from the text none does.
        shape = turned(shape, z=90.0)
    # Drawn flat, then stood up: the letters' y becomes z, their faces look along -y.
    tools = []
    for angle, letter in placed:
        tool = moved(turned(extrude(letter, 2.0), x=90), y=-radius + 0.7, z=(low + high) / 2)
        tools.append(turned(tool, z=angle) if angle else tool)
    return cut(shape, *tools), findings


def _bent(row: str, caps: float) -> tuple[tuple[float, tuple[Profile, ...]], ...]:
    from fitkit.solids.label import letters_along

    return letters_along(row, caps) if row else ()


def _wide(flat: Sequence[Profile]) -> float:
    """Width of a letter's outlines."""
    boxes = [shape.box for shape in flat]
    return max(box[2] for box in boxes) - min(box[0] for box in boxes) if boxes else 0.0
