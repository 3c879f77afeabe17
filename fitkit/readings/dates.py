"""Dates in the forms that people and spreadsheets write them.

ISO 8601; day, month and year with points; day and month with slashes where one of them cannot be a
month. A date that could be either of two days is not guessed.
"""

from __future__ import annotations

import datetime as dt
import re

__all__ = ["day_of"]

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T].*)?")
_POINTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?:[ ,T].*)?")
_SLASHES = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})(?:[ ,T].*)?")


def day_of(text: str) -> dt.date | None:
    """Find the day that a text names.

    Parameters
    ----------
    text : str

    Returns
    -------
    date or None
        None if it is not a date, is an impossible one, or could be either of two days.

    Examples
    --------
    >>> day_of("04.03.2026 05:06"), day_of("2026-13-45"), day_of("3/4/2026"), day_of("3/16/2026")
    (datetime.date(2026, 3, 4), None, None, datetime.date(2026, 3, 16))
    """
    text = text.strip()
    if match := _ISO.fullmatch(text):
        year, month, day = map(int, match.groups())
    elif match := _POINTS.fullmatch(text):
        day, month, year = map(int, match.groups())
    elif match := _SLASHES.fullmatch(text):
        first, second, year = map(int, match.groups())
        if first <= 12 and second <= 12 and first != second:
            return None
        month, day = (first, second) if second > 12 else (second, first)
    else:
        return None
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None
