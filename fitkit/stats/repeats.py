"""How many repeats to take: the fewest that bring U to what is wanted.

Model: the mean of n readings has variance s² / n, s with the degrees of freedom it is known with;
what repeats do not make smaller is added as known exactly. Degrees of freedom of both together
follow Welch and Satterthwaite (GUM G.4), coverage is that of `fitkit.core.expanded`.
Left out: that the readings to come will tell more of the spread.
"""

from __future__ import annotations

import numpy as np

from fitkit.core.errors import StatsError
from fitkit.core.expanded import effective_df, expanded

__all__ = ["repeats_needed"]


def repeats_needed(
    s_mm: float, df: float, *, wanted_U_mm: float, other_u_mm: float = 0.0, most: int = 1000
) -> int:
    """Find how many repeats bring U to what is wanted.

    Parameters
    ----------
    s_mm : float, mm
        Standard deviation of one reading.
    df : float
        Degrees of freedom with which it is known.
    wanted_U_mm : float, mm
        At 95 %.
    other_u_mm : float, mm
        What repeats do not make smaller: limit of error, zero, resolution.
    most : int
        Larger numbers are not tried.

    Returns
    -------
    int
        1 or more.

    Raises
    ------
    StatsError
        If no number of repeats up to `most` is enough; says what would be.

    Examples
    --------
    >>> repeats_needed(0.02, 40, wanted_U_mm=0.02)
    5
    """
    if not (s_mm >= 0 and df > 0 and wanted_U_mm > 0):
        raise StatsError(
            f"a spread of {s_mm:g} mm, {df:g} degrees of freedom or a wanted U of "
            f"{wanted_U_mm:g} mm cannot be",
            code="stats.repeats-of-what",
            remedy="Give a spread of zero or more, and the others above zero.",
        )
    counts = np.arange(1, most + 1)
    own = s_mm**2 / counts
    variance = own + other_u_mm**2
    effective = effective_df((np.sqrt(own), df), (other_u_mm, np.inf))
    U, _ = expanded(np.sqrt(variance), np.maximum(effective, 1.0))
    enough = np.flatnonzero(wanted_U_mm >= U)
    if not len(enough):
        raise StatsError(
            f"no number of repeats up to {most} gives U = {wanted_U_mm:g} mm; "
            f"{expanded(other_u_mm)[0]:.3f} mm stays however often you read",
            code="stats.repeats-do-not-help",
            remedy="Use a better instrument, check its zero, or allow a larger U.",
        )
    return int(counts[enough[0]])
