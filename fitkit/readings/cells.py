"""Files and pasted blocks as cells of readings, nothing lost and nothing turned into a number.

Files are read by `fitkit.core.tables`; here the header is understood. `fitkit.readings.long_form`
turns tables with several readings in a row into ones with a row a reading.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import FaultList, ReadingError, UnitError
from fitkit.core.tables import read_table, separator_of, text_rows
from fitkit.core.units import unit_name
from fitkit.readings.form import named_columns
from fitkit.readings.numbers import plain_unit
from fitkit.readings.schema import COLUMNS, COMPUTED, OPTIONAL

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from os import PathLike

__all__ = [
    "Cells",
    "declared_header",
    "header_of",
    "looks_like_a_date",
    "pasted_cells",
    "plain_cell",
    "read_cells",
    "repeats_and_means",
    "said_of",
    "side_by_side",
]

_KNOWN = frozenset((*COLUMNS, *OPTIONAL))
# What people call the columns. Common practice, no source.
_MEANT = {
    "features": "feature",
    "items": "item",
    "modes": "mode",
    "readings": "reading",
    "value": "reading",
    "values": "reading",
    "measured": "reading",
    "measurement": "reading",
    "measurements": "reading",
    "units": "unit",
    "instruments": "instrument",
    "date": "taken_at",
    "time": "taken_at",
    "taken at": "taken_at",
    "left out": "left_out",
    "notes": "note",
    "comment": "note",
    "comments": "note",
    "places": "place",
}
# What heads the features where no column is called so. Common practice, no source.
_FEATURE = ("name", "dimension", "size", "what", "part feature", "measured feature")
_SAID = re.compile(r"(?P<name>.*?)\s*(?:[\[(](?P<said>[^\])]+)[\])]|\bin\s+(?P<unit>\w+))")
_REPEAT = re.compile(r"(?:readings?|repeat|measurement|value|[rm]|no\.?|#)?\s*\d+", re.IGNORECASE)
_MEANS = frozenset(("mean", "average", "avg", "mean value", "average value"))
_DOWN = frozenset(("", "#", "no", "no.", "nr", "repeat", "reading", "row"))
_DECIMALS: dict[str, Literal[".", ","]] = {"decimal comma": ",", "decimal point": "."}
# A table may have this many lines before its header.
_MOST_BEFORE = 10


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
    decimal : {".", ","} or None
        From a header such as ``reading [mm, decimal comma]``.
    torn : tuple of int
        Lines of the rows that have fewer cells than the header.
    refused : mapping of line number to str
        Rows that must not count as they stand, and why, such as a workbook's hidden ones.
    across : bool
        Whether features stand side by side, so that the header names them.
    notes : tuple of str
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    unit: str | None = None
    decimal: Literal[".", ","] | None = None
    torn: tuple[int, ...] = ()
    refused: Mapping[int, str] = field(default_factory=dict)
    across: bool = False
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
    table = read_table(path, header="feature")
    cells = _cells(table.rows, Path(path).name, table.notes)
    if table.separator == ",":
        cells = _comma_parted(cells, Path(path).name)
    means = {
        line: "the row is an average, not a reading; delete it, or name its feature otherwise"
        for line, row in cells.rows
        if not cells.across and row[cells.header.index("feature")].lower() in _MEANS
    }
    return replace(cells, refused=means | dict(table.refused))


_BARE_DIGITS = re.compile(r"\d{1,3}")


def _comma_parted(cells: Cells, where: str) -> Cells:
    """Refuse or doubt readings that their own decimal comma seems to have parted into two cells.

    Calipers show decimals. Where no reading has any, and a bare number stands behind each of them,
    ``12,34`` was typed into a file whose cells are parted by commas.
    """

    def bare(places: Sequence[int]) -> bool:
        typed = [row[at] for _, row in cells.rows for at in places if row[at]]
        return bool(typed) and all(map(_BARE_DIGITS.fullmatch, typed))

    if "reading" in cells.header:
        at = cells.header.index("reading")
        behind = at + 1
        filled = [row for _, row in cells.rows if row[at]]
        if (
            behind < len(cells.header)
            and all(row[behind] for row in filled)
            and bare((at,))
            and bare((behind,))
        ):
            number, decimals = filled[0][at], filled[0][behind]
            raise ReadingError(
                f"no reading has decimals, and a bare number stands behind each, as in {number},"
                f"{decimals}: was the comma its decimal sign?",
                where=where,
                code="readings.comma-parted",
                remedy=f'Quote the readings ("{number},{decimals}") or part the cells by '
                f"semicolons; if the readings are right, write their decimals ({number}.0).",
            )
        return cells
    repeats, _ = repeats_and_means(cells.header)
    if len(repeats) > 1 and bare(repeats):
        note = (
            "no reading has decimals; if they had decimal commas, the commas have parted them: "
            "quote such readings, or part the cells by semicolons"
        )
        return replace(cells, notes=(*cells.notes, note))
    return cells


def declared_header(unit: str | None, decimal: str | None) -> str:
    """Give the header of the readings that declares a table's unit and decimal sign.

    Examples
    --------
    >>> declared_header("mm", ",")
    'reading [mm, decimal comma]'
    """
    signs: dict[str, str] = {sign: name for name, sign in _DECIMALS.items()}
    said = ", ".join(filter(None, (unit, signs.get(decimal or ""))))
    return f"reading [{said}]" if said else "reading"


def pasted_cells(text: str) -> Cells:
    """Take a block pasted from a spreadsheet or typed: cells parted by tabs, semicolons or commas.

    Without any of those, two or more spaces part cells, or a colon parts the name from its
    readings. Without a header, a row is a feature and its repeats.
    """
    text = text.strip("\n\r")
    first = text.partition("\n")[0]
    sign = separator_of(text, header="feature")
    rows = [] if "\0" in text else text_rows(text, sign, where="pasted block")
    if not ("\t" in first or ";" in first or any(_is_header(row) for _, row in rows[:10])):
        lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
        rows = [(n, _name_and_repeats(line)) for n, line in lines]
    if rows and not any(_is_header(row) for _, row in rows[:10]) and not side_by_side(rows):
        rows = [(n, _colon_apart(row)) for n, row in rows]
        width = max(len(row) for _, row in rows)
        rows.insert(0, (0, ["feature", *(f"reading {n}" for n in range(1, width))]))
    return _cells(rows, "pasted block", (), pasted=True)


_SIZES = re.compile(
    r"(?P<name>[^\d\s].*?)\s+"
    r"(?P<sizes>(?:[-+−]?\d+[.,]\d+\S*(?:\s+(?:mm|cm|in|inch|inches))?(?:\s+|$))+)"
)
_COLON = re.compile(r"(?P<name>[^:=]*[^:=\d\s])\s*[:=]\s*(?P<first>[-+−]?\d\S*)")


def _name_and_repeats(line: str) -> list[str]:
    """Part ``length: 12.34 12.36`` and its like into the name and the repeats."""
    name, colon, rest = line.partition(":" if ":" in line else "=")
    if colon and re.match(r"\s*[-+−]?[\d.,]", rest):
        sign = r",\s+|\s{2,}|\s+(?=[-+−]?\d+[.,]\d)|\s+(?=[-+−]?\d+$)"
        return [name.strip(), *re.split(sign, rest.strip())]
    if ", " in line and re.fullmatch(r"[^,]*\D[^,]*(?:,\s+[-+−]?\d\S*(?:\s*[a-z]+)?)+", line):
        return re.split(r",\s+", line)
    parts = re.split(r"\s{2,}", line)
    if len(parts) == 1 and (match := _SIZES.fullmatch(line)):
        return [match["name"], *re.split(r"\s+(?=[-+−]?\d)", match["sizes"].strip())]
    return parts


def _colon_apart(row: list[str]) -> list[str]:
    """Part a first cell such as ``length: 12.34``, behind which other repeats stand."""
    match = _COLON.fullmatch(row[0].strip()) if row else None
    return [match["name"], match["first"], *row[1:]] if match else row


def header_of(rows: list[tuple[int, list[str]]]) -> tuple[int, list[str]]:
    """Find the header among rows of cells.

    Parameters
    ----------
    rows : list of (line number, cells)
        At least one.

    Returns
    -------
    start : int
        Which of the rows it is.
    names : list of str
        What each of its columns is taken as.
    """
    start = _start_of(rows)
    return start, _header(rows[start][1])[0]


def _start_of(rows: list[tuple[int, list[str]]]) -> int:
    return next((n for n, (_, row) in enumerate(rows[: _MOST_BEFORE + 1]) if _is_header(row)), 0)


def _is_header(row: list[str]) -> bool:
    names = [_name(cell) for cell in row]
    # A word such as 'name' heads a table only beside another column's name.
    return "feature" in names or (
        any(name.strip().lower() in _FEATURE for name in names) and "reading" in _header(row)[0]
    )


def _name(cell: str) -> str:
    name = plain_cell(cell.strip("\ufeff"))
    folded = " ".join(name.lower().split())
    if folded in _KNOWN:
        return folded
    return _MEANT.get(folded, name)


def _header(row: list[str]) -> tuple[list[str], dict[int, str], Literal[".", ","] | None]:
    """Give the names of a header's columns, the units said in it, and the decimal sign."""
    names, units = [], {}
    decimal: Literal[".", ","] | None = None
    for at, cell in enumerate(row):
        name = _name(cell)
        match = _SAID.fullmatch(name)
        plain = _name(match["name"].rstrip("_, ")) if match else name
        old = re.fullmatch(r"reading[_ ]([a-z]+)", name.lower())
        if match and (plain == "reading" or _REPEAT.fullmatch(plain)):
            for said in (match["said"] or match["unit"]).split(","):
                if (word := said.strip().lower()) in _DECIMALS:
                    decimal = _DECIMALS[word]
                else:
                    units[at] = _unit(said.strip(), cell)
            name = plain
        elif old and old[1] in _UNITS:
            name, units[at] = "reading", old[1]
        names.append(name)
    if "feature" not in names:
        called = [at for at, name in enumerate(names) if name.strip().lower() in _FEATURE]
        if called:
            names[called[0]] = "feature"
    if "feature" in names and "reading" not in names and not any(map(_REPEAT.fullmatch, names)):
        sizes = {
            at: said for at, name in enumerate(names) if (said := _size_column(name)) is not None
        }
        if len(sizes) == 1:
            ((at, said),) = sizes.items()
            names[at] = "reading"
            if said:
                units[at] = said
    # A word that stands for a column is not needed where the column itself is there.
    for at, cell in enumerate(row):
        typed = cell.strip().strip("\ufeff")
        twice = names[at] in _KNOWN and names.count(names[at]) > 1
        if twice and typed.lower() != names[at] and at not in units:
            names[at] = typed
    return names, units, decimal


# What heads the readings where nothing says so: a unit alone, or a size with or without its unit.
# Common practice, no source.
_SIZES_COLUMN = re.compile(
    r"(?:(?:measured |actual )?(?:size|length|dimension|value|measurement)|measured|actual|shown)?"
    r"[ _]*(?:in )?[(\[]?(?P<unit>mm|cm|in\.?|inch|inches|millimet(?:re|er)s?)?[)\]]?"
)


def _size_column(name: str) -> str | None:
    """Give the unit that the head of a column of sizes says, maybe none; None if it is not one."""
    folded = " ".join(name.lower().split())
    match = _SIZES_COLUMN.fullmatch(folded)
    if not match or folded in ("", "in"):
        return None
    return plain_unit(match["unit"]) if match["unit"] else ""


_UNITS = frozenset(("mm", "cm", "m", "in", "inch", "inches", "thou", "mil", "um"))


def _unit(said: str, cell: str) -> str:
    try:
        return unit_name(plain_unit(said))
    except UnitError as error:
        raise error.placed(ReadingError, column=cell.strip()) from error


def _cells(
    rows: list[tuple[int, list[str]]], where: str, notes: tuple[str, ...], *, pasted: bool = False
) -> Cells:
    if not rows:
        raise ReadingError(
            "has no rows",
            where=where,
            code="readings.no-rows",
            remedy="Give a header and a row a reading.",
        )
    start = _start_of(rows)
    if start:
        notes = (*notes, f"the header is in row {rows[start][0]}; what stands above it is not read")
        rows = rows[start:]
    elif side_by_side(rows):
        return _across(rows, where, notes)
    try:
        header, units, decimal = _header(rows[0][1])
    except ReadingError as error:
        raise error.placed(file=where) from error
    if "feature" not in header:
        raise ReadingError(
            f"has no column 'feature' (it has: {', '.join(header)})",
            where=where,
            code="readings.no-feature-column",
            remedy="Name the columns feature, mode, reading, unit.",
        )
    if twice := sorted(name for name, count in Counter(header).items() if name and count > 1):
        raise ReadingError(
            f"has two columns that are read as {twice[0]!r}",
            where=where,
            code="readings.column-twice",
            remedy="Rename one.",
        )
    if "reading" in header:
        notes = (*notes, *_not_read(rows[0][1], header))
    at, first = header.index("feature"), rows[0][1]
    again = [
        line
        for line, row in rows[1:]
        # Few rows get past the first look, which is what a long table costs.
        if len(row) > at
        and (row[at] == first[at] or _name(row[at]) == "feature")
        and (row == first or _header_again(row, header))
    ]
    if again:
        notes = (*notes, f"the header is repeated in row {', '.join(map(str, again))}")
        rows = [rows[0], *(one for one in rows[1:] if one[0] not in again)]
    header = named_columns(header, COMPUTED)
    _refuse_long_rows(rows, len(header), where)
    torn = () if pasted or "reading" not in header else _torn(rows, len(header))
    padded = tuple(
        (line, tuple(plain_cell(cell) for cell in (row + [""] * len(header))[: len(header)]))
        for line, row in rows[1:]
    )
    unit = None
    if len(set(units.values())) == 1:
        unit = next(iter(units.values()))
        notes = (*notes, *_clashes(padded, header, unit))
    elif units:
        padded, header = _own_units(padded, header, units)
    return Cells(
        header=tuple(header), rows=padded, unit=unit, decimal=decimal, torn=torn, notes=notes
    )


def _not_read(typed: Sequence[str], header: Sequence[str]) -> list[str]:
    """Tell of columns that are called as readings are, beside the column of readings."""
    return [
        f"column {cell.strip()!r} is kept, but not read: the readings stand in another column"
        for cell, name in zip(typed, header, strict=True)
        if name != "reading" and _name(cell) == "reading"
    ]


_HARMLESS = re.compile(r"'(?=[=@\t\r+\-])")


def plain_cell(cell: str) -> str:
    """Give a cell without outer blanks and the apostrophe that keeps it from being a formula."""
    cell = cell.strip()
    return _HARMLESS.sub("", cell, count=1) if cell[:1] == "'" else cell


def _header_again(row: list[str], header: list[str]) -> bool:
    return _is_header(row) and [_name(cell) for cell in row][: len(header)] == header


def _torn(rows: list[tuple[int, list[str]]], width: int) -> tuple[int, ...]:
    return tuple(line for line, row in rows[1:] if len(row) < width)


def _clashes(
    rows: tuple[tuple[int, tuple[str, ...]], ...], header: list[str], unit: str
) -> tuple[str, ...]:
    """Tell where cells name another unit than the header does."""
    if "unit" not in header:
        return ()
    at = header.index("unit")
    other = {row[at] for _, row in rows if row[at] and plain_unit(row[at]) != unit}
    if not other:
        return ()
    return (
        f"the header says {unit}, but some rows say {', '.join(sorted(other))}: the unit of the "
        "row counts there",
    )


def _own_units(
    rows: tuple[tuple[int, tuple[str, ...]], ...], header: list[str], units: dict[int, str]
) -> tuple[tuple[tuple[int, tuple[str, ...]], ...], list[str]]:
    """Write the unit of each repeat column behind its readings, since the columns differ in it."""
    changed = tuple(
        (
            line,
            tuple(
                f"{cell} {units[at]}" if at in units and cell[-1:].isdigit() else cell
                for at, cell in enumerate(row)
            ),
        )
        for line, row in rows
    )
    return changed, header


def side_by_side(rows: list[tuple[int, list[str]]]) -> bool:
    """Tell whether features stand side by side, their repeats numbered 1, 2, 3 downwards.

    Parameters
    ----------
    rows : list of (line number, cells)
        Of a whole file.

    Returns
    -------
    bool
    """
    if len(rows) < 2 or len(rows[0][1]) < 2 or _is_header(rows[0][1]):
        return False
    head = [plain_cell(cell) for cell in rows[0][1]]
    numbers = [row[0].strip().lower() for _, row in rows[1:] if row]
    counted = [re.fullmatch(r"(?:reading|repeat|no\.?|#|r|m)?\s*(\d+)\.?", one) for one in numbers]
    return (
        head[0].lower() in _DOWN
        and all(name and not re.match(r"[-+−]?[\d.,]", name) for name in head[1:])
        and [int(one[1]) if one else 0 for one in counted] == list(range(1, len(numbers) + 1))
    )


def _across(rows: list[tuple[int, list[str]]], where: str, notes: tuple[str, ...]) -> Cells:
    """Give the cells of a table whose header names features."""
    header = [plain_cell(cell) for cell in rows[0][1]]
    _refuse_long_rows(rows, len(header), where)
    decimals = {sign for _, _, sign in map(said_of, header[1:]) if sign}
    return Cells(
        header=tuple(header),
        rows=tuple(
            (line, tuple(plain_cell(cell) for cell in (row + [""] * len(header))[: len(header)]))
            for line, row in rows[1:]
        ),
        decimal=decimals.pop() if len(decimals) == 1 else None,
        across=True,
        notes=(*notes, "features stand side by side, and their repeats below one another"),
    )


def said_of(cell: str) -> tuple[str, str, Literal[".", ","] | None]:
    """Part what a column's head says in brackets, or behind ``in``, from its name.

    Parameters
    ----------
    cell : str

    Returns
    -------
    name : str
        The whole cell if what stands there is neither a unit nor a decimal sign.
    unit : str
        As typed; empty if none is said.
    decimal : {".", ","} or None

    Examples
    --------
    >>> said_of("bar (mm)"), said_of("bar [decimal comma]"), said_of("hole (left)")
    (('bar', 'mm', None), ('bar', '', ','), ('hole (left)', '', None))
    """
    match = _SAID.fullmatch(cell.strip())
    if match is None or not match["name"].strip():
        return cell.strip(), "", None
    unit = ""
    decimal: Literal[".", ","] | None = None
    for said in (match["said"] or match["unit"]).split(","):
        word = said.strip()
        if word.lower() in _DECIMALS:
            decimal = _DECIMALS[word.lower()]
            continue
        try:
            unit_name(plain_unit(word))
        except UnitError:
            return cell.strip(), "", None
        unit = word
    return match["name"].strip(), unit, decimal


def repeats_and_means(header: Sequence[str]) -> tuple[list[int], list[int]]:
    """Find the columns that hold repeats, and those that hold averages.

    Parameters
    ----------
    header : sequence of str
        What each column is taken as.

    Returns
    -------
    repeats, means : lists of int
        Places of the columns.
    """
    repeats = [at for at, name in enumerate(header) if _REPEAT.fullmatch(name)]
    means = [at for at, name in enumerate(header) if name.strip().lower() in _MEANS]
    return repeats, means


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
            month = int(parts.get("month") or _MONTHS[parts["name"].lower()])
            if 1 <= month <= 12 and 1 <= int(parts["day"]) <= 31:
                return f"{month}/{int(parts['day'])}"
    return None
