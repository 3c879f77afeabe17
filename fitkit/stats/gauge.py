"""Gauge study: how much of the spread is the reading, the reader, and the parts themselves.

Random-effects analysis of variance, one-way (parts) or crossed (parts by appraisers). Components
by the method of moments, zero where that is negative. Confidence limits are generalised ones: mean
squares are drawn from their chi-squared distributions and components worked out from each draw.
Where some were read more often than others, the analysis is of unweighted cell means: each mean
counts alike, its repeats as their harmonic mean, which is close as long as no cell is empty (R. K.
Burdick, C. M. Borror, D. C. Montgomery, Design and Analysis of Gauge R&R Studies, SIAM 2005, from
memory). Left out: empty cells, fixed appraisers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.errors import StatsError
from fitkit.stats.repeats import repeats_needed

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from fitkit.readings.table import ReadingTable

    Array = NDArray[np.float64]

__all__ = ["GaugeStudy", "Line", "crossed_study", "one_way_study"]

_DRAWS = 20_000
# Above it, interaction counts as noise. Common practice in gauge studies, no source.
_POOL_ABOVE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One source of variation in the analysis of variance."""

    ss: float
    df: int

    @property
    def mean_square(self) -> float:
        """Sum of squares over degrees of freedom."""
        return self.ss / self.df


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStudy:
    """Standard deviations of each component, with their 95 % limits, in mm.

    Attributes
    ----------
    anova : mapping of source to Line
        As computed, before pooling.
    repeatability_mm : float
        Of one reading by one person on one part; `df` are its degrees of freedom.
    reproducibility_mm : float or None
        Between appraisers, interaction included; None in a one-way study.
    gauge_mm : float
        Both together.
    part_mm, total_mm : float
    limits : mapping of component to (low, high), mm
        95 %, two-sided.
    pooled : bool
        Whether interaction was counted as noise.
    notes : tuple of str
    """

    anova: Mapping[str, Line]
    repeatability_mm: float
    df: int
    reproducibility_mm: float | None
    gauge_mm: float
    part_mm: float
    total_mm: float
    limits: Mapping[str, tuple[float, float]]
    pooled: bool = False
    notes: tuple[str, ...] = ()

    @property
    def gauge_share(self) -> float:
        """Gauge over total standard deviation, 0 to 1."""
        return self.gauge_mm / self.total_mm if self.total_mm else math.nan

    @property
    def distinct_categories(self) -> float:
        """How many sizes of part the gauge can tell apart: √2 part over gauge."""
        return math.sqrt(2) * self.part_mm / self.gauge_mm if self.gauge_mm else math.inf

    def repeats_needed(self, wanted_U_mm: float, *, other_u_mm: float = 0.0) -> int:
        """Give the repeats to take for a wanted U; see `repeats.repeats_needed`.

        Parameters
        ----------
        wanted_U_mm : float, mm
            At 95 %.
        other_u_mm : float, mm
            What repeats do not make smaller.

        Returns
        -------
        int
            Readings of one person on one part.
        """
        return repeats_needed(
            self.repeatability_mm, self.df, wanted_U_mm=wanted_U_mm, other_u_mm=other_u_mm
        )

    def _rows(self) -> list[tuple[str, str, str]]:
        shown = {
            "repeatability": self.repeatability_mm,
            "reproducibility": self.reproducibility_mm,
            "gauge": self.gauge_mm,
            "parts": self.part_mm,
            "total": self.total_mm,
        }
        return [
            (name, f"{s:.4f} mm", "{:.4f} to {:.4f} mm".format(*self.limits[name]))
            for name, s in shown.items()
            if s is not None
        ]

    def summary(self) -> str:
        """Components with their limits, a line each."""
        lines = [f"{name}: {s} (95 %: {limits})" for name, s, limits in self._rows()]
        return "\n".join([*lines, *self.notes])

    def _repr_html_(self) -> str:
        from fitkit.core.html import html_table, notes_html

        header = ("component", "standard deviation", "95 % limits")
        return html_table("gauge study", header, self._rows()) + notes_html(self.notes)


def one_way_study(
    table: ReadingTable | pd.DataFrame,
    *,
    part: str = "feature",
    value: str = "value_mm",
    rng: np.random.Generator | None = None,
) -> GaugeStudy:
    """Split the spread into parts and repeats.

    Parameters
    ----------
    table : ReadingTable or DataFrame
    part, value : str
        Columns.
    rng : numpy Generator, optional
        For the limits; seeded alike each time if None, so that a study reads the same again.

    Returns
    -------
    GaugeStudy
        Without reproducibility, since nobody is told apart.

    Raises
    ------
    StatsError
        If there are fewer than two parts, or none was read twice; if a row names no part or has no
        reading.
    """
    cells = _Cells.of(_frame(table, [part], value), [part], value)
    parts, repeats = len(cells.means), cells.repeats
    if parts < 2 or not cells.within.df:
        raise StatsError(
            "a study needs two parts, read twice or more",
            code="stats.study-too-small",
            remedy="Read each part twice or more; once is enough for some of them.",
        )
    means = cells.means
    anova = {
        "part": Line(ss=float(repeats * np.sum((means - means.mean()) ** 2)), df=parts - 1),
        "repeats": cells.within,
    }

    def components(ms: Mapping[str, Any]) -> dict[str, Any]:
        within, between = ms["repeats"], (ms["part"] - ms["repeats"]) / repeats
        return {"repeatability": within, "reproducibility": 0.0, "parts": between}

    return _study(anova, components, rng, pooled=False, appraisers=False, notes=cells.notes)


def crossed_study(
    table: ReadingTable | pd.DataFrame,
    *,
    part: str,
    appraiser: str,
    value: str = "value_mm",
    rng: np.random.Generator | None = None,
) -> GaugeStudy:
    """Split the spread into parts, appraisers, their interaction, and repeats.

    Parameters
    ----------
    table : ReadingTable or DataFrame
        Every appraiser reads every part, best equally often, twice or more.
    part, appraiser, value : str
        Columns; a ReadingTable keeps columns of the user's own, such as ``read_by``.
    rng : numpy Generator, optional
        As in `one_way_study`.

    Returns
    -------
    GaugeStudy
        The interaction is counted with the repeats where the F test does not tell them apart.

    Raises
    ------
    StatsError
        If someone did not read some part, or there are fewer than two parts or appraisers, or
        nothing was read twice; if a row names no part or appraiser, or has no reading.
    """
    frame = _frame(table, [part, appraiser], value)
    cells = _Cells.of(frame, [part, appraiser], value)
    p, a, r = frame[part].nunique(), frame[appraiser].nunique(), cells.repeats
    _refuse_gaps(frame, part, appraiser)
    if min(p, a) < 2 or not cells.within.df:
        raise StatsError(
            "there are fewer than two parts or appraisers, or nothing was read twice",
            code="stats.study-too-small",
            remedy="Let two or more read two or more parts, each twice or more.",
        )
    by_cell = cells.means.reshape(p, a)
    grand, by_part, by_reader = by_cell.mean(), by_cell.mean(axis=1), by_cell.mean(axis=0)
    crossed = by_cell - by_part[:, None] - by_reader[None, :] + grand
    anova = {
        "part": Line(ss=float(a * r * np.sum((by_part - grand) ** 2)), df=p - 1),
        "appraiser": Line(ss=float(p * r * np.sum((by_reader - grand) ** 2)), df=a - 1),
        "interaction": Line(ss=float(r * np.sum(crossed**2)), df=(p - 1) * (a - 1)),
        "repeats": cells.within,
    }
    from scipy.special import fdtrc

    noise, mixed = anova["repeats"], anova["interaction"]
    ratio = mixed.mean_square / noise.mean_square if noise.ss else math.inf
    pooled = float(fdtrc(mixed.df, noise.df, ratio)) > _POOL_ABOVE

    def components(ms: Mapping[str, Any]) -> dict[str, Any]:
        within = ms["repeats"]
        between = within if pooled else ms["interaction"]
        reader = np.maximum((ms["appraiser"] - between) / (p * r), 0.0)
        mixing = 0.0 if pooled else np.maximum((ms["interaction"] - within) / r, 0.0)
        return {
            "repeatability": within,
            "reproducibility": reader + mixing,
            "parts": (ms["part"] - between) / (a * r),
        }

    return _study(anova, components, rng, pooled=pooled, appraisers=True, notes=cells.notes)


def _frame(table: ReadingTable | pd.DataFrame, keys: list[str], value: str) -> pd.DataFrame:
    """Rows that count, with a key and a reading in each."""
    from fitkit.readings.table import ReadingTable

    frame, name = (table.counted, table.name) if isinstance(table, ReadingTable) else (table, "")
    for column in (*keys, value):
        if column not in frame:
            raise StatsError(
                f"there is no column {column!r}",
                code="stats.no-such-column",
                remedy=f"There are: {', '.join(map(str, frame))}.",
            )
    if frame.empty:
        raise StatsError(
            "no reading counts",
            code="stats.nothing-counts",
            remedy="Fill in the readings first.",
        )
    for column in (*keys, value):
        _refuse_blanks(frame, column, name)
    return frame


def _refuse_blanks(frame: pd.DataFrame, column: str, name: str) -> None:
    """Refuse rows without a key: they belong to no cell, and cells and rows would not agree."""
    cells = frame[column]
    blank = (cells.isna() | (cells.map(str).str.strip() == "")).to_numpy()
    if not blank.any():
        return
    # A readings file's own row numbers; a plain frame has its index only.
    kind, labels = ("row", frame["row"]) if "row" in frame else ("index", frame.index)
    rows = [str(label) for label in labels[blank]]
    more = f" and {len(rows) - 3} more" if len(rows) > 3 else ""
    raise StatsError(
        "the cell is blank" if len(rows) == 1 else f"{len(rows)} cells are blank",
        where=f"{name or 'gauge study'}, {kind} {', '.join(rows[:3])}{more}, column {column!r}",
        code="stats.blank-cell",
        remedy="Fill in what is known, or leave the row out of the study.",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cells:
    """Readings of each cell, cells in the order of their sorted keys, as means and scatter."""

    means: Array
    repeats: float  # of a cell; the harmonic mean where they differ
    within: Line
    notes: tuple[str, ...]

    @classmethod
    def of(cls, frame: pd.DataFrame, keys: list[str], value: str) -> _Cells:
        grouped = frame.groupby(keys, sort=True)[value]
        counts = grouped.size().to_numpy()
        off = (frame[value] - grouped.transform("mean")).to_numpy(float)
        repeats = len(counts) / float(np.sum(1.0 / counts))
        notes: tuple[str, ...] = ()
        if counts.min() != counts.max():
            notes = (
                f"{counts.min()} to {counts.max()} readings a cell: unweighted means, as if of "
                f"{repeats:.2f} readings each",
            )
        return cls(
            means=grouped.mean().to_numpy(float),
            repeats=repeats,
            within=Line(ss=float(off @ off), df=int(counts.sum() - len(counts))),
            notes=notes,
        )


def _refuse_gaps(frame: pd.DataFrame, part: str, appraiser: str) -> None:
    counts = frame.groupby([appraiser, part], sort=True).size().unstack(fill_value=0)
    gaps = [
        f"{who} has not read {what}"
        for who, row in counts.iterrows()
        for what, count in row.items()
        if not count
    ]
    if gaps:
        more = f", and {len(gaps) - 3} more" if len(gaps) > 3 else ""
        raise StatsError(
            f"{'; '.join(gaps[:3])}{more}",
            where="crossed gauge study",
            code="stats.cell-not-read",
            remedy="Let everyone read every part at least once, or leave that part or person out; "
            "`one_way_study` does without persons.",
        )


def _study(
    anova: dict[str, Line],
    components: Any,
    rng: np.random.Generator | None,
    *,
    pooled: bool,
    appraisers: bool,
    notes: tuple[str, ...] = (),
) -> GaugeStudy:
    used = dict(anova)
    if pooled:
        noise, mixed = anova["repeats"], used.pop("interaction")
        used["repeats"] = Line(ss=noise.ss + mixed.ss, df=noise.df + mixed.df)
    best = _totals(components({name: line.mean_square for name, line in used.items()}))
    rng = rng or np.random.default_rng(5725)
    drawn = _totals(
        components({name: ln.ss / rng.chisquare(ln.df, _DRAWS) for name, ln in used.items()})
    )
    limits = {
        name: tuple(np.sqrt(np.quantile(np.broadcast_to(v, (_DRAWS,)), (0.025, 0.975))).tolist())
        for name, v in drawn.items()
    }
    if pooled:
        notes = (*notes, "the interaction is not larger than the repeats and is counted with them")
    if best["parts"] == 0:
        notes = (*notes, "parts differ by no more than the readings do")
    return GaugeStudy(
        anova=MappingProxyType(anova),
        repeatability_mm=math.sqrt(best["repeatability"]),
        df=used["repeats"].df,
        reproducibility_mm=math.sqrt(best["reproducibility"]) if appraisers else None,
        gauge_mm=math.sqrt(best["gauge"]),
        part_mm=math.sqrt(best["parts"]),
        total_mm=math.sqrt(best["total"]),
        limits=MappingProxyType(limits),
        pooled=pooled,
        notes=notes,
    )


def _totals(variances: dict[str, Any]) -> dict[str, Any]:
    held = {name: np.maximum(variance, 0.0) for name, variance in variances.items()}
    gauge = held["repeatability"] + held["reproducibility"]
    return {**held, "gauge": gauge, "total": gauge + held["parts"]}
