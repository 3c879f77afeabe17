"""The rows of a readings file that wait for their readings, filled one after the other.

The file keeps its form and all other cells, as with decisions (`decided`); what changes is the
row's reading, and when it was taken. Left out: workbooks, and tables with a row a feature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.core.files import write_atomic
from fitkit.core.locks import sole_writer
from fitkit.core.plain_errors import plain_errors
from fitkit.core.tables import read_table
from fitkit.readings.cells import header_of
from fitkit.readings.form import FileForm

if TYPE_CHECKING:
    from os import PathLike

    from fitkit.readings.cable import Sent

__all__ = ["Filled", "fill_next"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A row that has its reading now.

    Attributes
    ----------
    feature, note : str
    repeat, of : int
        Which of the feature's rows it is, from 1.
    left : int
        Rows of the file that still wait.
    """

    feature: str
    note: str
    repeat: int
    of: int
    left: int


def fill_next(path: str | PathLike[str], sent: Sent) -> Filled:
    """Write a reading into the first row that waits for one.

    Parameters
    ----------
    path : path
        Table with a row a reading, as text.
    sent : Sent
        With its unit where the row says another or none.

    Returns
    -------
    Filled

    Raises
    ------
    ReadingError
        If no row waits, or if the file is a workbook or has a row a feature.
    """
    path = Path(path)
    with plain_errors(path), sole_writer(path):
        raw = read_table(path, header="feature")
        start, names = header_of(raw.rows)
        if not raw.separator or "reading" not in names:
            raise ReadingError(
                "readings are not written into a workbook or a table with several in a row",
                file=path,
                code="readings.reading-not-written",
                remedy="Save it as CSV with a row a reading, or open it in the grid.",
            )
        rows = [list(one) + [""] * (len(names) - len(one)) for _, one in raw.rows]
        body = range(start + 1, len(rows))
        at_reading, at_feature = names.index("reading"), names.index("feature")
        waiting = [n for n in body if rows[n][at_feature] and not rows[n][at_reading].strip()]
        if not waiting:
            raise ReadingError(
                "no row waits for a reading",
                file=path,
                code="readings.none-waiting",
                remedy="Add rows with an empty reading, or open it in the grid.",
            )
        row = rows[waiting[0]]
        cell = dict(zip(names, range(len(names)), strict=False))
        said = row[cell["unit"]].strip() if "unit" in cell else ""
        row[at_reading] = sent.number if sent.unit in ("", said) else sent.text
        if "taken_at" in cell:
            row[cell["taken_at"]] = datetime.now().isoformat(timespec="seconds")
        form = replace(FileForm.of(path), separator=raw.separator)
        # Rows that are not filled stay as they are, a torn one as short as it is.
        typed = [row if n == waiting[0] else list(one) for n, (_, one) in enumerate(raw.rows)]
        write_atomic(path, form.written(typed[0], typed[1:]))
    mine = [n for n in body if rows[n][at_feature] == row[at_feature]]
    return Filled(
        feature=row[at_feature],
        note=row[cell["note"]] if "note" in cell else "",
        repeat=mine.index(waiting[0]) + 1,
        of=len(mine),
        left=len(waiting) - 1,
    )
