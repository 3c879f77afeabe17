"""Lengths and angles as people type them, on the way in and out; mm and degrees inside.

One pint registry serves the whole project. Numbers are read by a front end of our own before pint
sees the unit alone, since pint reads ``12,34 mm`` as 1234 mm and ``1 3/16 in`` as 0.1875 in.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pint

from fitkit.errors import UnitError

__all__ = ["Quantity", "parse_parameter", "show", "to_degrees", "to_mm", "ureg"]

ureg: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)
Quantity = ureg.Quantity

_NUMBER = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*([A-Za-zµ°\"]*)\s*$")


@cache
def _factor(unit: str, base: str) -> float:
    try:
        return float(ureg.Quantity(1.0, unit).to(base).magnitude)
    except Exception as error:
        raise UnitError(f"{unit!r} is not a unit of this kind") from error


def to_mm(value: object) -> float:
    """Turn a length with a unit (text, pint quantity, or an object with ``value_mm``) into mm.

    Raises
    ------
    UnitError
        If it is a bare number, or no length.
    """
    return _convert(value, "mm", "value_mm")


def to_degrees(value: object) -> float:
    """Turn an angle with a unit into degrees.

    Raises
    ------
    UnitError
        If it is a bare number, or no angle.
    """
    return _convert(value, "deg", "value_deg")


def _convert(value: object, base: str, attribute: str) -> float:
    if isinstance(value, str):
        match = _NUMBER.match(value)
        if not match or not match[2]:
            raise UnitError(
                f"{value!r} is not a number with a unit", remedy=f"Write '12.3 {base}'."
            )
        return float(match[1]) * _factor(match[2], base)
    if isinstance(value, pint.Quantity):
        return float(value.to(base).magnitude)
    if hasattr(value, attribute):
        return float(getattr(value, attribute))
    raise UnitError(f"{value!r} has no unit", remedy=f"Write '{value} {base}'.")


def parse_parameter(text: str) -> float:
    """Read a template's own default or bound: mm if it is a length, degrees if an angle."""
    return to_degrees(text) if text.rstrip().endswith(("deg", "°")) else to_mm(text)


def show(value_mm: float, *, digits: int = 2) -> str:
    """Write a length for a person, with its unit."""
    return f"{value_mm:.{digits}f} mm"
