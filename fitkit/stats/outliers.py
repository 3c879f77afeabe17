"""Readings that do not belong to their repeats: Grubbs' test, and a robust one beside it.

Grubbs after ISO 5725-2 (two-sided, one outlying observation), its critical value from Student's t.
It supposes that no two readings are equal, while a display makes many so: the spread is widened by
what rounding to a step may have hidden (step² / 12, GUM F.2.2.1).

The robust one takes distances from the median in units of 1.4826 MAD, with the limit of 3.5 of
Iglewicz and Hoaglin (1993, from memory). Nothing is taken out: a test only flags.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from fitkit.core.errors import StatsError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from fitkit.readings.flags import Flag
    from fitkit.readings.table import ReadingTable

__all__ = ["OutlierTest", "grubbs", "grubbs_critical", "outlier_flags", "robust"]

_MAD_TO_SIGMA = 1.4826
_ROBUST_LIMIT = 3.5
_STEPS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlierTest:
    """What a test says of the reading farthest from the others.

    Attributes
    ----------
    method : {"Grubbs", "median and MAD"}
    index : int
        Of that reading.
    statistic, critical : float
        Flagged if the first is above the second.
    outlying : bool
    with_mm, without_mm : float, mm
        Mean of all readings, and of all but that one.
    median_mm : float, mm
        Of all readings; one that is far off hardly moves it.
    """

    method: Literal["Grubbs", "median and MAD"]
    index: int
    statistic: float
    critical: float
    outlying: bool
    with_mm: float
    without_mm: float
    median_mm: float

    def __str__(self) -> str:
        """Say the test, both means and the median."""
        return (
            f"{self.method} {self.statistic:.3f} against {self.critical:.3f}; "
            f"mean {self.with_mm:.3f} mm with it, {self.without_mm:.3f} mm without it; "
            f"median {self.median_mm:.3f} mm"
        )


def grubbs_critical(n: int, *, level: float = 0.05, sides: Literal[1, 2] = 2) -> float:
    """Find the critical value of Grubbs' statistic for the one most outlying of n readings.

    Examples
    --------
    >>> round(grubbs_critical(5), 3)
    1.715
    """
    from scipy.special import stdtrit

    if n < 3:
        raise _too_few(n)
    t = float(stdtrit(n - 2, 1 - level / (sides * n)))
    return (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))


def _too_few(n: int) -> StatsError:
    return StatsError(
        f"{n} readings cannot show an outlier",
        code="stats.too-few-readings",
        remedy="Take three or more.",
    )


def grubbs(values_mm: ArrayLike, *, level: float = 0.05, step_mm: float = 0.0) -> OutlierTest:
    """Test the reading farthest from the mean, two-sided.

    Parameters
    ----------
    values_mm : array of shape (n,), mm
    level : float
        Chance to call a reading outlying that belongs to the others.
    step_mm : float, mm
        Resolution. Of three readings on a display two are often equal, and the third would then
        stand out wherever it lies; with the step, the chance stays below the level.

    Returns
    -------
    OutlierTest

    Raises
    ------
    StatsError
        For fewer than three readings.
    """
    values = np.asarray(values_mm, dtype=float)
    critical = grubbs_critical(len(values), level=level)
    spread = math.sqrt(float(values.var(ddof=1)) + step_mm**2 / 12)
    off = np.abs(values - values.mean())
    at = int(off.argmax())
    statistic = float(off[at] / spread) if spread else 0.0
    return _verdict("Grubbs", values, at, statistic, critical)


def robust(values_mm: ArrayLike, *, step_mm: float = 0.0) -> OutlierTest:
    """Test the reading farthest from the median; not misled by a second outlier.

    Parameters
    ----------
    values_mm : array of shape (n,), mm
    step_mm : float, mm
        Resolution. Repeats on a coarse display often agree, which would make the MAD zero; it is
        taken to be at least a quarter of a step, as rounding alone gives.

    Returns
    -------
    OutlierTest

    Raises
    ------
    StatsError
        For fewer than three readings.
    """
    values = np.asarray(values_mm, dtype=float)
    if len(values) < 3:
        raise _too_few(len(values))
    off = np.abs(values - np.median(values))
    at = int(off.argmax())
    scale = _MAD_TO_SIGMA * max(float(np.median(off)), step_mm / 4)
    # With no scale more than half are equal: anything else stands out, by how much is unknown.
    statistic = float(off[at] / scale) if scale else (math.inf if off[at] else 0.0)
    return _verdict("median and MAD", values, at, statistic, _ROBUST_LIMIT)


def _verdict(
    method: Literal["Grubbs", "median and MAD"],
    values: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    at: int,
    statistic: float,
    critical: float,
) -> OutlierTest:
    return OutlierTest(
        method=method,
        index=at,
        statistic=statistic,
        critical=critical,
        outlying=statistic > critical,
        with_mm=float(values.mean()),
        without_mm=float(np.delete(values, at).mean()),
        median_mm=float(np.median(values)),
    )


def outlier_flags(table: ReadingTable, *, level: float = 0.05) -> tuple[Flag, ...]:
    """Flag, feature by feature and place by place, the reading that Grubbs' test calls outlying.

    Parameters
    ----------
    table : ReadingTable
    level : float
        Of each test.

    Returns
    -------
    tuple of Flag
        At most one for each feature and place. The reading must also be off by more than two steps
        of what was typed: less than that the display does by itself.
    """
    from fitkit.readings.flags import Flag

    counted = table.counted
    keys = ["feature", "place"] if "place" in counted else ["feature"]
    codes = counted.groupby(keys, sort=False).ngroup().to_numpy()
    order = np.argsort(codes, kind="stable")
    values = counted["value_mm"].to_numpy(float)[order]
    steps = counted["step_mm"].to_numpy(float)[order]
    rows, names = counted["row"].to_numpy(int)[order], counted["feature"].to_numpy(object)[order]
    cuts = np.flatnonzero(np.diff(codes[order], prepend=-1, append=-1))
    found = []
    for start, stop in pairwise(cuts):
        if stop - start < 3:
            continue
        step = float(steps[start:stop].min())
        test = grubbs(values[start:stop], level=level, step_mm=step)
        at = start + test.index
        off = abs(values[at] - test.without_mm)
        if test.outlying and off > _STEPS * steps[at] * (1 + 1e-9):  # 46.02 - 46 is over 0.02
            found.append(
                Flag(
                    kind="outlier",
                    feature=str(names[at]),
                    rows=(int(rows[at]),),
                    text=f"{values[at]:.3f} mm stands out: {test}. "
                    "Read again, or leave it out with a reason",
                )
            )
    return tuple(found)
