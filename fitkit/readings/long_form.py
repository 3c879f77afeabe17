"""Tables with several readings in a row, turned into ones with a row a reading.

A row may hold the repeats of one feature, or one repeat of features that stand side by side. What
is decided on one of its readings stands in a column of its own, whose name says which: ``left_out
reading 2``, ``kept bar``.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.readings.cells import Cells, repeats_and_means, said_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["DECIDED", "decision_columns", "decision_name", "to_long"]

# What is decided on a reading, as columns of a table with a row a reading.
DECIDED = ("left_out", "kept")
_OF_ONE = re.compile(r"(?P<what>left[_ ]out|kept)\s+(?P<name>.+)", re.IGNORECASE)
_COUNTED = "rows are counted as in the long table made of this block, its header being row 1"


def decision_columns(
    header: Sequence[str], columns: Mapping[int, str]
) -> dict[int, tuple[str, int]]:
    """Find the columns that hold decisions about the readings in another column.

    Parameters
    ----------
    header : sequence of str
        What each column is taken as.
    columns : mapping of place to name
        The columns that hold readings.

    Returns
    -------
    dict of place to (what, place)
        ``left_out`` or ``kept``, and where the readings stand.

    Examples
    --------
    >>> decision_columns(["feature", "M1", "M2", "left_out M2"], {1: "M1", 2: "M2"})
    {3: ('left_out', 2)}
    """
    places = {name.casefold(): at for at, name in reversed(list(columns.items()))}
    found = {}
    for at, cell in enumerate(header):
        match = _OF_ONE.fullmatch(cell)
        place = places.get(match["name"].casefold()) if match else None
        if match and place is not None and place != at:
            found[at] = (match["what"].lower().replace(" ", "_"), place)
    return found


def decision_name(what: str, column: str) -> str:
    """Name the column of what is decided on the readings in a column.

    Parameters
    ----------
    what : {"left_out", "kept"}
    column : str
        What the column of readings is taken as.
    """
    return f"{what} {column}"


def to_long(cells: Cells) -> Cells:
    """Turn a row with several readings into a row a reading; leave long cells as they are.

    Repeat columns are those named by a number (``1``, ``reading 2``, ``M3``); an empty repeat is
    no reading. Other columns go with each reading; a column of averages is compared and left out.
    """
    if cells.across:
        return _turned(cells)
    if "reading" in cells.header:
        return cells
    repeats, means = repeats_and_means(cells.header)
    if not repeats:
        raise ReadingError(
            f"has no column 'reading' and no repeat columns (it has: {', '.join(cells.header)})",
            code="readings.no-reading-column",
            remedy="Name the column of readings 'reading', or repeats '1', '2', '3'.",
        )
    decided = decision_columns(cells.header, {at: cells.header[at] for at in repeats})
    own = (*repeats, *means, *decided)
    others = [at for at in range(len(cells.header)) if at not in own]
    made = [
        (line, [row[i] for i in others], row[at], _decisions(row, decided, at))
        for line, row in cells.rows
        for at in repeats
        if row[at] or not any(row[i] for i in repeats)
    ]
    header = [*(cells.header[i] for i in others), "reading"]
    if decided:
        header += [what for what in DECIDED if what not in header]
    rows = []
    for _, plain, reading, said in made:
        row = dict(zip(header, [*plain, reading], strict=False))
        # What is decided on one reading wins over what is said of its whole row.
        rows.append(tuple((row | said).get(name, "") for name in header))
    return replace(
        cells,
        header=tuple(header),
        rows=tuple(enumerate(rows, 2)),
        refused={
            n: cells.refused[line] for n, (line, *_) in enumerate(made, 2) if line in cells.refused
        },
        notes=(*cells.notes, _COUNTED, *_other_means(cells, repeats, means)),
    )


def _decisions(
    row: Sequence[str], decided: Mapping[int, tuple[str, int]], place: int
) -> dict[str, str]:
    """Give what is decided on the reading in one column of a row."""
    return {what: row[at] for at, (what, of) in decided.items() if of == place and row[at]}


def _turned(cells: Cells) -> Cells:
    """Turn features side by side into a row a reading, feature after feature."""
    heads = {at: said_of(cell)[:2] for at, cell in enumerate(cells.header) if at}
    decided = decision_columns(cells.header, {at: name for at, (name, _) in heads.items()})
    made = []
    for at, (name, unit) in heads.items():
        if at in decided:
            continue
        for line, row in cells.rows:
            if row[at]:
                said = _decisions(row, decided, at)
                more = [said.get(what, "") for what in DECIDED] if decided else []
                made.append((line, (name, row[at], unit, *more)))
    return replace(
        cells,
        header=("feature", "reading", "unit", *(DECIDED if decided else ())),
        rows=tuple(enumerate((row for _, row in made), 2)),
        refused={
            n: cells.refused[line] for n, (line, _) in enumerate(made, 2) if line in cells.refused
        },
        across=False,
        notes=(*cells.notes, _COUNTED),
    )


def _other_means(cells: Cells, repeats: list[int], means: list[int]) -> list[str]:
    """Compare columns of averages with the repeats beside them."""
    told = []
    for mean in means:
        told.append(f"column {cells.header[mean]!r} holds averages: it is compared, not counted")
        for line, row in cells.rows:
            texts = [row[at].replace(",", ".") for at in (*repeats, mean) if row[at]]
            try:
                *sizes, said = map(float, texts)
            except ValueError:
                continue
            if row[mean] and sizes and abs(sum(sizes) / len(sizes) - said) > 0.0051:
                told.append(
                    f"row {line}: the average {row[mean]} is not that of its readings, "
                    f"{sum(sizes) / len(sizes):.3f}"
                )
    return told
