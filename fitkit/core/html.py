"""Tables and notes as HTML for a notebook: captioned, with row headers, every text escaped."""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["html_table", "notes_html"]

# What a column of numbers may hold: a number with its unit but no words, or that there is none.
_NUMBER = re.compile(r"(?!.*[a-z]{3})[-+−±]?[.\d]|over \d|∞|–?$|unknown$")
_LONG, _SHORT = 60, 14


def html_table(caption: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Draw a table with caption and row headers; every text is escaped.

    Words stand to the left and numbers to the right, as people read them: notebooks set all to the
    right. Beside a long text, short ones are kept in one line.

    Parameters
    ----------
    caption : str
        Plain text, as are all cells.
    header : sequence of str
        One for each column.
    rows : iterable of sequences of str
        The first cell of a row is its header.

    Returns
    -------
    str
        HTML.
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
