"""How a printed size differs from the drawn one: a few named terms, linear in their coefficients.

For a drawn size n the printed size is ``n + sum(coefficient * load * n**power)``. Along an axis
the print grows or shrinks in proportion (``scale``, power 1); the width of the line fattens what is
outside and closes what is inside (power 0); a round hole closes more the smaller it is, since the
line is drawn along the inside of a curve (``hole_curvature``, power -1). Every kind of size is
therefore ``a*n + b + c/n``, which has an exact inverse (see `fitkit.calibration.compensation`).

All that is known of a term stands in its `Term` here: what it acts on, how it goes with the size,
what moves it from print to print, and the words for it. What is known of it before any print stands
in ``fitkit/data/printer_prior.csv``. Nothing else needs to know a term's name.

Model: common practice, no source. What no term holds is in `posterior`. Left out: warping, ringing
at corners, and anything that depends on where on the bed a part stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from fitkit.core.sizes import HOLE, HOLE_LYING, INSIDE, OUTSIDE, PEG, POCKET, kind_of, kinds

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import ArrayLike, NDArray

    from fitkit.core.sizes import Axis, SizeKind

__all__ = [
    "KINDS",
    "SENSE",
    "TERMS",
    "Place",
    "Seen",
    "Term",
    "Words",
    "curve",
    "design",
    "loads",
    "print_loads",
]

Place = Literal["mid", "bed"]


class Seen(NamedTuple):
    """A size as it lies and is read: what decides which terms act on it, beside its length."""

    kind: SizeKind
    axis: Axis
    place: Place = "mid"
    diagonal: int = 0
    wall_mm: float = 0.0


class Words(NamedTuple):
    """What a verdict says of a term.

    Attributes
    ----------
    more, less : str
        Before the amount, where it is above or below zero; without `less` the amount keeps its
        sign.
    kind : SizeKind or None
        Kind whose sizes show the amount; None if the coefficient itself does.
    axis : Axis
        Along which they show it.
    near_mm : float, mm
        At about which size.
    a_side : bool
        True if half of the amount is told as well, since it shows on two sides.
    """

    more: str
    less: str = ""
    kind: SizeKind | None = None
    axis: Axis = "xy"
    near_mm: float = 0.0
    a_side: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One term: all that is known of it.

    Attributes
    ----------
    name : str
    power : {1, 0, -1}
        Power of the drawn size that it goes with.
    unit, says : str
        Unit of its coefficient, and what that says.
    acts : callable of Seen to float, optional
        How strongly it acts on a size; by default as the kind says (`SizeKind.loads`).
    varies : {"", "scale", "width"}
        What of a print moves it from one print to the next: the print's own shrinkage, its own line
        width, or nothing.
    known : (float, float)
        Mean and standard deviation between printers, of a term that ``printer_prior.csv`` has not.
    words : Words, optional
        What a verdict says of it.
    """

    name: str
    power: Literal[1, 0, -1]
    unit: str
    says: str
    acts: Callable[[Seen], float] | None = None
    varies: Literal["", "scale", "width"] = ""
    known: tuple[float, float] = (0.0, 0.0)
    words: Words | None = None

    def on(self, seen: Seen) -> float:
        """How strongly the term acts on a size; 0 if it does not."""
        if self.acts is not None:
            return self.acts(seen)
        return seen.kind.loads_along(seen.axis).get(self.name, 0.0)


def _along(axis: Literal["x", "y", "z"]) -> Callable[[Seen], float]:
    """Share of an axis in a size: ``xy`` is the mean of both."""

    def acts(seen: Seen) -> float:
        return 0.5 * (axis in "xy") if seen.axis == "xy" else float(seen.axis == axis)

    return acts


def _scale(axis: Literal["x", "y", "z"]) -> Term:
    return Term(
        name=f"scale_{axis}",
        power=1,
        unit="mm/mm",
        says=f"growth along {axis} (negative: shrinks)",
        acts=_along(axis),
        varies="scale",
    )


# Length of a wall that bows by the whole of the term, mm; the bow grows with its square.
BOW_LENGTH_MM = 50.0
# Longer walls are held by corners and ribs, so the bow grows no further.
_MOST_BOW = 2.0


def _bow(seen: Seen) -> float:
    upright = seen.axis == "z"
    held = (seen.wall_mm / BOW_LENGTH_MM) ** 2 if seen.kind.closed and not upright else 0.0
    return min(held, _MOST_BOW)


TERMS: dict[str, Term] = {
    term.name: term
    for term in (
        _scale("x"),
        _scale("y"),
        _scale("z"),
        Term(
            name="outside_offset",
            power=0,
            unit="mm",
            says="outside sizes come out larger by",
            varies="width",
            words=Words("outsides grow by", "outsides come out small by", OUTSIDE, "xy", 20.0),
        ),
        Term(
            name="peg_offset",
            power=0,
            unit="mm",
            says="round pegs come out larger by",
            varies="width",
            words=Words("pegs grow by", "pegs come out small by", PEG, "xy", 8.0),
        ),
        Term(
            name="inside_closing",
            power=0,
            unit="mm",
            says="slots and pockets close by",
            varies="width",
            words=Words("slots close by", "slots open by", INSIDE, "xy", 6.0),
        ),
        Term(
            name="hole_closing",
            power=0,
            unit="mm",
            says="upright round holes close by",
            varies="width",
            words=Words("holes close by", "holes open by", HOLE, "xy", 3.0),
        ),
        Term(
            name="hole_curvature",
            power=-1,
            unit="mm²",
            says="and close further by this over the size",
        ),
        Term(
            name="lying_width_closing",
            power=0,
            unit="mm",
            says="lying round holes close in width by",
            varies="width",
        ),
        Term(
            name="lying_height_closing",
            power=0,
            unit="mm",
            says="lying round holes close in height by",
            words=Words(
                "lying holes lose height by", "lying holes gain height by", HOLE_LYING, "z", 5.0
            ),
        ),
        Term(
            name="height_offset",
            power=0,
            unit="mm",
            says="heights come out larger by",
        ),
        Term(
            name="bed_flare",
            power=0,
            unit="mm",
            says="outside sizes are larger at the bed by",
            acts=lambda seen: float(seen.kind.flares and seen.place == "bed"),
            words=Words("the first layer flares by", a_side=True),
        ),
        Term(
            name="skew",
            power=1,
            unit="mm/mm",
            says="x and y are out of square by",
            # A shear by angle g lengthens one diagonal by g/2 of itself and shortens the other.
            acts=lambda seen: 0.5 * seen.diagonal,
        ),
        Term(
            name="pocket_closing",
            power=0,
            unit="mm",
            says="pockets with walls all round close, beside slots, by",
            words=Words("pockets close by", "pockets open by", POCKET, "xy", 20.0),
        ),
        Term(
            name="wall_bow",
            power=0,
            unit="mm",
            says=f"walls {BOW_LENGTH_MM:g} mm long bow inwards, both together, by",
            acts=lambda seen: -_bow(seen),
        ),
        Term(
            name="roof_sag",
            power=0,
            unit="mm",
            says="flat roofs of openings sag by",
            words=Words("roofs sag by"),
        ),
    )
}

KINDS: tuple[SizeKind, ...] = kinds()

# +1 where more material makes the size larger, -1 where it makes it smaller, 0 where neither.
SENSE: dict[str, int] = {kind.name: kind.sense for kind in KINDS}


def loads(
    kind: str,
    axis: Axis = "xy",
    *,
    place: Place = "mid",
    diagonal: int = 0,
    wall_mm: float = 0.0,
) -> dict[str, float]:
    """Which terms act on a size, and how strongly.

    Parameters
    ----------
    kind : SizeKind, or its name
    axis : {"x", "y", "z", "xy"}
        Direction in which the size is read; ``xy`` is the mean of x and y. Heights are along z.
    place : {"mid", "bed"}
        ``bed`` for an outside size read on the flared first layer.
    diagonal : {-1, 0, +1}
        +1 and -1 for the two diagonals of a square frame, along x = y and x = -y.
    wall_mm : float, mm
        Length of the walls beside a pocket, which may bow; 0 for none.

    Returns
    -------
    dict of term name to load
    """
    seen = _seen(kind, axis, place, diagonal, wall_mm)
    found = ((name, term.on(seen)) for name, term in TERMS.items())
    return {name: load for name, load in found if load}


def design(
    terms: Sequence[str],
    drawn_mm: ArrayLike,
    kind: str,
    axis: Axis = "xy",
    *,
    place: Place = "mid",
    diagonal: int = 0,
    wall_mm: float = 0.0,
) -> NDArray[np.float64]:
    """Rows of the design matrix: what each coefficient is multiplied with.

    Parameters
    ----------
    terms : sequence of str, length k
        Names of the columns.
    drawn_mm : array of shape (...), mm
    kind, axis, place, diagonal, wall_mm
        See `loads`.

    Returns
    -------
    array of shape (..., k)

    Examples
    --------
    >>> design(["scale_x", "hole_closing", "hole_curvature"], [4.0], "hole", "x")
    array([[ 4.  , -1.  , -0.25]])
    """
    drawn = np.asarray(drawn_mm, dtype=float)
    seen = _seen(kind, axis, place, diagonal, wall_mm)
    rows = np.zeros((*drawn.shape, len(terms)))
    for column, name in enumerate(terms):
        term = TERMS[name]
        load = term.on(seen)
        if load:
            rows[..., column] = load * drawn**term.power
    return rows


def print_loads(
    drawn_mm: ArrayLike, kind: str, axis: Axis = "xy"
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How a print's own line width and own shrinkage move a size.

    Parameters
    ----------
    drawn_mm : array of shape (...), mm
    kind : SizeKind, or its name
    axis : {"x", "y", "z", "xy"}

    Returns
    -------
    width, scale : arrays of the shape of `drawn_mm`
        mm of size per mm of line width, and per unit of scale. Sizes along z do not follow the
        width.
    """
    drawn = np.asarray(drawn_mm, dtype=float)
    width = np.full(drawn.shape, float(kind_of(kind).line_sense(axis)))
    return width, drawn


def curve(
    terms: Sequence[str], coef: ArrayLike, kind: str, axis: Axis = "xy"
) -> tuple[float, float, float]:
    """Coefficients a, b, c of the printed size ``a*n + b + c/n``.

    Parameters
    ----------
    terms : sequence of str, length k
    coef : array of shape (k,)
        Coefficients of the terms.
    kind : SizeKind, or its name
    axis : {"x", "y", "z", "xy"}

    Returns
    -------
    a, b, c : float
        Without unit, mm, and mm².

    Examples
    --------
    >>> curve(["scale_z", "height_offset"], [-0.002, 0.05], "height")
    (0.998, 0.05, 0.0)
    """
    parts = {1: 1.0, 0: 0.0, -1: 0.0}
    seen = _seen(kind, axis)
    for name, value in zip(terms, np.asarray(coef, dtype=float), strict=True):
        term = TERMS[name]
        parts[term.power] += term.on(seen) * float(value)
    return parts[1], parts[0], parts[-1]


def _seen(
    kind: str, axis: Axis, place: Place = "mid", diagonal: int = 0, wall_mm: float = 0.0
) -> Seen:
    known = kind_of(kind)
    return Seen(known, known.along(axis), place, diagonal, wall_mm)
