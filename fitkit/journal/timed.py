"""How long prints took: a time as typed, and the timed prints that teach the next one's time."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError

if TYPE_CHECKING:
    from fitkit.checks.print_time import TimedPrint
    from fitkit.journal.store import Journal

__all__ = ["hours_of", "timed_prints"]

_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")
_WORDS = re.compile(
    r"(?:(\d+(?:[.,]\d+)?)\s*h(?:ours?)?)?\s*(?:(\d+(?:[.,]\d+)?)\s*min(?:utes?)?)?", re.IGNORECASE
)
_MOST_H = 400.0  # longer is a slip of the pen


def hours_of(typed: str) -> float:
    """Read how long a print took.

    Parameters
    ----------
    typed : str
        ``1:35`` (hours and minutes), ``1:35:20``, ``95 min``, ``1.5 h`` or ``1 h 35 min``.

    Returns
    -------
    float
        Hours.

    Raises
    ------
    JournalError
        If it is none of these, zero, or longer than any print.

    Examples
    --------
    >>> round(hours_of("1:35"), 4), hours_of("90 min"), hours_of("1 h 30 min")
    (1.5833, 1.5, 1.5)
    """
    text = typed.strip()
    hours = 0.0
    if clock := _CLOCK.fullmatch(text):
        h, minutes, seconds = (float(part or 0) for part in clock.groups())
        hours = h + minutes / 60 + seconds / 3600
    elif text and (words := _WORDS.fullmatch(text)):
        h, minutes = (float((part or "0").replace(",", ".")) for part in words.groups())
        hours = h + minutes / 60
    if not 0 < hours <= _MOST_H:
        raise JournalError(
            f"{typed!r} is not the time that a print took",
            where="--took",
            code="journal.time",
            remedy="Write hours and minutes, such as '1:35', '95 min' or '1 h 35 min'.",
        )
    return hours


def timed_prints(journal: Journal, *, printer: str) -> tuple[TimedPrint, ...]:
    """Find the prints of one printer whose moves were recorded and whose time was written down.

    Parameters
    ----------
    journal : Journal
    printer : str
        As the records name it.

    Returns
    -------
    tuple of TimedPrint
        Oldest first; the last time written down for a print counts.
    """
    times = {
        trial.of: trial.took_h
        for trial in journal.records("trial")
        if trial.took_h is not None and trial.of and not trial.withdrawn
    }
    if not times:
        return ()
    from fitkit.checks.moves import Moves
    from fitkit.checks.print_time import TimedPrint

    found = []
    for made in journal.records("print"):
        if made.code in times and made.printer == printer:
            moves = Moves.read(made.cost.get("moves") or {})
            if moves is not None:
                found.append(TimedPrint(moves, times[made.code]))
    return tuple(found)
