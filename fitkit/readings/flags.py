"""Readings to doubt before anything is averaged: slips between inch and mm, and trends.

A flag changes nothing; the maker decides. Outliers in the statistical sense are found in
`fitkit.stats.outliers`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Flag", "find_flags", "has_trend", "unit_slips"]

Kind = Literal["unit slip", "trend", "outlier", "places", "remark"]
_INCH = 25.4
# A slip must bring a reading to within 2 % of its repeats; no outlier does that by chance.
_NEAR = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """A doubt about one or more readings of a feature.

    Attributes
    ----------
    kind : {"unit slip", "trend", "outlier", "places", "remark"}
    feature : str
    rows : tuple of int
        As in column ``row``.
    text : str
        What is doubted and what to do, in plain words.
    """

    kind: Kind
    feature: str
    rows: tuple[int, ...]
    text: str

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.feature}, row {', '.join(map(str, self.rows))}: {self.text}"


def find_flags(counted: pd.DataFrame) -> tuple[Flag, ...]:
    """Find slips, trends and remarks of the parser among the readings that count.

    Parameters
    ----------
    counted : DataFrame
        Rows of a `ReadingTable` that count.
    """
    found = [
        Flag(kind="remark", feature=str(feature), rows=(int(row),), text=str(remark))
        for feature, row, remark in counted.loc[
            counted["remark"] != "", ["feature", "row", "remark"]
        ].itertuples(index=False)
    ]
    # Sorting once and cutting is far quicker than a groupby's loop over small groups.
    codes, names = counted["feature"].factorize()
    order = np.argsort(codes, kind="stable")
    values = counted["value_mm"].to_numpy(float)[order]
    rows = counted["row"].to_numpy(int)[order]
    cuts = np.searchsorted(codes[order], np.arange(len(names) + 1))
    places = counted["place"].to_numpy(object)[order] if "place" in counted else None
    for name, start, stop in zip(names, cuts, cuts[1:], strict=False):
        shown, where = values[start:stop], rows[start:stop]
        found += [
            Flag(
                kind="unit slip",
                feature=str(name),
                rows=(int(where[at]),),
                text=_slip_text(float(shown[at]), factor),
            )
            for at, factor in unit_slips(shown)
        ]
        one_place = places is None or len(set(places[start:stop])) == 1
        if one_place and has_trend(shown):
            found.append(
                Flag(
                    kind="trend",
                    feature=str(name),
                    rows=tuple(int(row) for row in where),
                    text=(
                        f"each repeat is {'smaller' if shown[-1] < shown[0] else 'larger'} than "
                        f"the last ({shown[0]:.2f} to {shown[-1]:.2f} mm): is the part soft, or "
                        "warm? Use a light touch and read again"
                    ),
                )
            )
    return tuple(found)


def _slip_text(shown_mm: float, factor: float) -> str:
    if factor > 1:
        return (
            f"fits its repeats if read as inch: {shown_mm * factor:.2f} mm. "
            "Set its unit to 'in' if the display was in inch"
        )
    return (
        f"fits its repeats if read as mm: {shown_mm * factor:.2f} mm. "
        "Set its unit to 'mm' if the display was in mm"
    )


def unit_slips(shown_mm: Array) -> list[tuple[int, float]]:
    """Find readings that make sense in the other unit system.

    Parameters
    ----------
    shown_mm : array of shape (n,), mm
        Repeats of one feature. With n = 2 the one that is wrong cannot be told, so both are named.

    Returns
    -------
    list of (index, factor)
        The factor, 25.4 or 1/25.4, that brings it to its repeats.
    """
    if len(shown_mm) < 2:
        return []
    found: list[tuple[int, float]] = []
    for at in range(len(shown_mm)):
        middle = float(np.median(np.delete(shown_mm, at)))
        found += [
            (at, factor)
            for factor in (_INCH, 1 / _INCH)
            if middle and abs(shown_mm[at] * factor / middle - 1) < _NEAR
        ]
    # In a majority of slips the minority stands out; of two readings, either may be it.
    return found if 2 * len(found) <= len(shown_mm) or len(shown_mm) == 2 else []


def has_trend(shown_mm: Array) -> bool:
    """Tell whether repeats only ever go one way, by more than the last digit could.

    Three repeats in a row do so by chance one time in three, so three must also span 0.1 mm; from
    five on, chance (2 in 120) is no good excuse. Common practice, no source.
    """
    steps = np.diff(shown_mm)
    if len(steps) < 2 or not (np.all(steps > 0) or np.all(steps < 0)):
        return False
    span = abs(float(shown_mm[-1] - shown_mm[0]))
    return span >= 0.1 or (len(steps) >= 4 and span > 0.03)
