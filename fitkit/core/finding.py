"""What a check says: how bad, a number beside its limit, where, on what basis, what to change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["MARKS", "SEVERITIES", "DoubtedReading", "Finding", "Severity", "worst_first"]

Severity = Literal["stop", "warn", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")
# The sign of each in every view, so that no meaning hangs on colour alone.
MARKS: Mapping[Severity, str] = {"stop": "■", "warn": "▲", "note": "○"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtedReading:
    """A reading on which somebody has to decide, and where it stands.

    Attributes
    ----------
    file : str
        Path of the table.
    row : int
        As in column ``row`` of the table.
    text : str
        Feature and reading as typed: ``lid 17.93 mm``.
    """

    file: str
    row: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that a check found.

    Attributes
    ----------
    check : str
        Name of the check: ``bed``, ``walls``, ``snap arms``.
    severity : {"stop", "warn", "note"}
        stop: do not print this; warn: think first; note: good to know, or "not run, because ...".
    text : str
        One plain sentence.
    value, limit : float or None
        The number found and the bound that it is compared with, both in `unit`.
    unit : str
        As shown: ``mm``, ``%``, ``N``, ``°C``.
    basis : str
        Source of the formula or limit, or ``common practice, no source``.
    body : str or None
        Body it is on.
    at : tuple of points, mm
        Where on the part, in assembly position; empty if nowhere in particular.
    remedy : str
        What to change.
    readings : tuple of DoubtedReading
        Those that it is about, if a decision on one of them ends it.
    untold : tuple of {"value", "limit"}
        Which of these two neither `text` nor `remedy` tells, so that a view adds them; most
        sentences carry their figures, rounded as a reader wants them.
    """

    check: str
    severity: Severity
    text: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    basis: str = "common practice, no source"
    body: str | None = None
    at: tuple[tuple[float, float, float], ...] = ()
    remedy: str = ""
    readings: tuple[DoubtedReading, ...] = ()
    untold: tuple[Literal["value", "limit"], ...] = ()

    def __str__(self) -> str:
        """Give one line: severity, check, text, what to do."""
        line = f"{self.severity}: {self.check}: {self.text}"
        return f"{line} {self.remedy}" if self.remedy else line


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put stops first and notes last; within each severity the order stays."""
    return tuple(sorted(findings, key=lambda item: SEVERITIES.index(item.severity)))
