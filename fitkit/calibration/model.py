"""How a printed size differs from the drawn one: a few named terms, linear in their coefficients.

For a drawn size n the printed size is ``n + sum(coefficient * load * n**power)``. Along an axis
the print grows or shrinks in proportion (``scale``, power 1); the width of the line fattens what is
outside and closes what is inside (power 0); a round hole closes more the smaller it is, since the
line is drawn along the inside of a curve (``hole_curvature``, power -1). Every kind of size is
therefore ``a*n + b + c/n``, which has an exact inverse (see `fitkit.calibration.compensation`).

Model: common practice, no source; the terms are kept or left out by the data (see `fit`). Left
out: warping, ringing at corners, and anything that depends on where on the bed a part stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    from fitkit.core.sizes import Axis, SizeKind

__all__ = ["KINDS", "SENSE", "TERMS", "Place", "curve", "design", "loads", "print_loads"]

Place = Literal["mid", "bed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One term: the power of the drawn size that it goes with, its unit, and what it says."""

    power: Literal[1, 0, -1]
    unit: str
    says: str


TERMS: Mapping[str, Term] = {
    "scale_x": Term(power=1, unit="mm/mm", says="growth along x (negative: shrinks)"),
    "scale_y": Term(power=1, unit="mm/mm", says="growth along y (negative: shrinks)"),
    "scale_z": Term(power=1, unit="mm/mm", says="growth along z (negative: shrinks)"),
    "outside_offset": Term(power=0, unit="mm", says="outside sizes come out larger by"),
    "peg_offset": Term(power=0, unit="mm", says="round pegs come out larger by"),
    "inside_closing": Term(power=0, unit="mm", says="slots and pockets close by"),
    "hole_closing": Term(power=0, unit="mm", says="upright round holes close by"),
    "hole_curvature": Term(power=-1, unit="mm²", says="and close further by this over the size"),
    "lying_width_closing": Term(power=0, unit="mm", says="lying round holes close in width by"),
    "lying_height_closing": Term(power=0, unit="mm", says="lying round holes close in height by"),
    "height_offset": Term(power=0, unit="mm", says="heights come out larger by"),
    "bed_flare": Term(power=0, unit="mm", says="outside sizes are larger at the bed by"),
    "skew": Term(power=1, unit="mm/mm", says="x and y are out of square by"),
}

KINDS: tuple[SizeKind, ...] = (
    "outside",
    "inside",
    "hole",
    "hole_lying",
    "peg",
    "centres",
    "height",
)

# +1 where more material makes the size larger, -1 where it makes it smaller, 0 where neither.
SENSE: Mapping[SizeKind, int] = {
    "outside": 1,
    "inside": -1,
    "hole": -1,
    "hole_lying": -1,
    "peg": 1,
    "centres": 0,
    "height": 1,
}


def loads(
    kind: SizeKind, axis: Axis = "xy", *, place: Place = "mid", diagonal: int = 0
) -> dict[str, float]:
    """Which terms act on a size, and how strongly.

    Parameters
    ----------
    kind : SizeKind
    axis : {"x", "y", "z", "xy"}
        Direction in which the size is read; ``xy`` is the mean of x and y. Heights are along z.
    place : {"mid", "bed"}
        ``bed`` for an outside size read on the flared first layer.
    diagonal : {-1, 0, +1}
        +1 and -1 for the two diagonals of a square frame, along x = y and x = -y.

    Returns
    -------
    dict of term name to load
    """
    along: Axis = "z" if kind == "height" else axis
    found = {"scale_x": 0.5, "scale_y": 0.5} if along == "xy" else {f"scale_{along}": 1.0}
    match kind:
        case "outside":
            # What jaws span from bed to top is a height, whatever it is called.
            found["height_offset" if along == "z" else "outside_offset"] = 1.0
            if place == "bed":
                found["bed_flare"] = 1.0
        case "peg":
            found["peg_offset"] = 1.0
        case "inside":
            found["inside_closing"] = -1.0
        case "hole":
            found |= {"hole_closing": -1.0, "hole_curvature": -1.0}
        case "hole_lying":
            found["lying_height_closing" if along == "z" else "lying_width_closing"] = -1.0
        case "height":
            found["height_offset"] = 1.0
        case "centres":
            pass
    if diagonal:
        # A shear by angle g lengthens one diagonal by g/2 of itself and shortens the other.
        found["skew"] = 0.5 * diagonal
    return found


def design(
    terms: Sequence[str],
    drawn_mm: ArrayLike,
    kind: SizeKind,
    axis: Axis = "xy",
    *,
    place: Place = "mid",
    diagonal: int = 0,
) -> NDArray[np.float64]:
    """Rows of the design matrix: what each coefficient is multiplied with.

    Parameters
    ----------
    terms : sequence of str, length k
        Names of the columns.
    drawn_mm : array of shape (...), mm
    kind, axis, place, diagonal
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
    acting = loads(kind, axis, place=place, diagonal=diagonal)
    rows = np.zeros((*drawn.shape, len(terms)))
    for column, name in enumerate(terms):
        if name in acting:
            rows[..., column] = acting[name] * drawn ** TERMS[name].power
    return rows


def print_loads(
    drawn_mm: ArrayLike, kind: SizeKind, axis: Axis = "xy"
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How a print's own line width and own shrinkage move a size.

    Returns
    -------
    width, scale : arrays of the shape of `drawn_mm`
        mm of size per mm of line width, and per unit of scale. Heights do not follow the width.
    """
    drawn = np.asarray(drawn_mm, dtype=float)
    upright = kind == "height" or (kind == "outside" and axis == "z")
    width = np.full(drawn.shape, 0.0 if upright else float(SENSE[kind]))
    return width, drawn


def curve(
    terms: Sequence[str], coef: ArrayLike, kind: SizeKind, axis: Axis = "xy"
) -> tuple[float, float, float]:
    """Coefficients a, b, c of the printed size ``a*n + b + c/n``.

    Examples
    --------
    >>> curve(["scale_z", "height_offset"], [-0.002, 0.05], "height")
    (0.998, 0.05, 0.0)
    """
    parts = {1: 1.0, 0: 0.0, -1: 0.0}
    acting = loads(kind, axis)
    for name, value in zip(terms, np.asarray(coef, dtype=float), strict=True):
        if name in acting:
            parts[TERMS[name].power] += acting[name] * float(value)
    return parts[1], parts[0], parts[-1]
