"""Files and pasted blocks as rows of text cells, nothing lost and nothing turned into a number.

Takes comma, semicolon and tab separated text in UTF-8, UTF-16 and Windows-1252, and .xlsx. Left
out: formulas without a stored result, old .xls.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FaultList, InputError, ReadingError
from fitkit.core.files import check_archive, read_plain
from fitkit.readings.form import named_columns
from fitkit.readings.schema import COLUMNS, COMPUTED, OPTIONAL

if TYPE_CHECKING:
    from os import PathLike

__all__ = ["Cells", "looks_like_a_date", "pasted_cells", "read_cells", "to_long"]

# A workbook takes some fifty times its unpacked size in memory.
MAX_UNPACKED, MAX_CELLS = 50_000_000, 5_000_000
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
    path = Path(path)
    try:
        content = read_plain(path)
    except OSError as error:
        raise ReadingError(
            f"cannot be read: {error.strerror}",
            where=str(path),
            code="readings.unreadable",
            remedy="Check the name.",
        ) from error
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        try:
            check_archive(path, max_bytes=MAX_UNPACKED)
        except InputError as error:
            raise ReadingError(
                f"is not a .xlsx workbook to read: {error.what}",
                where=path.name,
                code="readings.not-a-workbook",
            ) from error
        return _cells(_sheet_rows(content, path.name), path.name, ())
    text, notes = _decoded(content)
    return _cells(_text_rows(text, _separator(text)), path.name, notes)


def pasted_cells(text: str) -> Cells:
    """Take a block pasted from a spreadsheet or typed: cells parted by tabs, semicolons or commas.

    Without any of those, two or more spaces part cells. Without a header, a row is a feature and
    its repeats.
    """
    text = text.strip("\n\r")
    first = text.partition("\n")[0]
    if any(sign in first for sign in "\t;") or _is_header(first.split(",")):
        rows = _text_rows(text, _separator(text))
    else:
        lines = enumerate(text.splitlines(), 1)
        rows = [(n, re.split(r"\s{2,}", line.strip())) for n, line in lines if line.strip()]
    if rows and not _is_header(rows[0][1]):
        width = max(len(row) for _, row in rows)
        rows.insert(0, (0, ["feature", *(f"reading {n}" for n in range(1, width))]))
    return _cells(rows, "pasted block", ())


def _decoded(content: bytes) -> tuple[str, tuple[str, ...]]:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace"), ()
    try:
        return content.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        # Every byte has a meaning in Latin-1; Windows-1252 differs in typographic signs only.
        return content.decode("cp1252", errors="replace"), ("read as Windows-1252, not as UTF-8",)


def _separator(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max("\t;,", key=first.count)


def _text_rows(text: str, separator: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    rows = []
    start = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((start, row))
            start = reader.line_num + 1
    except csv.Error as error:
        raise ReadingError(
            f"cannot be parted into cells: {error}",
            where=f"row {start}",
            code="readings.not-csv",
            remedy="Look there for a quote that is not closed.",
        ) from error
    return rows


def _sheet_rows(content: bytes, name: str) -> list[tuple[int, list[str]]]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
        sheet = book.worksheets[0]
    except Exception as error:
        raise ReadingError(
            "is not a .xlsx workbook", where=name, code="readings.not-a-workbook"
        ) from error
    # One stray cell in the last corner would stand for 17 thousand million empty ones.
    if sheet.max_row * sheet.max_column > MAX_CELLS:
        raise ReadingError(
            f"spans {sheet.max_row} rows and {sheet.max_column} columns",
            where=name,
            code="readings.too-large",
            remedy="Delete the stray cells far from the table.",
        )
    rows = [
        (number, [_cell_text(cell) for cell in row])
        for number, row in enumerate(sheet.iter_rows(), 1)
    ]
    filled = [(number, row) for number, row in rows if any(row)]
    if filled:
        width = max(i for i, text in enumerate(filled[0][1], 1) if text)
        filled = [(n, row if any(row[width:]) else row[:width]) for n, row in filled]
    return filled


def _cell_text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        value = value.date()
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, float) and (shown := re.fullmatch(r"0\.(0+)", cell.number_format or "")):
        return f"{value:.{len(shown[1])}f}"
    return str(value)


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
