"""Lengths and angles as people type them, on the way in and out; mm and degrees inside.

One pint registry serves the whole project, and pint quantities are taken everywhere; both come with
their first use, since loading pint takes longer than reading a table. Text is read by a front end
of our own, since pint reads ``12,34 mm`` as 1234 mm, ``1 3/16 in`` as 0.1875 in, ``20 mil`` as an
angle, and drops an inch mark or a typographic minus. Factors are exact (the inch is 25.4 mm by the
international yard agreement of 1959); text is worked out in whole fractions and rounded once. A
bare number never gets a unit by guess. Left out: grouping of thousands.
"""

from __future__ import annotations

import math
import re
import sys
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

from fitkit.core.errors import UnitError

if TYPE_CHECKING:
    import pint

    Quantity: type[pint.Quantity[Any]]
    ureg: pint.UnitRegistry[Any]

__all__ = [
    "UNITS",
    "Quantity",
    "TypedLength",
    "is_quantity",
    "parse_length",
    "parse_parameter",
    "show",
    "to_degrees",
    "to_grams",
    "to_mm",
    "to_mm2",
    "unit_name",
    "ureg",
]


def __getattr__(name: str) -> Any:
    """Load pint for whoever asks for ``ureg`` or ``Quantity``."""
    if name not in ("ureg", "Quantity"):
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)
    globals()["ureg"] = registry
    globals()["Quantity"] = registry.Quantity
    return globals()[name]


def is_quantity(value: object) -> bool:
    """Tell whether a value is a pint quantity, without loading pint for it."""
    pint = sys.modules.get("pint")
    return pint is not None and isinstance(value, pint.Quantity)


_INCH = Fraction(254, 10)
# Exact mm of each unit that a length may be typed in.
UNITS: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "in": _INCH,
    "ft": 12 * _INCH,
    "thou": _INCH / 1000,
    "mil": _INCH / 1000,
}
_SPELLINGS = {name: name for name in UNITS} | {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "mils": "mil",
    "μm": "um",
}
_FRACTIONAL = ("in", "ft")

_MINUS = dict.fromkeys(map(ord, "\u2212\u2012\u2013\u2014\ufe63\uff0d"), "-")
_INCH_MARK = dict.fromkeys(map(ord, "\u2033\u201c\u201d\u201f\uff02"), '"')
_FOOT_MARK = dict.fromkeys(map(ord, "\u2032\u2018\u2019\u201b\uff07\u00b4"), "'")
_SIGNS = _MINUS | _INCH_MARK | _FOOT_MARK | {0x2044: "/", 0x2215: "/", 0x00B5: "μ"}

_UNIT = r"""[A-Za-zμ]+|["']"""
_DECIMAL = r"\d+(?:[.,]\d+)?|[.,]\d+"
_FRACTION = r"(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
_AMOUNT = rf"(?:{_FRACTION}|(?P<decimal>{_DECIMAL}))"
# What a spreadsheet or a hasty hand makes of 3/16.
_DASHED = re.compile(r"(?P<top>\d+)\s*-\s*(?P<bottom>\d+)\s*(?:in|inch|inches|\"|mm)?")
_ONE = re.compile(rf"(?P<sign>[+-]?)\s*{_AMOUNT}\s*(?P<unit>{_UNIT})?")
_FEET = re.compile(r"(?P<sign>[+-]?)\s*(?P<feet>\d+)\s*(?:'|ft|foot|feet)\s*-?\s*(?P<rest>\d.*)")
_STATED = re.compile(r"(.+?)\s*(?:±|\+/-|\+-)\s*(.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedLength:
    """A length as it was typed.

    Attributes
    ----------
    value_mm : float, mm
    unit : str
        The unit it was typed in or that was declared for it: a key of `UNITS`.
    resolution_mm : float, mm
        Step of the last digit typed; of a fraction, the step of a fraction display, which shows
        1/64 in (or 1/128 in) shortened.
    stated_mm : float or None, mm
        What was typed after a ±. It is not used: its kind (limit, standard or
        expanded) is not known.
    notes : tuple of str
        Doubts in plain words.
    """

    value_mm: float
    unit: str
    resolution_mm: float
    stated_mm: float | None = None
    notes: tuple[str, ...] = ()


MOST_LETTERS, MOST_DIGITS = 120, 30
_MANY_DIGITS = re.compile(r"\d{31,}")


def unit_name(text: str) -> str:
    """Give the name in `UNITS` of a unit as typed.

    Raises
    ------
    UnitError
        If it is not one of the lengths that are taken; capitals count, since Mm is not mm.
    """
    name = _SPELLINGS.get(text.translate(_SIGNS).strip())
    if name is None:
        raise UnitError(
            f"{_short(text)} is not a unit of length that is taken",
            code="unit.unknown",
            remedy=f"Use one of: {', '.join(UNITS)}.",
        )
    return name


def parse_length(
    text: str, unit: str | None = None, decimal: Literal[".", ","] | None = None
) -> TypedLength:
    """Read a length as people type it.

    Parameters
    ----------
    text : str
        Such as ``12.34 mm``, ``12,34mm``, ``1 3/16 in``, ``1-3/16"``, ``5' 3/4"``, ``20 thou``,
        ``12.34 ± 0.02 mm``; typographic minus, primes and spaces are taken.
    unit : str, optional
        Declared unit of a bare number.
    decimal : {".", ","}, optional
        Declared decimal sign. Undeclared, a comma is read as one unless exactly three digits
        follow it, which could be thousands.

    Returns
    -------
    TypedLength
        The length in mm, the step of its last digit, and what was noticed in reading it.

    Raises
    ------
    UnitError
        If the unit is missing or not one of length, if the comma is ambiguous, or if it is not a
        number.

    Examples
    --------
    >>> parse_length("1-3/16 in").value_mm
    30.1625
    >>> parse_length("12,34", unit="mm", decimal=",").value_mm
    12.34
    """
    _refuse_long(text)
    cleaned = _cleaned(text)
    declared = unit_name(unit) if unit else None
    if parts := _STATED.fullmatch(cleaned):
        return _with_stated(text, parts[1], parts[2], declared, decimal)
    if feet := _FEET.fullmatch(cleaned):
        return _feet_and_inches(text, feet, decimal)
    return _one(text, cleaned, declared, decimal)


def _short(text: str) -> str:
    return repr(text) if len(text) <= 40 else f"{text[:40]!r} ..."


def _refuse_long(text: str) -> None:
    """Refuse what no length is before patterns run over it: a key that got stuck, another text."""
    if len(text) > MOST_LETTERS:
        raise UnitError(
            f"{text[:20]!r} ... has {len(text)} letters; a length has at most {MOST_LETTERS}",
            code="unit.too-long",
            remedy="Type the number and its unit alone.",
        )
    if run := _MANY_DIGITS.search(text):
        raise UnitError(
            f"{text[:20]!r} ... has a number of {len(run[0])} digits; a length has at most "
            f"{MOST_DIGITS}",
            code="unit.too-many-digits",
            remedy="Type it again.",
        )


def _cleaned(text: str) -> str:
    """Bring minus signs, primes, slashes, spaces and vulgar fractions to plain ones."""
    pieces = []
    for sign in text.translate(_SIGNS):
        if unicodedata.decomposition(sign).startswith("<fraction>"):
            # A space first, or 2½ would turn into 21/2.
            pieces.append(" " + unicodedata.normalize("NFKC", sign).replace("\u2044", "/"))
        elif unicodedata.category(sign) in ("Zs", "Cf"):
            pieces.append(" ")
        else:
            pieces.append(sign)
    return "".join(pieces).replace("''", '"').strip()


def _one(text: str, cleaned: str, declared: str | None, decimal: str | None) -> TypedLength:
    return _as_typed(*_exact(text, cleaned, declared, decimal))


def _as_typed(exact: Fraction, unit: str, step: Fraction, notes: tuple[str, ...]) -> TypedLength:
    return TypedLength(value_mm=float(exact), unit=unit, resolution_mm=float(step), notes=notes)


def _exact(
    text: str, cleaned: str, declared: str | None, decimal: str | None
) -> tuple[Fraction, str, Fraction, tuple[str, ...]]:
    """Give one number in exact mm, its unit, the step of its last digit in mm, and notes."""
    match = _ONE.fullmatch(cleaned)
    if not match:
        dashed = _DASHED.fullmatch(cleaned)
        meant = dashed.expand(r"'\g<top>/\g<bottom> in' if you meant that, else ") if dashed else ""
        raise UnitError(
            f"{text!r} is not one length",
            code="unit.not-one-length",
            remedy=f"Write {meant}a number with one of {', '.join(UNITS)}, such as '12.34 mm'.",
        )
    if match["unit"]:
        unit = unit_name(match["unit"])
    elif declared:
        unit = declared
    else:
        example = f"{cleaned} in" if match["bottom"] else f"{cleaned} mm"
        raise UnitError(f"{text!r} has no unit", code="unit.missing", remedy=f"Write '{example}'.")
    sign = -1 if match["sign"] == "-" else 1
    notes: tuple[str, ...] = ()
    if match["bottom"]:
        number, step = _fraction(text, match, unit), _display_step(int(match["bottom"]))
    else:
        number, places, notes = _decimal(text, match["decimal"], decimal)
        step = UNITS[unit] / 10**places
    return sign * number * UNITS[unit], unit, step, notes


def _fraction(text: str, match: re.Match[str], unit: str) -> Fraction:
    if unit not in _FRACTIONAL:
        raise UnitError(
            f"{text!r} is a fraction of {unit}",
            code="unit.fraction",
            remedy="Write '3/16 in' if it is inches, or the decimals if it is not.",
        )
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0 or (match["whole"] and top >= bottom):
        raise UnitError(
            f"{text!r} is not a proper fraction",
            code="unit.improper-fraction",
            remedy="Write it as '1 3/16 in'.",
        )
    return whole + Fraction(top, bottom)


def _display_step(bottom: int) -> Fraction:
    return _INCH / max(64, bottom)


def _decimal(text: str, typed: str, decimal: str | None) -> tuple[Fraction, int, tuple[str, ...]]:
    """Give the number, its decimals, and a note if its sign is not the table's."""
    mark = next((sign for sign in typed if sign in ".,"), None)
    places = len(typed.partition(mark)[2]) if mark else 0
    notes: tuple[str, ...] = ()
    if mark == ",":
        if decimal == ".":
            raise UnitError(
                f"{text!r} has a comma where the decimal sign is a point",
                code="unit.comma",
                remedy="Write a point, or declare the decimal comma.",
            )
        if decimal is None and places == 3:
            plain = typed.replace(",", ".")
            raise UnitError(
                f"{text!r} could be {plain} or {typed.replace(',', '')}",
                code="unit.ambiguous-comma",
                remedy="Write a point, or declare the decimal comma.",
            )
    elif mark == "." and decimal == ",":
        if places == 3:
            raise UnitError(
                f"{text!r} could be {typed.replace('.', ',')} or {typed.replace('.', '')}",
                code="unit.ambiguous-point",
                remedy="Write a comma, which this table has as decimal sign.",
            )
        notes = ("point in a comma table",)
    return Fraction(typed.replace(",", ".")), places, notes


def _feet_and_inches(text: str, match: re.Match[str], decimal: str | None) -> TypedLength:
    inches, unit, step, notes = _exact(text, match["rest"], None, decimal)
    if unit != "in":
        raise UnitError(
            f"{text!r} has feet, but no inches",
            code="unit.feet-alone",
            remedy="Write it as '5 ft 3/4 in'.",
        )
    exact = int(match["feet"]) * UNITS["ft"] + inches
    return _as_typed(-exact if match["sign"] == "-" else exact, unit, step, notes)


def _with_stated(
    text: str, value: str, stated: str, declared: str | None, decimal: str | None
) -> TypedLength:
    """Keep a value and what stands after its ± apart; one unit may serve both."""
    try:
        band = _one(text, stated, declared, decimal)
        best = _one(text, value, band.unit, decimal)
    except UnitError as error:
        raise UnitError(
            f"{text!r} is not a value ± a band",
            code="unit.not-a-band",
            remedy="Write it as '12.34 ± 0.02 mm'.",
        ) from error
    return TypedLength(
        value_mm=best.value_mm,
        unit=best.unit,
        resolution_mm=best.resolution_mm,
        stated_mm=abs(band.value_mm),
        notes=(
            *best.notes,
            f"the typed ± {band.value_mm:g} mm is not used: it may be a tolerance, a standard or "
            "an expanded uncertainty",
        ),
    )


def to_mm(value: object) -> float:
    """Turn a length with a unit (text, pint quantity, or an object with ``value_mm``) into mm.

    Raises
    ------
    UnitError
        If it is a bare number, no length, or text that states an uncertainty too.
    """
    if isinstance(value, str):
        length = parse_length(value)
        if length.stated_mm is not None:
            raise UnitError(
                f"{value!r} states an uncertainty too",
                code="unit.states-uncertainty",
                remedy="Give the size alone here.",
            )
        return length.value_mm
    return _from_object(value, "mm", "value_mm")


_ANGLE = re.compile(r"([+-]?(?:\d+(?:\.\d+)?|\.\d+))\s*(deg|degrees|°|rad)")

_AREA = re.compile(r"([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+))\s*(mm|cm|m|in)\s*(?:²|\^2|\*\*2|2)")


def to_degrees(value: object) -> float:
    """Turn an angle with a unit into degrees.

    Raises
    ------
    UnitError
        If it is a bare number, or no angle.
    """
    if isinstance(value, str):
        match = _ANGLE.fullmatch(_cleaned(value))
        if not match:
            raise UnitError(
                f"{value!r} is not an angle with its unit",
                code="unit.not-an-angle",
                remedy="Write '30 deg'.",
            )
        number = float(match[1])
        return number if match[2] != "rad" else math.degrees(number)
    return _from_object(value, "deg", "value_deg")


def to_mm2(value: object) -> float:
    """Turn an area with a unit into mm².

    Raises
    ------
    UnitError
        If it is a bare number, or no area.

    Examples
    --------
    >>> to_mm2("2.4 cm²"), to_mm2("300 mm^2"), to_mm2("2.4 cm2")
    (240.0, 300.0, 240.0)
    """
    if isinstance(value, str):
        match = _AREA.fullmatch(_cleaned(value))
        if not match:
            raise UnitError(
                f"{value!r} is not an area with its unit",
                code="unit.not-an-area",
                remedy="Write '300 mm²'.",
            )
        return float(match[1].replace(",", ".")) * to_mm(f"1 {match[2]}") ** 2
    return _from_object(value, "mm²", "value_mm2")


_MASS = re.compile(r"(\d+(?:[.,]\d+)?|[.,]\d+)\s*(g|kg|oz|lb)")
_IN_GRAMS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}  # NIST SP 811, B.8


def to_grams(value: object) -> float:
    """Turn a mass with a unit into grams.

    Raises
    ------
    UnitError
        If it is a bare number, or is not a mass.

    Examples
    --------
    >>> to_grams("0.25 kg"), to_grams("250 g")
    (250.0, 250.0)
    """
    match = _MASS.fullmatch(_cleaned(value)) if isinstance(value, str) else None
    if match is None:
        raise UnitError(
            f"{value!r} is not a mass with its unit",
            code="unit.not-a-mass",
            remedy="Write '250 g'.",
        )
    return float(match[1].replace(",", ".")) * _IN_GRAMS[match[2]]


def _from_object(value: object, base: str, attribute: str) -> float:
    if is_quantity(value):
        import pint

        assert isinstance(value, pint.Quantity)
        try:
            return float(value.to(base.replace("²", "**2")).magnitude)
        except pint.DimensionalityError as error:
            kind = {"mm": "length", "deg": "angle", "mm²": "area"}[base]
            raise UnitError(
                f"{value} is not a {kind}", code="unit.wrong-kind", remedy=f"Give it in {base}."
            ) from error
    if hasattr(value, attribute):
        return float(getattr(value, attribute))
    raise UnitError(
        f"{value!r} has no unit", code="unit.missing", remedy=f"Write '{value} {base}'."
    )


def parse_parameter(text: str) -> float:
    """Read a template's own default or bound: in mm, mm² or degrees, as its unit says."""
    if text.rstrip().endswith("²"):
        return to_mm2(text)
    return to_degrees(text) if text.rstrip().endswith(("deg", "°")) else to_mm(text)


def show(value_mm: float, *, digits: int = 2) -> str:
    """Write a length for a person, with its unit.

    Parameters
    ----------
    value_mm : float, mm
    digits : int
        Places after the point.

    Returns
    -------
    str
    """
    return f"{value_mm:.{digits}f} mm"
