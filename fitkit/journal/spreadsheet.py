"""Trials that were kept in a spreadsheet, brought into the journal: a record a row.

Reads what `fitkit.core.tables` does, with a decimal point or comma. All faults are told at once
and nothing is brought in until there is none; then all records come or none does, however it ends.
A row is known again by its content, whose hash its record keeps, so that bringing in the same file
twice, or a grown one, adds only what is new. Its trace code is made of that hash too, unless
another record has that code.

Units: in the cell (``20 mm``) or in the column's head (``gap (mm)``, ``gap_mm``, ``gap [in]``);
never guessed.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from fitkit.core.errors import FaultList, FitkitError, JournalError
from fitkit.core.models import faults_of
from fitkit.core.tables import read_table
from fitkit.fits.trial import BEHAVIOURS, PAIRS, VERDICTS, Trial, as_listed, one_of
from fitkit.journal.codes import trace_code
from fitkit.journal.entries import TrialEntry
from fitkit.journal.names import sanitised
from fitkit.journal.records import TrialRecord

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fitkit.journal.store import Journal

__all__ = ["bring_in", "read_trials"]

MAX_BYTES = 20_000_000
MAX_ROWS = 50_000
# Key under which a record keeps the hash of its row.
CONTENT = "content"
# Heads that people give a column, the first being the one we name.
_HEADS = {
    "date": ("date", "day", "printed", "made"),
    "pair": ("pair", "kind of pair", "fit", "kind of fit"),
    "behaviour": ("behaviour", "behavior", "wanted"),
    "size": ("size", "nominal", "diameter", "width", "nominal size"),
    "gap": ("gap", "clearance", "measured gap"),
    "u": ("u", "u gap", "standard uncertainty", "gap u"),
    "verdict": ("verdict", "result", "how it fitted", "outcome"),
    "printer": ("printer", "machine"),
    "material": ("material", "filament"),
    "note": ("note", "notes", "remark", "comment"),
}
_NEEDED = ("pair", "size", "gap", "verdict")
_HEAD = re.compile(
    r"(.*?)\s*(?:[(\[]\s*([^)\]]+?)\s*[)\]]|[\s_](mm|cm|in|inch))?\s*$", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """How many rows became records, and how many were there before."""

    added: int
    known: int

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.added} trials brought in, {self.known} were there before"


def bring_in(journal: Journal, path: str | Path) -> BroughtIn:
    """Add the trials of a spreadsheet to a journal.

    Parameters
    ----------
    journal : Journal
    path : path
        Of a .csv, .tsv or .xlsx file.

    Returns
    -------
    BroughtIn

    Raises
    ------
    FaultList
        Every row at fault, with its column and the value as typed; nothing is then added.
    JournalError
        If the file cannot be read, or lacks a column.
    ExportError
        If the records cannot be written; none is then added.
    """
    from fitkit.core.files import make_folder
    from fitkit.core.locks import sole_writer
    from fitkit.core.plain_errors import plain_errors

    records = read_trials(path)
    with plain_errors(journal.folder):
        make_folder(journal.folder)
        # Two who bring in the same file at once must not both find it new.
        with sole_writer(journal.folder / "bring-in"):
            there = journal.records("trial", corrected=True)
            contents = {record.extra.get(CONTENT) for record in there}
            # Records of an earlier release keep no hash: they are known by what they say.
            unhashed = Counter(_says(record) for record in there if CONTENT not in record.extra)
            taken = journal.codes()
            fresh: list[TrialRecord] = []
            for record in records:
                if record.extra[CONTENT] in contents:
                    continue
                if unhashed[says := _says(record)] > 0:
                    unhashed[says] -= 1
                    continue
                code = record.code
                while code in taken:
                    code = trace_code()
                taken.add(code)
                fresh.append(record.model_copy(update={"code": code}))
            journal.add_all(fresh)
    return BroughtIn(added=len(fresh), known=len(records) - len(fresh))


def _says(record: TrialRecord) -> tuple[Any, ...]:
    return record.made_at, record.fits, record.printer, record.material


def read_trials(path: str | Path) -> list[TrialRecord]:
    """Read a spreadsheet's trials as records, without adding them.

    Raises
    ------
    FaultList, JournalError
        As `bring_in`.
    """
    path = Path(path)
    table = read_table(path, max_bytes=MAX_BYTES, max_rows=MAX_ROWS, error=JournalError).rows
    if not table:
        raise JournalError("this table has no rows", file=path.name, code="journal.table-empty")
    head, *rows = table
    columns = _columns(head[1], f"{path.name}, row {head[0]}")
    lengths = [columns[name][0] for name in ("size", "gap", "u") if name in columns]
    typed = (row[at] for _, row in rows for at in lengths if at < len(row))
    decimal: Literal[".", ","] = "," if any("," in cell for cell in typed) else "."
    records, faults = [], list[FitkitError]()
    seen: dict[str, int] = {}
    for number, cells in rows:
        row = {name: cells[at] if at < len(cells) else "" for name, (at, _) in columns.items()}
        units = {name: unit for name, (_, unit) in columns.items()}
        record = _record(row, units, decimal, path.name, number, faults, seen)
        if record:
            records.append(record)
    if faults:
        raise FaultList(faults)
    return records


def _record(
    row: dict[str, Any],
    units: dict[str, str],
    decimal: Literal[".", ","],
    file: str,
    number: int,
    faults: list[FitkitError],
    seen: dict[str, int],
) -> TrialRecord | None:
    before = len(faults)

    def read(name: str, reader: Callable[[Any], Any], default: Any = None) -> Any:
        value = row.get(name)
        if value is None or not str(value).strip():
            if default is None and name in _NEEDED:
                faults.append(
                    JournalError(
                        "this cell is empty",
                        file=file,
                        row=number,
                        column=name,
                        code="journal.cell-empty",
                        remedy="Fill it in.",
                    )
                )
            return default
        try:
            return reader(value)
        except FitkitError as error:
            faults.append(error.placed(JournalError, file=file, row=number, column=name))
            return default

    def length(name: str) -> Callable[[Any], float]:
        return lambda value: _length(value, units.get(name, ""), decimal)

    day = read("date", _day)
    pair = read("pair", lambda value: _word(value, PAIRS, "kind of pair"))
    verdict = read("verdict", lambda value: _word(value, VERDICTS, "verdict"))
    behaviour = read("behaviour", lambda v: _word(v, BEHAVIOURS, "behaviour"), "slides")
    size_mm, gap_mm, u_mm = (read(name, length(name)) for name in ("size", "gap", "u"))
    if len(faults) > before:
        return None
    try:  # the fits room knows which gaps a pair cannot have
        Trial(pair=pair, behaviour=behaviour, size_mm=size_mm, gap_mm=gap_mm, verdict=verdict)
    except FitkitError as error:
        faults.append(error.placed(JournalError, file=file, row=number))
        return None
    words = {name: str(row.get(name) or "").strip() for name in ("printer", "material", "note")}
    content = json.dumps([str(row.get(name) or "") for name in _HEADS], ensure_ascii=True)
    # Two rows alike are two trials: the second is told apart by its number.
    seen[content] = seen.get(content, 0) + 1
    told = f"{content}{seen[content]}".encode()
    try:
        return TrialRecord(
            code=trace_code(of=told),
            made_at=datetime(day.year, day.month, day.day, 12, tzinfo=UTC) if day else _UNDATED,
            fits=(
                TrialEntry(
                    name=f"{pair}, {size_mm:g} mm",
                    pair=pair,
                    size_mm=size_mm,
                    gap_mm=gap_mm,
                    u_gap_mm=u_mm,
                    verdict=verdict,
                    note=words["note"],
                ),
            ),
            printer=words["printer"][:200],
            material=words["material"][:200],
            source=sanitised(f"{file}, row {number}"),
            extra={"behaviour": behaviour, CONTENT: hashlib.sha256(told).hexdigest()}
            | ({} if day else {"undated": True}),
        )
    except ValidationError as error:  # a note too long, a date before there were computers
        told_faults = faults_of(error, model=TrialRecord, error=JournalError)
        faults += [fault.placed(file=file, row=number, at=()) for fault in told_faults.faults]
        return None


# A row without a date sorts before all others; the record says that the date is unknown.
_UNDATED = datetime(1970, 1, 1, tzinfo=UTC)


def _word(value: Any, words: Sequence[str], what: str) -> str:
    word = as_listed(str(value), words)
    one_of(word, words, what)
    return word


def _length(value: Any, unit: str, decimal: Literal[".", ","]) -> float:
    from fitkit.core.units import parse_length

    return float(parse_length(str(value), unit or None, decimal).value_mm)


def _day(value: str) -> date:
    try:
        return date.fromisoformat(value.strip()[:10])
    except ValueError:
        raise JournalError(
            f"{str(value)!r} is not a date",
            code="journal.not-a-date",
            remedy="Write it as 2026-11-25.",
        ) from None


def _columns(head: Sequence[str], where: str) -> dict[str, tuple[int, str]]:
    """Find each column's place and unit by its head."""
    found: dict[str, tuple[int, str]] = {}
    for at, cell in enumerate(head):
        match = _HEAD.match(cell.strip())
        if match is None:  # a head of several lines
            continue
        title = re.sub(r"[\s_]+", " ", match[1]).strip().casefold()
        for name, heads in _HEADS.items():
            if title in heads and name not in found:
                found[name] = (at, match[2] or match[3] or "")
    missing = [name for name in _NEEDED if name not in found]
    if missing:
        raise JournalError(
            f"there is no column {', '.join(map(repr, missing))}",
            where=where,
            code="journal.no-column",
            remedy=f"Name its columns {', '.join(_HEADS)}; the last five may be absent.",
        )
    return found
