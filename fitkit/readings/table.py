"""The readings table: every row as typed, its size in mm where it could be read, or why not.

Rows that cannot be used stay in the table as rejected; a reading is left out of an average only by
a decision with a reason, which is written into the file beside it.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Self

import numpy as np
import pandas as pd

from fitkit.core.errors import FitkitError, ReadingError, UnitError
from fitkit.core.files import write_atomic
from fitkit.core.units import TypedLength, parse_length, unit_name
from fitkit.readings.cells import (
    Cells,
    declared_header,
    looks_like_a_date,
    pasted_cells,
    read_cells,
)
from fitkit.readings.dates import day_of
from fitkit.readings.decisions import AGAIN, again_text
from fitkit.readings.doubles import double_entries
from fitkit.readings.form import FileForm, own_name
from fitkit.readings.kinds import zero_checks
from fitkit.readings.layout import layout_of
from fitkit.readings.long_form import to_long
from fitkit.readings.numbers import plain_number, plain_suffix, plain_unit, unit_in_name
from fitkit.readings.schema import COLUMNS, COMPUTED, OPTIONAL, faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from os import PathLike

    from fitkit.readings.flags import Flag

__all__ = ["ReadingTable"]


_MOST_SHOWN = 200  # rows of a table in a notebook; a longer one says so

_TORN = "the row is shorter than the header; is it torn? Write all its cells, then empty this one"
Decimal = Literal[".", ","]
_BARE = r"[-+−]?[\d.,]+"
# No workbook can hold these, and no terminal should be sent them.
_CONTROLS = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 127), "\ufffd")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadingTable:
    """Readings, a row each.

    Attributes
    ----------
    frame : pandas.DataFrame
        Text columns of `schema.COLUMNS`, those of `schema.OPTIONAL` that were given, columns of the
        user's own; then ``row`` (line in the file), ``value_mm`` (as shown by the instrument,
        uncorrected), ``step_mm`` (last digit typed), ``stated_mm`` (after a ±), ``zeroed_mm``,
        ``rejected`` (reason, or empty), ``remark``, ``zero_check`` (what the closed jaws showed,
        which is not a size), ``counts`` (accepted and not left out). Treat as read-only.
    name : str
        File name, for messages.
    unit : str or None
        Declared unit of bare numbers.
    decimal : str or None
        Declared or found decimal sign.
    notes : tuple of str
    """

    frame: pd.DataFrame
    name: str = "readings"
    unit: str | None = None
    decimal: Decimal | None = None
    notes: tuple[str, ...] = ()

    # --- in ---------------------------------------------------------------------------------------

    @classmethod
    def read(
        cls,
        path: str | PathLike[str],
        unit: str | None = None,
        *,
        decimal: Decimal | None = None,
    ) -> Self:
        """Read a file: CSV, TSV, semicolons or .xlsx; a row a reading, or a row a feature.

        Parameters
        ----------
        path : path
        unit : str, optional
            Unit of bare numbers in rows whose unit cell is empty. Without it they are rejected.
        decimal : {".", ","}, optional
            Decimal sign. Without it, a comma is taken as one if any reading of the file shows that
            it is (not three digits after it).

        Returns
        -------
        ReadingTable
            A row for each reading, those that could not be read among them (see `rejected`), with
            the line of the file on which it stands in column ``row``.

        Raises
        ------
        ReadingError, FaultList
            If the file as a whole cannot be read.
        """
        return cls._of_cells(read_cells(path), Path(path).name, unit, decimal)

    @classmethod
    def paste(cls, text: str, unit: str | None = None, *, decimal: Decimal | None = None) -> Self:
        """Read a block of text pasted from a spreadsheet or typed, long or wide.

        Parameters
        ----------
        text : str
            Lines of cells with tabs, semicolons or commas between them. Without a header, each
            line is a feature's name and its repeats.
        unit, decimal : str, optional
            As for `read`.

        Returns
        -------
        ReadingTable
            Its rows are counted in the block, the first line being 1; those of a block with
            several repeats in a line as if there were a line for each.

        Examples
        --------
        >>> table = ReadingTable.paste("board length; 68.52; 68.54; 68.53", unit="mm")
        >>> table.features(), len(table.frame)
        (('board length',), 3)
        """
        return cls._of_cells(pasted_cells(text), "pasted block", unit, decimal)

    @classmethod
    def of(
        cls,
        rows: Iterable[Mapping[str, str]],
        unit: str | None = None,
        *,
        decimal: Decimal | None = None,
        name: str = "readings",
    ) -> Self:
        """Make a table from rows of text.

        Parameters
        ----------
        rows : iterable of mappings of column name to cell
            Columns of `schema.COLUMNS` and `schema.OPTIONAL`, and any of the user's own; what a
            row does not name is empty.
        unit, decimal : str, optional
            As for `read`.
        name : str
            Names the table in messages.

        Returns
        -------
        ReadingTable
            Rows count from 2, as below a header.
        """
        frame = pd.DataFrame([dict(row) for row in rows], dtype=object)
        for column in ("feature", "reading"):
            if column not in frame:
                frame[column] = pd.Series(dtype=object)
        text = frame.fillna("").map(lambda cell: str(cell).translate(_CONTROLS))
        return cls._of_text(text, name, unit, decimal, ())

    @classmethod
    def joined(cls, tables: Sequence[Self]) -> Self:
        """Put tables under one another, so that one estimate of all keeps what they share.

        Parameters
        ----------
        tables : sequence of ReadingTable, at least one
        """
        if len(tables) == 1:
            return tables[0]
        frame = pd.concat([table.frame for table in tables], ignore_index=True)
        for column in frame:  # a column of one file's own is empty in the others
            if column not in COMPUTED:
                frame[column] = frame[column].fillna("")
        units, signs = {t.unit for t in tables}, {t.decimal for t in tables}
        return cls(
            frame=frame,
            name=", ".join(table.name for table in tables),
            unit=units.pop() if len(units) == 1 else None,
            decimal=signs.pop() if len(signs) == 1 else None,
            notes=tuple(dict.fromkeys(note for table in tables for note in table.notes)),
        )

    @classmethod
    def _of_cells(cls, cells: Cells, name: str, unit: str | None, decimal: Decimal | None) -> Self:
        try:
            cells = to_long(cells)
        except ReadingError as error:
            raise error.placed(ReadingError, file=name) from error
        frame = pd.DataFrame(
            [row for _, row in cells.rows], columns=list(cells.header), dtype=object
        )
        frame["row"] = [line for line, _ in cells.rows]
        if cells.torn or cells.refused:
            why = dict.fromkeys(cells.torn, _TORN) | dict(cells.refused)
            told = frame["row"].map(why).fillna("")
            was = frame.get("refused", "")
            frame["refused"] = told.where(told != "", was)
        return cls._of_text(frame, name, unit or cells.unit, decimal or cells.decimal, cells.notes)

    @classmethod
    def _of_text(
        cls,
        text: pd.DataFrame,
        name: str,
        unit: str | None,
        decimal: Decimal | None,
        notes: tuple[str, ...],
    ) -> Self:
        unit = unit_name(unit) if unit else None
        frame = text.reset_index(drop=True).astype(object)
        for column in COLUMNS:
            if column not in frame:
                frame[column] = ""
        if "row" not in frame:
            frame["row"] = np.arange(2, len(frame) + 2)
        typed_mode = frame["mode"]
        if not frame["mode"].all():
            frame["mode"] = frame["mode"].where(frame["mode"] != "", "outside")
            said = "readings without a mode are taken as outside readings"
            notes = tuple(dict.fromkeys((*notes, said)))
        frame["mode"] = frame["mode"].str.lower()
        if decimal is None and shows_decimal_comma(frame["reading"]):
            decimal = ","
            notes = (*notes, "the comma is read as decimal sign throughout")
        own = [c for c in frame if c not in COLUMNS and c not in OPTIONAL and c not in COMPUTED]
        given = [c for c in OPTIONAL if c in frame]
        if unit and ((frame["unit"] == "") & frame["reading"].str.fullmatch(_BARE)).any():
            notes = tuple(dict.fromkeys((*notes, f"bare numbers are taken in {unit}")))
        frame = _parsed(frame[[*COLUMNS, *given, *own, "row"]], unit, decimal)
        frame["mode_as_typed"] = typed_mode
        return cls(frame=frame, name=name, unit=unit, decimal=decimal, notes=notes)

    # --- what it holds ----------------------------------------------------------------------------

    @property
    def accepted(self) -> pd.DataFrame:
        """Rows of sizes that could be read, those left out by decision among them."""
        return self.frame[(self.frame["rejected"] == "") & ~self.frame["zero_check"]]

    @property
    def zero_checks(self) -> pd.DataFrame:
        """Rows that hold what closed jaws showed, but for those left out by decision."""
        rows = self.frame[self.frame["zero_check"] & (self.frame["rejected"] == "")]
        return rows[rows["left_out"] == ""] if "left_out" in rows else rows

    @property
    def counted(self) -> pd.DataFrame:
        """Rows that count: accepted, and not left out by decision."""
        return self.frame[self.frame["counts"]]

    @property
    def rejected(self) -> pd.DataFrame:
        """Rows that could not be read, with the reason in column ``rejected``."""
        return self.frame[self.frame["rejected"] != ""]

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Readings to doubt: slips of unit, outliers, trends, places that differ."""
        from fitkit.readings.flags import find_flags
        from fitkit.readings.zero_flags import zero_flags

        return (
            *self._doubles(),
            *self._again(),
            *zero_flags(self.frame),
            *find_flags(self.counted),
        )

    def _doubles(self) -> Iterator[Flag]:
        """Tell which readings are not counted since they may be copies, a flag a feature."""
        from fitkit.readings.flags import Flag

        copies = self.frame[(self.frame["double_of"] >= 0) & ~self.frame["counts"]]
        for (item, feature), rows in copies.groupby(["item", "feature"], sort=False):
            first = ", ".join(map(str, rows["double_of"]))
            yield Flag(
                kind="double entry",
                feature=str(feature),
                item=str(item),
                rows=tuple(int(row) for row in rows["row"]),
                text=f"the same reading at the same time as in row {first}: entered twice? It is "
                "counted once until you decide",
            )

    def _again(self) -> Iterator[Flag]:
        """Remind of readings that were to be taken again, until the feature has more of them."""
        from fitkit.readings.flags import Flag

        if "left_out" not in self.frame:
            return
        asked = self.frame["left_out"].str.extract(AGAIN.pattern, expand=False)
        for at in self.frame.index[asked.notna()]:
            row = self.frame.loc[at]
            same = (self.frame["feature"] == row["feature"]) & (self.frame["item"] == row["item"])
            if int((same & (self.frame["reading"] != "")).sum()) > int(asked[at]):
                continue
            yield Flag(
                kind="read again",
                feature=str(row["feature"]),
                item=str(row["item"]),
                rows=(int(row["row"]),),
                text=f"{row['reading']} was to be read again, and no reading has been added since "
                f"({row['left_out'].partition(': ')[2]})",
            )

    def features(self) -> tuple[str, ...]:
        """Names of the features that have an accepted reading, in order of appearance."""
        return tuple(str(name) for name in self.accepted["feature"].unique())

    def items(self) -> tuple[str, ...]:
        """Names of the items that have a row, in order of appearance; rows without one aside.

        Rows that hold what closed jaws showed do not count.
        """
        rows = self.frame[~self.frame["zero_check"]]
        return tuple(str(name) for name in rows["item"].unique() if name)

    def of_item(self, item: str) -> Self:
        """Give the rows of one item, without regard to capitals and outer blanks.

        What closed jaws showed is of the instrument and stays, whatever its item.
        """
        mine = self.frame["item"].str.strip().str.casefold() == item.strip().casefold()
        mine |= self.frame["zero_check"]
        return replace(self, frame=self.frame[mine].reset_index(drop=True))

    def faults(self) -> tuple[ReadingError, ...]:
        """Say what is wrong with each rejected row, in the words of an error."""
        return tuple(
            ReadingError(
                reason,
                file=self.name,
                row=int(line),
                where=f"feature {feature!r}",
                code="readings.row-wrong",
            )
            for reason, line, feature in self.rejected[["rejected", "row", "feature"]].itertuples(
                index=False
            )
        )

    # --- decisions --------------------------------------------------------------------------------

    def leave_out(self, row: int, reason: str) -> Self:
        """Record that a reading does not count, and why; give the changed table.

        Parameters
        ----------
        row : int
            As in column ``row``.
        reason : str

        Returns
        -------
        ReadingTable

        Raises
        ------
        ReadingError
            If there is no such row, or no reason.
        """
        return self._decided(row, left_out=self._reason(row, reason), kept="")

    def keep(self, row: int, reason: str) -> Self:
        """Record that a doubted reading counts, and why; give the changed table.

        Parameters
        ----------
        row : int
            As in column ``row``.
        reason : str

        Returns
        -------
        ReadingTable

        Raises
        ------
        ReadingError
            If there is no such row, or no reason.
        """
        return self._decided(row, kept=self._reason(row, reason), left_out="")

    def read_again(self, row: int, reason: str) -> Self:
        """Record that a reading is to be taken again, and why; until then it does not count.

        Parameters
        ----------
        row : int
            As in column ``row``.
        reason : str

        Returns
        -------
        ReadingTable

        Raises
        ------
        ReadingError
            If there is no such row, or no reason.
        """
        mine = self.frame[self.frame["row"] == row]
        count = 0
        if len(mine):
            key = ["item", "feature"]
            same = (self.frame[key] == mine.iloc[0][key]).all(axis=1)
            count = int((same & (self.frame["reading"] != "")).sum())
        said = again_text(count, self._reason(row, reason))
        return self._decided(row, left_out=said, kept="")

    def _reason(self, row: int, reason: str) -> str:
        if not reason.strip():
            raise ReadingError(
                "a reading is decided on without a reason",
                file=self.name,
                row=row,
                code="readings.no-reason",
                remedy="Say why it is right, or why it cannot be.",
            )
        return " ".join(reason.split())

    def _decided(self, row: int, **cells: str) -> Self:
        table = self
        for column, text in cells.items():
            if text or column in table.frame:
                table = table._changed(row, column, text)
        return table

    def take_back(self, row: int) -> Self:
        """Let a reading count that had been left out."""
        return self._changed(row, "left_out", "")

    def set_unit(self, row: int, unit: str) -> Self:
        """Record that a reading was shown in another unit; give the changed table.

        Parameters
        ----------
        row : int
            As in column ``row``.
        unit : str

        Returns
        -------
        ReadingTable

        Raises
        ------
        UnitError
            If it is not a unit of length.
        ReadingError
            If there is no such row.
        """
        return self._changed(row, "unit", unit_name(unit))

    def _changed(self, row: int, column: str, value: str) -> Self:
        at = self.frame.index[self.frame["row"] == row]
        if len(at) != 1:
            what = "no such row" if not len(at) else "several readings stand on that row"
            raise ReadingError(what, file=self.name, row=row, code="readings.no-such-row")
        text = self.typed()
        if column not in text:
            text[column] = ""
        text.loc[at, column] = value
        return type(self)._of_text(text, self.name, self.unit, self.decimal, self.notes)

    # --- out --------------------------------------------------------------------------------------

    def write(self, path: str | PathLike[str]) -> Path:
        """Write all rows, rejected ones too, whole or not at all: .csv, .tsv or .xlsx.

        Every row is written as it was typed. A unit or decimal sign that was declared for the table
        stands in the header of the readings, as in ``reading [mm, decimal comma]``, so that the
        file reads back the same on its own: the same rows count, and the same rows do not. A file
        that is there and has several readings in a row keeps them so.

        Parameters
        ----------
        path : path

        Raises
        ------
        ExportError
            If it cannot be written.
        ReadingError
            If the ending is not one of the three; if tables were joined whose declared units or
            decimal signs differ, so that no header could say both; if a workbook is there that
            was not written here and would be lost with its other sheets, formats and formulas; or
            if the file that is there has several readings in a row and no place for a cell.
        """
        path, text = Path(path), self._written()
        match path.suffix.lower():
            case ".csv" | ".tsv":
                # A file that is there keeps its separator, its encoding and its layout.
                form = FileForm.of(path)
                header, rows = self._laid_out(path, text)
                return write_atomic(path, form.written(header, rows))
            case ".xlsx":
                _refuse_workbook_of_others(path)
                return write_atomic(path, _workbook(text))
        raise ReadingError(
            f"{path.suffix!r} is not written",
            file=path,
            code="readings.ending-not-written",
            remedy="Use .csv, .tsv or .xlsx.",
        )

    def _laid_out(
        self, path: Path, text: pd.DataFrame
    ) -> tuple[Sequence[str], Iterable[Sequence[object]]]:
        """Give header and rows as the file that is there has them, or with a row a reading."""
        plain: tuple[Sequence[str], Iterable[Sequence[object]]]
        plain = [str(name) for name in text.columns], text.itertuples(index=False, name=None)
        try:
            layout = layout_of(path)
            there = type(self).read(path) if layout.several else None
        except FitkitError:  # it is not there yet, or no table of readings
            return plain
        if there is None:
            return plain
        told = (self.unit, self.decimal) == (there.unit, there.decimal)
        said = "" if told else declared_header(self.unit, self.decimal)[len("reading [") : -1]
        typed = self.typed().drop(columns="row").to_dict("records")
        records = [{str(name): str(cell) for name, cell in one.items()} for one in typed]
        header, rows = layout.rows(records, said=said)
        lines = [*layout.above, header, *rows]
        return lines[0], lines[1:]

    def typed(self) -> pd.DataFrame:
        """Give the cells as typed, with the row of each.

        Returns
        -------
        pandas.DataFrame
            Columns that come from the file, and ``row``.
        """
        frame = self.frame
        text = frame[[c for c in frame if c not in COMPUTED or c == "row"]].copy()
        text["mode"] = frame["mode_as_typed"]
        return text

    def _written(self) -> pd.DataFrame:
        frame = self.frame
        text = self.typed().drop(columns="row")
        again = type(self)._of_text(text, self.name, self.unit, self.decimal, ()).frame
        if not again["value_mm"].equals(frame["value_mm"].reset_index(drop=True)):
            raise ReadingError(
                "the joined tables were read with different units or decimal signs",
                file=self.name,
                code="readings.joined-differ",
                remedy="Write each of them to a file of its own.",
            )
        text = text.rename(columns=own_name)
        return text.rename(columns={"reading": declared_header(self.unit, self.decimal)})

    def _repr_html_(self) -> str:
        from fitkit.core.html import html_table, notes_html

        caption = f"{self.name}: {len(self)} readings, {len(self.rejected)} rejected"
        if len(self) > _MOST_SHOWN:
            caption += f"; the first {_MOST_SHOWN} are shown"
        doubts: dict[int, list[str]] = {}
        for flag in self.flags:
            for row in flag.rows:
                doubts.setdefault(row, []).append(f"doubt: {flag.text}")
        rows = []
        for one in self.frame.head(_MOST_SHOWN).to_dict("records"):
            said = [f"rejected: {one['rejected']}"] if one["rejected"] else []
            said += [one["remark"]] if one["remark"] else []
            said += [f"left out: {one['left_out']}"] if one.get("left_out") else []
            said += doubts.get(int(one["row"]), [])
            size = "" if one["rejected"] else f"{one['value_mm']:.3f} mm"
            typed = (one["feature"], one["mode"], one["reading"], one["unit"])
            rows.append((str(one["row"]), *map(str, typed), size, "; ".join(said)))
        header = ("row", "feature", "mode", "as typed", "unit", "in mm", "remarks")
        return html_table(caption, header, rows) + notes_html(self.notes)

    def __len__(self) -> int:
        """Count of rows, rejected ones among them."""
        return len(self.frame)

    def __repr__(self) -> str:
        """One cheap line."""
        bad = int((self.frame["rejected"] != "").sum())
        return f"ReadingTable({self.name!r}, {len(self.frame)} readings, {bad} rejected)"

    def renamed(self, name: str) -> Self:
        """Give the same table under another name in messages."""
        return replace(self, name=name)


_COMMA = re.compile(r"[^.,]*\d,(?:\d{1,2}|\d{4,})(?!\d)[^.,]*", re.DOTALL)
_POINT = re.compile(r"[^.,]*\d\.\d[^.,]*", re.DOTALL)


def shows_decimal_comma(readings: Iterable[str]) -> bool:
    """Tell whether a table's comma is its decimal sign, from its readings as typed.

    It is if commas that cannot part thousands are at least as many as points.

    One mistyped comma among many points must not turn the sign of the whole table.
    """
    commas = points = 0
    for text in readings:
        if "," in text:
            commas += _COMMA.fullmatch(text) is not None
        elif "." in text:
            points += _POINT.fullmatch(text) is not None
    return 0 < commas >= points


def _parsed(frame: pd.DataFrame, unit: str | None, decimal: Decimal | None) -> pd.DataFrame:
    """Add the computed columns. Equal texts are parsed once: displays repeat themselves."""
    units_of = {name: unit_in_name(str(name)) for name in frame["feature"].unique()}
    named = {name: one for name, one in units_of.items() if one}
    units = frame["unit"]
    if named and not unit:  # a name's unit counts where nothing else says one
        told = frame["feature"].map(named).fillna("")
        units = units.where(units != "", told)
    pairs = list(zip(frame["reading"], units, strict=True))
    known = {pair: _parse(*pair, unit, decimal) for pair in dict.fromkeys(pairs)}
    found = [known[pair] for pair in pairs]
    frame = frame.copy()
    frame["value_mm"] = [one.value_mm if isinstance(one, TypedLength) else np.nan for one in found]
    frame["step_mm"] = [
        one.resolution_mm if isinstance(one, TypedLength) else np.nan for one in found
    ]
    frame["stated_mm"] = [
        np.nan if isinstance(one, str) or one.stated_mm is None else one.stated_mm for one in found
    ]
    rejected = np.array([one if isinstance(one, str) else "" for one in found], dtype=object)
    remarks = [
        "; ".join(one.notes) if isinstance(one, TypedLength) and one.notes else "" for one in found
    ]
    for column in ("zeroed", "form"):
        sizes = np.full(len(frame), np.nan)
        if column in frame:
            texts = frame[column]
            parsed = {text: _parse(text, "", unit, decimal) for text in texts.unique() if text}
            for at in np.flatnonzero(texts != ""):
                one = parsed[texts.iloc[at]]
                if isinstance(one, TypedLength):
                    sizes[at] = one.value_mm
                else:
                    rejected[at] = rejected[at] or f"{column}: {one}"
        frame[f"{column}_mm"] = sizes
    frame["zero_check"] = zero_checks(frame)
    if "refused" in frame:
        rejected = np.where(frame["refused"] != "", frame["refused"], rejected)
    if named:
        clashes = _other_units(frame["feature"], found, named)
        rejected = np.where(rejected == "", clashes, rejected)
    for index, reason in faults(frame).items():
        rejected[index] = rejected[index] or reason
    bad_days = {
        text: f"taken_at {text!r} is not a date that fitkit can read; write it as 2026-03-16"
        for text in frame["taken_at"].unique()
        if text and day_of(text) is None
    }
    if bad_days:
        said = frame["taken_at"].map(bad_days).fillna("")
        remarks = ["; ".join(filter(None, pair)) for pair in zip(remarks, said, strict=True)]
    frame["rejected"], frame["remark"] = rejected, remarks
    counts = (frame["rejected"] == "") & ~frame["zero_check"]
    if "left_out" in frame:
        counts &= frame["left_out"] == ""
    frame["double_of"] = np.where(counts, double_entries(frame), -1)
    twice = frame["double_of"] >= 0
    frame["counts"] = counts & (~twice | (frame["kept"] != "") if "kept" in frame else ~twice)
    return frame


def _other_units(
    names: pd.Series, found: Sequence[TypedLength | str], said: Mapping[str, str]
) -> list[str]:
    """Refuse the readings whose unit is not the one that their feature's name says."""
    return [
        f"the name {name!r} says {said[name]}, but the reading is taken in {one.unit}: which is "
        "it? Leave the unit out of the name, and write it under 'unit'"
        if name in said and isinstance(one, TypedLength) and one.unit != said[name]
        else ""
        for name, one in zip(names, found, strict=True)
    ]


def _parse(
    text: str, own_unit: str, unit: str | None, decimal: Decimal | None
) -> TypedLength | str:
    """Read one cell, or say why not."""
    if not text:
        return "the reading is empty"
    if typed := looks_like_a_date(text):
        return f"{text!r} is a date; did you type {typed}? Type it again with its unit"
    plain = plain_number(text)
    if plain is None:
        return f"{text!r} is not one number. Write it with a point, such as 1234.5"
    try:
        length = parse_length(plain_suffix(plain), plain_unit(own_unit) or unit, decimal)
        if own_unit and length.unit != unit_name(plain_unit(own_unit)):
            note = (
                f"the reading itself says {length.unit} and its unit cell {own_unit}: taken in "
                f"{length.unit}"
            )
            return replace(length, notes=(*length.notes, note))
        return length
    except UnitError as error:
        if error.remedy and error.code == "unit.missing":  # a table can say it for all
            return f"{error.what}. {error.remedy.removesuffix('.')}, or set the table's unit."
        return str(error)


def _refuse_workbook_of_others(path: Path) -> None:
    """Refuse to write over a workbook that holds more than `_workbook` puts into one."""
    if not path.exists():
        return
    import openpyxl

    from fitkit.core.files import check_archive

    try:
        check_archive(path)
        book = openpyxl.load_workbook(path, read_only=True)
        ours = book.properties.creator == _CREATOR and book.sheetnames == [_SHEET]
        book.close()
    except Exception:  # what is not a workbook is not ours either
        ours = False
    if not ours:
        raise ReadingError(
            "is there already, with sheets, formats or formulas that would be lost",
            file=path,
            code="readings.workbook-there",
            remedy="Write under another name, or as .csv.",
        )


_CREATOR, _SHEET = "fitkit", "readings"


def _workbook(text: pd.DataFrame) -> bytes:
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    book.properties.creator = _CREATOR
    sheet = book.create_sheet(_SHEET)
    sheet.append(list(text.columns))
    for row in text.itertuples(index=False, name=None):
        # Text cells, so that no spreadsheet makes a date or a formula of them.
        texts = [str(value).translate(_CONTROLS) for value in row]
        cells = [openpyxl.cell.WriteOnlyCell(sheet, value=text) for text in texts]
        for cell in cells:
            cell.number_format = "@"
            if cell.value not in (None, ""):
                cell.data_type = "s"
        sheet.append(cells)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()
