"""Readings as a person types them: a row a feature, a cell a repeat; undone, pasted and saved.

Works on the same long CSV as `fitkit.readings`, and keeps columns that it does not show. Each edit
makes a new tuple of frozen rows, so undoing is going back to the tuple before. What the readings
amount to (best value, expanded uncertainty, doubts) is asked of the readings and stats rooms.

What another grid, an editor or a script has saved since is never written over: the edit is refused,
and the rows are those of the file. A lock keeps other grids out from that look until the file is
replaced; editors and scripts that know nothing of it are seen if they saved before the look. A
workbook is never written: what is typed goes into a CSV file beside it, which begins with all its
readings.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fitkit.core.errors import FitkitError, ReadingError
from fitkit.core.files import read_plain
from fitkit.core.format import with_doubt
from fitkit.core.staged import settle
from fitkit.readings.decisions import again_text
from fitkit.readings.form import FileForm, own_name
from fitkit.readings.layout import Layout, layout_of
from fitkit.readings.schema import SHARED

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from contextlib import AbstractContextManager

    from fitkit.readings import Instrument, ReadingTable
    from fitkit.readings.decisions import Decision

__all__ = ["GridModel", "Reading", "Row"]

_NUMBER = re.compile(r"\s*[+\-−]?[\d.,]")
_MOST_UNDO = 200
_WORKBOOKS = (".xlsx", ".xlsm")
_TYPED_MODE = "mode as typed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One cell: the text as typed, the columns that go with it, its place among the file's rows."""

    text: str
    taken_at: str = ""
    left_out: str = ""
    own: Mapping[str, str] = field(default_factory=dict)
    place: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One feature read in one mode, unit and with one instrument."""

    feature: str
    mode: str = "outside"
    unit: str = "mm"
    instrument: str = ""
    item: str = ""
    readings: tuple[Reading, ...] = ()

    @property
    def key(self) -> tuple[str, str]:
        """Item and feature; items are compared without regard to case and outer blanks."""
        return self.item.strip().casefold(), self.feature

    def records(self) -> list[dict[str, str]]:
        """Rows of the long file."""
        head = {name: getattr(self, name) for name in SHARED}
        return [
            head
            | {"reading": one.text, "taken_at": one.taken_at}
            | ({"left_out": one.left_out} if one.left_out else {})
            | dict(one.own)
            for one in self.readings
        ]


class GridModel:
    """The state of a readings grid.

    Parameters
    ----------
    path : path
        Long CSV; made at the first commit if it is not there.
    unit : str
        Of rows that are added here. Rows of the file keep what they say, and a row of it that
        names no unit is not read until one is typed.
    instruments : mapping of name to Instrument, optional
    repeats : int
        Readings wanted of each feature: Enter goes on to the next feature after these.
    good_enough_mm : float, mm
        Largest expanded uncertainty that the wanted fit bears; above it, "read again" is asked.
    bare_unit : str, optional
        Unit of the file's bare numbers, declared by whoever opens it; the file says it from the
        first save on.
    decimal : {".", ","}, optional
        Decimal sign of the file, declared in the same way.
    """

    def __init__(
        self,
        path: str | Path,
        *,
        unit: str = "mm",
        instruments: Mapping[str, Instrument] | None = None,
        repeats: int = 3,
        good_enough_mm: float = 0.1,
        bare_unit: str | None = None,
        decimal: Literal[".", ","] | None = None,
    ) -> None:
        self.path = Path(path)
        self.unit = unit
        self.instruments = instruments
        self.repeats = repeats
        self.good_enough_mm = good_enough_mm
        self.rows: tuple[Row, ...] = ()
        self.columns: list[str] = []
        self._unit: str | None = None  # declared by the header of the file, for bare numbers
        self._decimal: Any = decimal
        self._declared = (bare_unit, decimal)
        self._layout = Layout()
        self._past: list[tuple[Row, ...]] = []
        self._known = b""  # the file as last read or written here
        self.said = " ".join(f"{line}." for line in settle(self.path.parent))
        if self.path.suffix.lower() in _WORKBOOKS:
            self._form = FileForm()
            self._begin_beside(self.path)
        elif self.path.exists():
            self._read(self.path)
        else:
            self._form = FileForm.of(self.path)

    # --- what a user does -------------------------------------------------------------------------

    def type_cell(self, row: int, repeat: int, text: str) -> None:
        """Put a reading into a cell; an empty text takes it away. Saved at once."""
        old = self.rows[row]
        readings = list(old.readings)
        text = text.strip()
        if repeat < len(readings):
            if text:
                readings[repeat] = _mended(readings[repeat], text=text, taken_at=_now())
            else:
                del readings[repeat]
        elif text:
            readings.append(self._new(readings, text))
        self._change_row(row, replace(old, readings=tuple(readings)))

    def type_head(self, row: int, column: str, text: str) -> None:
        """Name a feature, or set its mode, unit or instrument."""
        text = text.strip()
        if column not in SHARED:
            raise ReadingError(
                f"there is no column {column!r}", where="readings grid", code="widgets.no-column"
            )
        if column == "feature" and not text:
            raise ReadingError(
                "a feature has no name",
                where="readings grid",
                code="widgets.no-feature-name",
                remedy="Type one, or remove it.",
            )
        readings = tuple(
            _mended(one, but="mode" if column == "mode" else "") for one in self.rows[row].readings
        )
        changed: dict[str, Any] = {column: text, "readings": readings}
        self._change_row(row, replace(self.rows[row], **changed))

    def add(self, name: str, *, after: int | None = None) -> int:
        """Add a feature, with mode, unit and instrument of the one before it; give its place."""
        name = name.strip()
        if not name:
            raise ReadingError(
                "a feature has no name",
                where="readings grid",
                code="widgets.no-feature-name",
                remedy="Type one.",
            )
        at = len(self.rows) if after is None else after + 1
        like = self.rows[at - 1] if at else Row(feature="", unit=self.unit)
        new = replace(like, feature=name, unit=like.unit or self.unit, readings=())
        self._change((*self.rows[:at], new, *self.rows[at:]))
        return at

    def remove(self, row: int) -> None:
        """Take a feature and its readings away; undo brings them back."""
        self._change((*self.rows[:row], *self.rows[row + 1 :]))

    def order_by_jaws(self) -> bool:
        """Put together what the same jaws of the same instrument read; tell whether rows moved.

        Features of one item stay together; within each group the order is as it was.
        """
        groups: dict[tuple[str, str, str], int] = {}
        items: dict[str, int] = {}
        for row in self.rows:
            items.setdefault(row.key[0], len(items))
            groups.setdefault((row.key[0], row.instrument, row.mode), len(groups))
        rows = sorted(
            self.rows,
            key=lambda row: (items[row.key[0]], groups[row.key[0], row.instrument, row.mode]),
        )
        if tuple(rows) == self.rows:
            return False
        self._change(tuple(rows))
        return True

    def next_wanted(self) -> tuple[int, int] | None:
        """Find where the next reading belongs: row and repeat; None if no row wants one."""
        for at, row in enumerate(self.rows):
            filled = [bool(one.text.strip()) for one in row.readings]
            if sum(filled) < self.repeats:
                return at, filled.index(False) if False in filled else len(filled)
        return None

    def leave_out(self, row: int, repeat: int, reason: str) -> None:
        """Record that a reading does not count, and why; an empty reason takes that back.

        Raises
        ------
        ReadingError
            If there is no such reading.
        """
        readings = list(self.rows[row].readings)
        self._refuse_no_reading(readings, repeat)
        one = readings[repeat]
        own = {name: text for name, text in one.own.items() if name != "kept"}
        readings[repeat] = replace(one, left_out=reason.strip(), own=own)
        self._change_row(row, replace(self.rows[row], readings=tuple(readings)))

    def decide(self, row: int, repeat: int, decision: Decision, reason: str) -> None:
        """Record what is decided on a doubted reading, and why.

        Parameters
        ----------
        row, repeat : int
            Place of the reading.
        decision : {"keep", "leave-out", "again"}
            As for `fitkit.readings.decided.decide`.
        reason : str

        Raises
        ------
        ReadingError
            If there is no such reading, or no reason.
        """
        if not reason.strip():
            raise ReadingError(
                "a reading is decided on without a reason",
                where="readings grid",
                code="widgets.no-reason",
                remedy="Say why it is right, or why it cannot be.",
            )
        reason = " ".join(reason.split())
        if decision == "again":
            count = sum(len(self.rows[at].readings) for at in self.same_feature(row))
            reason = again_text(count, reason)
        if decision != "keep":
            self.leave_out(row, repeat, reason)
            return
        readings = list(self.rows[row].readings)
        self._refuse_no_reading(readings, repeat)
        one = readings[repeat]
        readings[repeat] = replace(one, left_out="", own={**one.own, "kept": reason})
        self._change_row(row, replace(self.rows[row], readings=tuple(readings)))

    def _new(self, beside: Sequence[Reading], text: str) -> Reading:
        """Make a reading; in a file with the repeats in a row it shares that row's other cells."""
        own: dict[str, str] = {}
        if self._layout.several and beside:
            own = {k: v for k, v in beside[-1].own.items() if k not in ("kept", "refused")}
        return Reading(text=text, taken_at=_now(), own=own)

    @staticmethod
    def _refuse_no_reading(readings: Sequence[Reading], repeat: int) -> None:
        if not 0 <= repeat < len(readings):
            raise ReadingError(
                "there is no reading in this cell",
                where="readings grid",
                code="widgets.no-reading",
                remedy="Pick a reading.",
            )

    def paste(self, row: int, repeat: int, text: str) -> str:
        """Paste a block from a spreadsheet; tell what was done in plain words.

        A block of numbers fills cells to the right and downwards from where the cursor is. A block
        whose lines begin with names fills, or adds, the features of those names.
        """
        lines = [line for line in text.replace("\r\n", "\n").split("\n") if line.strip()]
        cells = [[cell.strip() for cell in line.split("\t")] for line in lines]
        if not cells:
            return "Nothing to paste."
        if any(line[0] and not _NUMBER.match(line[0]) for line in cells):
            return self._paste_named(row, text)
        rows = list(self.rows)
        filled = 0
        for down, line in enumerate(cells):
            if row + down >= len(rows):
                break
            readings = list(rows[row + down].readings)
            for right, cell in enumerate(line):
                if not cell:
                    continue
                at = min(repeat + right, len(readings))
                readings[at : at + 1] = [self._new(readings, cell)]
                filled += 1
            rows[row + down] = replace(rows[row + down], readings=tuple(readings))
        over = len(cells) - (len(rows) - row)
        self._change(tuple(rows))
        left = f" {over} lines are left over: add features for them." if over > 0 else ""
        return f"Pasted {filled} readings.{left}"

    def undo(self) -> bool:
        """Go back to before the last edit; tell whether there was one."""
        with self._alone():
            self._refuse_if_saved_elsewhere()
            if not self._past:
                return False
            self.rows = self._past.pop()
            self._write()
        return True

    # --- what a view shows ------------------------------------------------------------------------

    def shown(
        self, rows: Sequence[int] | None = None, *, judged: bool = True
    ) -> list[dict[str, Any]]:
        """Give rows as plain data for a view: cells, best value, spread, doubts.

        Parameters
        ----------
        rows : sequence of int, optional
            Which; all of them if None.
        judged : bool
            Whether to work out what the readings amount to, which takes 2 ms a feature.
        """
        wanted = range(len(self.rows)) if rows is None else rows
        found = self._judged({self.rows[row].key for row in wanted}) if judged else {}
        return [self._shown(row, found) for row in wanted]

    def same_feature(self, row: int) -> list[int]:
        """Rows that a change in one row changes: those of the same feature of the same item."""
        key = self.rows[row].key
        return [at for at, other in enumerate(self.rows) if other.key == key]

    def save(self) -> None:
        """Write the file, whole or not at all.

        Raises
        ------
        ReadingError
            If it was saved elsewhere since it was read here.
        """
        with self._alone():
            self._refuse_if_saved_elsewhere()
            self._write()

    def _alone(self) -> AbstractContextManager[None]:
        """Keep other grids from the file, from looking at it until it is replaced."""
        from fitkit.core.files import make_folder
        from fitkit.core.locks import sole_writer
        from fitkit.core.plain_errors import plain_errors

        with plain_errors(self.path):
            make_folder(self.path.parent)
        return sole_writer(self.path)

    def _write(self) -> None:
        from fitkit.readings.cells import declared_header
        from fitkit.readings.schema import COLUMNS

        if self._layout.several:
            records = [record for row in self.rows for record in row.records()]
            said = ""
            if any(self._declared):
                said = declared_header(self._unit, self._decimal)[len("reading [") : -1]
            header, lines = self._layout.rows(records, said=said)
            self._save(header, lines)
            return
        records = _in_order(self.rows)
        extra = dict.fromkeys(self.columns)
        for record in records:
            extra.update(dict.fromkeys(record))
        columns = [*COLUMNS, *(name for name in extra if name not in COLUMNS)]
        declared = {"reading": declared_header(self._unit, self._decimal)}
        header = [declared.get(name, own_name(name)) for name in columns]
        self._save(header, [[record.get(name, "") for name in columns] for record in records])

    def _save(self, header: list[str], rows: list[list[str]]) -> None:
        from fitkit.core.files import write_atomic
        from fitkit.widgets.saved import tell_saved

        lines = [*map(list, self._layout.above), header, *rows]
        content = self._form.written(lines[0], lines[1:])
        write_atomic(self.path, content)
        self._known = content
        tell_saved(self.path)

    # --- inside -----------------------------------------------------------------------------------

    def _begin_beside(self, workbook: Path) -> None:
        """Take in a workbook's readings; go on in a CSV file beside it."""
        self.path = workbook.with_suffix(".csv")
        if self.path.exists():
            raise ReadingError(
                "is a workbook, which the grid does not write, and "
                f"{self.path.name} lies beside it",
                file=workbook,
                code="grid.workbook",
                remedy=f"Open {self.path.name} in the grid, or rename it to begin again from the "
                "workbook.",
            )
        if workbook.exists():
            self._read(workbook)
            self._known = b""
            self.said = (
                f"{self.said} {workbook.name} is a workbook: the grid leaves it as it is. "
                f"What you type is saved in {self.path.name} beside it, together with the "
                "workbook's readings; name that file in the part sheet."
            ).strip()

    def _read(self, path: Path) -> None:
        from fitkit.readings import ReadingTable
        from fitkit.readings.schema import COLUMNS, COMPUTED, OPTIONAL

        content = b""
        with suppress(OSError):  # which the next line tells in plain words
            content = read_plain(path)
        bare_unit, decimal = self._declared
        table = ReadingTable.read(path, bare_unit, decimal=decimal)
        frame = table.frame
        names = [str(name) for name in frame if name not in COMPUTED and name != "counts"]
        self.columns = [name for name in names if name in COLUMNS or name in OPTIONAL]
        self.columns += [name for name in names if name not in self.columns]
        records: list[dict[str, str]] = [
            {str(name): str(value) for name, value in record.items()}
            for record in frame[names].to_dict("records")
        ]
        for record, typed in zip(records, frame["mode_as_typed"], strict=True):
            record[_TYPED_MODE] = str(typed)
        self._unit, self._decimal = table.unit, table.decimal
        self.rows, self._known = tuple(_gathered(records)), content
        self._form = FileForm.of(self.path)
        self._layout = Layout() if path.suffix.lower() in _WORKBOOKS else layout_of(path)

    def _paste_named(self, cursor: int, text: str) -> str:
        """Paste rows that begin with names: each into the row that it means, or into a new one.

        A row means the item that it names, else that of the picked row; of several rows of one
        feature the one in its mode and unit, else the picked one, else the first.
        """
        from fitkit.readings import ReadingTable

        pasted = ReadingTable.paste(text, unit=self.unit, decimal=self._decimal)
        frame, sign = pasted.frame, pasted.decimal
        rows = list(self.rows)
        picked = rows[cursor] if cursor < len(rows) else None
        added = 0
        named = frame[["item", "feature", "mode", "mode_as_typed", "unit", "reading"]]
        for record in named.to_dict("records"):
            item = record["item"] or (picked.item if picked else "")
            wanted = Row(feature=record["feature"], item=item)
            alike = [n for n, row in enumerate(rows) if row.key == wanted.key]
            if record["mode_as_typed"]:
                alike = [n for n in alike if rows[n].mode == record["mode"]]
            if record["unit"]:
                alike = [n for n in alike if rows[n].unit in (record["unit"], "")] or alike
            at = cursor if cursor in alike else next(iter(alike), None)
            if at is None:
                new = replace(wanted, mode=record["mode"], unit=record["unit"] or self.unit)
                rows.append(new)
                at, added = len(rows) - 1, added + 1
            size = record["reading"]
            if sign == "," and self._decimal != ",":  # as this table writes it
                size = size.replace(",", ".")
            reading = self._new(rows[at].readings, size)
            rows[at] = replace(rows[at], readings=(*rows[at].readings, reading))
        self._change(tuple(rows))
        more = f", {added} of them new" if added else ""
        return f"Pasted {len(frame)} readings of {frame['feature'].nunique()} features{more}."

    def _change_row(self, at: int, row: Row) -> None:
        self._change((*self.rows[:at], row, *self.rows[at + 1 :]))

    def _refuse_if_saved_elsewhere(self) -> None:
        """Take in what somebody else has saved since, and say that the edit was not made."""
        if not self.path.exists() or self.path.read_bytes() == self._known:
            return
        unread = [row for row in self.rows if not row.readings]  # these are in no file
        self._read(self.path)
        names = {row.feature for row in self.rows}
        self.rows += tuple(row for row in unread if row.feature not in names)
        self._past.clear()
        raise ReadingError(
            "was saved elsewhere since this grid read it; your last change was not made",
            where=self.path.name,
            code="widgets.saved-elsewhere",
            remedy="The rows are now those of the file: make the change again.",
        )

    def _change(self, rows: tuple[Row, ...]) -> None:
        with self._alone():
            self._refuse_if_saved_elsewhere()
            self._past.append(self.rows)
            del self._past[:-_MOST_UNDO]
            self.rows = rows
            try:
                self._write()
            except ReadingError:  # the file has no place for it, and says so
                self.rows = self._past.pop()
                raise

    def _judged(self, keys: set[tuple[str, str]]) -> dict[tuple[str, str], _Judged]:
        """Ask the readings and stats rooms about some features at once, item by item."""
        found: dict[tuple[str, str], _Judged] = {}
        for item in dict.fromkeys(item for item, _ in keys):
            rows = [row for row in self.rows if row.key[0] == item]
            names = {name for other, name in keys if other == item}
            found |= {(item, name): one for name, one in self._of_item(rows, names).items()}
        return found

    def _of_item(self, rows: Sequence[Row], features: set[str]) -> dict[str, _Judged]:
        from fitkit.readings.kinds import zero_check_name
        from fitkit.stats import estimates
        from fitkit.stats.doubts import doubts

        names = features | _holes_of(rows, features)
        asked = [row for row in rows if row.feature in names]
        # What the closed jaws showed corrects the readings of every item.
        asked += [row for row in self.rows if zero_check_name(row.feature) and row not in asked]
        if not any(row.readings for row in asked):
            return {}
        table = whole = self._table(asked)
        if any(len(row.readings) == 1 for row in asked):
            whole = self._table(self.rows)  # a single reading takes its spread from all others
        lines = {
            name: tuple(part) for name, part in table.frame.groupby("feature")["row"].groups.items()
        }
        rejected = dict(zip(table.frame.index, table.frame["rejected"], strict=True))
        values = dict(zip(table.frame.index, table.frame["value_mm"], strict=True))
        try:
            found: dict[str, Any] = estimates(table, instruments=self.instruments, whole=whole)
            faults: dict[str, str] = {}
        except FitkitError:  # one bad feature must not hide the others
            found, faults = {}, {}
            for name in features:
                self._one(self._table(rows), name, found, faults)
        flags = doubts(table, instruments=self.instruments)
        return {
            str(name): _Judged(
                estimate=found.get(str(name)),
                fault=faults.get(str(name), ""),
                rejected=[rejected[at] for at in lines[name]],
                values=[values[at] for at in lines[name]],
                doubts=[
                    (flag.kind, flag.text, [r - 2 for r in flag.rows])
                    for flag in flags
                    if flag.feature == name
                ],
                first=[int(table.frame.loc[at, "row"]) - 2 for at in lines[name]],
            )
            for name in lines
            if name in features
        }

    def _table(self, rows: Iterable[Row]) -> ReadingTable:
        from fitkit.readings import ReadingTable

        records = [record for row in rows for record in row.records()]
        return ReadingTable.of(records, unit=self._unit, decimal=self._decimal, name=self.path.name)

    def _one(self, table: Any, name: str, found: dict[str, Any], faults: dict[str, str]) -> None:
        from fitkit.stats import estimate

        try:
            found[name] = estimate(table, name, instruments=self.instruments)
        except FitkitError as error:
            if name in table.features():
                faults[name] = str(error)

    def _shown(self, at: int, found: Mapping[tuple[str, str], _Judged]) -> dict[str, Any]:
        row = self.rows[at]
        judged = found.get(row.key)
        # Several rows may hold one feature; which of its readings are this row's?
        before = sum(len(other.readings) for other in self.rows[:at] if other.key == row.key)
        own = range(before, before + len(row.readings))
        cells = [
            {
                "text": one.text,
                "left_out": one.left_out,
                # An empty cell waits for its reading, which is no fault.
                "bad": judged.rejected[n] if judged and one.text.strip() else "",
            }
            | ({"kept": one.own["kept"]} if one.own.get("kept") else {})
            | _size_of(judged, n)
            for n, one in zip(own, row.readings, strict=True)
        ]
        plain = {
            "at": at,
            "feature": row.feature,
            "mode": row.mode,
            "unit": row.unit,
            "instrument": row.instrument,
            "cells": cells,
            "mean": "",
            "spread": "",
            "flags": [],
        }
        if note := next((one.own["note"] for one in row.readings if one.own.get("note")), ""):
            plain["note"] = note
        if judged is None:
            return plain
        flags = [
            {
                "severity": "stop",
                "short": "not read",
                "text": f"reading {n - before + 1}: {judged.rejected[n]}",
            }
            for n, one in zip(own, row.readings, strict=True)
            if judged.rejected[n] and one.text.strip()
        ]
        flags += judged.flags(own, before)
        counted = [
            judged.values[n]
            for n, one in zip(own, row.readings, strict=True)
            if not judged.rejected[n] and not one.left_out
        ]
        if judged.estimate is not None:
            value, expanded = judged.estimate.value_mm, judged.estimate.U95_mm
            plain["mean"] = f"{with_doubt(value, expanded)} mm"
            plain["best"] = (value, expanded)
            if expanded > self.good_enough_mm and counted:
                flags.append(
                    {
                        "severity": "warn",
                        "short": "read again",
                        "text": f"read again: ± {expanded:.2f} mm is more than the "
                        f"{self.good_enough_mm:.2f} mm that the fit bears",
                    }
                )
            from fitkit.readings.instruments import Instruments

            if assumed := Instruments(self.instruments).doubt(row.instrument):
                flags.append({"severity": "note", "short": "usual calipers", "text": assumed})
        if len(counted) > 1:
            plain["spread"] = f"{max(counted) - min(counted):.3f} mm"
        plain["flags"] = flags
        return plain


def _size_of(judged: _Judged | None, n: int) -> dict[str, float]:
    """Give a reading's size in mm for the strip plot, if it has one."""
    if judged is None or judged.rejected[n] or not math.isfinite(judged.values[n]):
        return {}
    return {"size": float(judged.values[n])}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """What the readings and stats rooms say of one feature; lists run over its readings."""

    estimate: Any
    fault: str
    rejected: list[str]
    values: list[float]
    doubts: list[tuple[str, str, list[int]]]
    first: list[int]

    def flags(self, own: range, before: int) -> list[dict[str, Any]]:
        found = []
        if self.fault:
            found.append({"severity": "warn", "short": "no estimate", "text": self.fault})
        for kind, text, rows in self.doubts:
            repeats = [self.first.index(row) for row in rows if row in self.first]
            here = [n - before + 1 for n in repeats if n in own]
            if repeats and not here:
                continue
            which = f"reading {', '.join(map(str, here))}: " if len(here) in (1, 2) else ""
            found.append({"severity": "warn", "short": kind, "text": f"{kind}: {which}{text}"})
        return found


def _holes_of(rows: Sequence[Row], features: set[str]) -> set[str]:
    """Holes that spans among the features are between, which their size rests on."""
    from fitkit.readings.kinds import is_hole, says_span

    spans = [row for row in rows if row.feature in features]
    said = {one.own.get("between", "") for row in spans for one in row.readings}
    named = {" ".join(name.split()) for text in said for name in text.split(";")}
    if not any(says_span(row.feature) for row in spans):
        return named
    return named | {
        row.feature
        for row in rows
        if is_hole(row.feature) or any(one.own.get("round") == "yes" for one in row.readings)
    }


def _mended(reading: Reading, *, but: str = "", **changed: Any) -> Reading:
    """Give a reading that somebody has looked at: a torn row is whole from then on."""
    own = {name: value for name, value in reading.own.items() if name not in ("refused", but)}
    return replace(reading, own=own, **changed)


def _gathered(records: Iterable[dict[str, str]]) -> list[Row]:
    """Put the rows of a long file together by feature, in order of appearance."""
    listed = [(place, record) for place, record in enumerate(records)]
    order: dict[tuple[str, ...], int] = {}
    for _, record in listed:
        order.setdefault(_key(record), len(order))
    listed.sort(key=lambda one: order[_key(one[1])])
    rows = []
    for key, group in groupby(listed, lambda one: _key(one[1])):
        readings = tuple(
            Reading(
                text=record["reading"],
                taken_at=record.get("taken_at", ""),
                left_out=record.get("left_out", ""),
                own={
                    name: str(value)
                    for name, value in record.items()
                    if value
                    and name not in (*SHARED, "reading", "taken_at", "left_out", _TYPED_MODE)
                }
                | _mode_of(record),
                place=place,
            )
            for place, record in group
        )
        rows.append(Row(**dict(zip(SHARED, key, strict=True)), readings=readings))
    return rows


def _in_order(rows: Iterable[Row]) -> list[dict[str, str]]:
    """Give rows of the file in the order that they have there, new ones behind those before."""
    placed: list[tuple[int, dict[str, str]]] = []
    last = -1
    for row in rows:
        for reading, record in zip(row.readings, row.records(), strict=True):
            last = last if reading.place is None else reading.place
            placed.append((last, record))
    return [record for _, record in sorted(placed, key=lambda one: one[0])]


def _mode_of(record: Mapping[str, str]) -> dict[str, str]:
    """Give the mode as it was typed, where that is not how it is taken."""
    typed = record.get(_TYPED_MODE, record.get("mode", ""))
    return {} if typed == record.get("mode", "") else {"mode": typed}


def _key(record: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(record.get(name, "") for name in SHARED)


def _now() -> str:
    return datetime.now().isoformat(timespec="seconds")
