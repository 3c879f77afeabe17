"""Many parts from one table: a row a variant, built in parallel, taken up again where it stopped.

A column names a key of the part sheet (``title``, ``values.wall``, ``fits.lid.behaviour``) and a
cell its value; what the table leaves out stays as in the sheet. Each finished row leaves a mark
with the hash of what it was made from, so that a second run builds only rows that are new, changed
or undone. `jobs` and `do_job` are all that another engine needs to share the work over machines.
"""

from __future__ import annotations

import csv
import hashlib
import json
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.errors import FaultList, FitkitError, SheetError
from fitkit.export.bodies import file_name
from fitkit.files import write_atomic
from fitkit.sheet import load_sheet, sheet_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

__all__ = ["Job", "Outcome", "do_job", "jobs", "make_many", "write_report"]

MARK = "made.json"


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
        Hash of the content and of every file that the sheet names.
    """

    row: int
    title: str
    sheet: str
    content: dict[str, Any]
    folder: str
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one row ended: ``made``, ``kept`` from an earlier run, or ``refused`` with its message."""

    row: int
    title: str
    state: str
    code: str = ""
    folder: str = ""
    message: str = ""


def jobs(table: str | Path, sheet: str | Path, into: str | Path) -> tuple[Job, ...]:
    """Read a table of variants.

    Raises
    ------
    FaultList
        All rows at fault: two of one title, a key that the sheet has no place for.
    SheetError
        If the table cannot be read, or has no rows.
    """
    table, sheet, into = Path(table), Path(sheet).resolve(), Path(into).resolve()
    base = load_sheet(sheet)
    found: dict[str, Job] = {}
    faults: list[FitkitError] = []
    for row, cells in _rows(table):
        where = f"{table}, row {row}"
        try:
            content = _varied(base.content(), cells, where)
            varied = sheet_of(content, path=sheet)
        except FaultList as error:
            faults += [SheetError(f.what, where=f"{where}: {f.where}") for f in error.faults]
            continue
        except FitkitError as error:
            faults.append(error)
            continue
        name = file_name(varied.title)
        if name in found:
            faults.append(
                SheetError(
                    f"title {varied.title!r} is that of row {found[name].row}",
                    where=where,
                    remedy="Give each row a title of its own.",
                )
            )
            continue
        found[name] = Job(
            row=row,
            title=varied.title,
            sheet=str(sheet),
            content=content,
            folder=str(into / name),
            key=_key(content, sheet.parent),
        )
    if faults:
        raise FaultList(faults)
    if not found:
        raise SheetError("the table has no rows", where=str(table), remedy="Add a row a variant.")
    return tuple(found.values())


def do_job(job: Job) -> Outcome:
    """Make one row's part, unless it is made already; a refused row is an outcome, not an error."""
    from fitkit.make import make

    mark = Path(job.folder) / MARK
    told = {"row": job.row, "title": job.title, "folder": job.folder}
    earlier = _read_mark(mark)
    if earlier.get("key") == job.key:
        return Outcome(**told, state="kept", code=str(earlier.get("code", "")))
    try:
        made = make(sheet_of(job.content, path=Path(job.sheet)), into=job.folder)
        write_atomic(mark, json.dumps({"key": job.key, "code": made.code}))
    except FitkitError as error:
        return Outcome(**told, state="refused", message=str(error))
    return Outcome(**told, state="made", code=made.code)


def make_many(
    table: str | Path,
    sheet: str | Path,
    into: str | Path,
    *,
    workers: int | None = None,
    told: Callable[[Outcome], None] = lambda outcome: None,
) -> tuple[Outcome, ...]:
    """Make all rows of a table in parallel processes, and write one report.

    Parameters
    ----------
    table, sheet, into : path
        Table of variants, the part sheet that they vary, folder for all.
    workers : int, optional
        Processes; as many as there are processors if not given.
    told : callable of Outcome
        Told each row as it ends.

    Returns
    -------
    tuple of Outcome
        In the order of the table.
    """
    todo = jobs(table, sheet, into)
    outcomes = sorted(_run(todo, workers or os.cpu_count() or 1, told), key=lambda o: o.row)
    write_report(Path(into), outcomes)
    return tuple(outcomes)


def _run(todo: Iterable[Job], workers: int, told: Callable[[Outcome], None]) -> Iterator[Outcome]:
    # A server process that has the kernel loaded forks each worker ready to build.
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["fitkit.many", "build123d"])
    else:
        context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        for future in as_completed([pool.submit(do_job, job) for job in todo]):
            outcome = future.result()
            told(outcome)
            yield outcome


def write_report(folder: Path, outcomes: Iterable[Outcome]) -> Path:
    """Write ``report.csv`` with a line a row: title, how it ended, trace code, folder, message."""
    import io

    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("row", "title", "state", "trace code", "folder", "message"))
    for o in outcomes:
        writer.writerow((o.row, o.title, o.state, o.code, o.folder, o.message))
    return write_atomic(folder / "report.csv", text.getvalue())


def _rows(table: Path) -> list[tuple[int, dict[str, str]]]:
    try:
        with table.open(encoding="utf-8-sig", newline="") as stream:
            reader = csv.DictReader(stream, restkey="")
            rows = [(reader.line_num, cells) for cells in reader]
    except FileNotFoundError:
        raise SheetError("no such table", where=str(table), remedy="Check the name.") from None
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise SheetError(f"cannot be read: {error}", where=str(table)) from error
    for row, cells in rows:
        if "" in cells:
            raise SheetError(
                "more cells than the header has",
                where=f"{table}, row {row}",
                remedy='Quote a cell that holds a comma, as in "12,5 mm".',
            )
    return rows


def _varied(content: dict[str, Any], cells: dict[str, str], where: str) -> dict[str, Any]:
    """Put a row's cells into a sheet's content; an empty cell leaves the sheet's value."""
    for column, cell in cells.items():
        if not (cell or "").strip():
            continue
        *path, last = column.strip().split(".")
        place: Any = content
        for key in path:
            place = place.setdefault(key, {}) if isinstance(place, dict) else _item(place, key)
            if not isinstance(place, dict | list):
                raise SheetError(f"no place {column!r} in the sheet", where=where)
        if isinstance(place, list):
            raise SheetError(f"no place {column!r} in the sheet", where=where)
        place[last] = _value(cell.strip(), place.get(last))
    return content


def _item(place: list[Any], key: str) -> Any:
    return place[int(key)] if key.isdigit() and int(key) < len(place) else None


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


def _key(content: dict[str, Any], folder: Path) -> str:
    digest = hashlib.sha256(json.dumps(content, sort_keys=True).encode())
    printer = content.get("printer", {})
    for name in (
        content.get("readings"),
        content.get("instruments"),
        printer.get("profile"),
        printer.get("coupon"),
    ):
        if name and (folder / name).is_file():
            digest.update((folder / name).read_bytes())
    return digest.hexdigest()


def _read_mark(mark: Path) -> dict[str, Any]:
    try:
        content = json.loads(mark.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return content if isinstance(content, dict) else {}
