"""The one family of errors: what is wrong, where, and what to do about it.

Every error that fitkit raises on purpose is a `FitkitError`. Its kinds also inherit the builtin
that a caller would catch. The command line prints ``str(error)`` and ends with status 2; no
traceback is shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "CalibrationError",
    "CheckError",
    "ExportError",
    "FaultList",
    "FitError",
    "FitkitError",
    "JournalError",
    "NoWorkshopError",
    "PartError",
    "ReadingError",
    "SheetError",
    "StatsError",
    "UnitError",
    "WorkshopError",
]


class FitkitError(Exception):
    """What is wrong, where it is, and what mends it.

    Parameters
    ----------
    what : str
        One clause, with the value as it was typed.
    where : str, optional
        File, row and column, or key; or parameter.
    remedy : str, optional
        An imperative sentence: what to type, change or do.
    """

    def __init__(self, what: str, *, where: str | None = None, remedy: str | None = None) -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        """Give the message as one line: ``where: what. remedy``."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        if not self.remedy:
            return head
        return f"{head.rstrip('.')}. {self.remedy}"

    def __reduce__(self) -> tuple[object, ...]:
        """Keep keyword parts through pickling, which worker processes need."""
        return (_rebuild, (type(self), self.what, self.where, self.remedy))


def _rebuild(
    kind: type[FitkitError], what: str, where: str | None, remedy: str | None
) -> FitkitError:
    return kind(what, where=where, remedy=remedy)


class ReadingError(FitkitError, ValueError):
    """A reading, a readings file or an instrument that cannot be used."""


class UnitError(ReadingError):
    """A length whose unit is missing, unknown or ambiguous."""


class StatsError(FitkitError, ValueError):
    """Statistics asked of data that cannot bear them."""


class CalibrationError(FitkitError, ValueError):
    """A coupon, fit or profile that cannot be used."""


class FitError(FitkitError, ValueError):
    """A wanted fit, verdict, standard fit or tolerance chain that makes no sense."""


class PartError(FitkitError, ValueError):
    """A part that cannot be built from its parameters."""


class CheckError(FitkitError, ValueError):
    """A check that was asked wrongly (a failed check is a `Finding`, never an error)."""


class ExportError(FitkitError, OSError):
    """A file that could not be written, or did not read back as it should."""


class JournalError(FitkitError, OSError):
    """A record that cannot be made, found or read."""


class SheetError(FitkitError, ValueError):
    """A part sheet that cannot be used."""


class WorkshopError(FitkitError, ValueError):
    """A workshop that is not there, or whose file cannot be used."""


class NoWorkshopError(WorkshopError):
    """A folder that belongs to no workshop."""


class FaultList(FitkitError, ValueError):
    """All faults of one file at once, a line each.

    Parameters
    ----------
    faults : iterable of FitkitError
        At least one.
    """

    def __init__(self, faults: Iterable[FitkitError]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild from the parts."""
        return (FaultList, (self.faults,))
