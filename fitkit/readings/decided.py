"""Decisions about readings, written into the file that they stand in: keep, leave out, read again.

The file keeps its form, the lines above its header and all other cells; what changes is the
row's cell under ``left_out`` or ``kept``, which the header gains if it has none. In a table with
several readings in a row that column's name says which reading is meant. Left out: workbooks; for
them the message says what to type.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import ReadingError
from fitkit.core.files import write_atomic
from fitkit.core.locks import sole_writer
from fitkit.core.plain_errors import plain_errors
from fitkit.core.tables import read_table
from fitkit.readings.cells import header_of
from fitkit.readings.form import FileForm
from fitkit.readings.layout import layout_of
from fitkit.readings.table import ReadingTable

if TYPE_CHECKING:
    from os import PathLike

    import pandas as pd

    from fitkit.readings.decisions import Decision
    from fitkit.readings.layout import Layout

__all__ = ["counts_now", "decide"]

_WRITTEN = ("left_out", "kept")


def decide(
    path: str | PathLike[str],
    row: int,
    decision: Decision,
    *,
    because: str,
    unit: str | None = None,
    decimal: Literal[".", ","] | None = None,
) -> ReadingTable:
    """Write a decision about one reading into its file.

    Parameters
    ----------
    path : path
        Table as text.
    row : int
        As in column ``row`` of the table: the line of the file on which the reading stands, the
        first being 1; in a table with several readings in a row, its line in the long table that
        is made of it, whose header is line 1.
    decision : {"keep", "leave-out", "again"}
        It counts and is not doubted any more; it does not count; it does not count and is to be
        read again.
    because : str
        The reason, which is kept with it.
    unit, decimal : str, optional
        As for `ReadingTable.read`.

    Returns
    -------
    ReadingTable
        As it is now in the file.

    Raises
    ------
    ReadingError
        If there is no such row or no reason, or if the file is a workbook.
    ExportError
        If it cannot be written.
    """
    path = Path(path)
    # Nobody else, such as a grid, may write between the look at the file and its replacement.
    with plain_errors(path), sole_writer(path):
        content = _decided(path, row, decision, because, unit, decimal)
        write_atomic(path, content)
    return ReadingTable.read(path, unit=unit, decimal=decimal)


def counts_now(row: pd.Series) -> bool:
    """Tell whether a reading counts: as a size, or as what the closed jaws showed.

    Parameters
    ----------
    row : Series
        Of a table's frame.
    """
    is_zero = bool(row["zero_check"]) and not row["rejected"] and not row.get("left_out", "")
    return bool(row["counts"]) or is_zero


def _decided(
    path: Path,
    row: int,
    decision: Decision,
    because: str,
    unit: str | None,
    decimal: Literal[".", ","] | None,
) -> bytes:
    """Give the file's content with the decision in it."""
    table = ReadingTable.read(path, unit=unit, decimal=decimal)
    raw = read_table(path, header="feature")
    start, names = header_of(raw.rows)
    if not raw.separator:
        column, said = ("kept", because) if decision == "keep" else ("left_out", because)
        raise ReadingError(
            "a decision is not written into a workbook",
            file=path,
            row=row,
            code="readings.decision-not-written",
            remedy=f"Type {said!r} under {column!r} there, or save it as CSV: fitkit readings "
            "FILE --to NEW.csv.",
        )
    decided = {
        "keep": table.keep,
        "leave-out": table.leave_out,
        "again": table.read_again,
    }[decision](row, because)
    if (layout := layout_of(path)).several:
        return _in_layout(path, decided, layout, raw.separator)
    mine = decided.frame[decided.frame["row"] == row].iloc[0]
    cells = {name: str(mine[name]) for name in _WRITTEN if name in decided.frame}
    width = len(names)
    names += [name for name in cells if name not in names]
    typed_header = [*raw.rows[start][1], *names[width:]]
    rows = [one for _, one in raw.rows[:start]] + [typed_header]
    for line, one in raw.rows[start + 1 :]:
        # A torn row stays as short as it is, or it would pass for a whole one.
        whole = one if len(one) < width else one[:width] + [""] * (len(names) - width)
        if line == row:
            whole = whole + [""] * (len(names) - len(whole))
            for name, text in cells.items():
                whole[names.index(name)] = text
        rows.append(whole)
    return replace(FileForm.of(path), separator=raw.separator).written(rows[0], rows[1:])


def _in_layout(path: Path, decided: ReadingTable, layout: Layout, separator: str) -> bytes:
    """Give the content of a file that has several readings in a row."""
    typed = decided.typed().drop(columns="row").to_dict("records")
    header, rows = layout.rows(
        [{str(name): str(cell) for name, cell in one.items()} for one in typed]
    )
    lines = [*map(list, layout.above), header, *rows]
    return replace(FileForm.of(path), separator=separator).written(lines[0], lines[1:])
