"""Empty readings files: rows that wait for the calipers, under the header that the schema gives."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.readings.schema import COLUMNS, OPTIONAL

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["blank_table"]


def blank_table(rows: Iterable[Mapping[str, str]]) -> str:
    """Write a readings file as text, with commas.

    Parameters
    ----------
    rows : iterable of mappings of column to cell
        What is known of each reading; columns of the schema, in any order. Cells that a row does
        not name are empty.

    Returns
    -------
    str
        The columns that every table has, then those of the optional ones that a row names, in the
        schema's order.

    Raises
    ------
    ReadingError
        If the schema has no such column.

    Examples
    --------
    >>> print(blank_table([{"feature": "lid", "round": "no"}]).splitlines()[0])
    item,feature,mode,reading,unit,instrument,taken_at,note,round
    """
    rows = list(rows)
    named = {name for row in rows for name in row}
    if unknown := sorted(named.difference(COLUMNS, OPTIONAL)):
        raise ReadingError(
            f"{unknown[0]!r} is not a column of a readings table",
            code="readings.no-such-column",
            remedy=f"There are: {', '.join((*COLUMNS, *OPTIONAL))}.",
        )
    stream = io.StringIO()
    header = [*COLUMNS, *(name for name in OPTIONAL if name in named)]
    writer = csv.DictWriter(stream, header, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()
