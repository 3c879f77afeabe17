"""Files and pasted blocks as cells of readings, nothing lost and nothing turned into a number.

Files are read by `fitkit.core.tables`; here the header is understood, and wide tables are turned
into long ones.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import FaultList, ReadingError
from fitkit.core.tables import read_table, separator_of, text_rows
from fitkit.readings.form import named_columns
from fitkit.readings.schema import COLUMNS, COMPUTED, OPTIONAL

if TYPE_CHECKING:
    from os import PathLike

__all__ = ["Cells", "looks_like_a_date", "pasted_cells", "read_cells", "to_long"]

_KNOWN = frozenset((*COLUMNS, *OPTIONAL))
_HEADER_UNIT = re.compile(r"reading\s*[\[(_ ]\s*([^\])]+?)\s*[\])]?")
_REPEAT = re.compile(r"(?:reading|repeat|r|no\.?|#)?\s*\d+", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """A header, and rows with the line on which each stood.

    Attributes
    ----------
    header : tuple of str
    rows : tuple of (line number, cells)
        Each as long as the header.
    unit : str or None
        From a header such as ``reading [mm]``.
    notes : tuple of str
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    unit: str | None = None
    notes: tuple[str, ...] = field(default=())


def read_cells(path: str | PathLike[str]) -> Cells:
    """Read a file's cells as text.

    Raises
    ------
    ReadingError
        If it cannot be opened, is empty, has no feature column or would unpack without bound.
    FaultList
        Every row that has more fields than the header.
    """
    table = read_table(path)
    return _cells(table.rows, Path(path).name, table.notes)


def pasted_cells(text: str) -> Cells:
    """Take a block pasted from a spreadsheet or typed: cells parted by tabs, semicolons or commas.

    Without any of those, two or more spaces part cells. Without a header, a row is a feature and
    its repeats.
    """
    text = text.strip("\n\r")
    first = text.partition("\n")[0]
    if any(sign in first for sign in "\t;") or _is_header(first.split(",")):
        rows = text_rows(text, separator_of(text), where="pasted block")
    else:
        lines = enumerate(text.splitlines(), 1)
        rows = [(n, re.split(r"\s{2,}", line.strip())) for n, line in lines if line.strip()]
    if rows and not _is_header(rows[0][1]):
        width = max(len(row) for _, row in rows)
        rows.insert(0, (0, ["feature", *(f"reading {n}" for n in range(1, width))]))
    return _cells(rows, "pasted block", ())


def _is_header(row: list[str]) -> bool:
    return "feature" in (_name(cell) for cell in row)


def _name(cell: str) -> str:
    name = cell.strip().strip("\ufeff")
    return name.lower() if name.lower() in _KNOWN else name


def _cells(rows: list[tuple[int, list[str]]], where: str, notes: tuple[str, ...]) -> Cells:
    if not rows:
        raise ReadingError(
            "has no rows",
            where=where,
            code="readings.no-rows",
            remedy="Give a header and a row a reading.",
        )
    header = [_name(cell) for cell in rows[0][1]]
    unit = None
    for at, name in enumerate(header):
        match = _HEADER_UNIT.fullmatch(name.lower())
        if match and not match[1].isdigit():
            header[at], unit = "reading", match[1]
    if "feature" not in header:
        raise ReadingError(
            f"has no column 'feature' (it has: {', '.join(header)})",
            where=where,
            code="readings.no-feature-column",
            remedy="Name the columns feature, mode, reading, unit.",
        )
    if twice := sorted(name for name, count in Counter(header).items() if name and count > 1):
        raise ReadingError(
            f"has column {twice[0]!r} twice",
            where=where,
            code="readings.column-twice",
            remedy="Rename one.",
        )
    header = named_columns(header, COMPUTED)
    _refuse_long_rows(rows, len(header), where)
    padded = tuple(
        (line, tuple(cell.strip() for cell in (row + [""] * len(header))[: len(header)]))
        for line, row in rows[1:]
    )
    return Cells(header=tuple(header), rows=padded, unit=unit, notes=notes)


def _refuse_long_rows(rows: list[tuple[int, list[str]]], width: int, where: str) -> None:
    long = [
        ReadingError(
            f"row {line} has {len(row)} fields, header has {width}",
            where=where,
            code="readings.too-many-fields",
            remedy="Decimal comma in a comma-separated file? Quote it, or use semicolons.",
        )
        for line, row in rows[1:]
        if len(row) > width and any(cell.strip() for cell in row[width:])
    ]
    if long:
        raise FaultList(long)


def to_long(cells: Cells) -> Cells:
    """Turn a row a feature with repeat columns into a row a reading; leave long cells as they are.

    Repeat columns are those named by a number (``1``, ``reading 2``, ``repeat 3``); an empty
    repeat is no reading. Other columns go with each reading.
    """
    if "reading" in cells.header:
        return cells
    repeats = [at for at, name in enumerate(cells.header) if _REPEAT.fullmatch(name)]
    if not repeats:
        raise ReadingError(
            f"has no column 'reading' and no repeat columns (it has: {', '.join(cells.header)})",
            code="readings.no-reading-column",
            remedy="Name the column of readings 'reading', or repeats '1', '2', '3'.",
        )
    others = [at for at in range(len(cells.header)) if at not in repeats]
    rows = [
        (*(row[i] for i in others), row[at])
        for _, row in cells.rows
        for at in repeats
        if row[at] or not any(row[i] for i in repeats)
    ]
    header = (*(cells.header[i] for i in others), "reading")
    note = "rows are counted as in the long table made of this block, its header being row 1"
    return Cells(
        header=header,
        rows=tuple(enumerate(rows, 2)),
        unit=cells.unit,
        notes=(*cells.notes, note),
    )


_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan", "feb", "mar mrz mär", "apr", "may mai", "jun", "jul", "aug", "sep", "oct okt",
         "nov", "dec dez"), 1
    )
    for name in names.split()
}  # fmt: skip
_MONTH = rf"(?P<name>{'|'.join(_MONTHS)})[a-zäéû]*\.?"
_DATES = [
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"(?P<day>\d{{1,2}})[-./ ]+{_MONTH}(?:[-./ ]*\d{{2,4}})?",
        rf"{_MONTH}[-./ ]+(?P<day>\d{{1,2}})(?:[-./, ]+\d{{2,4}})?",
        r"\d{4}[-/.](?P<month>\d{1,2})[-/.](?P<day>\d{1,2})(?:[ T].*)?",
        r"(?P<day>\d{1,2})\.(?P<month>\d{1,2})\.(?:\d{2,4})?",
        r"(?P<month>\d{1,2})[-/](?P<day>\d{1,2})[-/]\d{2,4}",
    )
]


def looks_like_a_date(text: str) -> str | None:
    """Give what was probably typed (``3/16``) where a cell holds a date, otherwise None."""
    for pattern in _DATES:
        if match := pattern.fullmatch(text.strip()):
            parts = match.groupdict()
            month = parts.get("month") or _MONTHS[parts["name"].lower()]
            return f"{int(month)}/{int(parts['day'])}"
    return None
