"""Readings to doubt before anything is averaged: slips between inch and mm, trends, odd entries.

A flag changes nothing; the maker decides, and a reading that was kept by decision is not doubted
again. Spreads that are too wide for the instrument are found in `fitkit.stats.doubts`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from fitkit.readings.kinds import read_inside
from fitkit.readings.names import folded_items, near_spellings

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Flag", "Groups", "find_flags", "groups_of", "has_trend", "undecided", "unit_slips"]

Kind = Literal[
    "unit slip",
    "trend",
    "outlier",
    "groups",
    "spread",
    "double entry",
    "read again",
    "implausible",
    "spelling",
    "places",
    "zero check",
    "remark",
]
_INCH = 25.4
# A slip must bring a reading to within 2 % of its repeats; no outlier does that by chance.
_NEAR = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """A doubt about one or more readings of a feature.

    Attributes
    ----------
    kind : str
        ``unit slip``, ``trend``, ``outlier`` (one reading), ``groups`` (two heaps under one name),
        ``spread`` (too wide, and it cannot be told which reading is wrong), ``double entry``,
        ``read again`` (decided, and not done yet), ``implausible``, ``spelling``, ``places``,
        ``zero check`` or ``remark``.
    feature : str
    rows : tuple of int
        As in column ``row``.
    text : str
        What is doubted and what to do, in plain words.
    item : str
        Item of the feature; empty if its rows name none.
    ways : tuple of tuples of rows
        In which ways the doubt may be right: each names the rows that would not count then. Empty
        where the size does not hang on it.
    """

    kind: Kind
    feature: str
    rows: tuple[int, ...]
    text: str
    item: str = ""
    ways: tuple[tuple[int, ...], ...] = ()

    def __str__(self) -> str:
        """Give one line."""
        name = f"{self.item}, {self.feature}" if self.item else self.feature
        return f"{name}, row {', '.join(map(str, self.rows))}: {self.text}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Groups:
    """Rows of a table, put together by item, feature and other columns.

    Attributes
    ----------
    order : array of shape (n,)
        Positions of the rows, those of a group side by side, in order of appearance.
    codes : array of shape (n,)
        Number of the group of each row, in the table's own order.
    cuts : array of shape (groups + 1,)
        Where each group begins in `order`.
    """

    order: NDArray[np.intp]
    codes: NDArray[np.intp]
    cuts: NDArray[np.intp]


def groups_of(rows: pd.DataFrame, *columns: str) -> Groups:
    """Put rows together by item and feature, and by more columns where the table has them.

    Parameters
    ----------
    rows : DataFrame
        Of a `ReadingTable`.
    *columns : str
        Columns beside item and feature.

    Returns
    -------
    Groups
    """
    import pandas as pd

    # Sorting once and cutting is far quicker than a groupby's loop over small groups.
    codes = rows["feature"].factorize()[0].astype(np.int64)
    for column in ("item", *columns):
        if column in rows and rows[column].nunique() > 1:
            more = folded_items(rows[column]) if column == "item" else rows[column]
            other = more.factorize()[0]
            codes = pd.factorize(codes * (int(other.max()) + 1) + other)[0]
    order = np.argsort(codes, kind="stable")
    number = int(codes.max()) + 1 if len(codes) else 0
    cuts = np.searchsorted(codes[order], np.arange(number + 1))
    return Groups(order=order, codes=codes.astype(np.intp), cuts=cuts.astype(np.intp))


def undecided(flags: Iterable[Flag], counted: pd.DataFrame) -> tuple[Flag, ...]:
    """Leave out the doubts about readings that were all kept by decision.

    Parameters
    ----------
    flags : iterable of Flag
    counted : DataFrame
        Rows of a `ReadingTable` that count.
    """
    if "kept" not in counted:
        return tuple(flags)
    mine = counted.loc[counted["kept"] != "", ["feature", "row"]]
    # Rows of two files may have one number; rows of several spellings are of several features.
    kept = {(str(name), int(row)) for name, row in mine.itertuples(index=False)}
    rows = {row for _, row in kept}
    return tuple(
        flag
        for flag in flags
        if not kept
        or not (
            rows.issuperset(flag.rows)
            if flag.kind == "spelling"
            else all((flag.feature, row) in kept for row in flag.rows)
        )
    )


def find_flags(counted: pd.DataFrame) -> tuple[Flag, ...]:
    """Find slips, trends, odd entries and remarks of the parser among the readings that count.

    Parameters
    ----------
    counted : DataFrame
        Rows of a `ReadingTable` that count.
    """
    found = [
        Flag(kind="remark", feature=str(feature), rows=(int(row),), text=str(remark), item=item)
        for item, feature, row, remark in counted.loc[
            counted["remark"] != "", ["item", "feature", "row", "remark"]
        ].itertuples(index=False)
    ]
    found += _spellings(counted)
    found += _outside_holes(counted)
    groups = groups_of(counted)
    order = groups.order
    values = counted["value_mm"].to_numpy(float)[order]
    rows = counted["row"].to_numpy(int)[order]
    names = counted["feature"].to_numpy(object)[order]
    items = counted["item"].to_numpy(object)[order]
    places = counted["place"].to_numpy(object)[order] if "place" in counted else None
    for start, stop in zip(groups.cuts, groups.cuts[1:], strict=False):
        shown, where = values[start:stop], rows[start:stop]
        slips = unit_slips(shown)
        one_place = places is None or len(set(places[start:stop])) == 1
        drifts = one_place and has_trend(shown)
        if not (slips or drifts):
            continue
        name, item = str(names[start]), str(items[start])
        found += _slips(name, item, where, shown, slips)
        if drifts:
            found.append(
                Flag(
                    kind="trend",
                    feature=name,
                    item=item,
                    rows=tuple(int(row) for row in where),
                    text=(
                        f"each repeat is {'smaller' if shown[-1] < shown[0] else 'larger'} than "
                        f"the last ({shown[0]:.2f} to {shown[-1]:.2f} mm): is the part soft, or "
                        "warm? Use a light touch and read again"
                    ),
                    ways=(
                        tuple(int(row) for row in where[1:]),
                        tuple(int(row) for row in where[:-1]),
                    ),
                )
            )
    return undecided(found, counted)


def _outside_holes(counted: pd.DataFrame) -> list[Flag]:
    """Point out holes, by their names, that were not read with the inside jaws."""
    rows = counted.loc[counted["mode"] == "outside", ["item", "feature", "row"]]
    if "round" in counted:
        rows = rows[counted.loc[rows.index, "round"] != "no"]
    names = {name: read_inside(str(name)) for name in rows["feature"].unique()}
    rows = rows[rows["feature"].map(names).astype(bool)]
    return [
        Flag(
            kind="implausible",
            feature=str(feature),
            item=str(item),
            rows=tuple(int(row) for row in part["row"]),
            text="a hole by its name, but an outside reading: set its mode to inside, so that flat "
            "jaws are corrected for (or its column 'round' to no)",
        )
        for (item, feature), part in rows.groupby(["item", "feature"], sort=False)
    ]


def _spellings(counted: pd.DataFrame) -> list[Flag]:
    """Point out features of one item whose names differ in capitals and blanks only."""
    pairs = counted[["item", "feature", "row"]].drop_duplicates(["item", "feature"])
    found = []
    for item, part in pairs.groupby(folded_items(pairs["item"]), sort=False):
        rows = dict(zip(part["feature"], part["row"], strict=True))
        found += [
            Flag(
                kind="spelling",
                feature=names[0],
                item=str(item),
                rows=tuple(int(rows[name]) for name in names),
                text=f"{', '.join(map(repr, names))} look like one feature, but count as "
                f"{len(names)}. Spell the name alike in every row if it is one",
            )
            for names in near_spellings(tuple(rows))
        ]
    return found


def _slips(
    name: str, item: str, rows: NDArray[np.int_], shown: Array, slips: Sequence[tuple[int, float]]
) -> list[Flag]:
    """Give the doubts about the unit: one a reading, or one for all where half of them differ."""
    if len(slips) < len(shown):
        return [
            Flag(
                kind="unit slip",
                feature=name,
                item=item,
                rows=(int(rows[at]),),
                text=_slip_text(float(shown[at]), factor),
                ways=((int(rows[at]),),),
            )
            for at, factor in slips
        ]
    halves = [
        tuple(int(rows[at]) for at, factor in slips if (factor > 1) == small)
        for small in (True, False)
    ]
    small, large = (", ".join(map(str, half)) for half in halves)
    text = (
        f"row {large} reads 25.4 times what row {small} reads: was one half shown in inch and the "
        "other in mm? Set the unit of the rows that have the wrong one"
    )
    every = tuple(int(row) for row in rows)
    return [
        Flag(kind="unit slip", feature=name, item=item, rows=every, text=text, ways=tuple(halves))
    ]


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
        Repeats of one feature. Of two halves it cannot be told which is wrong, so all are named.

    Returns
    -------
    list of (index, factor)
        The factor, 25.4 or 1/25.4, that brings it to its repeats.
    """
    # A slip of the unit is a factor of 25; most repeats agree far better, which is seen at once.
    if len(shown_mm) < 2 or abs(shown_mm).max() < 2 * abs(shown_mm).min():
        return []
    found: list[tuple[int, float]] = []
    for at in range(len(shown_mm)):
        middle = float(np.median(np.delete(shown_mm, at)))
        found += [
            (at, factor)
            for factor in (_INCH, 1 / _INCH)
            if middle and abs(shown_mm[at] * factor / middle - 1) < _NEAR
        ]
    # In a majority of slips the minority stands out; of two halves, either may be it.
    return found if 2 * len(found) <= len(shown_mm) or len(found) == len(shown_mm) else []


def has_trend(shown_mm: Sequence[float] | Array) -> bool:
    """Tell whether repeats only ever go one way, by more than the last digit could.

    Three repeats in a row do so by chance one time in three and five 2 times in 120, so up to five
    must also span 0.1 mm; from six on, chance (2 in 720) does not explain it. Common practice, no
    source.

    Parameters
    ----------
    shown_mm : array of shape (n,), mm
        In the order in which they were read.
    """
    steps = np.diff(shown_mm)
    if len(steps) < 2 or not (np.all(steps > 0) or np.all(steps < 0)):
        return False
    span = abs(float(shown_mm[-1] - shown_mm[0]))
    return span >= 0.1 or (len(steps) >= 5 and span > 0.03)
