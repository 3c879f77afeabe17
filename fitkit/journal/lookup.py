"""Tables of a journal: filters, text search, verdicts by print, success at the first print."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import TYPE_CHECKING, Any

from fitkit.core.bulk import without_collector
from fitkit.core.errors import JournalError
from fitkit.fits.trial import AS_WANTED, counts_as_fitted
from fitkit.journal.files import set_aside
from fitkit.journal.index import Index
from fitkit.parts.registry import SPECIMENS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from fitkit.journal.files import HasFolder

__all__ = [
    "Summary",
    "first_print_success",
    "select",
    "success_periods",
    "summaries",
    "table",
    "table_html",
]

NOT_TRIED = "not tried"
COLUMNS = ("code", "date", "kind", "part", "printer", "material", "verdict", "template", "of")


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One record in a line.

    `verdicts` are, for a print, the latest of each fit over all its trials that still count; for a
    trial that was `withdrawn`, what had been said.
    """

    code: str
    made_at: str
    kind: str
    part: str
    template: str
    printer: str
    material: str
    of: str
    verdicts: Mapping[str, str]
    text: str
    withdrawn: bool = False

    @property
    def verdict(self) -> str:
        """All verdicts in a few words."""
        if self.withdrawn:
            return f"withdrawn: {self._said() or 'sizes alone'}"
        return self._said() or (NOT_TRIED if self.kind == "print" else "")

    def _said(self) -> str:
        off: dict[str, list[str]] = {}
        for name, word in self.verdicts.items():
            if not counts_as_fitted(word):
                off.setdefault(word, []).append(name)
        if off:
            return "; ".join(f"{word} ({_few(names)})" for word, names in off.items())
        return AS_WANTED if self.verdicts else ""


def _few(names: Sequence[str], most: int = 2) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


@without_collector()
def summaries(journal: HasFolder) -> list[Summary]:
    """Summarise all records, oldest first, without those that were corrected."""
    rows = Index.of(journal).rows
    replaced = {row.supersedes: row.code for row in rows if row.supersedes}
    rows = tuple(row for row in rows if row.code not in replaced)
    prints = {row.code: row for row in rows if row.kind == "print"}
    verdicts: dict[str, dict[str, str]] = {}
    words: dict[str, list[str]] = {}
    for row in rows:
        if row.of:
            code = _latest(row.of, replaced)
            verdicts.setdefault(code, {}).update({} if row.withdrawn else row.verdicts)
            words.setdefault(code, []).append(row.text)
    found = []
    for row in rows:
        # What a trial or note does not say of its print, the print's own record does.
        its = prints.get(_latest(row.of, replaced), row)
        found.append(
            Summary(
                code=row.code,
                made_at=row.made_at,
                kind=row.kind,
                template=row.template,
                of=row.of,
                verdicts=verdicts.get(row.code, {}) if row.kind == "print" else row.verdicts,
                text=" ".join((row.text, *words[row.code])) if row.code in words else row.text,
                withdrawn=row.withdrawn,
                part=row.part or its.part,
                printer=row.printer or its.printer,
                material=row.material or its.material,
            )
        )
    return found


def _latest(code: str, replaced: Mapping[str, str]) -> str:
    for _ in range(len(replaced)):
        if code not in replaced:
            break
        code = replaced[code]
    return code


def select(
    found: Iterable[Summary],
    *,
    kind: str | None = None,
    part: str | None = None,
    printer: str | None = None,
    material: str | None = None,
    verdict: str | None = None,
    since: str | date | None = None,
    until: str | date | None = None,
    text: str | None = None,
) -> list[Summary]:
    """Keep what agrees with every filter.

    Parameters
    ----------
    found : iterable of Summary
    kind, printer, material : str, optional
        Whole word, in any case.
    part : str, optional
        A piece of the part's name.
    verdict : str, optional
        Of any fit; ``as wanted`` only if all are; ``not tried``; ``withdrawn``. In any case.
    since, until : date or ``2026-11-25``, optional
        Both days are included, in UTC.
    text : str, optional
        Words that must all occur, anywhere in the record or its trials and notes.
    """
    words = (text or "").casefold().split()
    first, last = _day(since), _day(until)
    return [
        item
        for item in found
        if (kind is None or item.kind == kind)
        and (part is None or part.casefold() in item.part.casefold())
        and (printer is None or printer.casefold() == item.printer.casefold())
        and (material is None or material.casefold() == item.material.casefold())
        and (verdict is None or _has_verdict(item, verdict))
        and (first is None or item.made_at[:10] >= first)
        and (last is None or item.made_at[:10] <= last)
        and all(word in item.text for word in words)
    ]


def _has_verdict(item: Summary, verdict: str) -> bool:
    verdict = " ".join(verdict.split()).casefold()
    if item.withdrawn or verdict == "withdrawn":
        return item.withdrawn and verdict == "withdrawn"
    if verdict in (AS_WANTED, NOT_TRIED):
        return item.verdict == verdict
    return verdict in item.verdicts.values()


def _day(value: str | date | None) -> str | None:
    try:
        return None if value is None else date.fromisoformat(str(value)[:10]).isoformat()
    except ValueError as error:
        raise JournalError(
            f"{value!r} is not a date", code="journal.not-a-date", remedy="Write it as 2026-11-25."
        ) from error


@without_collector()
def table(journal: HasFolder, **wanted: Any) -> pd.DataFrame:
    """Tabulate records, newest first.

    Parameters
    ----------
    journal : Journal, or what else has a folder of records
    **wanted
        Filters of `select`: kind, part, printer, material, verdict, since, until, text.

    Returns
    -------
    DataFrame
        Columns as in `COLUMNS`.
    """
    import pandas as pd

    chosen = select(summaries(journal), **wanted)[::-1]
    columns: dict[str, Sequence[str]] = {
        name: [getattr(item, name) for item in chosen] for name in COLUMNS if name != "date"
    }
    columns["date"] = [item.made_at[:10] for item in chosen]
    return pd.DataFrame(columns, columns=list(COLUMNS))


def table_html(journal: HasFolder, *, most: int = 30) -> str:
    """Draw the newest records as an HTML table, with what could not be read named below it."""
    from html import escape

    frame = table(journal)
    shown = frame.head(most).to_html(index=False, escape=True, border=0)
    more = f"<p>{len(frame) - most} older records are not shown.</p>" if len(frame) > most else ""
    aside = "".join(f"<li>{escape(line)}</li>" for line in set_aside(Index.of(journal).damaged))
    return f"{shown}{more}<ul>{aside}</ul>" if aside else f"{shown}{more}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """First prints of parts in one month or year.

    `share` is of those tried; `low` and `high` bound it with 95 % confidence. All three are None
    where none was tried.
    """

    period: str
    first_prints: int
    tried: int
    fitted: int
    share: float | None
    low: float | None
    high: float | None

    def said(self, between: str = "") -> str:
        """Give the share with its interval, `between` them; a dash where none was tried."""
        if self.share is None or self.low is None or self.high is None:
            return "–"
        low, high = 100 * self.low, 100 * self.high
        return f"{100 * self.share:.0f} % ({between}{low:.0f} % to {high:.0f} %)"


def success_periods(journal: HasFolder, *, by: str = "month") -> list[Period]:
    """Count how often the first print of a part fitted as wanted, oldest period first.

    Parameters
    ----------
    journal : Journal, or what else has a folder of records
    by : {"month", "year"}

    Notes
    -----
    Prints that are made to be measured or tried, coupons and fit ladders, are no parts and do not
    count: most gaps of a ladder are wrong on purpose.

    Interval: Wilson's, which holds for few trials. Source: E. B. Wilson, J. Am. Stat. Assoc. 22
    (1927) 209-212, as in `scipy.stats.binomtest`.
    """
    if by not in ("month", "year"):
        raise JournalError(
            f"{by!r} is not a period", code="journal.not-a-period", remedy="Write month or year."
        )
    from scipy.stats import binomtest

    first: dict[str, Summary] = {}
    for item in summaries(journal):
        if item.kind == "print" and item.template not in SPECIMENS:
            first.setdefault(item.part.casefold(), item)
    periods: dict[str, list[Summary]] = {}
    for item in first.values():
        periods.setdefault(item.made_at[: 7 if by == "month" else 4], []).append(item)
    rows = []
    for period, items in sorted(periods.items()):
        tried = [item for item in items if item.verdicts]
        fitted = sum(item.verdict == AS_WANTED for item in tried)
        share = low = high = None
        if tried:
            interval = binomtest(fitted, len(tried)).proportion_ci(method="wilson")
            share, low, high = fitted / len(tried), float(interval.low), float(interval.high)
        rows.append(
            Period(
                period=period,
                first_prints=len(items),
                tried=len(tried),
                fitted=fitted,
                share=share,
                low=low,
                high=high,
            )
        )
    return rows


def first_print_success(journal: HasFolder, *, by: str = "month") -> pd.DataFrame:
    """Tabulate `success_periods`, a row a period.

    Parameters
    ----------
    journal : Journal, or what else has a folder of records
    by : {"month", "year"}

    Returns
    -------
    DataFrame
        A column for each field of `Period`, the oldest period first.
    """
    import pandas as pd

    names = [field.name for field in fields(Period)]
    rows = [asdict(period) for period in success_periods(journal, by=by)]
    return pd.DataFrame(rows, columns=names)
