"""The one family of errors: what is wrong, where, and what to do about it, all kept as data.

Every error that fitkit raises on purpose is a `FitkitError`. Its parts are attributes: the place as
a path of keys, a file, a row and a column; a code that does not change when the wording does; what
is wrong; what mends it. The sentence is made when the error is shown, and no code reads it back.

The kinds say what a caller can do:

- `InputError`: mend what was typed, or the file; also a `ValueError`.
- `NotFoundError`: name another; also a `LookupError`.
- `StateError`: what is there already does not allow this; choose another place, or change what is
  there; also a `RuntimeError`. `WriteError` is the kind of it where a disk refused: free some
  space, or write elsewhere.
- `UnavailableError`: install what is missing, or do without it; also a `RuntimeError`.

None is an `OSError`, so that ``except OSError`` catches troubles of the disk and nothing else.
The other names, one a room, stay for those who catch by room.

The command line prints ``str(error)`` and ends with status 2; no traceback is shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from os import PathLike

__all__ = [
    "CalibrationError",
    "CheckError",
    "ExportError",
    "FaultList",
    "FitError",
    "FitkitError",
    "InputError",
    "JournalError",
    "NoRecordError",
    "NoWorkshopError",
    "NotFoundError",
    "PartError",
    "ReadingError",
    "RecordWriteError",
    "SheetError",
    "StateError",
    "StatsError",
    "UnavailableError",
    "UnitError",
    "WorkshopError",
    "WriteError",
    "path_of",
]

# Faults of one file that are shown; a table in the wrong unit has one in every row.
MOST_SHOWN = 20
# Letters of one fault that are shown.
MOST_LETTERS = 1_000


class FitkitError(Exception):
    """What is wrong, where it is, and what mends it.

    Parameters
    ----------
    what : str
        One clause, with the value as it was typed.
    at : tuple of str and int
        Place as a path of keys, indices from 0: ``("ports", 0, "above")``.
    file : path, optional
        File that it is in, as it should be named to the reader.
    row : int, optional
        Row of a table as a person counts, from 1.
    column : str, optional
        Column of a table.
    code : str
        Which error this is, for programs and tests: ``unit.missing``. It stays when the wording
        changes.
    remedy : str, optional
        An imperative sentence: what to type, change or do.
    where : str, optional
        Place in words, only where there is no better one: the name of a part, a fit, a printer.

    Attributes
    ----------
    about : str
        What was given as `where`; empty if nothing was.

    Examples
    --------
    >>> error = FitkitError("'3/16' has no unit", file="a.csv", row=14, column="reading")
    >>> str(error)
    "a.csv, row 14, column reading: '3/16' has no unit"
    >>> FitkitError("it is in the floor", where="board case", at=("ports", 0, "above")).where
    'board case, ports 1.above'
    """

    # Whether a long text is cut; a list of faults bounds each of them.
    _bounded = True

    def __init__(
        self,
        what: str,
        *,
        at: tuple[str | int, ...] = (),
        file: str | PathLike[str] | None = None,
        row: int | None = None,
        column: str | None = None,
        code: str = "",
        remedy: str | None = None,
        where: str | None = None,
    ) -> None:
        if self._bounded:
            what, remedy = _ends(what), None if remedy is None else _ends(remedy)
        super().__init__(what)
        self.what = what
        self.at = tuple(at)
        self.file = None if file is None else str(file)
        self.row = row
        self.column = column
        self.code = code
        self.remedy = remedy
        self.about = where or ""

    @property
    def path(self) -> str:
        """The path of keys as it is typed in a panel: ``ports.0.above``; empty if there is none."""
        return ".".join(map(str, self.at))

    @property
    def where(self) -> str | None:
        """The whole place in words; None if the error has none."""
        # People count from one.
        path = "".join(f" {k + 1}" if isinstance(k, int) else f".{k}" for k in self.at).lstrip(".")
        key = path if self.about or not self.at else f"key {path}"
        row = "" if self.row is None else f"row {self.row}"
        column = "" if self.column is None else f"column {self.column}"
        return ", ".join(filter(None, (self.file, self.about, row, column, key))) or None

    @property
    def advice(self) -> str:
        """What is wrong and what mends it, without the place; for a view that shows the place."""
        return f"{self.what.rstrip('.')}. {self.remedy}" if self.remedy else self.what

    def parts(self) -> dict[str, Any]:
        """Give all but `what` by keyword, as the constructor takes them."""
        return {
            "at": self.at,
            "file": self.file,
            "row": self.row,
            "column": self.column,
            "code": self.code,
            "remedy": self.remedy,
            "where": self.about or None,
        }

    def placed(self, kind: type[FitkitError] | None = None, **parts: Any) -> FitkitError:
        """Make the same error at another place; raise it ``from`` this one.

        Parameters
        ----------
        kind : type of FitkitError, optional
            Class of the new error; that of this one if not given.
        **parts
            As the constructor takes them; those not given stay.

        Returns
        -------
        FitkitError
            Of `kind`, with the code, the words and the remedy of this one.
        """
        own = self.parts() if kind is None else FitkitError.parts(self)
        return (kind or type(self))(self.what, **own | parts)

    def __str__(self) -> str:
        """Give the message as one line: ``where: what. remedy``."""
        where = self.where
        return f"{where}: {self.advice}" if where else self.advice

    def __reduce__(self) -> tuple[object, ...]:
        """Keep all parts through pickling, which worker processes need."""
        return (_rebuild, (type(self), self.what, self.parts()))


def _ends(text: str) -> str:
    """Cut the middle out of a text that quotes a whole file; a person reads its two ends."""
    if len(text) <= MOST_LETTERS:
        return text
    left = len(text) - MOST_LETTERS
    half = MOST_LETTERS // 2
    return f"{text[:half]} [... {left} letters left out ...] {text[-half:]}"


def path_of(text: str) -> tuple[str | int, ...]:
    """Give a typed path as keys and indices.

    Examples
    --------
    >>> path_of("ports.0.above")
    ('ports', 0, 'above')
    """
    return tuple(int(key) if key.isdigit() else key for key in text.split(".") if key)


def _rebuild(kind: type[FitkitError], what: str, parts: dict[str, Any]) -> FitkitError:
    return kind(what, **parts)


# --- by what a caller can do ----------------------------------------------------------------------


class InputError(FitkitError, ValueError):
    """Something typed, or a file given, that cannot be used: mend it and try again."""


class NotFoundError(FitkitError, LookupError):
    """Something named that is not there: name another."""


class StateError(FitkitError, RuntimeError):
    """What is there does not allow this now: change that, or choose another place."""


class WriteError(StateError):
    """A file that could not be written, or did not read back as it should: try elsewhere."""


class UnavailableError(FitkitError, RuntimeError):
    """Something that is not installed here: install it, or do without."""


# --- by room, for those who catch by room ---------------------------------------------------------


class ReadingError(InputError):
    """A reading, a readings file or an instrument that cannot be used."""


class UnitError(ReadingError):
    """A length whose unit is missing, unknown or ambiguous."""


class StatsError(InputError):
    """Statistics asked of data that cannot bear them."""


class CalibrationError(InputError):
    """A coupon, fit or profile that cannot be used."""


class FitError(InputError):
    """A wanted fit, verdict, standard fit or tolerance chain that makes no sense."""


class PartError(InputError):
    """A part that cannot be built from its parameters."""


class CheckError(InputError):
    """A check that was asked wrongly (a failed check is a `Finding`, never an error)."""


class ExportError(WriteError):
    """A file that could not be written, or did not read back as it should."""


class JournalError(InputError):
    """A record that cannot be made, found or read."""


class NoRecordError(JournalError, NotFoundError):
    """A record, or a journal, that is not there."""


class RecordWriteError(JournalError, WriteError):
    """A record that could not be written."""


class SheetError(InputError):
    """A part sheet that cannot be used."""


class WorkshopError(InputError):
    """A workshop that is not there, or whose file cannot be used."""


class NoWorkshopError(WorkshopError, NotFoundError):
    """A folder that belongs to no workshop."""


class FaultList(InputError):
    """All faults of one file at once, a line each; the first 20 are shown, and how many more.

    Parameters
    ----------
    faults : iterable of FitkitError
        At least one.
    """

    _bounded = False

    def __init__(self, faults: Iterable[FitkitError]) -> None:
        self.faults = tuple(faults)
        shown = [str(fault) for fault in self.faults[:MOST_SHOWN]]
        more = len(self.faults) - len(shown)
        if more:
            shown.append(f"There {'is 1 more' if more == 1 else f'are {more} more'}.")
        super().__init__("\n".join(shown))

    def __iter__(self) -> Iterator[FitkitError]:
        """Go through the faults in order."""
        return iter(self.faults)

    def __len__(self) -> int:
        """Count the faults."""
        return len(self.faults)

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of the faults, in order."""
        return tuple(fault.code for fault in self.faults)

    def placed(self, kind: type[FitkitError] | None = None, **parts: Any) -> Self:
        """Make the same faults at another place.

        Parameters
        ----------
        kind, **parts
            As `FitkitError.placed` takes them.

        Returns
        -------
        FaultList
        """
        return type(self)(fault.placed(kind, **parts) for fault in self.faults)

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild from the parts."""
        return (FaultList, (self.faults,))
