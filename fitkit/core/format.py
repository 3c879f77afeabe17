"""How a size with its doubt is written, and the row of a fit that every table shows.

Two significant digits of uncertainty and the value to the same place (JCGM 100:2008, 7.2.6); what
is exact, or worked out without a doubt of its own, to a micrometre. A gap has one sign wherever it
is shown: positive is clearance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "NOTHING",
    "FitTexts",
    "doubted",
    "fit_texts",
    "gap_text",
    "interval",
    "length_text",
    "places_for",
    "with_doubt",
]

# What stands for a size that is not known.
NOTHING = "–"


def places_for(u: float) -> int:
    """Decimals that show two significant digits of an uncertainty; 3 for an exact number."""
    if not u or not math.isfinite(u):
        return 3
    return max(0, 1 - math.floor(math.log10(u * (1 + 1e-12))))


def with_doubt(value: float, U: float | None, unit: str = "", *, sign: bool = False) -> str:
    """Write ``68.028 ± 0.040``: two digits of the doubt, the value to the same place.

    Parameters
    ----------
    value : float
    U : float or None
        Half width of its interval, in the same unit; None or 0 where there is none.
    unit : str
        Written after each number; empty where the table's head says it.
    sign : bool
        Write a ``+`` before what is not negative.

    Returns
    -------
    str

    Examples
    --------
    >>> with_doubt(68.0281, 0.0402)
    '68.028 ± 0.040'
    >>> with_doubt(0.2512, 0.118, "mm", sign=True)
    '+0.25 mm ± 0.12 mm'
    """
    places = places_for(U or 0.0)
    after = unit and f" {unit}"
    text = f"{_rounded(value, places):{'+' if sign else ''}.{places}f}{after}"
    return f"{text} ± {U:.{places}f}{after}" if U else text


def doubted(value: float, U: float) -> tuple[str, str]:
    """Write a value and its doubt as `with_doubt` does, for two columns of a table.

    Parameters
    ----------
    value : float
    U : float
        Half width of its interval, in the same unit.

    Returns
    -------
    value : str
    U : str
        Both to the same place, without the unit.
    """
    places = places_for(U)
    return f"{_rounded(value, places):.{places}f}", f"{U:.{places}f}"


def length_text(value_mm: float) -> str:
    """Write a length in mm that has no doubt of its own: a target, a drawn size."""
    return with_doubt(value_mm, None)


def gap_text(gap_mm: float) -> str:
    """Write a gap in mm with its sign: positive is clearance, negative interference.

    Examples
    --------
    >>> gap_text(0.25), gap_text(-0.05), gap_text(-0.001)
    ('+0.25', '-0.05', '+0.00')
    """
    return f"{_rounded(gap_mm, 2):+.2f}"


def interval(value_mm: float, U95_mm: float, k95: float) -> str:
    """Write ``3.214 mm ± 0.062 mm (95 %, k = 2.1)``.

    Parameters
    ----------
    value_mm, U95_mm : float, mm
        The value and its expanded uncertainty for 95 %.
    k95 : float
        Coverage factor.

    Returns
    -------
    str
        ``value (exact)`` if the uncertainty is zero.

    Examples
    --------
    >>> interval(3.2142, 0.0617, 2.09)
    '3.214 mm ± 0.062 mm (95 %, k = 2.1)'
    """
    if not U95_mm:
        return f"{with_doubt(value_mm, None, 'mm')} (exact)"
    return f"{with_doubt(value_mm, U95_mm, 'mm')} (95 %, k = {k95:.1f})"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitTexts:
    """One size that must fit as every table shows it: texts, lengths in mm.

    Attributes
    ----------
    name, measured, gap, target, drawn, expected, wanted : str
        ``–`` stands for what is not known, or does not apply.
    """

    name: str
    measured: str
    gap: str
    target: str
    drawn: str
    expected: str
    wanted: str


def fit_texts(
    name: str,
    *,
    target_mm: float,
    drawn_mm: float,
    expected: tuple[float, float | None] | None = None,
    measured: tuple[float, float | None] | None = None,
    gap_mm: float | None = None,
    wanted: str = "",
) -> FitTexts:
    """Write a fit's sizes for a table.

    Parameters
    ----------
    name, wanted : str
        What it is called, and how it is to behave.
    target_mm, drawn_mm : float, mm
        What the finished part must have, and what is drawn for that.
    expected, measured : pairs of (value, U95), mm, optional
        The size as it should be printed, and the size of the thing it fits.
    gap_mm : float, mm, optional
        Positive is clearance; None where the size takes no gap.

    Returns
    -------
    FitTexts

    Examples
    --------
    >>> row = fit_texts("lid", target_mm=68.486, drawn_mm=68.702, expected=(68.486, 0.118))
    >>> row.target, row.expected, row.gap
    ('68.486', '68.49 ± 0.12', '–')
    """
    return FitTexts(
        name=name,
        measured=with_doubt(*measured) if measured else NOTHING,
        gap=NOTHING if gap_mm is None else gap_text(gap_mm),
        target=length_text(target_mm),
        drawn=length_text(drawn_mm),
        expected=with_doubt(*expected) if expected else NOTHING,
        wanted=wanted,
    )


def _rounded(value: float, places: int) -> float:
    """Round, so that no zero is written with a minus sign."""
    return round(value, places) + 0.0
