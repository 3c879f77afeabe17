"""Numbers and units as people and spreadsheets write them, brought to what the parser takes.

A mark that parts thousands is taken away where it cannot be anything else: an apostrophe, a blank,
or the sign that is not the decimal one, before groups of three digits each, the last of them before
a decimal sign. ``1,234`` alone stays as it is: it may be either. Units may have capitals and a full
stop. Source of the marks: common practice, no source.
"""

from __future__ import annotations

import re

__all__ = ["plain_number", "plain_unit"]

_BLANKS = " \u00a0\u2009\u202f"
_GROUPS = re.compile(
    rf"(?P<sign>[-+−]?)(?P<whole>\d{{1,3}}(?P<mark>[’'{_BLANKS}.,])\d{{3}}(?:(?P=mark)\d{{3}})*)"
    r"(?P<rest>(?:(?P<point>[.,])\d+)?(?!\d)(?:\s*[^\d/].*)?)",
    re.DOTALL,
)
_BROKEN = re.compile(r"[-+−]?\d+[’']\d+(?:[.,]\d+)?\s*(?:mm|cm|m)?")
_UNITS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm", "cm": "cm",
    "in": "in", "inch": "in", "inches": "in",
}  # fmt: skip


def plain_number(text: str) -> str | None:
    """Take the marks between thousands out of a reading.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str or None
        None if a mark stands where it parts no thousands, so that the number cannot be told.

    Examples
    --------
    >>> plain_number("1’234.5"), plain_number("1.234,5 mm"), plain_number("1 234,5")
    ('1234.5', '1234,5 mm', '1234,5')
    >>> plain_number("1,234"), plain_number("12’34"), plain_number("5' 3/4 in")
    ('1,234', None, "5' 3/4 in")
    """
    match = _GROUPS.fullmatch(text)
    if match:
        mark, point = match["mark"], match["point"]
        if mark in "’'" or (point and mark != point):
            digits = match["whole"].replace(mark, "")
            return f"{match['sign']}{digits}{match['rest']}"
    return None if _BROKEN.fullmatch(text) else text


def plain_unit(text: str) -> str:
    """Give a unit in the spelling that the parser takes; one that it does not know stays as typed.

    Examples
    --------
    >>> plain_unit("MM"), plain_unit("in."), plain_unit("Millimetres"), plain_unit("Mm")
    ('mm', 'in', 'mm', 'Mm')
    """
    name = text.strip().removesuffix(".")
    if name == "Mm":  # a million metres
        return text
    return _UNITS.get(name.casefold(), text)
