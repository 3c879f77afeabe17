"""How a readings file is laid out, so that saving it leaves it the kind of file that it was.

Lines above the header stay. A table with the repeats of a feature in one row keeps them there: it
gains repeat columns where more were read, and averages of rows that changed are emptied. A table
with features side by side keeps them so: it gains lines where more were read. In both, what is
decided on one reading goes into a column of its own (see `fitkit.readings.long_form`). What such a
table has no room for is refused rather than lost.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.core.tables import read_table
from fitkit.readings.cells import header_of, plain_cell, repeats_and_means, said_of, side_by_side
from fitkit.readings.form import named_columns, own_name
from fitkit.readings.long_form import DECIDED, decision_columns, decision_name
from fitkit.readings.schema import COMPUTED

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from os import PathLike

__all__ = ["Layout", "layout_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A table with a row a reading: nothing but the lines above its header is to be kept.

    Attributes
    ----------
    above : tuple of rows
    """

    above: tuple[tuple[str, ...], ...] = ()

    @property
    def several(self) -> bool:
        """Whether a row holds several readings, so that `rows` says how they are written."""
        return False

    def rows(
        self, records: Iterable[Mapping[str, str]], *, said: str = ""
    ) -> tuple[list[str], list[list[str]]]:
        """Put readings into rows of several.

        Parameters
        ----------
        records : iterable of mappings of column to cell
            A reading each, those of a feature one after the other.
        said : str
            Unit and decimal sign that the columns' names have to say, as in ``mm, decimal comma``;
            empty if they say it already.

        Returns
        -------
        header : list of str
        rows : list of lists of str

        Raises
        ------
        ReadingError
            If a reading has something for which such a table has no place.
        """
        raise NotImplementedError


def layout_of(path: str | PathLike[str]) -> Layout:
    """Take the layout of a file that has been read as a table of readings.

    Parameters
    ----------
    path : path

    Returns
    -------
    Layout

    Raises
    ------
    ReadingError
        If it cannot be read.
    """
    rows = read_table(path, header="feature").rows
    if not rows:
        return Layout()
    start, names = header_of(rows)
    if "feature" not in names:
        return _SideBySide.of(rows) if side_by_side(rows) else Layout()
    above = tuple(tuple(row) for _, row in rows[:start])
    if "reading" in names:
        return Layout(above=above)
    return _InRows.of(rows[start:], names, above)


def _refuse_refused(records: Iterable[Mapping[str, str]]) -> None:
    for record in records:
        if record.get("refused"):
            _refuse(record, f"why the reading {record['reading']!r} could not be taken")


def _refuse(record: Mapping[str, str], what: str) -> None:
    raise ReadingError(
        f"there is no place for {what} of {record.get('feature', '')!r} in a table with several "
        "readings in a row",
        code="readings.no-place",
        remedy="Save it with a row a reading first: fitkit readings FILE --to NEW.csv.",
    )


# What a repeat column's name says in brackets.
_SAID = re.compile(r" *[(\[].*")


@dataclass(frozen=True, slots=True, kw_only=True)
class _InRows(Layout):
    """A table with the repeats of a feature in one row.

    Attributes
    ----------
    header : tuple of str
        As typed.
    names : tuple of str
        What each of its columns is taken as.
    repeats, means : tuple of int
        Places of the columns with readings, and with averages.
    decided : mapping of place to (what, place)
        As `decision_columns` gives it.
    averages : mapping of a row's other cells and readings to its averages
    """

    header: tuple[str, ...]
    names: tuple[str, ...]
    repeats: tuple[int, ...]
    means: tuple[int, ...]
    decided: Mapping[int, tuple[str, int]]
    averages: Mapping[tuple[tuple[str, ...], tuple[str, ...]], tuple[str, ...]]

    @classmethod
    def of(
        cls,
        rows: Sequence[tuple[int, list[str]]],
        names: Sequence[str],
        above: tuple[tuple[str, ...], ...],
    ) -> _InRows:
        """Take the layout from a table's rows, the header first."""
        names = named_columns(names, COMPUTED)
        repeats, means = repeats_and_means(names)
        decided = decision_columns(names, {at: names[at] for at in repeats})
        others = [at for at in range(len(names)) if at not in (*repeats, *means, *decided)]
        averages = {}
        for _, row in rows[1:]:
            cells = [plain_cell(cell) for cell in row] + [""] * (len(names) - len(row))
            read = tuple(cells[at] for at in repeats if cells[at])
            averages[tuple(cells[at] for at in others), read] = tuple(cells[at] for at in means)
        return cls(
            above=above,
            header=tuple(rows[0][1]),
            names=tuple(names),
            repeats=tuple(repeats),
            means=tuple(means),
            decided=decided,
            averages=averages,
        )

    @property
    def several(self) -> bool:
        return True

    def rows(
        self, records: Iterable[Mapping[str, str]], *, said: str = ""
    ) -> tuple[list[str], list[list[str]]]:
        listed = [dict(record) for record in records]
        _refuse_refused(listed)
        own = [name for at, name in enumerate(self.names) if at in self._others]
        apart = [what for what in DECIDED if what not in own]
        more = dict.fromkeys(
            name
            for record in listed
            for name, cell in record.items()
            if cell and name not in (*own, *apart, "reading", "taken_at")
        )
        every = [*own, *more]
        keys = [name for name in every if name != "taken_at"]
        lines = []
        for _, group in groupby(listed, lambda one: tuple(one.get(name, "") for name in keys)):
            mine = list(group)
            lines.append(
                _Line(
                    cells=[mine[0].get(name, "") for name in every],
                    read=[one["reading"] for one in mine],
                    said=[{what: one.get(what, "") for what in apart} for one in mine],
                )
            )
        width = max([len(self.repeats), *(len(line.read) for line in lines)])
        typed = [self.header[at] for at in self.repeats]
        taken = [self.names[at] for at in self.repeats]
        while len(typed) < width:
            typed.append(_next(typed[-1]))
            taken.append(_next(taken[-1]))
        if said:
            typed = [f"{_SAID.sub('', name)} [{said}]" for name in typed]
        header, rows = self._placed(own, typed, lines, width)
        header += [own_name(name) for name in every[len(own) :]]
        for row, line in zip(rows, lines, strict=True):
            row += line.cells[len(own) :]
        there = set(self.decided.values())
        for n, name in enumerate(taken):
            place = self.repeats[n] if n < len(self.repeats) else -1
            for what in apart:
                cells = [line.decided(what, n) for line in lines]
                if any(cells) and (what, place) not in there:
                    header.append(decision_name(what, name))
                    for row, cell in zip(rows, cells, strict=True):
                        row.append(cell)
        return header, rows

    @property
    def _others(self) -> list[int]:
        apart = (*self.repeats, *self.means, *self.decided)
        return [at for at in range(len(self.names)) if at not in apart]

    def _placed(
        self, own: Sequence[str], repeats: Sequence[str], lines: Sequence[_Line], width: int
    ) -> tuple[list[str], list[list[str]]]:
        """Put columns where they were, more repeats behind the last one."""
        last = self.repeats[-1]
        header: list[str] = []
        rows: list[list[str]] = [[] for _ in lines]
        averages = [
            self.averages.get((tuple(line.cells[: len(own)]), tuple(line.read)), ())
            for line in lines
        ]
        for at, title in enumerate(self.header):
            if at in self.repeats:
                n = self.repeats.index(at)
                places = range(n, width) if at == last else range(n, n + 1)
                header += [repeats[place] for place in places]
                for row, line in zip(rows, lines, strict=True):
                    row += [line.read[place] if place < len(line.read) else "" for place in places]
            elif at in self.means:
                header.append(title)
                for row, mean in zip(rows, averages, strict=True):
                    row.append(mean[self.means.index(at)] if mean else "")
            elif at in self.decided:
                what, of = self.decided[at]
                header.append(title)
                for row, line in zip(rows, lines, strict=True):
                    row.append(line.decided(what, self.repeats.index(of)))
            elif at in self._others:
                header.append(title)
                place = own.index(self.names[at])
                for row, line in zip(rows, lines, strict=True):
                    row.append(line.cells[place])
        return header, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A row of several readings: its other cells, its readings, and what is decided on each."""

    cells: list[str]
    read: list[str]
    said: list[dict[str, str]]

    def decided(self, what: str, place: int) -> str:
        """Give what is decided on one of the readings; empty if there is none."""
        return self.said[place].get(what, "") if place < len(self.said) else ""


def _next(name: str) -> str:
    """Name the column behind a repeat column: ``M3 (mm)`` after ``M2 (mm)``."""
    return re.sub(r"\d+", lambda match: str(int(match[0]) + 1), name, count=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class _SideBySide(Layout):
    """A table with features side by side, and their repeats below one another.

    Attributes
    ----------
    header : tuple of str
        As typed.
    columns : mapping of (feature, unit) to place
    decided : mapping of place to (what, place)
        As `decision_columns` gives it.
    labels : tuple of str
        What numbers the lines.
    filled : mapping of place to lines that hold a reading
    """

    header: tuple[str, ...]
    columns: Mapping[tuple[str, str], int]
    decided: Mapping[int, tuple[str, int]]
    labels: tuple[str, ...]
    filled: Mapping[int, tuple[int, ...]]

    @classmethod
    def of(cls, rows: Sequence[tuple[int, list[str]]]) -> _SideBySide:
        """Take the layout from a table's rows, the header first."""
        header = tuple(cell.strip() for cell in rows[0][1])
        plain = [plain_cell(cell) for cell in header]
        heads = {at: said_of(cell)[:2] for at, cell in enumerate(plain) if at}
        decided = decision_columns(plain, {at: name for at, (name, _) in heads.items()})
        features = {at: head for at, head in heads.items() if at not in decided}
        return cls(
            header=header,
            columns={head: at for at, head in reversed(features.items())},
            decided=decided,
            labels=tuple(row[0].strip() for _, row in rows[1:]),
            filled={
                at: tuple(
                    n for n, (_, row) in enumerate(rows[1:]) if at < len(row) and row[at].strip()
                )
                for at in features
            },
        )

    @property
    def several(self) -> bool:
        return True

    def rows(
        self, records: Iterable[Mapping[str, str]], *, said: str = ""
    ) -> tuple[list[str], list[list[str]]]:
        listed = [dict(record) for record in records]
        _refuse_refused(listed)
        for record in listed:
            _refuse_what_is_of_one(record)
        found: dict[tuple[str, str], list[dict[str, str]]] = {
            head: [] for head in sorted(self.columns, key=self.columns.__getitem__)
        }
        for record in listed:
            found.setdefault((record["feature"], record.get("unit", "")), []).append(record)
        lines_of = {
            head: self._lines(self.columns.get(head), len(mine)) for head, mine in found.items()
        }
        deepest = max([len(self.labels), *(line[-1] + 1 for line in lines_of.values() if line)])
        columns = [(0.0, self.header[0], _numbered(self.labels, deepest))]
        for head, mine in found.items():
            place, lines = self.columns.get(head), lines_of[head]
            if place is not None and self.filled[place] and not mine:
                continue  # the feature was taken away
            at = len(self.header) if place is None else place
            read = _put([one["reading"] for one in mine], lines, deepest)
            columns.append((at, self._title(head, place, said), read))
            for what in DECIDED:
                cells = [one.get(what, "") for one in mine]
                old = next((n for n, of in self.decided.items() if of == (what, place)), None)
                if old is not None:
                    columns.append((old, self.header[old], _put(cells, lines, deepest)))
                elif any(cells):  # right behind its readings
                    name = decision_name(what, head[0])
                    columns.append((at + 0.5, name, _put(cells, lines, deepest)))
        columns.sort(key=lambda column: column[0])
        rows = zip(*(cells for _, _, cells in columns), strict=True)
        return [title for _, title, _ in columns], [list(row) for row in rows]

    def _lines(self, place: int | None, count: int) -> list[int]:
        """Say on which lines a column's readings stand: as they did, unless there are fewer."""
        before = self.filled.get(place, ()) if place is not None else ()
        if len(before) > count:
            return list(range(count))
        behind = before[-1] + 1 if before else 0
        return [*before, *range(behind, behind + count - len(before))]

    def _title(self, head: tuple[str, str], place: int | None, said: str) -> str:
        name, unit = head
        if place is not None and not said:
            return self.header[place]
        told = ", ".join(filter(None, (unit, *(w for w in said.split(", ") if "decimal" in w))))
        if not unit and said:
            told = said
        return f"{name} [{told}]" if told else name


def _refuse_what_is_of_one(record: Mapping[str, str]) -> None:
    """Refuse what a column of a feature cannot say: an item, jaws, an instrument, a note."""
    plain = {"feature", "reading", "unit", "taken_at", *DECIDED}
    for name, cell in record.items():
        if cell and name not in plain and (name, cell) != ("mode", "outside"):
            _refuse(record, f"{name} {cell!r}")


def _numbered(labels: Sequence[str], count: int) -> list[str]:
    """Number so many lines, as they were numbered so far."""
    numbered = list(labels)
    while len(numbered) < count:
        numbered.append(_next(numbered[-1]))
    return numbered


def _put(cells: Sequence[str], lines: Sequence[int], count: int) -> list[str]:
    column = [""] * count
    for cell, line in zip(cells, lines, strict=True):
        column[line] = cell
    return column
