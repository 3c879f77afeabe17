"""Limits of size and fits after ISO 286, to 500 mm, and how far printed parts are from them.

A tolerance class such as H7 is a fundamental deviation (the letter: where the zone lies; capital
for holes) and a standard tolerance grade (the number: how wide it is). Shaft deviations are in a
table; those of holes follow by the standard's rules (ISO 286-1: holes A to H mirror the shaft; K,
M, N to IT8 and P to U to IT7 take ES = -ei + delta, delta = ITn - IT(n-1); other holes mirror).
Letters a, b, c, d, e, f, g, h, js, k, m, n, p, r, s, u.

Left out: letters cd, ef, fg, j, t, v to zc, and sizes over 500 mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import FitError
from fitkit.core.expanded import expanded
from fitkit.core.units import Quantity, to_mm
from fitkit.data import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "PREFERRED_FITS",
    "Limits",
    "NearestFit",
    "StandardFit",
    "limits",
    "nearest_standard_fit",
    "standard_fit",
    "tolerance_grade",
]

# Hole-basis fits in order of falling clearance, with the words of ANSI B4.2 for them, from memory;
# the two loosest and the last but one are not in that list and carry plain words of our own.
PREFERRED_FITS: Mapping[str, str] = {
    "H11/a11": "very loose",
    "H11/b11": "looser than running",
    "H11/c11": "loose running",
    "H9/d9": "free running",
    "H8/f7": "close running",
    "H7/g6": "sliding",
    "H7/h6": "locational clearance",
    "H7/k6": "locational transition",
    "H7/n6": "locational transition, tighter",
    "H7/p6": "locational interference",
    "H7/r6": "light drive",
    "H7/s6": "medium drive",
    "H7/u6": "force",
}
_LETTERS = ("a", "b", "c", "d", "e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s", "u")
_CLASS = re.compile(r"(js|JS|[A-Za-z])(\d{1,2})")
_MAX_MM = 500.0
# Coarsest grade that the standard gives for sizes up to and including 1 mm.
_COARSEST_TO_1_MM = 13


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits of size of one tolerance class.

    Attributes
    ----------
    name : str
        As ``H7``.
    nominal_mm, lower_mm, upper_mm : float, mm
        Nominal size; limit deviations, so that sizes run from nominal + lower to nominal + upper.
    """

    name: str
    nominal_mm: float
    lower_mm: float
    upper_mm: float

    @property
    def least_mm(self) -> float:
        """Lower limit of size."""
        return self.nominal_mm + self.lower_mm

    @property
    def greatest_mm(self) -> float:
        """Upper limit of size."""
        return self.nominal_mm + self.upper_mm

    def __str__(self) -> str:
        """Give one line in the trade's way of writing."""
        return (
            f"{self.nominal_mm:g} {self.name}: {self.least_mm:.3f} to {self.greatest_mm:.3f} mm "
            f"({1000 * self.lower_mm:+.0f} / {1000 * self.upper_mm:+.0f} µm)"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardFit:
    """A hole class with a shaft class at one nominal size; clearance is positive, mm."""

    name: str
    words: str
    hole: Limits
    shaft: Limits

    @property
    def least_clearance_mm(self) -> float:
        """Smallest hole over largest shaft; negative is interference."""
        return self.hole.lower_mm - self.shaft.upper_mm

    @property
    def greatest_clearance_mm(self) -> float:
        """Largest hole over smallest shaft; negative is interference."""
        return self.hole.upper_mm - self.shaft.lower_mm

    @property
    def kind(self) -> Literal["clearance", "transition", "interference"]:
        """Whether parts of this fit always have play, never, or either."""
        if self.least_clearance_mm >= 0:
            return "clearance"
        return "interference" if self.greatest_clearance_mm <= 0 else "transition"


@dataclass(frozen=True, slots=True, kw_only=True)
class NearestFit:
    """The standard fit whose middle clearance is nearest to a gap of one's own.

    Attributes
    ----------
    fit : StandardFit
    gap_mm : float, mm
        The user's.
    off_mm : float, mm
        The gap less the middle clearance of the fit.
    notes : tuple of str
    """

    fit: StandardFit
    gap_mm: float
    off_mm: float
    notes: tuple[str, ...]


def limits(name: str, size: object) -> Limits:
    """Limits of size of a tolerance class.

    Parameters
    ----------
    name : str
        As ``H7``, ``g6``, ``JS11``; capital for a hole.
    size : quantity, estimate, or text with unit
        Nominal size, over 0 and to 500 mm.

    Returns
    -------
    Limits

    Raises
    ------
    FitError
        If the class or the size is outside the tables, or the standard does not define the class
        for so small a size.
    UnitError
        If the size is a bare number.

    Examples
    --------
    >>> print(limits("H7", "25 mm"))
    25 H7: 25.000 to 25.021 mm (+0 / +21 µm)
    """
    size_mm = to_mm(size)
    match = _CLASS.fullmatch(name.strip())
    letter = match[1].lower() if match else ""
    if match is None or letter not in _LETTERS:
        raise FitError(
            f"{name!r} is not a tolerance class of the tables",
            code="fits.tolerance-class",
            remedy=f"Write a letter and a grade, as H7; letters: {', '.join(_LETTERS)}.",
        )
    grade = int(match[2])
    _refuse_up_to_1_mm(match[1], grade, size_mm)
    width = _grade_um(grade, size_mm)
    if letter == "js":
        low, high = -width / 2, width / 2
    elif match[1].isupper():
        low, high = _hole_um(letter, grade, width, size_mm)
    else:
        low, high = _shaft_um(letter, grade, width, size_mm)
    return Limits(
        name=match[0], nominal_mm=size_mm, lower_mm=low / 1000 + 0.0, upper_mm=high / 1000 + 0.0
    )


def standard_fit(name: str, size: object) -> StandardFit:
    """Limits and clearances of a fit such as ``H7/g6``.

    Parameters
    ----------
    name : str
        Hole class, stroke, shaft class.
    size : quantity, estimate, or text with unit
        Nominal size of both, over 0 and to 500 mm.

    Returns
    -------
    StandardFit

    Raises
    ------
    FitError
        If it does not name a hole and a shaft, or lies outside the tables.

    Examples
    --------
    >>> fit = standard_fit("H7/g6", "25 mm")
    >>> round(fit.least_clearance_mm, 3), round(fit.greatest_clearance_mm, 3), fit.kind
    (0.007, 0.041, 'clearance')
    """
    hole, slash, shaft = name.replace(" ", "").partition("/")
    if not slash or not hole[:1].isupper() or not shaft[:1].islower():
        raise FitError(
            f"{name!r} is not a standard fit",
            code="fits.standard-fit",
            remedy="Write the hole first, then the shaft, as H7/g6.",
        )
    return StandardFit(
        name=f"{hole}/{shaft}",
        words=PREFERRED_FITS.get(f"{hole}/{shaft}", ""),
        hole=limits(hole, size),
        shaft=limits(shaft, size),
    )


def nearest_standard_fit(gap: object, size: object) -> NearestFit:
    """Find the preferred fit whose middle clearance is nearest to a gap, and what that is worth.

    Parameters
    ----------
    gap : estimate, quantity, or text with unit
        As printed and finished, clearance positive. The uncertainty of an estimate is judged
        against the standard tolerance grades.
    size : quantity, estimate, or text with unit
        Nominal size.

    Returns
    -------
    NearestFit
        Of `PREFERRED_FITS`; a note says where the gap lies outside all of them.

    Examples
    --------
    >>> near = nearest_standard_fit("0.2 mm", "8 mm")
    >>> near.fit.name, near.fit.words
    ('H11/c11', 'loose running')
    """
    gap_mm, size_mm = to_mm(gap), to_mm(size)
    fits = [standard_fit(name, Quantity(size_mm, "mm")) for name in PREFERRED_FITS]
    nearest = min(fits, key=lambda fit: abs(gap_mm - _middle_mm(fit)))
    loosest, tightest = fits[0], fits[-1]
    notes = [
        "ISO 286 fits are for machined parts: printed parts rarely hold grades finer than IT12, so "
        "read this as a word for the gap, not as a tolerance you will get"
    ]
    if gap_mm > loosest.greatest_clearance_mm or gap_mm < tightest.least_clearance_mm:
        notes.append("the gap lies outside all the preferred fits of this size")
    U_mm, _ = expanded(float(getattr(gap, "u_mm", 0.0)), float(getattr(gap, "df", math.inf)))
    if U_mm > 0:
        # Both parts share the gap's spread; a zone is the 95 % interval of one of them.
        grade = _finest_grade(2.0 * U_mm / 2.0**0.5, size_mm)
        notes.append(
            f"a gap that spreads by ± {U_mm:.2f} mm (95 %) means parts of about "
            + (f"IT{grade}" if grade else "no grade: coarser than IT18")
        )
    return NearestFit(
        fit=nearest, gap_mm=gap_mm, off_mm=gap_mm - _middle_mm(nearest), notes=tuple(notes)
    )


def tolerance_grade(width: object, size: object) -> int | None:
    """Finest standard tolerance grade that is as wide as `width`.

    Parameters
    ----------
    width, size : quantity, estimate, or text with unit
        Full width of the zone, and nominal size, over 0 and to 500 mm.

    Returns
    -------
    int or None
        1 to 18, or to 13 for sizes up to 1 mm; None if the coarsest grade is narrower.

    Examples
    --------
    >>> tolerance_grade("0.2 mm", "25 mm")
    12
    """
    return _finest_grade(to_mm(width), to_mm(size))


def _finest_grade(width_mm: float, size_mm: float) -> int | None:
    grades = range(1, (_COARSEST_TO_1_MM if size_mm <= 1.0 else 18) + 1)
    return next((g for g in grades if _grade_um(g, size_mm) >= 1000 * width_mm - 1e-9), None)


def _middle_mm(fit: StandardFit) -> float:
    return 0.5 * (fit.least_clearance_mm + fit.greatest_clearance_mm)


@cache
def _rows(table: str) -> tuple[Mapping[str, float], ...]:
    return tuple(load_table(table).frame.to_dict("records"))  # type: ignore[arg-type]


def _row(table: str, size_mm: float) -> Mapping[str, float]:
    for row in _rows(table):
        if row["over_mm"] < size_mm <= row["up_to_mm"]:
            return row
    raise FitError(
        f"{size_mm:g} mm lies outside the sizes of ISO 286 that are kept here",
        code="fits.iso-range",
        remedy="Give a size over 0 mm and up to 500 mm.",
    )


def _grade_um(grade: int, size_mm: float) -> float:
    row = _row("iso286_it", size_mm)
    if f"IT{grade}_um" not in row:
        raise FitError(
            f"IT{grade} is not a standard tolerance grade",
            code="fits.grade",
            remedy="Take IT1 to IT18.",
        )
    return float(row[f"IT{grade}_um"])


def _refuse_up_to_1_mm(letter: str, grade: int, size_mm: float) -> None:
    """Refuse the classes that the standard does not provide for sizes up to and including 1 mm.

    Raises
    ------
    FitError
        For letters a and b, grades IT14 to IT18, and holes N coarser than IT8.

    Notes
    -----
    Source: ISO 286-1:2010, notes to tables 1 to 3 (from memory).
    """
    if size_mm > 1.0:
        return
    if letter.lower() in "ab":
        remedy = "Take letter c or a closer one."
    elif grade > _COARSEST_TO_1_MM:
        remedy = f"Take IT{_COARSEST_TO_1_MM} or a finer grade."
    elif letter == "N" and grade > 8:
        remedy = "Take N8 or a finer grade."
    else:
        return
    raise FitError(
        f"ISO 286 does not define {letter}{grade} for sizes up to 1 mm, and this is {size_mm:g} mm",
        code="fits.not-below-1-mm",
        remedy=remedy,
    )


def _shaft_um(letter: str, grade: int, width: float, size_mm: float) -> tuple[float, float]:
    deviation = float(_row("iso286_deviations", size_mm)[f"{letter}_um"])
    if letter <= "h":
        return deviation - width, deviation
    if letter == "k" and not 4 <= grade <= 7:
        deviation = 0.0
    return deviation, deviation + width


def _hole_um(letter: str, grade: int, width: float, size_mm: float) -> tuple[float, float]:
    deviation = float(_row("iso286_deviations", size_mm)[f"{letter}_um"])
    if letter <= "h":
        return -deviation, -deviation + width
    finer = size_mm > 3 and 3 <= grade <= (8 if letter in "kmn" else 7)
    delta = width - _grade_um(grade - 1, size_mm) if finer else 0.0
    upper = -deviation + delta
    if letter == "k" and grade > 8 and size_mm > 3:
        raise FitError(
            f"ISO 286 does not define K{grade} for sizes over 3 mm",
            code="fits.grade-of-k",
            remedy="Take K8 or finer, or JS.",
        )
    if letter == "n" and grade > 8 and size_mm > 3:
        upper = 0.0
    if letter == "m" and grade == 6 and 250 < size_mm <= 315:
        upper = -9.0  # the standard's one exception; the rule would give -11
    return upper - width, upper
