"""Many parts from one table: a row a variant, built in parallel, taken up again where it stopped.

A column names a key of the part sheet (``title``, ``values.wall``, ``fits.lid.behaviour``) and a
cell its value; what the table leaves out stays as in the sheet. Each finished row leaves a mark
with the hash of what it was made from, so that a second run builds only rows that are new, changed
or undone. `jobs` and `do_job` are all that another engine needs to share the work over machines.

Left out: trials that were entered since a row was made do not make it again, though they may move a
gap; two runs into one folder at the same time may both make a row.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections import deque
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import wait
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FaultList, FitkitError, SheetError
from fitkit.core.files import read_plain, write_atomic
from fitkit.core.tables import harmless, read_table, table_text
from fitkit.export.bodies import file_name
from fitkit.flow.sheet import load_sheet, sheet_of
from fitkit.make.child import Child, packed, plain_error
from fitkit.make.own_code import code_hash
from fitkit.parts.trust import TrustError, allow, refuse_untrusted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from fitkit.flow.sheet import PartSheet

__all__ = ["Job", "Outcome", "crashed", "do_job", "jobs", "make_many", "write_report"]

MARK = "made.json"
MAX_BYTES, MAX_ROWS = 10_000_000, 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One row's work; plain data, so that it travels to any process or machine.

    Attributes
    ----------
    row : int
        Line of the table, the header being line 1.
    title : str
    sheet : str
        Path of the part sheet that the row varies.
    content : dict
        The varied sheet.
    folder : str
        Where the row's files go.
    key : str
        Hash of the content and of every file that the sheet or its workshop names.
    may_run : str
        SHA-256 of the template file that somebody said yes to, for a machine where nobody was
        asked; empty for other templates.
    workshop : str or None
        The workshop named by hand, if one is.
    """

    row: int
    title: str
    sheet: str
    content: dict[str, Any]
    folder: str
    key: str
    may_run: str = ""
    workshop: str | None = None

    def part_sheet(self) -> PartSheet:
        """Give the varied sheet."""
        return sheet_of(self.content, path=Path(self.sheet), workshop=self.workshop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a row ended: ``made``, ``kept`` from an earlier run, or ``refused`` with its message."""

    row: int
    title: str
    state: str
    code: str = ""
    folder: str = ""
    message: str = ""


def jobs(
    table: str | Path,
    sheet: str | Path,
    into: str | Path,
    *,
    workshop: str | Path | None = None,
) -> tuple[Job, ...]:
    """Read a table of variants.

    Parameters
    ----------
    table, sheet, into : path
        Table of variants, the part sheet that they vary, folder for all.
    workshop : path, optional
        A workshop that wins over the one that the sheet belongs to.

    Raises
    ------
    FaultList
        All rows at fault: two of one title, a key that the sheet has no place for.
    SheetError
        If the table cannot be read, or has no rows.
    TrustError
        If a row needs a template file that nobody has said yes to; no row is made then.
    """
    table, sheet, into = Path(table), Path(sheet).resolve(), Path(into).resolve()
    base = load_sheet(sheet, workshop=workshop)
    found: dict[str, Job] = {}
    names: set[str] = set()
    faults: list[FitkitError] = []
    for row, cells in _rows(table):
        where = f"{table}, row {row}"
        try:
            content = _varied(base.content(), cells, where)
            varied = sheet_of(content, path=sheet, workshop=workshop)
            own = varied.template_text()
            if own:
                refuse_untrusted(own)
        except TrustError:
            raise
        except FaultList as error:
            faults += error.placed(SheetError, file=str(table), row=row)
            continue
        except FitkitError as error:
            faults.append(error)
            continue
        title = varied.title
        if title in found:
            faults.append(
                SheetError(
                    f"title {title!r} is that of row {found[title].row}",
                    where=where,
                    code="make.title-twice",
                    remedy="Give each row a title of its own.",
                )
            )
            continue
        name = file_name(title)
        if name in names:  # of titles that differ in letters which file names lack
            name = f"{name}-{hashlib.sha256(title.encode()).hexdigest()[:8]}"
        names.add(name)
        found[title] = Job(
            row=row,
            title=title,
            sheet=str(sheet),
            content=content,
            folder=str(into / name),
            key=_key(content, varied),
            may_run=own.sha256 if own else "",
            workshop=None if workshop is None else str(Path(workshop).resolve()),
        )
    if faults:
        raise FaultList(faults)
    if not found:
        raise SheetError(
            "the table has no rows",
            where=str(table),
            code="make.table-empty",
            remedy="Add one row for each variant.",
        )
    return tuple(found.values())


def do_job(job: Job) -> Outcome:
    """Make one row's part, unless it is made already; a refused row is an outcome, not an error."""
    from fitkit.make import make

    folder = Path(job.folder)
    earlier = _read_mark(folder / MARK)
    if earlier.get("key") == job.key and (code := _finished(job, earlier)):
        _set_mark(folder, job, code)
        return _outcome(job, "kept", code=code)
    allow(job.may_run)
    try:
        _set_mark(folder, job)
        made = make(job.part_sheet(), into=folder)
        _set_mark(folder, job, made.code)
    except Exception as error:  # the other rows must not pay for it
        with suppress(OSError):
            (folder / MARK).unlink()
            folder.rmdir()  # unless files of an earlier run are there
        plain = error if isinstance(error, FitkitError) else plain_error(error)
        return _outcome(job, "refused", message=str(plain))
    return _outcome(job, "made", code=made.code)


def crashed(job: Job) -> Outcome:
    """Say that a row took its process with it."""
    return _outcome(
        job,
        "refused",
        message="the CAD kernel stopped while it worked on this row. Change a value.",
    )


def _outcome(job: Job, state: str, *, code: str = "", message: str = "") -> Outcome:
    return Outcome(
        row=job.row,
        title=job.title,
        state=state,
        code=code,
        folder=job.folder,
        message=message,
    )


def _finished(job: Job, mark: dict[str, Any]) -> str:
    """Give the trace code of a row that is made, or nothing.

    A row that was stopped after its record was written and before its mark was has been made as
    well: its files are then those of a record.
    """
    from fitkit.journal import Journal

    folder = Path(job.folder)
    if code := mark.get("code"):
        here = all((folder / str(name)).is_file() for name in mark.get("files", ()))
        return str(code) if here else ""
    sheet = job.part_sheet()
    for record in reversed(Journal(sheet.journal_folder).records("print")):
        if (
            record.title == job.title
            and record.files
            and all(_sha256(folder / file.name) == file.sha256 for file in record.files)
        ):
            return record.code
    return ""


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def _set_mark(folder: Path, job: Job, code: str = "") -> None:
    """Mark a row as begun, or with its code as made."""
    content: dict[str, Any] = {"key": job.key}
    if code:
        content["code"] = code
        content["files"] = sorted(
            path.name for path in folder.iterdir() if path.name != MARK and path.is_file()
        )
    write_atomic(folder / MARK, json.dumps(content))


def make_many(
    table: str | Path,
    sheet: str | Path,
    into: str | Path,
    *,
    workers: int | None = None,
    workshop: str | Path | None = None,
    told: Callable[[Outcome], None] = lambda outcome: None,
) -> tuple[Outcome, ...]:
    """Make all rows of a table in parallel processes, and write one report.

    Parameters
    ----------
    table, sheet, into : path
        Table of variants, the part sheet that they vary, folder for all.
    workers : int, optional
        Processes; as many as there are processors if not given.
    workshop : path, optional
        A workshop that wins over the one that the sheet belongs to.
    told : callable of Outcome
        Told each row as it ends.

    Returns
    -------
    tuple of Outcome
        In the order of the table.
    """
    todo = jobs(table, sheet, into, workshop=workshop)
    outcomes = []
    for outcome in _run(todo, workers or os.cpu_count() or 1):
        told(outcome)
        outcomes.append(outcome)
    outcomes.sort(key=lambda outcome: outcome.row)
    write_report(Path(into), outcomes)
    return tuple(outcomes)


def _run(todo: Sequence[Job], workers: int) -> Iterator[Outcome]:
    waiting = deque(todo)
    idle = [_Hand() for _ in range(min(workers, len(waiting)))]
    busy: dict[Any, _Hand] = {}
    try:
        while waiting or busy:
            while waiting and idle:
                hand = idle.pop()
                hand.give(waiting.popleft())
                busy[hand.child.pipe] = hand
            for pipe in wait(list(busy)):
                hand = busy.pop(pipe)
                yield hand.take()
                idle.append(hand)
    finally:
        for hand in (*idle, *busy.values()):
            hand.stop()


class _Hand:
    """A process that makes rows, one after the other; a row that ends it is tried once more."""

    def __init__(self) -> None:
        self.child = Child()
        self.child.start()

    def give(self, job: Job) -> None:
        self.job = job
        self.child.give(packed(do_job, job))

    def take(self, *, again: bool = True) -> Outcome:
        kind, value, _ = self.child.take()
        if kind == "crash":
            if not again:
                return crashed(self.job)
            self.give(self.job)  # a process may die by chance; a row is to blame when two do
            return self.take(again=False)
        return value if kind == "value" else _outcome(self.job, "refused", message=str(value))

    def stop(self) -> None:
        self.child.kill()


def write_report(folder: Path, outcomes: Iterable[Outcome]) -> Path:
    """Write ``report.csv`` with a line a row: title, how it ended, trace code, folder, message."""
    rows: list[tuple[str, ...]] = [("row", "title", "state", "trace code", "folder", "message")]
    for o in outcomes:
        cells = (o.row, o.title, o.state, o.code, o.folder, o.message)
        rows.append(tuple(harmless(str(cell)) for cell in cells))
    return write_atomic(folder / "report.csv", table_text(rows))


def _rows(table: Path) -> list[tuple[int, dict[str, str]]]:
    """Read the table's rows, each with its line; empty rows are left out."""
    rows = read_table(table, max_bytes=MAX_BYTES, max_rows=MAX_ROWS, error=SheetError).rows
    found = [(line, [cell.strip() for cell in cells]) for line, cells in rows]
    if not found:
        return []
    first, head = found.pop(0)
    head = _head(head, f"{table}, row {first}")
    for line, cells in found:
        if any(cells[len(head) :]):
            raise SheetError(
                "this row has more cells than the header",
                where=f"{table}, row {line}",
                code="make.too-many-cells",
                remedy='Quote a cell that holds a comma, as in "12,5 mm".',
            )
    return [(line, dict(zip(head, cells, strict=False))) for line, cells in found]


def _head(cells: list[str], where: str) -> list[str]:
    head = cells[: max((at for at, cell in enumerate(cells, 1) if cell), default=0)]
    if "" in head:
        raise SheetError(
            f"column {head.index('') + 1} has no name",
            where=where,
            code="make.column-unnamed",
            remedy="Give the column a name.",
        )
    if twice := sorted({name for name in head if head.count(name) > 1}):
        raise SheetError(
            f"the column {twice[0]!r} is there twice",
            where=where,
            code="make.column-twice",
            remedy="Leave one of the two out.",
        )
    return head


def _varied(content: dict[str, Any], cells: dict[str, str], where: str) -> dict[str, Any]:
    """Put a row's cells into a sheet's content; an empty cell leaves the sheet's value."""
    for column, cell in cells.items():
        if not cell:
            continue
        *path, last = column.split(".")
        place: Any = content
        for key in path:
            place = place.setdefault(key, {}) if isinstance(place, dict) else _item(place, key)
            if not isinstance(place, dict | list):
                raise SheetError(
                    f"there is no place {column!r} in the sheet",
                    where=where,
                    code="make.no-such-place",
                )
        if isinstance(place, list):
            raise SheetError(
                f"there is no place {column!r} in the sheet",
                where=where,
                code="make.no-such-place",
            )
        place[last] = _value(cell, place.get(last))
    return content


def _item(place: list[Any], key: str) -> Any:
    try:
        return place[int(key)] if key.isdecimal() else None
    except (IndexError, ValueError):
        return None


def _value(cell: str, like: object) -> Any:
    """Read a cell as the sheet's own value is: a number or yes/no where that is one, else text."""
    if isinstance(like, bool):
        return cell.casefold() in ("yes", "true", "1")
    if isinstance(like, int | float):
        try:
            return type(like)(cell)
        except ValueError:
            return cell  # the template refuses it in plain words
    return cell


def _key(content: dict[str, Any], sheet: PartSheet) -> str:
    digest = hashlib.sha256(code_hash().encode())
    digest.update(json.dumps(content, sort_keys=True).encode())
    # Readings, profile, material, outline: whatever of the sheet's texts is a file's name; and what
    # the workshop gives where the sheet names nothing.
    printer = sheet.printer_to_draw_for
    named = (sheet.path(text) for text in _texts(content))
    for file in (
        *named,
        *sheet.readings_paths,
        sheet.instruments_file,
        printer.profile,
        printer.coupon,
    ):
        with suppress(OSError, ValueError):
            if file is not None and Path(file).is_file():
                digest.update(Path(file).read_bytes())
    return digest.hexdigest()


def _texts(content: object) -> Iterator[str]:
    if isinstance(content, str):
        yield content
    elif isinstance(content, dict):
        for key in sorted(content):
            yield from _texts(content[key])
    elif isinstance(content, list):
        for item in content:
            yield from _texts(item)


def _read_mark(mark: Path) -> dict[str, Any]:
    try:
        content = json.loads(read_plain(mark, max_bytes=1_000_000))
    except (OSError, ValueError, RecursionError):
        return {}
    return content if isinstance(content, dict) else {}
