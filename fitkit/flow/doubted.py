"""Doubts about readings as findings: how far each of them moves a size that is to be drawn.

A doubt is true or it is not, and the maker has to say which. So the sheet is solved once for each
decision that could be made (the reading counts; it does not), and what they draw is compared. Where
they differ by more than a third of the half width of the band in which the fit behaves as wanted,
nobody should print before it is decided. Doubts about several features add up: each may be decided
either way, and sizes follow from features almost linearly.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.core.errors import FitkitError
from fitkit.core.finding import SEVERITIES, DoubtedReading, Finding
from fitkit.core.typed import command
from fitkit.core.units import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fitkit.core.finding import Severity
    from fitkit.flow.plan import FitRow, Plan
    from fitkit.readings.flags import Flag
    from fitkit.readings.table import ReadingTable

__all__ = ["CHECK", "half_band_mm", "moved_mm", "reading_findings"]

CHECK = "readings"
# Share of a fit's half band that an undecided doubt may move its drawn size by, and the half band
# of a size whose gap the sheet sets itself. Common practice, no source.
_SHARE = 1 / 3
_USUAL_HALF_BAND_MM = 0.1
_SMALLEST_MM = 0.001


def reading_findings(plan: Plan) -> tuple[Finding, ...]:
    """Give the doubts about a sheet's readings as findings, the worst first.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of Finding
        ``stop`` where a size hangs on the decision, ``warn`` where one moves at all or where it
        cannot be worked out, ``note`` where no size that is drawn hangs on it.
    """
    from fitkit.flow.plan import instruments_of
    from fitkit.stats.doubts import doubts

    table = plan.inputs.table
    if table is None:
        return ()
    flags = [
        flag
        for flag in doubts(table, instruments=instruments_of(plan.sheet))
        if flag.kind not in ("remark", "places")
    ]
    moves = [moved_mm(plan, flag) for flag in flags]
    found = [_finding(plan, flag, moved) for flag, moved in zip(flags, moves, strict=True)]
    found += _together(plan, flags, moves)
    return tuple(sorted(found, key=lambda one: SEVERITIES.index(one.severity)))


def half_band_mm(row: FitRow) -> float:
    """Give half the width of the band in which a fit behaves as wanted.

    Parameters
    ----------
    row : FitRow

    Returns
    -------
    float, mm
        0.1 mm (common practice, no source) where the sheet or the part sets the gap.
    """
    if row.gap is None:
        return _USUAL_HALF_BAND_MM
    return (row.gap.high_mm - row.gap.low_mm) / 2


def moved_mm(plan: Plan, flag: Flag) -> Mapping[str, float] | None:
    """Work out how far a doubt moves each drawn size: the widest that two decisions differ.

    Parameters
    ----------
    plan : Plan
    flag : Flag

    Returns
    -------
    dict of the fit size's name to mm, or None
        None if the sheet cannot be solved for one of the decisions.
    """
    from fitkit.flow.plan import estimated, solve

    table = plan.inputs.table
    if table is None or not flag.ways:
        return {}
    drawn = []
    try:
        for one in _decided(table, flag):
            found = estimated(plan.sheet, one, one)
            drawn.append(solve(plan.sheet, replace(plan.inputs, estimates=found)).drawn)
    except FitkitError:
        return None
    return {
        name: max(one.get(name, 0.0) for one in drawn) - min(one.get(name, 0.0) for one in drawn)
        for name in plan.drawn
    }


def _decided(table: ReadingTable, flag: Flag) -> Iterator[ReadingTable]:
    """Give the table for each decision about a doubt: all readings count, or some do not."""
    frame = table.frame
    mine = frame["feature"] == flag.feature  # of one item, or it would have been refused
    kept = frame.copy()
    kept["kept"] = kept.get("kept", "")
    kept.loc[mine & frame["row"].isin(list(flag.rows)), "kept"] = "as if it were right"
    yield replace(table, frame=kept)
    for rows in flag.ways:
        rest = kept[~(mine & frame["row"].isin(list(rows)))].copy()
        rest.loc[rest["feature"] == flag.feature, "kept"] = "right"
        yield replace(table, frame=rest.reset_index(drop=True))


def _together(
    plan: Plan, flags: Sequence[Flag], moves: Sequence[Mapping[str, float] | None]
) -> Iterator[Finding]:
    """Stop where doubts, none of which moves a size by too much, do so together."""
    for row in plan.rows:
        name, bears = row.fit.name, half_band_mm(row) * _SHARE
        by_feature: dict[str, tuple[float, Flag]] = {}
        for flag, moved in zip(flags, moves, strict=True):
            by = moved.get(name, 0.0) if moved else 0.0
            if by > max(_SMALLEST_MM, by_feature.get(flag.feature, (0.0, flag))[0]):
                by_feature[flag.feature] = (by, flag)
        alone = [by for by, _ in by_feature.values()]
        if len(alone) < 2 or max(alone) > bears or sum(alone) <= bears:
            continue
        said = "; ".join(
            f"{flag.feature}, row {', '.join(map(str, flag.rows))}"
            for _, flag in by_feature.values()
        )
        doubted = (_readings(plan, flag) for _, flag in by_feature.values())
        yield Finding(
            check=CHECK,
            readings=tuple(one for several in doubted for one in several),
            severity="stop",
            text=f"{len(alone)} doubts together ({said}): {name!r} would be drawn "
            f"{show(sum(alone), digits=2)} larger or smaller, and its fit bears "
            f"{show(bears, digits=2)}.",
            value=sum(alone),
            limit=bears,
            unit="mm",
            remedy=_remedy(plan, next(iter(by_feature.values()))[1]),
        )


def _finding(plan: Plan, flag: Flag, moved: Mapping[str, float] | None) -> Finding:
    worst, share = None, 0.0
    for row in plan.rows if moved else ():
        by = moved[row.fit.name] if moved else 0.0
        if by > _SMALLEST_MM and by / half_band_mm(row) > share:
            worst, share = row, by / half_band_mm(row)
    text, readings = str(flag), _readings(plan, flag)
    if moved is None:
        text += "; what is drawn cannot be worked out without deciding on it"
        remedy = _remedy(plan, flag)
        return Finding(check=CHECK, severity="stop", text=text, remedy=remedy, readings=readings)
    if worst is None or moved is None:
        severity: Severity = "note" if flag.ways else "warn"
        return Finding(check=CHECK, severity=severity, text=f"{text}.", readings=readings)
    by, bears = moved[worst.fit.name], half_band_mm(worst) * _SHARE
    text += (
        f". {worst.fit.name!r} would be drawn {show(by, digits=2)} larger or smaller, and its fit "
        f"bears {show(bears, digits=2)}"
    )
    return Finding(
        check=CHECK,
        severity="stop" if share > _SHARE else "warn",
        text=text + ".",
        value=by,
        limit=bears,
        unit="mm",
        remedy=_remedy(plan, flag),
        readings=readings,
    )


def _readings(plan: Plan, flag: Flag) -> tuple[DoubtedReading, ...]:
    """Say where the doubted readings stand; nothing of one that cannot be told from another's."""
    table = plan.inputs.table
    if table is None:
        return ()
    frame = table.frame
    mine = frame[(frame["feature"] == flag.feature) & frame["row"].isin(list(flag.rows))]
    found = []
    for row, reading, unit in mine[["row", "reading", "unit"]].itertuples(index=False):
        files = _files_of(plan, int(row), str(reading))
        if len(files) == 1:
            text = f"{flag.feature} {reading} {unit}".strip()
            found.append(DoubtedReading(file=files[0], row=int(row), text=text))
    return tuple(found)


def _files_of(plan: Plan, row: int, reading: str) -> list[str]:
    """Name the sheet's files in which this reading stands on this row."""
    paths = [str(path) for path in plan.sheet.readings_paths]
    if len(paths) == 1:
        return paths
    from fitkit.readings import ReadingTable

    return [
        path
        for path in paths
        for frame in [ReadingTable.read(path).frame]
        if (frame.loc[frame["row"] == row, "reading"] == reading).any()
    ]


def _remedy(plan: Plan, flag: Flag) -> str:
    files = plan.sheet.readings_paths
    file = str(files[0]) if len(files) == 1 else "FILE"
    row = str(flag.rows[0]) if len(flag.rows) == 1 else "ROW"
    return (
        "Read it again and write the new reading down, or decide: "
        + command("decide", file, row, "leave-out")
        + ' --because "..." (or keep, or again).'
    )
