"""Results as captioned tables in a notebook, and as plain text elsewhere; computes nothing.

`features` shows estimates, `sizes` a solved sheet, `things` what a carrier holds, `findings` what
the checks say, `story` the prints of a part, and `facts` any result of the rooms by its own fields.
Each gives a `Shown`, which a cell displays as its last line.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from fitkit.core.chances import say_chance
from fitkit.core.finding import MARKS
from fitkit.core.notes import gathered

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.flow import Plan
    from fitkit.journal.part_history import Version
    from fitkit.stats import Estimate

__all__ = ["facts", "features", "findings", "sizes", "story", "things"]

_UNITS = {"mm": "mm", "mm2": "mm²", "deg": "°", "bits": "bits"}
# Fields whose names are short in code, in the words of the reader.
_SAID = {
    "low_mm": "behaves as wanted from",
    "high_mm": "behaves as wanted to",
    "best_mm": "best gap lies within (90 %)",
    "p_wanted": "chance as wanted",
    "p_now": "chance as wanted, now",
    "p_after": "chance as wanted, after this ladder",
    "sure_now": "sure of the best gap, now",
    "sure_after": "sure of the best gap, after this ladder",
    "information_bits": "what the verdicts should tell",
    "u_target_mm": "target, standard uncertainty",
    "u_print_mm": "expected, standard uncertainty",
    "U95_mm": "expected, ± for 95 %",
    "extrapolated": "beyond the coupon's sizes",
    "taper": "thickness of the tip over that of the root",
    "layers_across": "layers run across it",
    "repeated": "bends more than once",
    "count": "how many alike",
    "at": "root at x, y, z",
    "along": "direction to the tip, x, y, z",
}
# Places are in mm though their names do not say so; sizes are drawn to the micrometre.
_PLACES_MM, _TO_MICRON = {"at"}, {"drawn_mm"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A captioned table of texts, the first column naming the row, with notes under it."""

    caption: str
    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str] = ()

    def _repr_html_(self) -> str:
        from fitkit.core.html import html_table, notes_html

        return html_table(self.caption, self.header, self.rows) + notes_html(self.notes)

    def __repr__(self) -> str:
        """Give the table as plain text, a line a row."""
        lines = [" | ".join(row) for row in (self.header, *self.rows)]
        return "\n".join([self.caption, *lines, *(f"  {note}" for note in self.notes)])


def features(estimates: Mapping[str, Estimate]) -> Shown:
    """Show estimates: best value, expanded uncertainty, what it rests on, doubts as notes."""
    from fitkit.core.format import doubted

    rows = []
    for name, one in estimates.items():
        df = f"{one.df:.0f}" if one.df < 1000 else "over 1000"
        rows.append((name, *doubted(one.value_mm, one.U95_mm), df))
    return Shown(
        caption="what was read: best value ± U for 95 %, mm",
        header=("feature", "best value", "± U95", "degrees of freedom"),
        rows=rows,
        notes=gathered((e.name, note) for e in estimates.values() for note in e.notes),
    )


def sizes(plan: Plan) -> Shown:
    """Show each size that must fit on its way: measured, gap, target, drawn, expected."""
    rows = [row.texts() for row in plan.rows]
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


def things(plan: Plan) -> Shown:
    """Show what a carrier holds: each thing, how it is held, and its place.

    Parameters
    ----------
    plan : Plan
        Of a sheet with a carrier.

    Returns
    -------
    Shown
        Places from the inside's left front corner to the thing's middle, at nominal sizes.

    Raises
    ------
    SheetError
        If the plan's template carries no things.
    """
    from fitkit.core.errors import SheetError
    from fitkit.parts.carrier import Carrier

    carrier = plan.template
    if not isinstance(carrier, Carrier):
        raise SheetError(
            "it holds no list of things",
            where=plan.sheet.title,
            code="views.no-things",
            remedy="Show its sizes instead.",
        )
    rows = [
        (
            thing.name,
            thing.title,
            thing.face,
            f"{place.x:.1f} mm",
            f"{place.y:.1f} mm",
            f"{place.turn:g}°",
            "found" if thing.place == "auto" else "given",
        )
        for thing, place in zip(carrier.things, carrier.places(), strict=True)
    ]
    return Shown(
        caption=f"what {plan.sheet.title} holds",
        header=("thing", "held", "on", "x", "y", "turn", "place"),
        rows=rows,
    )


def findings(found: Iterable[Finding]) -> Shown:
    """Show what the checks found, in the order given, with what to do."""
    return Shown(
        caption="before you print",
        header=("how bad", "check", "what was found", "what to do"),
        rows=[(f"{MARKS[f.severity]} {f.severity}", f.check, f.text, f.remedy) for f in found],
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
    if name in _SAID:
        return _SAID[name]
    stem, _, ending = name.rpartition("_")
    stem = stem if ending in _UNITS else name
    stem = "chance" + stem[1:] if stem.startswith("p_") else stem
    return stem.replace("_", " ")


def _text(name: str, value: object) -> str:
    ending = "mm" if name in _PLACES_MM else name.rpartition("_")[2]
    unit = f" {_UNITS[ending]}" if ending in _UNITS else ""
    match value:
        case bool():
            return "yes" if value else "no"
        case str() | int():
            return f"{value}{unit}"
        case float() if name.startswith(("p_", "sure_")):
            return say_chance(value)
        case float() if ending == "mm":
            return f"{_plain(value, 3 if _fine(name, value) else 2)}{unit}"
        case float():
            return f"{_plain(value, 1)}{unit}" if unit else f"{value:.4g}"
        case tuple() if value and all(isinstance(item, int | float) for item in value):
            between = " to " if len(value) == 2 else ", "
            return between.join(_plain(item, 2) for item in value) + unit
    return ""


def _fine(name: str, value_mm: float) -> bool:
    """Tell what a hundredth of a millimetre is too coarse for: drawn sizes, small uncertainties."""
    return name in _TO_MICRON or (name[:1] in "uU" and 0 < abs(value_mm) < 0.1)


def _plain(value: float, places: int) -> str:
    """Round without a minus before zero."""
    return f"{round(value, places) + 0.0:.{places}f}"


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
