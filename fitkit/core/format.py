"""How a size with its doubt is written: two significant digits of uncertainty, the value alike.

Source: GUM (JCGM 100:2008) 7.2.6 for the digits.
"""

from __future__ import annotations

import math

__all__ = ["interval", "places_for"]


def places_for(u: float) -> int:
    """Decimals that show two significant digits of an uncertainty; 3 for an exact number."""
    if not u or not math.isfinite(u):
        return 3
    return max(0, 1 - math.floor(math.log10(u * (1 + 1e-12))))


def interval(value_mm: float, U95_mm: float, k95: float) -> str:
    """Write ``3.214 mm ± 0.062 mm (95 %, k = 2.1)``.

    Parameters
    ----------
    value_mm, U95_mm : float, mm
        The value and its expanded uncertainty for 95 %.
    k95 : float
        Coverage factor.

    Examples
    --------
    >>> interval(3.2142, 0.0617, 2.09)
    '3.214 mm ± 0.062 mm (95 %, k = 2.1)'
    """
    if not U95_mm:
        return f"{value_mm:.3f} mm (exact)"
    places = places_for(U95_mm)
    return f"{value_mm:.{places}f} mm ± {U95_mm:.{places}f} mm (95 %, k = {k95:.1f})"
