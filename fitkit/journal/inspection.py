"""The inspection sheet of a print: a table to fill in at the bench, and what was typed into it.

Each size has its drawn and its expected value, which jaws to use, and blanks for two readings, for
limits where somebody gives a tolerance, and for a verdict. Filled in, it becomes the record of how
the print fitted. The uncertainty of a reading is that of calipers on plastic, or the readings' own
spread where that is larger.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitkit.core.errors import FaultList, JournalError, UnitError
from fitkit.core.expanded import expanded
from fitkit.core.tables import harmless, read_table, table_text
from fitkit.fits.conformity import Conformity, conformity

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.entries import FitEntry
    from fitkit.journal.records import PrintRecord

__all__ = ["Inspected", "Inspection", "inspection_text", "jaws_text", "read_inspection"]

# Standard uncertainty of a reading with calipers on printed plastic. Common practice, no source.
_CALIPERS_MM = 0.02
_HEAD = (
    "size",
    "mark",
    "jaws",
    "drawn [mm]",
    "expected [mm]",
    "U95 [mm]",
    "lowest [mm]",
    "highest [mm]",
    "read 1 [mm]",
    "read 2 [mm]",
    "verdict",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspected:
    """A size that was read.

    Attributes
    ----------
    name : str
    value_mm, u_mm : float, mm
        Mean of the readings and its standard uncertainty.
    df : float
        Degrees of freedom of that uncertainty.
    expected_mm, U95_mm : float, mm
        What the print was expected to have.
    conformity : str or None
        By ISO 14253-1 where limits were given.
    """

    name: str
    value_mm: float
    u_mm: float
    df: float = math.inf
    expected_mm: float
    U95_mm: float
    conformity: Conformity | None = None

    @property
    def U95_read_mm(self) -> float:
        """Half width of the interval of the mean for 95 % coverage, mm."""
        return float(expanded(self.u_mm, self.df)[0])

    @property
    def as_expected(self) -> bool:
        """Whether reading and expectation agree within both their doubts."""
        return abs(self.value_mm - self.expected_mm) <= math.hypot(self.U95_mm, self.U95_read_mm)

    def told(self) -> str:
        """Say what came of it, in a line."""
        from fitkit.core.format import with_doubt

        agrees = "as expected" if self.as_expected else "NOT as expected"
        text = (
            f"{self.name}: {with_doubt(self.value_mm, self.U95_read_mm, 'mm')}, {agrees} "
            f"({with_doubt(self.expected_mm, self.U95_mm, 'mm')})"
        )
        return f"{text}; {self.conformity} (ISO 14253-1)" if self.conformity else text


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """A filled sheet: sizes that were read, and verdicts by name."""

    sizes: tuple[Inspected, ...]
    verdicts: dict[str, str]


def inspection_text(made: PrintRecord) -> str:
    """Write the empty inspection sheet of a print, as CSV.

    Sizes that take a gap come first, in the order of the record.
    """
    rows = [
        [
            harmless(fit.name),
            harmless(fit.mark),
            jaws_text(fit),
            f"{fit.drawn_mm:.3f}",
            f"{fit.expected_mm:.3f}",
            f"{fit.U95_mm:.3f}",
            *[""] * 5,
        ]
        for fit in sorted(made.fits, key=lambda one: one.sense == 0)
    ]
    return table_text([_HEAD, *rows])


def jaws_text(fit: FitEntry) -> str:
    """Say which jaws read a size."""
    from fitkit.core.sizes import CENTRES, HEIGHT, kind_of

    kind = kind_of(fit.kind)
    if kind is CENTRES:
        return "inside, far edges less the holes"
    return "depth rod or outside" if kind is HEIGHT else kind.jaws


def read_inspection(path: str | Path, made: PrintRecord) -> Inspection:
    """Read a filled inspection sheet.

    Parameters
    ----------
    path : path
        CSV or workbook with the columns of `inspection_text`; more columns of readings may be
        added, named ``read 3`` and so on.
    made : PrintRecord
        The print that was read.

    Returns
    -------
    Inspection

    Raises
    ------
    JournalError
        If it is not such a table, or nothing was filled in.
    FaultList
        All cells at fault at once.
    """
    (_, head), *rows = read_table(path, error=JournalError, header="size").rows or [(1, [])]
    names = [cell.partition("[")[0].strip().casefold() for cell in head]
    if "size" not in names or not any(name.startswith("read") for name in names):
        raise JournalError(
            "is not an inspection sheet: it lacks the columns 'size' and 'read 1'",
            file=path,
            code="journal.not-inspection",
            remedy="Fill in the file that 'fitkit inspection CODE FILE.csv' writes.",
        )
    known = {fit.name: fit for fit in made.fits}
    faults: list[JournalError] = []
    sizes: list[Inspected] = []
    verdicts: dict[str, str] = {}

    def fault(row: int, column: str, what: str, code: str, remedy: str) -> None:
        faults.append(
            JournalError(what, file=path, row=row, column=column, code=code, remedy=remedy)
        )

    for number, cells in rows:
        of = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        name = of.get("size", "").removeprefix("'")
        if not name:
            continue
        if name not in known:
            fault(
                number,
                "size",
                f"{made.title!r} has no size {name!r}",
                "journal.no-such-fit",
                f"It has: {', '.join(known) or 'none'}.",
            )
            continue
        typed: dict[str, list[float]] = {"lowest": [], "highest": [], "read": []}
        for column, cell in of.items():
            into = "read" if column.startswith("read") else column
            if not cell or into not in typed:
                continue
            try:
                typed[into].append(_length(cell))
            except UnitError as error:
                fault(number, column, error.what, "journal.not-a-length", "Write 12.34 or 12,34.")
        if of.get("verdict"):
            verdicts[name] = of["verdict"]
        if typed["read"] and not faults:
            sizes.append(_inspected(known[name], typed))
    if faults:
        raise FaultList(faults)
    if not sizes and not verdicts:
        raise JournalError(
            "has no reading and no verdict",
            file=path,
            code="journal.nothing-judged",
            remedy="Fill in a column 'read 1' or 'verdict'.",
        )
    return Inspection(sizes=tuple(sizes), verdicts=verdicts)


def _length(cell: str) -> float:
    from fitkit.core.units import parse_length

    return parse_length(cell, "mm", "," if "," in cell and "." not in cell else None).value_mm


def _inspected(fit: FitEntry, typed: dict[str, list[float]]) -> Inspected:
    reads = typed["read"]
    mean = math.fsum(reads) / len(reads)
    spread = math.sqrt(math.fsum((one - mean) ** 2 for one in reads) / max(len(reads) - 1, 1))
    u = spread / math.sqrt(len(reads))
    # No mean is better than the calipers, however near to each other the readings are.
    u, df = (_CALIPERS_MM, math.inf) if u <= _CALIPERS_MM else (u, len(reads) - 1.0)
    read = Inspected(
        name=fit.name,
        value_mm=mean,
        u_mm=u,
        df=df,
        expected_mm=fit.expected_mm,
        U95_mm=fit.U95_mm,
    )
    if not (typed["lowest"] and typed["highest"]):
        return read
    found = conformity(mean, read.U95_read_mm, typed["lowest"][0], typed["highest"][0])
    return replace(read, conformity=found)
