"""Results as captioned tables in a notebook, and as plain text elsewhere; computes nothing.

`features` shows estimates, `sizes` a solved sheet, `findings` what the checks say, `story` the
prints of a part, and `facts` any result of the rooms by its own fields. Each gives a `Shown`, which
a cell displays as its last line.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from fitkit.notes import gathered

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fitkit.checks import Finding
    from fitkit.flow import Plan
    from fitkit.journal.part_history import Version
    from fitkit.stats import Estimate

__all__ = ["Shown", "facts", "features", "findings", "sizes", "story"]

# A mark beside the word, so that no meaning hangs on colour.
_MARKS = {"stop": "■ stop", "warn": "▲ warn", "note": "○ note"}
_UNITS = {"mm": "mm", "mm2": "mm²", "deg": "°", "bits": "bits"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A captioned table of texts, the first column naming the row, with notes under it."""

    caption: str
    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str] = ()

    def _repr_html_(self) -> str:
        from fitkit.stats.show import html_table, notes_html

        return html_table(self.caption, self.header, self.rows) + notes_html(self.notes)

    def __repr__(self) -> str:
        """Give the table as plain text, a line a row."""
        lines = [" | ".join(row) for row in (self.header, *self.rows)]
        return "\n".join([self.caption, *lines, *(f"  {note}" for note in self.notes)])


def features(estimates: Mapping[str, Estimate]) -> Shown:
    """Show estimates: best value, expanded uncertainty, what it rests on, doubts as notes."""
    from fitkit.stats.show import places_for

    rows = []
    for name, one in estimates.items():
        places = places_for(one.U95_mm)
        df = f"{one.df:.0f}" if one.df < 1000 else "over 1000"
        rows.append((name, f"{one.value_mm:.{places}f}", f"{one.U95_mm:.{places}f}", df))
    return Shown(
        caption="what was read: best value ± U for 95 %, mm",
        header=("feature", "best value", "± U95", "degrees of freedom"),
        rows=rows,
        notes=gathered((e.name, note) for e in estimates.values() for note in e.notes),
    )


def sizes(plan: Plan) -> Shown:
    """Show each size that must fit on its way: measured, gap, target, drawn, expected."""
    from fitkit.make.page import sheet_row

    rows = [sheet_row(row) for row in plan.rows]
    return Shown(
        caption=f"{plan.sheet.title}: sizes that must fit, mm",
        header=("size", "measured", "gap", "target", "drawn", "expected as printed", "wanted"),
        rows=[
            (row.name, row.measured, row.gap, row.target, row.drawn, row.expected, row.wanted)
            for row in rows
        ],
        notes=gathered(
            (row.fit.name, note)
            for row in plan.rows
            for note in (*row.size.notes, *(row.gap.notes if row.gap else ()))
        ),
    )


def findings(found: Iterable[Finding]) -> Shown:
    """Show what the checks found, in the order given, with what to do."""
    return Shown(
        caption="before you print",
        header=("how bad", "check", "what was found", "what to do"),
        rows=[(_MARKS[f.severity], f.check, f.text, f.remedy) for f in found],
    )


def facts(result: Any) -> Shown:
    """Show a result of any room by its fields; a field's ending gives its unit.

    Parameters
    ----------
    result : dataclass instance
        Long arrays, other results and mappings within it are left out; so is what is unknown.
    """
    rows: list[tuple[str, str]] = []
    notes: Sequence[str] = ()
    for field in fields(result):
        value = getattr(result, field.name)
        if field.name == "notes":
            notes = value
            continue
        text = _text(field.name, value)
        if text:
            rows.append((_words(field.name), text))
    kind = type(result).__name__
    said = "".join(f" {c.lower()}" if c.isupper() else c for c in kind).strip()
    return Shown(caption=said, header=("what", "value"), rows=rows, notes=notes)


def _words(name: str) -> str:
    stem, _, ending = name.rpartition("_")
    stem = stem if ending in _UNITS else name
    stem = "chance" + stem[1:] if stem.startswith("p_") else stem
    return stem.replace("_", " ")


def _text(name: str, value: object) -> str:
    ending = name.rpartition("_")[2]
    unit = f" {_UNITS[ending]}" if ending in _UNITS else ""
    match value:
        case bool():
            return "yes" if value else "no"
        case str() | int():
            return f"{value}{unit}"
        case float() if name.startswith(("p_", "sure_")):
            return f"{value:.0%}"
        case float():
            return f"{value:.2f}{unit}" if unit else f"{value:.4g}"
        case tuple() if value and all(isinstance(item, int | float) for item in value):
            return (
                " to ".join(f"{item:.2f}" for item in value) + unit
                if len(value) == 2
                else (", ".join(f"{item:.2f}" for item in value) + unit)
            )
    return ""


def story(versions: Iterable[Version]) -> Shown:
    """Show the life of a part, oldest print first: verdicts and what had changed before each."""
    return Shown(
        caption="prints of one part, oldest first",
        header=("code", "printed", "how it fitted", "changed since the print before", "so"),
        rows=[
            (
                version.record.code,
                version.record.made_at.date().isoformat(),
                version.verdict,
                "; ".join(str(change) for change in version.changes if change.role == "input"),
                version.lesson,
            )
            for version in versions
        ],
    )
