"""What a workbook's sheet holds beside its cells: hidden rows, merged cells, formulas.

Taken from the sheet's own XML (ECMA-376, part 1, 18.3.1) by patterns, in one pass over its text,
since the reader that streams cells leaves them out. What is unpacked was bounded before.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["SheetFacts", "sheet_facts"]

_ROW = re.compile(r"<(?:\w+:)?row\b([^>]*)>")
_COLUMN = re.compile(r"<(?:\w+:)?col\b([^>]*)>")
_MERGED = re.compile(r"<(?:\w+:)?mergeCell\b[^>]*\bref=\"([A-Z]+)(\d+):([A-Z]+)(\d+)\"")
_HIDDEN = re.compile(r"\bhidden=\"(?:1|true)\"")
_NUMBER = re.compile(r"\br=\"(\d+)\"")
_FIRST = re.compile(r"\bmin=\"(\d+)\"")
_FORMULA = re.compile(
    r"<(?:\w+:)?c\b[^>]*\br=\"([A-Z]+)(\d+)\"[^>]*>\s*"
    r"<(?:\w+:)?f\b[^>]*?(?:/>|>[^<]*</(?:\w+:)?f>)\s*(<(?:\w+:)?v\b[^>]*>[^<]+)?"
)
# More than any table that a person keeps; what lies beyond is not looked for.
_MOST_FOUND = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFacts:
    """What was found; rows and columns count from 1.

    Attributes
    ----------
    hidden_rows : frozenset of int
        Hidden by hand or by a filter.
    hidden_columns : tuple of int
        The first of each group.
    merged : tuple of (first column, first row, last column, last row)
    formulas : mapping of (row, column) to bool
        Whether the formula's result is stored.
    """

    hidden_rows: frozenset[int]
    hidden_columns: tuple[int, ...]
    merged: tuple[tuple[int, int, int, int], ...]
    formulas: Mapping[tuple[int, int], bool]


def sheet_facts(xml: str) -> SheetFacts:
    """Find what a sheet holds beside its cells.

    Parameters
    ----------
    xml : str
        Content of the sheet's part of the workbook.

    Returns
    -------
    SheetFacts
    """
    hidden = set()
    row = 0
    for match in _ROW.finditer(xml):
        said = _NUMBER.search(match[1])
        row = int(said[1]) if said else row + 1
        if _HIDDEN.search(match[1]):
            hidden.add(row)
    columns = tuple(
        int(first[1])
        for match in _COLUMN.finditer(xml)
        if _HIDDEN.search(match[1]) and (first := _FIRST.search(match[1]))
    )
    merged = tuple(
        (_column(m[1]), int(m[2]), _column(m[3]), int(m[4]))
        for m, _ in zip(_MERGED.finditer(xml), range(_MOST_FOUND), strict=False)
    )
    formulas = {
        (int(m[2]), _column(m[1])): m[3] is not None
        for m, _ in zip(_FORMULA.finditer(xml), range(_MOST_FOUND), strict=False)
    }
    return SheetFacts(
        hidden_rows=frozenset(hidden), hidden_columns=columns, merged=merged, formulas=formulas
    )


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number
