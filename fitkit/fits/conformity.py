"""Whether a measured size conforms to its tolerance, its uncertainty counted.

ISO 14253-1:2017, simple acceptance by guard bands (from memory): who wants to prove that a size
conforms takes the expanded uncertainty off the tolerance at both ends; who wants to prove that it
does not adds it. In between neither is proved.
"""

from __future__ import annotations

from typing import Literal

from fitkit.core.errors import FitError

__all__ = ["Conformity", "conformity"]

Conformity = Literal["conforms", "does not conform", "not decided"]


def conformity(value_mm: float, U_mm: float, low_mm: float, high_mm: float) -> Conformity:
    """Tell whether a size conforms to its limits.

    Parameters
    ----------
    value_mm, U_mm : float, mm
        Measured size and its expanded uncertainty for 95 %.
    low_mm, high_mm : float, mm
        Limits of the tolerance.

    Returns
    -------
    {"conforms", "does not conform", "not decided"}

    Raises
    ------
    FitError
        If the low limit is above the high one, or the uncertainty is negative.

    Examples
    --------
    >>> [conformity(v, 0.04, 10.0, 10.2) for v in (10.1, 10.22, 10.3)]
    ['conforms', 'not decided', 'does not conform']
    """
    if low_mm > high_mm or U_mm < 0:
        raise FitError(
            f"limits of {low_mm:g} and {high_mm:g} mm with an uncertainty of {U_mm:g} mm cannot be",
            code="fit.impossible-limits",
            remedy="Write the lowest size first, and an uncertainty of 0 or more.",
        )
    if low_mm + U_mm <= value_mm <= high_mm - U_mm:
        return "conforms"
    if value_mm < low_mm - U_mm or value_mm > high_mm + U_mm:
        return "does not conform"
    return "not decided"
