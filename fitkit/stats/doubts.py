"""Doubts about readings: spreads that the instrument and the object's form do not explain.

How far two readings of one size may lie apart is known before they are taken: it follows from the
instrument's repeatability (its history, or that of usual calipers), the step of its display
(step² / 12, GUM F.2.2.1) and the object's own form, 0.02 mm as a standard deviation from place to
place (common practice, no source) unless the readings name their places or the column ``form`` says
otherwise. So a doubt works from two readings on, where a test of the readings against one another
is blind: with three, Grubbs' test finds one reading in ten that is 0.2 mm off.

Two tests, for each item, feature and place: the variance of the readings against the known one
(chi-square, or F where the known one has few degrees of freedom; for two readings it is the
critical difference of ISO 5725-6, 4.1), and the reading farthest from the median against the normal
distribution, level shared among the readings. Left out: drift of the instrument, which shifts all
repeats alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.readings.flags import Flag, groups_of, undecided
from fitkit.readings.instruments import Instruments
from fitkit.readings.plausible import plausible_flags
from fitkit.stats.summary import mean_and_spread

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from fitkit.readings.flags import Kind
    from fitkit.readings.instruments import Instrument
    from fitkit.readings.table import ReadingTable

    Array = NDArray[np.float64]
    Given = Instruments | Mapping[str, Instrument] | Iterable[Instrument] | None

__all__ = ["FORM_MM", "critical_difference", "doubts", "known_spread", "spread_flags"]

# Standard deviation of a printed or moulded object's size from place to place. Common practice, no
# source.
FORM_MM = 0.02
# Chance to doubt a feature of which nothing is wrong, for each of the two tests; with the trends
# that chance makes, it stays below 1 in 100.
_LEVEL = 0.004
# A feature whose readings fall into two heaps: the gap between them, in known standard deviations.
_HEAPS_APART = 3.0


def critical_difference(sigma_mm: float, *, level: float = 0.05) -> float:
    """Find how far two readings of one size may lie apart.

    Parameters
    ----------
    sigma_mm : float, mm
        Standard deviation of one reading, known from many.
    level : float
        Chance that two good readings lie farther apart.

    Returns
    -------
    float, mm

    Notes
    -----
    Source: ISO 5725-6, 4.1 (repeatability limit r = 2.8 standard deviations at 95 %).

    Examples
    --------
    >>> round(critical_difference(1.0), 2)
    2.77
    """
    from scipy.special import ndtri

    return float(np.sqrt(2.0) * -ndtri(level / 2) * sigma_mm)


def known_spread(rows: pd.DataFrame, instruments: Instruments) -> tuple[Array, Array]:
    """Find how far single readings are known to scatter, before any of them is looked at.

    Parameters
    ----------
    rows : DataFrame of n rows
        Of a `ReadingTable`.
    instruments : Instruments

    Returns
    -------
    variance : array of shape (n,), mm²
    df : array of shape (n,)
        Degrees of freedom with which it is known (Welch and Satterthwaite, GUM G.4.1).
    """
    names = rows["instrument"]
    found = {name: instruments.find(name) for name in names.unique()}
    usual = instruments.usual
    repeat = names.map(
        {n: one.repeatability_mm or usual.repeatability_mm for n, one in found.items()}
    ).to_numpy(float)
    df = names.map(
        {
            n: one.repeatability_df if one.repeatability_mm else usual.repeatability_df
            for n, one in found.items()
        }
    ).to_numpy(float)
    step = np.fmax(
        names.map({n: one.resolution_mm for n, one in found.items()}).to_numpy(float),
        rows["step_mm"].to_numpy(float),
    )
    form = np.full(len(rows), FORM_MM)
    if "place" in rows:  # readings at one place repeat each other; the form lies between places
        form = np.where(rows["place"].to_numpy(object) == "", form, 0.0)
    if "form_mm" in rows:
        told = rows["form_mm"].to_numpy(float)
        form = np.where(np.isnan(told), form, told)
    variance = repeat**2 + step**2 / 12 + form**2
    with np.errstate(divide="ignore"):
        return variance, np.asarray(variance**2 * np.maximum(df, 1.0) / repeat**4)


def chance_of_spread(variance: ArrayLike, n: ArrayLike, known: ArrayLike, df: ArrayLike) -> Array:
    """Give the chance that n readings scatter as far as they do, or farther.

    Parameters
    ----------
    variance : array of shape (g,), mm²
        Of the readings, n - 1 in the denominator.
    n : array of shape (g,)
        Two or more.
    known : array of shape (g,), mm²
        Known variance of one reading.
    df : array of shape (g,)
        With how many degrees of freedom it is known.

    Returns
    -------
    array of shape (g,)
        Upper tail of F with n - 1 and `df` degrees of freedom.
    """
    from scipy.special import fdtrc

    ratio = np.asarray(variance, dtype=float) / np.asarray(known, dtype=float)
    chance = fdtrc(np.asarray(n, dtype=float) - 1, np.asarray(df, dtype=float), ratio)
    return np.asarray(chance, dtype=float)


def spread_flags(
    table: ReadingTable, *, instruments: Given = None, level: float = _LEVEL
) -> tuple[Flag, ...]:
    """Doubt the features whose readings scatter more than the instrument and the form explain.

    Parameters
    ----------
    table : ReadingTable
    instruments : instruments by name, optional
        Those that nobody described count as usual calipers.
    level : float
        Chance, for each of the two tests, to doubt a feature of which nothing is wrong.

    Returns
    -------
    tuple of Flag
        One a feature and place: an ``outlier``, two ``groups``, or a ``spread`` of which it cannot
        be told which reading is wrong.
    """
    from scipy.special import ndtri

    rows = table.counted
    if len(rows) < 2:
        return ()
    known = instruments if isinstance(instruments, Instruments) else Instruments(instruments)
    groups = groups_of(rows, "mode", "place")
    variance, df = known_spread(rows, known)
    number = len(groups.cuts) - 1
    values = rows["value_mm"].to_numpy(float)
    if rows["instrument"].nunique() > 1:  # two instruments may differ by their zero
        names = rows["instrument"]
        zeros = {name: known.find(name).zero_error_mm for name in names.unique()}
        values = values - names.map(zeros).to_numpy(float)
    n, _, s = mean_and_spread(values, groups.codes, number)
    widest, least = np.zeros(number), np.full(number, np.inf)
    np.maximum.at(widest, groups.codes, variance)
    np.minimum.at(least, groups.codes, df)
    # One reading among many hardly widens their spread; it is held against the median.
    medians = _medians(values, groups.codes, n)
    off = np.abs(values - medians[groups.codes])
    farthest = np.zeros(number)
    np.maximum.at(farthest, groups.codes, off)
    repeated = n > 1
    chance = np.ones(number)
    chance[repeated] = chance_of_spread(
        s[repeated] ** 2, n[repeated], widest[repeated], least[repeated]
    )
    limit = -ndtri(level / 2 / np.maximum(n, 1)) * np.sqrt(widest)
    doubtful = np.flatnonzero((chance < level) | ((n > 3) & (farthest > limit)))
    lines = rows["row"].to_numpy(int)
    names_of, items_of = rows["feature"].to_numpy(object), rows["item"].to_numpy(object)
    found = []
    for group in doubtful:
        at = groups.order[groups.cuts[group] : groups.cuts[group + 1]]
        kind, ways, text = _judged(
            values[at], float(widest[group]), float(least[group]), level, lines[at]
        )
        found.append(
            Flag(
                kind=kind,
                feature=str(names_of[at[0]]),
                item=str(items_of[at[0]]),
                rows=ways[0] if kind == "outlier" else tuple(int(line) for line in lines[at]),
                text=text,
                ways=ways,
            )
        )
    return undecided(found, rows)


def _medians(values: Array, codes: NDArray[np.intp], n: NDArray[np.int64]) -> Array:
    order = np.lexsort((values, codes))
    ordered = values[order]
    starts = np.concatenate(([0], np.cumsum(n)[:-1]))
    last = len(values) - 1
    low = ordered[np.minimum(starts + np.maximum(n - 1, 0) // 2, last)]
    high = ordered[np.minimum(starts + n // 2, last)]
    middle: Array = (low + high) / 2
    return middle


def _judged(
    values: Array, known: float, df: float, level: float, lines: NDArray[np.int_]
) -> tuple[Kind, tuple[tuple[int, ...], ...], str]:
    """Tell which readings may be wrong: one, one of two heaps, or nobody knows."""
    n, sigma = len(values), float(np.sqrt(known))
    spread = float(values.std(ddof=1))
    against = (
        f"{n} readings scatter by {spread:.3f} mm (standard deviation), where the instrument, its "
        f"step and the object's form explain {sigma:.3f} mm"
    )
    sort = np.argsort(values, kind="stable")
    ordered = values[sort]

    def left_out(positions: NDArray[np.intp]) -> tuple[int, ...]:
        return tuple(sorted(int(line) for line in lines[positions]))

    if n == 2:
        apart = float(ordered[1] - ordered[0])
        may = critical_difference(sigma, level=level)
        text = (
            f"the two readings lie {apart:.3f} mm apart, where {may:.3f} mm at most is explained. "
            "Read the feature again"
        )
        return "spread", (left_out(sort[:1]), left_out(sort[1:])), text
    far = int(np.argmax(np.abs(values - np.median(values))))
    rest = np.delete(values, far)
    fits = float(chance_of_spread(rest.var(ddof=1), n - 1, known, df)) >= level
    if fits and not (n == 3 and _in_the_middle(ordered, sigma)):
        text = (
            f"{values[far]:.3f} mm stands out: {against}; mean {values.mean():.3f} mm with it, "
            f"{rest.mean():.3f} mm without it; median {np.median(values):.3f} mm. Read again, or "
            "decide whether it counts"
        )
        return "outlier", (left_out(np.array([far])),), text
    gaps = np.diff(ordered)
    cut = int(np.argmax(gaps)) + 1
    low, high = ordered[:cut], ordered[cut:]
    if min(len(low), len(high)) > 1 and gaps[cut - 1] > _HEAPS_APART * sigma:
        text = (
            f"two groups of readings under one name, {len(low)} near {low.mean():.3f} mm and "
            f"{len(high)} near {high.mean():.3f} mm: were they read at two places? Name the "
            "places, or give the features two names"
        )
        return "groups", (left_out(sort[cut:]), left_out(sort[:cut])), text
    return (
        "spread",
        (left_out(sort[:1]), left_out(sort[-1:])),
        f"{against}. Read the feature again",
    )


def _in_the_middle(ordered: Array, sigma: float) -> bool:
    """Tell whether the middle one of three is nearly as far from either other one."""
    first, second = np.diff(ordered)
    return bool(abs(first - second) < sigma)


def doubts(table: ReadingTable, *, instruments: Given = None) -> tuple[Flag, ...]:
    """Give every doubt about a table's readings: its own flags, then spreads that are too wide.

    A reading that fits its repeats in another unit stands out for that reason, and repeats that
    drift scatter for that one, so both are named once.

    Parameters
    ----------
    table : ReadingTable
    instruments : instruments by name, optional
        What is known of their repeatability; those that nobody described count as usual calipers.

    Returns
    -------
    tuple of Flag
    """
    known = instruments if isinstance(instruments, Instruments) else Instruments(instruments)
    odd = undecided(plausible_flags(table, known), table.counted)
    flags = table.flags
    explained = _rows_of(flags, "unit slip")
    flags = (*flags, *(flag for flag in odd if not explained.issuperset(_rows_of([flag]))))
    drifting = _rows_of(flags, "trend")
    found = spread_flags(table, instruments=known)
    return (
        *flags,
        *(
            flag
            for flag in found
            if not explained.intersection(_rows_of([flag]))
            # A single reading stands out whatever the order, and loses weight for it.
            and (flag.kind == "outlier" or not drifting.issuperset(_rows_of([flag])))
        ),
    )


def _rows_of(flags: Iterable[Flag], kind: Kind | None = None) -> set[tuple[str, str, int]]:
    """Name the doubted rows; rows of two files may have one number, so with item and feature."""
    return {
        (flag.item, flag.feature, row)
        for flag in flags
        if kind in (None, flag.kind)
        for row in flag.rows
    }
