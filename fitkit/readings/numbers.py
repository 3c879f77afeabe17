"""Numbers and units as people and spreadsheets write them, brought to what the parser takes.

A mark that parts thousands is taken away where it cannot be anything else: an apostrophe, a blank,
or the sign that is not the decimal one, before groups of three digits each, the last of them before
a decimal sign. ``1,234`` alone stays as it is: it may be either. Units may have capitals and a full
stop. Source of the marks: common practice, no source.
"""

from __future__ import annotations

import re

__all__ = ["celsius", "plain_number", "plain_suffix", "plain_unit", "unit_in_name"]

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
    >>> plain_number("Ø 12.34 mm")
    '12.34 mm'
    """
    text = text.lstrip("øØ⌀ ")  # the sign for a diameter
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


_SUFFIX = re.compile(r"(?P<number>.*\d)\s*(?P<unit>[A-Za-z]{2,})\.?", re.DOTALL)


def plain_suffix(text: str) -> str:
    """Give a reading with the unit behind it in the spelling that the parser takes.

    Examples
    --------
    >>> plain_suffix("12.34 MM"), plain_suffix("1.5 Inches"), plain_suffix("5'")
    ('12.34 mm', '1.5 in', "5'")
    """
    match = _SUFFIX.fullmatch(text)
    if not match or (unit := plain_unit(match["unit"])) == match["unit"]:
        return text
    return f"{match['number']} {unit}"


# Units that a name may say. A lone m or ft behind a name may mean something else.
_IN_NAME = re.compile(
    r".*?[\[(]\s*(?P<unit>mm|cm|in\.?|inch|inches|thou|mil|\"|″|millimet(?:re|er)s?)\s*[\])]\s*",
    re.IGNORECASE | re.DOTALL,
)


def unit_in_name(name: str) -> str:
    """Give the unit that a feature's name says in brackets; empty if it says none.

    Examples
    --------
    >>> unit_in_name("length (in)"), unit_in_name("width [mm]"), unit_in_name("hole (left)")
    ('in', 'mm', '')
    """
    if not name or name[-1] not in ")] ":
        return ""
    match = _IN_NAME.fullmatch(name)
    if not match:
        return ""
    unit = match["unit"].lower()
    return "in" if unit in ('"', "″") else plain_unit(unit)


_CELSIUS = re.compile(r"(?P<number>[-+]?\d+(?:[.,]\d+)?)\s*(?P<unit>(?:°|deg)?\s*[CF]|K)")


def celsius(text: str) -> float | None:
    """Read a temperature, in °C.

    Parameters
    ----------
    text : str
        A number with °C, °F or K.

    Returns
    -------
    float or None
        None if it is something else.

    Examples
    --------
    >>> celsius("45 °C"), celsius("45 C"), celsius("212 °F"), celsius("45")
    (45.0, 45.0, 100.0, None)
    """
    match = _CELSIUS.fullmatch(text.strip())
    if not match:
        return None
    number = float(match["number"].replace(",", "."))
    unit = match["unit"][-1]
    return {"C": number, "F": (number - 32) / 1.8, "K": number - 273.15}[unit]
