"""How a readings file is laid out, so that saving it leaves it the kind of file that it was.

Lines above the header stay. A table with the repeats of a feature in one row keeps them there: it
gains repeat columns where more were read, and averages of rows that changed are emptied. What such
a table has no room for, such as a decision about one of its readings, is refused rather than lost.
Left out: features side by side, which are saved with a row a reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.core.tables import read_table
from fitkit.readings.cells import header_of, repeats_and_means

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from os import PathLike

__all__ = ["Layout"]

# What a repeat column's name says in brackets.
_SAID = re.compile(r" *[(\[].*")
# Belongs to one reading, for which a row of several has no place.
_OF_ONE = ("left_out", "kept", "refused")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The lines above a table's header, and its header where a row holds several readings.

    Attributes
    ----------
    above : tuple of rows
    header : tuple of str
        As typed; empty for a table with a row a reading.
    names : tuple of str
        What each of its columns is taken as.
    repeats, means : tuple of int
        Places of the columns with readings, and with averages.
    averages : mapping of a row's other cells and readings to its averages
    """

    above: tuple[tuple[str, ...], ...] = ()
    header: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    repeats: tuple[int, ...] = ()
    means: tuple[int, ...] = ()
    averages: Mapping[tuple[tuple[str, ...], tuple[str, ...]], tuple[str, ...]] | None = None

    @classmethod
    def of(cls, path: str | PathLike[str]) -> Layout:
        """Take the layout of a file that has been read as a table of readings.

        Raises
        ------
        ReadingError
            If it cannot be read.
        """
        rows = read_table(path, header="feature").rows
        if not rows:
            return cls()
        start, names = header_of(rows)
        if "feature" not in names:  # features side by side
            return cls()
        above = tuple(tuple(row) for _, row in rows[:start])
        if "reading" in names:
            return cls(above=above)
        repeats, means = repeats_and_means(names)
        header = tuple(rows[start][1])
        averages = {}
        for _, row in rows[start + 1 :]:
            cells = [cell.strip() for cell in row] + [""] * (len(names) - len(row))
            others = tuple(
                c for at, c in enumerate(cells[: len(names)]) if at not in repeats + means
            )
            read = tuple(cells[at] for at in repeats if cells[at])
            averages[others, read] = tuple(cells[at] for at in means)
        return cls(
            above=above,
            header=header,
            names=tuple(names),
            repeats=tuple(repeats),
            means=tuple(means),
            averages=averages,
        )

    @property
    def wide(self) -> bool:
        """Whether a row holds several readings."""
        return bool(self.header)

    def rows(
        self, records: Iterable[Mapping[str, str]], *, said: str = ""
    ) -> tuple[list[str], list[list[str]]]:
        """Put readings into rows of several.

        Parameters
        ----------
        records : iterable of mappings of column to cell
            A reading each, those of a feature one after the other.
        said : str
            Unit and decimal sign that the repeat columns' names have to say, as in ``mm, decimal
            comma``; empty if they say it already.

        Returns
        -------
        header : list of str
        rows : list of lists of str

        Raises
        ------
        ReadingError
            If something was decided on a single reading, for which such a row has no place.
        """
        listed = [dict(record) for record in records]
        others = [
            name
            for at, name in enumerate(self.names)
            if at not in self.repeats and at not in self.means
        ]
        _refuse_decisions(listed, others)
        more = dict.fromkeys(
            name
            for record in listed
            for name, cell in record.items()
            if cell and name not in (*others, "reading", "taken_at")
        )
        every = [*others, *more]
        keys = [name for name in every if name != "taken_at"]
        lines = []
        for _, group in groupby(listed, lambda one: tuple(one.get(name, "") for name in keys)):
            mine = list(group)
            lines.append(([mine[0].get(name, "") for name in every], [o["reading"] for o in mine]))
        width = max([len(self.repeats), *(len(read) for _, read in lines)])
        names = [self.header[at] for at in self.repeats]
        while len(names) < width:
            names.append(_next(names[-1]))
        if said:
            names = [f"{_SAID.sub('', name)} [{said}]" for name in names]
        return self._placed(every, names, lines, width)

    def _placed(
        self,
        every: Sequence[str],
        repeats: Sequence[str],
        lines: Sequence[tuple[list[str], list[str]]],
        width: int,
    ) -> tuple[list[str], list[list[str]]]:
        """Put columns where they were: more repeats behind the last one, others at the end."""
        last = self.repeats[-1]
        own = [name for at, name in enumerate(self.names) if at not in self.repeats + self.means]
        header: list[str] = []
        rows: list[list[str]] = [[] for _ in lines]
        averages = [
            (self.averages or {}).get((tuple(cells[: len(own)]), tuple(read)), ())
            for cells, read in lines
        ]
        for at, title in enumerate(self.header):
            if at in self.repeats:
                n = self.repeats.index(at)
                places = range(n, width) if at == last else range(n, n + 1)
                header += [repeats[place] for place in places]
                for row, (_, read) in zip(rows, lines, strict=True):
                    row += [read[place] if place < len(read) else "" for place in places]
            elif at in self.means:
                header.append(title)
                for row, mean in zip(rows, averages, strict=True):
                    row.append(mean[self.means.index(at)] if mean else "")
            else:
                header.append(title)
                place = own.index(self.names[at])
                for row, (cells, _) in zip(rows, lines, strict=True):
                    row.append(cells[place])
        header += every[len(own) :]
        for row, (cells, _) in zip(rows, lines, strict=True):
            row += cells[len(own) :]
        return header, rows


def _refuse_decisions(records: Sequence[Mapping[str, str]], others: Sequence[str]) -> None:
    for record in records:
        if any(record.get(name) and name not in others for name in _OF_ONE):
            raise ReadingError(
                f"something is decided on the reading {record['reading']!r} of "
                f"{record.get('feature', '')!r}, and this table has several readings in a row",
                code="readings.decision-not-written",
                remedy="Save it with a row a reading first.",
            )


def _next(name: str) -> str:
    """Name the column behind a repeat column: ``M3 (mm)`` after ``M2 (mm)``."""
    return re.sub(r"\d+", lambda match: str(int(match[0]) + 1), name, count=1)
