"""Estimates and their budgets as text and HTML: one set of rows, drawn twice.

Two significant digits of uncertainty, the value to the same place (GUM 7.2.6).
"""

from __future__ import annotations

import math
import re
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.stats.estimate import Estimate

__all__ = ["estimate_html", "estimate_text", "html_table", "interval", "places_for"]

# What a column of numbers may hold: a number with its unit but no words, or that there is none.
_NUMBER = re.compile(r"(?!.*[a-z]{3})[-+−±]?[.\d]|over \d|∞|–?$|unknown$")
_LONG, _SHORT = 60, 14
_HEADER = ("source", "type", "distribution", "u", "degrees of freedom", "contribution", "basis")


def places_for(u: float) -> int:
    """Decimals that show two significant digits of an uncertainty; 3 for an exact number."""
    if not u or not math.isfinite(u):
        return 3
    return max(0, 1 - math.floor(math.log10(u * (1 + 1e-12))))


def interval(one: Estimate) -> str:
    """Write ``3.214 mm ± 0.062 mm (95 %, k = 2.1)``."""
    U95 = one.U95_mm
    if not U95:
        return f"{one.value_mm:.3f} mm (exact)"
    places = places_for(U95)
    return f"{one.value_mm:.{places}f} mm ± {U95:.{places}f} mm (95 %, k = {one.k95:.1f})"


def _rows(one: Estimate) -> list[tuple[str, ...]]:
    return [
        (
            row.name,
            row.source.type,
            row.source.distribution,
            f"{row.u:.2g} {row.source.unit}".rstrip(),
            _df(row.df),
            f"{row.contribution_mm * 1000:+.1f} µm",
            row.source.basis,
        )
        for row in one.budget
    ]


def _df(df: float) -> str:
    return "∞" if math.isinf(df) else "over 1000" if df > 1000 else f"{df:.3g}"


def _caption(one: Estimate) -> str:
    return (
        f"{one.name}: {interval(one)}; u = {one.u_mm * 1000:.1f} µm, "
        f"{_df(one.df)} degrees of freedom"
    )


def estimate_text(one: Estimate) -> str:
    """Caption, budget rows and notes, a line each."""
    lines = [_caption(one)]
    lines += [f"  {row[0]} ({row[1]}, {row[2]}): {row[5]}; {row[6]}" for row in _rows(one)]
    lines += [f"  note: {note}" for note in one.notes]
    return "\n".join(lines)


def estimate_html(one: Estimate) -> str:
    """Captioned table of the budget, with notes under it."""
    return html_table(_caption(one), _HEADER, _rows(one)) + notes_html(one.notes)


def html_table(caption: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Draw a table with caption and row headers; every text is escaped.

    Words stand to the left and numbers to the right, as people read them: notebooks set all to the
    right. Beside a long text, short ones are kept in one line.
    """
    lines = [tuple(row) for row in rows]
    crowded = any(len(cell) > _LONG for line in lines for cell in line)
    columns = [[line[at] for line in lines] for at in range(len(header))]
    looks = [_look(column, first=not at, crowded=crowded) for at, column in enumerate(columns)]
    head = "".join(
        f'<th scope="col"{look}>{escape(name)}</th>'
        for name, look in zip(header, looks, strict=True)
    )
    body = "".join(
        f'<tr><th scope="row"{looks[0]}>{escape(line[0])}</th>'
        + "".join(
            f"<td{look}>{escape(cell)}</td>" for cell, look in zip(line[1:], looks[1:], strict=True)
        )
        + "</tr>"
        for line in lines
    )
    return (
        f'<table><caption style="text-align:left">{escape(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )


def _look(cells: Sequence[str], *, first: bool, crowded: bool) -> str:
    words = first or not all(_NUMBER.match(cell) for cell in cells)
    styles = ["text-align:left"] if words else []
    if crowded and all(len(cell) <= _SHORT for cell in cells):
        styles.append("white-space:nowrap")
    return f' style="{";".join(styles)}"' if styles else ""


def notes_html(notes: Iterable[str]) -> str:
    """Draw notes as a list, or nothing."""
    items = "".join(f"<li>{escape(note)}</li>" for note in notes)
    return f"<ul>{items}</ul>" if items else ""
