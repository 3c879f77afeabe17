"""The one reader and writer of tables in files: rows of text cells with their line numbers.

Takes text parted by tabs, semicolons or commas in UTF-8, UTF-16 or Windows-1252, and .xlsx
workbooks (one sheet). Nothing is lost and nothing turned into a number. What a workbook shows
otherwise than it holds is said: hidden rows, struck-through cells and formulas without a result are
refused, each row with its reason; merged cells, formats with a unit, and other sheets are noted.
Left out: the old .xls format and those of other programs, cells longer than 131 072 characters.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FitkitError, InputError, ReadingError
from fitkit.core.files import check_archive, read_plain
from fitkit.core.number_forms import as_shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from os import PathLike

    from fitkit.core.sheet_facts import SheetFacts

__all__ = ["Row", "Table", "harmless", "read_table", "separator_of", "table_text", "text_rows"]

# The number of the line on which a row begins, and its cells.
Row = tuple[int, list[str]]

# A workbook of this size is read in 100 MB and about as long as loading the libraries takes. A text
# of the same rows is read twenty times faster, so larger tables come as text.
MAX_UNPACKED, MAX_STRINGS, MAX_CELLS, MAX_LINES = 20_000_000, 6_000_000, 80_000, 200_000
_AS_TEXT = "If the table itself is so large, save it as CSV."
_WORKBOOKS = (".xlsx", ".xlsm")
# What other programs' files have near their beginning.
_FOREIGN = {
    b"opendocument.spreadsheet": "a spreadsheet in the OpenDocument format (.ods)",
    b"opendocument.text": "a text in the OpenDocument format (.odt)",
    b"%PDF-": "a PDF",
}
# How a zip archive, and so a workbook, begins; how the old .xls does.
_ZIP, _OLD_XLS = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A file's rows as text.

    Attributes
    ----------
    rows : list of (line number, cells)
        Rows with something in them, cells as they stand. Lines count from 1.
    separator : str
        What parts the cells: a tab, ``;`` or ``,``; empty for a workbook.
    notes : tuple of str
        What was decided on the way, such as an encoding.
    refused : mapping of line number to str
        Rows that a reader must not take as they stand, and why: hidden ones and the like.
    """

    rows: list[Row]
    separator: str
    notes: tuple[str, ...] = ()
    refused: Mapping[int, str] = field(default_factory=dict)


def read_table(
    path: str | PathLike[str],
    *,
    max_bytes: int = 50_000_000,
    max_rows: int | None = None,
    error: type[FitkitError] = ReadingError,
    header: str = "",
) -> Table:
    """Read a file's cells as text.

    Parameters
    ----------
    path : path
        A name that ends in .xlsx or .xlsm is a workbook; any other is text.
    max_bytes, max_rows : int
        A larger file is refused; None bounds the rows by the bytes alone.
    error : type of FitkitError
        What to raise, so that the reader of a room's table raises that room's error.
    header : str
        Name of a column that tells the header, where other lines may stand above it.

    Returns
    -------
    Table
        Rows of text, each with its number in the file.

    Raises
    ------
    FitkitError
        Of type `error`: if it cannot be read, is too large, or is not a table; with the row.
    """
    path = Path(path)
    try:
        content = read_plain(path, max_bytes=max_bytes)
    except FileNotFoundError as fault:
        raise error(
            "cannot be read: there is no such file",
            file=path,
            code="table.absent",
            remedy="Check the name.",
        ) from fault
    except OSError as fault:
        raise error(
            f"cannot be read: {fault.strerror}",
            file=path,
            code="table.unreadable",
            remedy="Check the file.",
        ) from fault
    foreign = next((what for sign, what in _FOREIGN.items() if sign in content[:200]), None)
    if foreign:
        raise error(
            f"is {foreign}",
            file=path.name,
            code="table.foreign-format",
            remedy="Open it in the program that wrote it, and save it as .xlsx or as CSV.",
        )
    if content.startswith(_OLD_XLS):
        raise error(
            "is a workbook in the old .xls format",
            file=path.name,
            code="table.old-workbook",
            remedy="Save it as .xlsx.",
        )
    if path.suffix.lower() in _WORKBOOKS or content.startswith(_ZIP):
        table = _workbook(path, content, error, header)
    else:
        text, notes = _decoded(content)
        sign = separator_of(text, header=header)
        rows = text_rows(text, sign, where=path.name, error=error)
        table = Table(rows=rows, separator=sign, notes=notes)
    if max_rows is not None and len(table.rows) > max_rows:
        raise error(
            f"has more than {max_rows} rows",
            file=path.name,
            code="table.too-many-rows",
            remedy="Split it into several files.",
        )
    return table


_SEP = re.compile(r"\ufeff?sep=([\t;,])\s*", re.IGNORECASE)


def separator_of(text: str, *, header: str = "") -> str:
    """Tell what parts the cells: whichever of tab, ``;`` and ``,`` the header has most of.

    Parameters
    ----------
    text : str
    header : str
        Name of a column; the first of ten lines that names it is the header, else the first line.

    Returns
    -------
    str
        A tab, ``;`` or ``,``; the one that a first line such as ``sep=;`` tells, if there is one.
    """
    lines = [line for line in text[:20_000].splitlines() if line.strip()][:11]
    if not lines:
        return "\t"
    if told := _SEP.fullmatch(lines[0]):
        return told[1]
    named = (line for line in lines if header and re.search(rf"\b{header}s?\b", line.lower()))
    first = next(named, lines[0])
    return max("\t;,", key=first.count)


def text_rows(
    text: str, separator: str, *, where: str = "", error: type[FitkitError] = ReadingError
) -> list[Row]:
    """Part a text into rows of cells, after RFC 4180; rows with nothing in them are left out.

    Parameters
    ----------
    text, separator : str
    where : str
        Names the text in messages.
    error : type of FitkitError
        What to raise.

    Returns
    -------
    list of Row
        Cells of each row, with its number in the text.

    Raises
    ------
    FitkitError
        Of type `error`: if a quote is not closed, a cell is too long, or the text holds NUL
        characters; with the row.
    """
    if (at := text.find("\0")) >= 0:
        raise error(
            f"Not a text table (row {text.count(chr(10), 0, at) + 1}): it holds NUL characters",
            where=where or None,
            code="table.not-text",
            remedy="Save it as a CSV file in UTF-8, or as .xlsx.",
        )
    try:
        return _parted(text, separator, strict=True)
    except _CellError as strict:
        unclosed = "end of data" in str(strict.__cause__)
        try:
            # What the standard does not allow, such as text after a closing quote, is taken as it
            # stands; but a quote that is never closed would swallow the rows after it.
            if not unclosed:
                return _parted(text, separator, strict=False)
            fault = strict
        except _CellError as lenient:
            fault = lenient
    what = (
        "the quote is not closed"
        if unclosed
        else "a cell is too long; look for a quote that is not closed"
        if "field limit" in str(fault.__cause__)
        else str(fault.__cause__)
    )
    raise error(
        f"Not a valid CSV file (row {fault.line}): {what}",
        where=where or None,
        code="table.not-csv",
        remedy='Close it or leave it out. Within quotes a quote is written twice, as in "3/8""".'
        if unclosed
        else "Mend that row.",
    ) from fault


def table_text(
    rows: Iterable[Iterable[object]], *, separator: str = ",", line_end: str = "\n"
) -> str:
    r"""Write rows as the text of a table, such that each cell reads back letter by letter.

    Parameters
    ----------
    rows : iterable of rows of cells
    separator, line_end : str

    Returns
    -------
    str

    Examples
    --------
    >>> table_text([["lid", "3, 4"], ["", "two\rlines"]])
    'lid,"3, 4"\n,"two\rlines"\n'
    """
    # The csv module quotes the line ends that it writes itself, and no others; so each row is
    # written with both, which then make room for the one that is wanted.
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=separator, lineterminator="\r\n")
    lines: list[str] = []
    for row in rows:
        writer.writerow(row)
        lines.append(stream.getvalue().removesuffix("\r\n"))
        stream.seek(0)
        stream.truncate()
    return "".join(f"{line}{line_end}" for line in lines)


class _CellError(Exception):
    """A row that the csv module cannot part, by the line on which it begins."""

    def __init__(self, line: int) -> None:
        super().__init__(line)
        self.line = line


def _parted(text: str, separator: str, *, strict: bool) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=strict)
    rows: list[Row] = []
    start = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((start, row))
            start = reader.line_num + 1
    except csv.Error as fault:
        raise _CellError(start) from fault
    return rows


def _decoded(content: bytes) -> tuple[str, tuple[str, ...]]:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace"), ()
    # Every second byte of a Latin text in UTF-16 is NUL, which no other text of ours has.
    start = content[:2000]
    for at, name in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(start) >= 8 and start[at::2].count(0) > 0.8 * len(start[at::2]):
            return content.decode(name, errors="replace"), ("read as UTF-16, without its mark",)
    try:
        return content.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        # Every byte has a meaning in Latin-1; Windows-1252 differs in typographic signs only.
        return content.decode("cp1252", errors="replace"), ("read as Windows-1252, not as UTF-8",)


def _workbook(path: Path, content: bytes, error: type[FitkitError], header: str) -> Table:
    try:
        check_archive(path, max_bytes=MAX_UNPACKED)
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            strings = sum(one.file_size for one in archive.infolist() if "Strings" in one.filename)
    except InputError as fault:
        raise error(
            f"is not a .xlsx workbook that can be read: {fault.what}",
            file=path.name,
            code="table.not-a-workbook",
            remedy=_AS_TEXT if fault.code == "archive.too-large" else "",
        ) from fault
    except (zipfile.BadZipFile, NotImplementedError, OSError, ValueError) as fault:
        raise error(
            "is not a .xlsx workbook", file=path.name, code="table.not-a-workbook"
        ) from fault
    if strings > MAX_STRINGS:
        raise error(
            f"holds more than {MAX_STRINGS // 1_000_000} MB of text",
            file=path.name,
            code="table.too-large",
            remedy=_AS_TEXT,
        )
    import openpyxl

    try:
        # Row by row: a whole workbook takes some fifty times its unpacked size in memory.
        book = openpyxl.load_workbook(io.BytesIO(content), data_only=True, read_only=True)
        begins = {sheet.title: _sheet_rows(sheet, peek=True) for sheet in book.worksheets}
        # The first sheet that has the header; where none is asked for or found, the first of all.
        with_header = [name for name, rows in begins.items() if _has_header(rows, header)]
        name = with_header[0] if with_header else next(iter(begins))
        found = _sheet_rows(book[name])
        part = getattr(book[name], "_worksheet_path", "")
        facts = _facts(content, part)
        hidden_sheet = book[name].sheet_state != "visible"
        book.close()
    except _TooLargeError:
        raise error(
            f"spans more than {MAX_CELLS:,} cells or {MAX_LINES:,} rows",
            file=path.name,
            code="table.too-large",
            remedy=f"Delete the stray cells far from the table. {_AS_TEXT}",
        ) from None
    except Exception as fault:  # a broken workbook may fail in any part of the reader
        raise error(
            "is not a .xlsx workbook", file=path.name, code="table.not-a-workbook"
        ) from fault
    notes, refused = _told(found, facts)
    others = [other for other, rows in begins.items() if rows and other != name]
    if others:
        what = "sheet" if len(others) == 1 else "sheets"
        said = ", ".join(map(repr, others))
        also = [other for other in others if other in with_header]
        more = f"; {', '.join(map(repr, also))} has such a table too" if also else ""
        notes.insert(0, f"only sheet {name!r} is read, not {what} {said}{more}")
    if hidden_sheet:
        notes.insert(0, f"sheet {name!r}, which is read, is hidden")
    rows = [(number, [text for text, _ in cells]) for number, cells in found]
    return Table(rows=_even(rows), separator="", notes=tuple(notes), refused=refused)


# Of sheets that may hold the table, this many rows and columns are looked at.
_PEEKED = (20, 200)
# A row of a sheet: its number, and each cell's text with a flag: struck through.
_Found = list[tuple[int, list[tuple[str, bool]]]]


def _sheet_rows(sheet: Any, *, peek: bool = False) -> _Found:
    sheet.reset_dimensions()  # what the file says of its size is not to be trusted
    rows, cells = [], 0
    begin = {"max_row": _PEEKED[0], "max_col": _PEEKED[1]} if peek else {}
    for number, row in enumerate(sheet.iter_rows(**begin), 1):
        cells += len(row)
        if cells > MAX_CELLS or number > MAX_LINES:
            raise _TooLargeError
        texts = [
            (text, bool(text) and _struck(cell)) for cell in row for text in [_cell_text(cell)]
        ]
        if any(text for text, _ in texts):
            rows.append((number, texts))
    return rows


def _struck(cell: Any) -> bool:
    return bool(cell.has_style and cell.font.strike)


def _has_header(rows: _Found, header: str) -> bool:
    return bool(header) and any(
        text.strip().lower().rstrip("s") == header for _, row in rows[:11] for text, _ in row
    )


def _facts(content: bytes, part: str) -> SheetFacts:
    from fitkit.core.sheet_facts import sheet_facts

    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        name = part.lstrip("/")
        xml = archive.read(name if name in archive.namelist() else f"xl/{name}")
    return sheet_facts(xml.decode("utf-8", errors="replace"))


def _told(rows: _Found, facts: SheetFacts) -> tuple[list[str], dict[int, str]]:
    """Say what the sheet shows otherwise than it holds: notes, and rows to be refused.

    A text that is merged over several rows is written into each of them.
    """
    notes: list[str] = []
    refused: dict[int, str] = {}
    by_number = dict(rows)
    for number, cells in rows:
        if number in facts.hidden_rows:
            refused[number] = (
                "the row is hidden in the workbook; show it, or delete it if it does not count"
            )
        elif any(struck for _, struck in cells):
            refused[number] = (
                "the row has a cell that is struck through; delete the row if it does not count"
            )
    for first_column, first, _, last in facts.merged:
        cells = by_number.get(first, [])
        text = cells[first_column - 1][0] if len(cells) >= first_column else ""
        where = f"{_letters(first_column)}{first}"
        if last == first or not text:
            continue
        if _NUMBERS.match(text):
            notes.append(
                f"cell {where} is merged over rows {first} to {last}: {text!r} is read once"
            )
            continue
        notes.append(f"cell {where} is merged: {text!r} is taken for rows {first} to {last}")
        for number in range(first + 1, min(last, MAX_LINES) + 1):
            mine = by_number.get(number)
            if mine is None:
                continue
            mine += [("", False)] * (first_column - len(mine))
            mine[first_column - 1] = (text, False)
    if facts.hidden_columns:
        said = ", ".join(map(_letters, facts.hidden_columns))
        notes.append(f"column {said} is hidden in the workbook, and is read like the others")
    with_result = [at for at, stored in facts.formulas.items() if stored and at[0] in by_number]
    for (row, column), stored in facts.formulas.items():
        if not stored and row in by_number:
            refused.setdefault(
                row,
                f"cell {_letters(column)}{row} is a formula whose result is not stored; open the "
                "workbook in its program and save it",
            )
    if with_result:
        said = ", ".join(f"{_letters(column)}{row}" for row, column in with_result[:5])
        more = f" and {len(with_result) - 5} more" if len(with_result) > 5 else ""
        notes.append(
            f"cells {said}{more} are results of formulas, not what a display showed; they are read "
            "as they stand"
        )
    return notes, refused


_NUMBERS = re.compile(r"\s*[+\-−]?[\d.,]+")


def _letters(column: int) -> str:
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def _even(rows: list[Row]) -> list[Row]:
    """Make rows as long as the first, but for those that have more in them."""
    if not rows:
        return []
    width = max((i for i, text in enumerate(rows[0][1], 1) if text), default=0)
    even = [(n, [*row, *[""] * (width - len(row))]) for n, row in rows]
    return [(n, row if any(row[width:]) else row[:width]) for n, row in even]


class _TooLargeError(Exception):
    """A sheet of more cells than are read."""


def _cell_text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        value = value.date()
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, int | float) and not isinstance(value, bool):
        return as_shown(value, cell.number_format or "")
    return str(value)


# How a cell begins that a spreadsheet takes for a formula, or for a cell's border.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def harmless(cell: str) -> str:
    """Give a cell of a report such that no spreadsheet runs it as a formula.

    An apostrophe before it makes it a text in all common spreadsheets. Numbers stay. Readings are
    not written by this: a user's own cell must read back letter by letter.

    Parameters
    ----------
    cell : str

    Returns
    -------
    str

    Examples
    --------
    >>> harmless("=cmd|' /C calc'!A0"), harmless("-0.05"), harmless("lid")
    ("'=cmd|' /C calc'!A0", '-0.05', 'lid')
    """
    if not cell.startswith(_FORMULA):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell
