"""How well readings repeat, pooled over many features: the history of an instrument.

Pooled standard deviation after ISO 5725-2: squares within groups over their degrees of freedom.
Left out: Cochran's test of one group against the others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import StatsError

if TYPE_CHECKING:
    from fitkit.readings.table import ReadingTable

__all__ = ["Repeatability", "pooled_repeatability"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeatability:
    """Standard deviation of one reading, its degrees of freedom, and what it was pooled over."""

    s_mm: float
    df: int
    groups: int

    def __str__(self) -> str:
        """Say the figure and its basis."""
        return f"{self.s_mm:.4f} mm for one reading ({self.df} df, {self.groups} groups)"


def pooled_repeatability(table: ReadingTable, *, instrument: str | None = None) -> Repeatability:
    """Pool the repeats of every item, feature and place, for one instrument or for all.

    Parameters
    ----------
    table : ReadingTable
        Its readings that count.
    instrument : str, optional
        Name as in the table; None pools the repeats of all, each instrument's by itself.

    Returns
    -------
    Repeatability

    Raises
    ------
    StatsError
        If nothing was read twice.
    """
    rows = table.counted
    if instrument is not None:
        rows = rows[rows["instrument"] == instrument]
    keys = [key for key in ("item", "feature", "mode", "place", "instrument") if key in rows]
    groups = rows.groupby(keys, sort=False)["value_mm"]
    counts = groups.count().to_numpy()
    spreads = groups.var(ddof=1).to_numpy()
    repeated = counts > 1
    df = int(np.sum(counts[repeated] - 1))
    if not df:
        raise StatsError(
            "nothing was read twice",
            where=table.name,
            code="stats.nothing-repeated",
            remedy="Read some features again.",
        )
    variance = float(np.sum(spreads[repeated] * (counts[repeated] - 1))) / df
    return Repeatability(s_mm=math.sqrt(variance), df=df, groups=int(repeated.sum()))
