"""Readings of a feature to one `Estimate`, with every correction in a row of its budget.

Model, in the order in which it is applied: mean of what was shown, minus the zero error of the
instrument, plus resolution and limit of error (both zero, with uncertainty), then for a round hole
the chord between flat jaws (`jaws`), then the size at 20 °C.

Zero error, jaw width, the coefficient of expansion and the common part of the limit of error are
one input per instrument (or material), so that what they have in common cancels in a difference.
Source: JCGM 100:2008 (GUM), 4.2 for the mean of repeats, 4.3.7 for limits (half-width over √3),
F.2.2.1 for resolution (step over √12), G.4 for degrees of freedom. A single reading takes the
spread of the instrument's history, or else of the table's other repeats (GUM 4.2.4, a pooled
estimate from well-characterised measurements), so that it is never surer than repeats for want of
any. An instrument that nobody described counts as usual calipers (`usual_calipers`); their usual
spread is then pooled with the table's repeats. Left out: the repeats' resolution is counted beside
their spread, which errs on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from fitkit.core.bulk import without_collector
from fitkit.core.errors import StatsError
from fitkit.readings.corrections import SMALL_HOLE_MM
from fitkit.readings.dates import day_of
from fitkit.readings.instruments import Instruments
from fitkit.readings.items import refuse_shared_names
from fitkit.readings.kinds import says_span
from fitkit.readings.numbers import celsius
from fitkit.readings.shapes import NO_HOLES, with_kinds
from fitkit.stats.doubts import doubts, known_spread
from fitkit.stats.jaws import bore, chord, over_far_walls
from fitkit.stats.places import PLACES_DIFFER, compare_places
from fitkit.stats.repeatability import Repeatability, pooled_repeatability
from fitkit.stats.uncertainty import Estimate, Source

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from fitkit.readings.checks import Limit
    from fitkit.readings.flags import Flag
    from fitkit.readings.instruments import Instrument
    from fitkit.readings.table import ReadingTable

    Given = Mapping[str, Instrument] | Iterable[Instrument] | None

__all__ = ["Expansion", "estimate", "estimates"]

# Where no temperature was written down, and that of one that was. Common practice, no source.
_ROOM_HALF_WIDTH_K = 2.0
_U_TEMPERATURE_K = 1.0
# Where a reading that stands out begins to lose weight, in standard deviations (Huber 1964).
_HUBER = 1.5
# Equal readings less one zero error may differ in their last bits.
_ROUNDING_MM = 1e-9
Pooling = Literal["own", "pooled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Expansion:
    """A material's coefficient of linear expansion with its standard uncertainty, per kelvin."""

    material: str
    per_k: float
    u_per_k: float
    basis: str = ""


@without_collector()
def estimates(
    table: ReadingTable,
    *,
    instruments: Given = None,
    repeatability: Pooling = "own",
    expansion: Expansion | None = None,
    place: str | None = None,
    whole: ReadingTable | None = None,
) -> dict[str, Estimate]:
    """Estimate every feature of a table, corrections that they share kept correlated.

    Parameters
    ----------
    table : ReadingTable
    instruments : mapping of name to Instrument, or instruments, optional
        Names are compared without regard to case and blanks. An instrument that is not among them
        counts as usual calipers, and the estimates say so.
    repeatability : {"own", "pooled"}
        Spread of the feature's own repeats, or that of the instrument's history, which is named. A
        single reading has no spread of its own and takes the history's, or else that of the
        table's other repeats with the same instrument, doubtful features aside.
    expansion : Expansion, optional
        Of the part's material; brings sizes to 20 °C where the readings have a temperature, and
        allows for a room of 18 to 22 °C where they have none.
    place : str, optional
        Which place of a part counts where places differ; ``mid`` unless given. A feature read at
        another place only is taken from there, with a note.
    whole : ReadingTable, optional
        What `table` is a part of, whose other repeats a single reading takes; else `table` itself.

    Returns
    -------
    dict of feature name to Estimate
        In the table's order.

    Raises
    ------
    StatsError
        If a feature was read in two modes, or nothing is left of it.
    ReadingError
        If a feature was read on several items: take `ReadingTable.of_item` first.
    """
    refuse_shared_names(table)
    known = Instruments(instruments).zeroed_by(table if whole is None else whole)
    table, whole = known.spelt(table), None if whole is None else known.spelt(whole)
    table = with_kinds(table)
    found_doubts = doubts(table, instruments=known)
    inputs = _Inputs(
        instruments=known,
        pooling=repeatability,
        expansion=expansion,
        place=place,
        table=table if whole is None else whole,
        doubts=found_doubts if whole is None else None,
    )
    flags: dict[str, list[Flag]] = {}
    for flag in found_doubts:
        flags.setdefault(flag.feature, []).append(flag)
    groups = dict(list(table.accepted.groupby("feature", sort=False)))
    # Holes first: a span between holes needs their diameters.
    found: dict[str, Estimate] = {}
    for name in sorted(table.features(), key=lambda name: bool(_between(groups[name]))):
        found[name] = _estimate(name, groups[name], inputs, flags.get(name, []), found)
    return {name: found[name] for name in table.features()}


def estimate(
    table: ReadingTable,
    feature: str,
    *,
    instruments: Given = None,
    repeatability: Pooling = "own",
    expansion: Expansion | None = None,
    place: str | None = None,
) -> Estimate:
    """Estimate one feature; see `estimates`, which also keeps what several have in common.

    Parameters
    ----------
    table : ReadingTable
    feature : str
        Name of the feature, letter for letter.
    instruments, repeatability, expansion, place
        As for `estimates`.

    Returns
    -------
    Estimate
        As that of `estimates` for this feature.

    Raises
    ------
    StatsError
        If the feature has no accepted reading, or as `estimates`.
    """
    if feature not in table.features():
        raise StatsError(
            f"no reading of {feature!r} can be used",
            where=table.name,
            code="stats.no-such-feature",
            remedy=f"It has: {', '.join(table.features()) or 'none at all'}.",
        )
    table = with_kinds(table)
    rows = table.accepted[table.accepted["feature"] == feature]
    alone = replace(
        table, frame=table.frame[table.frame["feature"].isin([feature, *_between(rows)])]
    )
    return estimates(
        alone,
        instruments=instruments,
        repeatability=repeatability,
        expansion=expansion,
        place=place,
        whole=table,
    )[feature]


def _between(rows: pd.DataFrame) -> tuple[str, ...]:
    """Round holes whose far walls a span's jaws touched: none, or two names, maybe the same."""
    said = set(rows["between"]) - {"", NO_HOLES} if "between" in rows else set()
    if not said:
        return ()
    names = [" ".join(name.split()) for name in min(said).split(";")]
    if len(said) > 1 or len(names) > 2:
        raise StatsError(
            f"the column 'between' says {', '.join(map(repr, sorted(said)))}",
            where=str(rows["feature"].iloc[0]),
            code="stats.between-differs",
            remedy="Write the same in every row of this feature: one hole's name if both holes "
            "have the same diameter, or two names with a semicolon between them.",
        )
    return (names[0], names[-1])


@dataclass(slots=True, kw_only=True)
class _Inputs:
    """The inputs that features share, each made once."""

    instruments: Instruments
    pooling: Pooling
    expansion: Expansion | None
    place: str | None
    table: ReadingTable
    doubts: Sequence[Flag] | None
    made: dict[str, tuple[Any, Source]] = field(default_factory=dict)
    repeats: dict[str, Repeatability | None] = field(default_factory=dict)

    def shared(self, label: str, value: float, u: float, source: Source) -> tuple[Any, Source]:
        if label not in self.made:
            self.made[label] = _input(label, value, u, math.inf, source)
        return self.made[label]

    def of_one_reading(self, name: str) -> tuple[Repeatability, str] | None:
        """Find how well one reading repeats, and whose repeats tell so; None if none do."""
        one = self.instruments.find(name)
        if name not in self.repeats:
            if self.doubts is None:
                self.doubts = doubts(self.table, instruments=self.instruments)
            self.repeats[name] = _of_others(self.table, name, self.doubts)
        others = self.repeats[name]
        history = None
        if one.repeatability_mm is not None and one.repeatability_df >= 1:
            df = int(one.repeatability_df)
            history = Repeatability(s_mm=one.repeatability_mm, df=df, groups=1)
        if history and not one.assumed:
            return history, f"history of {name}"
        if history and others:
            return _pooled(history, others), "usual spread of calipers and other repeats here"
        if history:
            return history, "usual spread of calipers"
        return (others, "other repeats of the table") if others else None


def _of_others(table: ReadingTable, instrument: str, flags: Sequence[Flag]) -> Repeatability | None:
    """Pool an instrument's repeats, but for features of which any reading is in doubt."""
    doubtful = {flag.feature for flag in flags}
    sound = replace(table, frame=table.frame[~table.frame["feature"].isin(list(doubtful))])
    try:
        repeats = pooled_repeatability(sound, instrument=instrument)
    except StatsError:
        return None
    # Repeats that all agree tell that the spread is below the display's step, and no more.
    return repeats if repeats.s_mm > _ROUNDING_MM else None


def _pooled(one: Repeatability, other: Repeatability) -> Repeatability:
    df = one.df + other.df
    variance = (one.df * one.s_mm**2 + other.df * other.s_mm**2) / df
    return Repeatability(s_mm=math.sqrt(variance), df=df, groups=one.groups + other.groups)


def _input(label: str, value: float, u: float, df: float, source: Source) -> tuple[Any, Source]:
    import GTC

    number = GTC.ureal(value, u, df, label=label)
    return number, replace(source, input=number)


@dataclass(slots=True, kw_only=True)
class _Sum:
    """The measurement model as it grows, term by term."""

    feature: str
    number: Any = 0.0
    sources: dict[str, Source] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def add(self, made: tuple[Any, Source], factor: float = 1.0) -> None:
        number, source = made
        self.number = self.number + factor * number
        self.sources[number.label] = source

    def own(self, what: str, value: float, u: float, df: float, source: Source) -> None:
        self.add(_input(f"{self.feature}: {what}", value, u, df, source))


def _estimate(
    feature: str,
    rows: pd.DataFrame,
    inputs: _Inputs,
    flags: list[Flag],
    found: Mapping[str, Estimate],
) -> Estimate:
    model = _Sum(feature=feature)
    everything = rows["value_mm"].to_numpy(float)
    rows = _counted(feature, rows, model)
    rows = _at_place(rows, inputs.place, model)
    mode, is_round = _mode(feature, rows)
    shown = rows["value_mm"].to_numpy(float)
    zeroed = rows["zeroed_mm"].notna().to_numpy()
    names = rows["instrument"].to_numpy(object)
    used = {str(name): inputs.instruments.find(name) for name in dict.fromkeys(names)}

    zeros = np.array([used[name].zero_error_mm for name in names]) * ~zeroed
    trend = any(flag.kind == "trend" for flag in flags)
    doubted = {row for flag in flags if flag.kind == "outlier" for row in flag.rows}
    weights = _weights(shown - zeros, rows["row"].isin(list(doubted)).to_numpy(), rows, inputs)
    _repeats(shown, shown - zeros, weights, used, inputs, model, trend=trend)
    if len(shown) < len(everything):
        model.notes.append(
            f"mean {np.mean(shown):.3f} mm as shown; "
            f"{np.mean(everything):.3f} mm with every reading"
        )
    for name, one in used.items():
        share = float(np.mean((names == name) & ~zeroed))
        _zero_row(name, one, share, rows, inputs, model)
    _resolution(rows, used, model)
    for name, one in used.items():
        _limit_rows(name, one, mode, float(np.mean(names == name)), len(used) == 1, inputs, model)
    if mode == "inside":
        _chord(used, is_round, _between(rows), found, _zeroed_at(rows), inputs, model)
    _to_20_c(rows, inputs, model)
    if rows["stated_mm"].notna().any():
        model.notes.append("a typed ± was not used, because its meaning is not known")
    model.notes += [flag.text for flag in flags if flag.kind != "places"]
    return Estimate(
        name=feature,
        uncertain=model.number,
        sources=MappingProxyType(model.sources),
        notes=tuple(dict.fromkeys(model.notes)),
    )


def _counted(feature: str, rows: pd.DataFrame, model: _Sum) -> pd.DataFrame:
    if rows["counts"].all():
        return rows
    if "left_out" in rows:
        for row, reason, value in rows.loc[
            rows["left_out"] != "", ["row", "left_out", "value_mm"]
        ].itertuples(index=False):
            model.notes.append(f"row {row} ({value:.3f} mm) left out by decision: {reason}")
    kept = rows[rows["counts"]]
    if kept.empty:
        raise StatsError(
            "every reading is left out",
            where=feature,
            code="stats.all-left-out",
            remedy="Take one back, or read the feature again.",
        )
    return kept


def _mode(feature: str, rows: pd.DataFrame) -> tuple[str, str]:
    found = []
    for column in ("mode", "round"):
        values = list(dict.fromkeys(rows[column])) if column in rows else [""]
        if len(values) > 1:
            raise StatsError(
                f"its readings differ in {column}: {', '.join(map(repr, values))}",
                where=feature,
                code="stats.read-in-two-ways",
                remedy="Use two feature names for what was read in two ways.",
            )
        found.append(str(values[0]))
    return found[0], found[1]


def _at_place(rows: pd.DataFrame, wanted: str | None, model: _Sum) -> pd.DataFrame:
    """Keep one place where places differ by more than the readings do (mid unless given)."""
    if "place" not in rows or rows["place"].nunique() < 2:
        only = str(rows["place"].iloc[0]) if "place" in rows else ""
        if wanted and only != wanted:
            where = f"at {only!r} only" if only else "without a place"
            model.notes.append(f"read {where}: taken for the size at {wanted!r}")
        return rows
    compared = compare_places(rows["value_mm"].to_numpy(float), rows["place"].to_numpy(object))
    chosen = wanted or "mid"
    if not compared.differ:
        if wanted is None:
            return rows
    else:
        model.notes.append(f"{PLACES_DIFFER}: {compared}")
    if chosen in compared.means_mm:
        model.notes.append(f"the size is that at {chosen!r}")
        return rows[rows["place"] == chosen]
    if wanted:
        raise StatsError(
            f"no reading was taken at {wanted!r}",
            where=model.feature,
            code="stats.no-such-place",
            remedy=f"There are: {', '.join(compared.means_mm)}.",
        )
    # Without a place to prefer, the places themselves are the repeats: one mean for each.
    model.notes.append("no place is named 'mid': the size is the mean of the places")
    first = rows.drop_duplicates("place").copy()
    first["value_mm"] = [compared.means_mm[name] for name in first["place"]]
    return first


def _weights(
    corrected: np.ndarray[Any, Any],
    doubted: np.ndarray[Any, Any],
    rows: pd.DataFrame,
    inputs: _Inputs,
) -> np.ndarray[Any, Any]:
    """Weigh down a reading that stands out, as long as nobody has decided about it.

    Huber's weights (1964): a reading counts in full up to 1.5 known standard deviations from the
    median, and by 1.5 over that distance beyond it. Only doubted readings lose weight.
    """
    weights = np.ones(len(corrected))
    if doubted.any() and not doubted.all():
        known, _ = known_spread(rows, inputs.instruments)
        off = np.abs(corrected - np.median(corrected)) / np.sqrt(known)
        weights[doubted] = np.minimum(1.0, _HUBER / np.maximum(off[doubted], _HUBER))
    return weights


def _repeats(
    shown: np.ndarray[Any, Any],
    corrected: np.ndarray[Any, Any],
    weights: np.ndarray[Any, Any],
    used: Mapping[str, Instrument],
    inputs: _Inputs,
    model: _Sum,
    *,
    trend: bool,
) -> None:
    n, mean = len(shown), float(np.average(shown, weights=weights))
    if weights.min() < 1.0:
        model.notes.append(
            f"a reading that stands out counts with a weight of {weights.min():.2f} until it is "
            f"decided on: {mean:.3f} mm as shown, instead of {np.mean(shown):.3f} mm"
        )
    if inputs.pooling == "pooled":
        one = next(iter(used.values())) if len(used) == 1 else None
        told = one is not None and not one.assumed and one.repeatability_df >= 1
        if one is None or one.repeatability_mm is None or not told:
            raise StatsError(
                "has no pooled repeatability",
                where=f"{model.feature}, instrument",
                code="stats.no-history",
                remedy="Give repeatability and repeatability_df in the instruments file.",
            )
        source = Source(
            type="A",
            distribution="student t",
            basis=f"pooled repeatability of {one.name}, one reading {one.repeatability_mm:g} mm",
        )
        u = one.repeatability_mm / math.sqrt(n)
        model.own("repeatability, pooled", mean, u, one.repeatability_df, source)
        model.notes.append(f"repeatability is the history's of {one.name}, not these readings'")
        return
    if n == 1:
        _single(mean, next(iter(used)), inputs, model)
        return
    spread = float(np.std(corrected, ddof=1))
    spread = spread if spread > _ROUNDING_MM else 0.0
    basis = f"{n} readings, one {spread:.3f} mm"
    u = spread / math.sqrt(n)
    if trend:
        # Repeats that drift do not scatter around one value: their mean is no better than each.
        u, basis = spread, f"{basis}; they drift, so their number does not count"
    source = Source(type="A", distribution="student t", basis=basis)
    model.own("repeatability", mean, u, n - 1, source)
    if not spread:
        model.notes.append("all repeats are equal: the spread is hidden below the resolution")
    elif n <= 3:
        model.notes.append(
            f"{n} readings: their spread is itself little known; the factor allows for it"
        )


def _single(shown_mm: float, name: str, inputs: _Inputs, model: _Sum) -> None:
    """Give a lone reading the spread that others have shown, or say that it has none."""
    found = inputs.of_one_reading(name)
    if found is None:
        source = Source(type="A", distribution="exact", basis="one reading: spread unknown")
        model.own("reading", shown_mm, 0.0, math.inf, source)
        model.notes.append(
            "one reading only: the uncertainty holds no repeatability and is too small; "
            "read it again"
        )
        return
    repeats, whose = found
    basis = f"one reading; {whose}, {repeats.s_mm:.3f} mm"
    source = Source(type="A", distribution="student t", basis=basis)
    model.own("repeatability, pooled", shown_mm, repeats.s_mm, repeats.df, source)
    model.notes.append(
        f"one reading only: its spread is taken from the {whose} ({repeats.s_mm:.3f} mm); "
        "read it again, for a slip would not show"
    )


def _zero_row(
    name: str,
    one: Instrument,
    share: float,
    rows: pd.DataFrame,
    inputs: _Inputs,
    model: _Sum,
) -> None:
    if one.assumed:
        model.notes.append(inputs.instruments.doubt(name))
        if not one.zero_from:
            return
    if not share:
        model.notes.append("zeroed on the feature: no zero correction")
        return
    if one.zero_checked is None and one.zero_u_mm is None and not one.zero_error_mm:
        model.notes.append(f"{name}: no zero check; close the jaws and write down what they show")
        return
    # A check is itself a reading: shown in steps, against closed jaws.
    u = one.zero_u_mm if one.zero_u_mm is not None else one.resolution_mm / math.sqrt(12)
    when = f"checked {one.zero_checked}" if one.zero_checked else "date of the check not given"
    if one.zero_from:
        when = f"as written down in {one.zero_from}"
    basis = f"closed jaws showed {one.zero_error_mm:.4g} mm, {when}: {-one.zero_error_mm:+.3f} mm"
    source = Source(type="B", distribution="normal", basis=basis)
    model.add(inputs.shared(f"{name}: zero error", one.zero_error_mm, u, source), -share)
    days = [day_of(text) for text in rows["taken_at"].unique() if text]
    taken = [day.isoformat() for day in days if day]
    if one.zero_from:
        return  # it was made with these readings
    if one.zero_checked is None:
        model.notes.append(f"{name}: the zero check has no date")
    elif taken and max(taken) > one.zero_checked.isoformat():
        model.notes.append(
            f"{name}: zero checked {one.zero_checked}, readings of {max(taken)} are younger"
        )


def _resolution(rows: pd.DataFrame, used: Mapping[str, Instrument], model: _Sum) -> None:
    # A fraction display steps by 1/64 in, whatever the instrument does in decimals; of decimals,
    # a spreadsheet may have dropped end zeros, so the finest of the repeats tells.
    typed = float(rows["step_mm"].min())
    fraction = any("/" in text for text in rows["reading"])
    # Of an instrument that nobody described, what was typed may show a coarser step.
    steps = [
        max(one.resolution_mm, typed) if one.assumed else one.resolution_mm for one in used.values()
    ]
    step = max([*steps, typed] if fraction else steps)
    source = Source(type="B", distribution="rectangular", basis=f"step of {step:.4g} mm")
    model.own("resolution", 0.0, step / math.sqrt(12), math.inf, source)


def _limit_rows(
    name: str,
    one: Instrument,
    mode: str,
    share: float,
    alone: bool,
    inputs: _Inputs,
    model: _Sum,
) -> None:
    if not one.mpe_mm:
        return
    limit = one.limit(mode)
    if limit.checks:
        _checked_rows(name, one, limit, mode, share, alone, inputs, model)
        return
    u = one.mpe_mm / math.sqrt(3)
    basis = f"limit of error ±{one.mpe_mm:g} mm{f', {one.basis}' if one.basis else ''}"
    source = Source(type="B", distribution="rectangular", basis=basis)
    if one.mpe_shared:
        common = math.sqrt(one.mpe_shared) * u
        model.add(inputs.shared(f"{name}: limit of error, common", 0.0, common, source), share)
    if one.mpe_shared < 1:
        place = math.sqrt(1 - one.mpe_shared) * u * share
        label = "limit of error, this place" + ("" if alone else f", {name}")
        model.own(label, 0.0, place, math.inf, source)


def _checked_rows(
    name: str,
    one: Instrument,
    limit: Limit,
    mode: str,
    share: float,
    alone: bool,
    inputs: _Inputs,
    model: _Sum,
) -> None:
    """Take off what checks on known lengths showed, with what they leave of the leaflet's limit."""
    jaws = "inside" if mode == "inside" else "outside"
    checks = f"{limit.checks} check{'' if limit.checks == 1 else 's'}"
    basis = (
        f"limit of error ±{one.mpe_mm:g} mm, narrowed by {checks} with the {jaws} jaws: "
        f"{-limit.error_mm:+.3f} mm"
    )
    if limit.u_common_mm:
        source = Source(type="B", distribution="normal", basis=basis)
        label = f"{name}: error by checks, {jaws} jaws"
        model.add(inputs.shared(label, limit.error_mm, limit.u_common_mm, source), -share)
    if limit.u_place_mm:
        label = "limit of error, this place" + ("" if alone else f", {name}")
        source = Source(type="B", distribution="student t", basis=basis)
        model.own(label, 0.0, limit.u_place_mm * share, limit.df_place, source)
    model.notes.append(f"{name}: {one.limit_text()}")


def _zeroed_at(rows: pd.DataFrame) -> float | None:
    """Give the size at which the display was set to zero, mm; nan if the readings differ in it."""
    sizes = rows["zeroed_mm"]
    if sizes.isna().all():
        return None
    return float(sizes.iloc[0]) if sizes.nunique(dropna=False) == 1 else math.nan


def _chord(
    used: Mapping[str, Instrument],
    is_round: str,
    between: tuple[str, ...],
    found: Mapping[str, Estimate],
    zeroed_mm: float | None,
    inputs: _Inputs,
    model: _Sum,
) -> None:
    if is_round != "yes" and not between:
        if says_span(model.feature):
            model.notes.append(
                "by its name it is a span over two holes, but not over which: no correction for "
                "flat jaws. Write their names under 'between', or 'none'"
            )
        elif is_round == "":
            model.notes.append("not said whether it is round: no correction for flat jaws")
        return
    faces = {name: one for name, one in used.items() if one.inside_face_mm is not None}
    before = float(model.number.x)
    zeroed = zeroed_mm is not None
    unclear = zeroed and (not between or math.isnan(zeroed_mm or 0.0))
    if len(used) > 1 or not faces or unclear:
        why = "zeroed on the feature" if unclear else "width of the inside jaws not given"
        if len(used) > 1:
            why = "read with several instruments"
        where = "between round holes" if between else "round"
        model.notes.append(f"{where}, but no correction for flat jaws: {why}")
    else:
        ((name, one),) = faces.items()
        assert one.inside_face_mm is not None
        source = Source(
            type="B",
            distribution="rectangular",
            basis=f"width over the inside faces ±{one.inside_face_tol_mm:g} mm",
        )
        u = one.inside_face_tol_mm / math.sqrt(3)
        label = f"{name}: jaw width"
        width, model.sources[label] = inputs.shared(label, one.inside_face_mm, u, source)
        if between:
            holes = [_hole(hole, found, model) for hole in between]
            model.number, lay = over_far_walls(model.number, holes, width, feature=model.feature)
            model.sources[f"{model.feature}: how the jaws lay"] = lay
            model.sources |= {k: v for hole in holes for k, v in hole.sources.items()}
            if zeroed_mm is not None:
                # The display was set to zero in one of the holes, where it read a chord as well.
                on = min(holes, key=lambda hole: abs(hole.value_mm - zeroed_mm))
                model.number = model.number - (on.uncertain - chord(on.uncertain, width))
                model.notes.append(f"zeroed on {on.name!r}: its diameter is taken off already")
            model.notes.append(
                f"flat jaws in two round holes: {model.number.x - before:+.3f} mm; swing the "
                "calipers to the largest reading"
            )
        else:
            model.number = bore(model.number, width)
            model.notes.append(f"flat jaws in a round hole: {model.number.x - before:+.3f} mm")
    if is_round == "yes" and model.number.x < SMALL_HOLE_MM:
        model.notes.append(
            f"round hole under {SMALL_HOLE_MM:g} mm: check it with a pin or a drill shank"
        )


def _hole(name: str, found: Mapping[str, Estimate], model: _Sum) -> Estimate:
    if name not in found:
        raise StatsError(
            f"the column 'between' names {name!r}, which is not a hole of this table",
            where=model.feature,
            code="stats.between-unknown",
            remedy=f"Read the hole too, or write its name as it is: {', '.join(found)}.",
        )
    return found[name]


def _to_20_c(rows: pd.DataFrame, inputs: _Inputs, model: _Sum) -> None:
    texts = [text for text in rows["temperature"] if text] if "temperature" in rows else []
    expansion = inputs.expansion
    if expansion is None:
        if texts:
            model.notes.append(
                "a temperature was given, but no coefficient of expansion: not brought to 20 °C"
            )
        return
    if texts and len(texts) == len(rows):
        celsius = float(np.mean([_celsius(text) for text in texts]))
        u, basis = _U_TEMPERATURE_K, "thermometer, u 1 K"
        distribution: Literal["normal", "rectangular"] = "normal"
    else:
        celsius, u = 20.0, _ROOM_HALF_WIDTH_K / math.sqrt(3)
        basis, distribution = f"not written down: 20 °C ± {_ROOM_HALF_WIDTH_K:g} K", "rectangular"
        model.notes.append(
            f"temperature not given: let the part cool; ± {_ROOM_HALF_WIDTH_K:g} K is allowed for"
        )
    rate = Source(
        type="B", distribution="normal", basis=expansion.basis or expansion.material, unit="/K"
    )
    alpha, kept = inputs.shared(
        f"{expansion.material}: expansion per K", expansion.per_k, expansion.u_per_k, rate
    )
    heat = Source(type="B", distribution=distribution, basis=basis, unit="K")
    label = f"{model.feature}: temperature"
    over, warm = _input(label, celsius - 20.0, u, math.inf, heat)
    before = float(model.number.x)
    model.number = model.number / (1 + alpha * over)
    model.sources |= {f"{expansion.material}: expansion per K": kept, label: warm}
    if celsius != 20.0:
        model.notes.append(f"read at {celsius:g} °C: {model.number.x - before:+.3f} mm to 20 °C")


def _celsius(text: str) -> float:
    found = celsius(text)
    if found is None:  # the table's schema lets nothing else through
        raise StatsError(
            f"{text!r} is not a temperature", code="stats.temperature", remedy="Write '45 °C'."
        )
    return found
