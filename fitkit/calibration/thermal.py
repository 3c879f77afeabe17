"""What a coupon read while warm would read at 20 °C, the reference temperature of sizes (ISO 1).

Linear expansion; the coefficient is taken as equally likely within the material's range in
``fitkit/data/coupon_expansion.csv``, and the temperature as known to within 2 °C either way.
"""

from __future__ import annotations

import math
import re

from fitkit.core.errors import CalibrationError
from fitkit.core.units import is_quantity
from fitkit.data import load_table

__all__ = ["expansion_per_kelvin", "expansion_strain", "to_celsius"]

_REFERENCE_C = 20.0
_U_TEMPERATURE_K = 2.0 / math.sqrt(3.0)
_TEXT = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*(?:°\s*C|degC|celsius)\s*", re.IGNORECASE)


def to_celsius(value: object) -> float:
    """Read a temperature with its unit: text such as ``45 °C``, or a pint quantity.

    Raises
    ------
    CalibrationError
        If it is a bare number or not a temperature.

    Examples
    --------
    >>> to_celsius("45 degC")
    45.0
    """
    if is_quantity(value):
        return float(value.to("degC").magnitude)  # type: ignore[attr-defined]
    match = _TEXT.fullmatch(value) if isinstance(value, str) else None
    if not match:
        raise CalibrationError(
            f"{value!r} is not a temperature with its unit",
            code="calibration.temperature",
            remedy="Write it like '45 °C'.",
        )
    return float(match[1])


def expansion_strain(
    temperature_c: float, material: str, *, per_kelvin: float | None = None
) -> tuple[float, float]:
    """Give the relative growth from 20 °C to a temperature, and its standard uncertainty.

    Parameters
    ----------
    temperature_c : float, °C
    material : str
        An unknown one gets the widest range.
    per_kelvin : float, optional
        Expansion coefficient, if known; it then counts as exact.

    Examples
    --------
    >>> strain, _ = expansion_strain(45.0, "any", per_kelvin=9e-5)
    >>> round(100.0 * strain, 4)
    0.225
    """
    mean, u = expansion_per_kelvin(material) if per_kelvin is None else (per_kelvin, 0.0)
    rise = temperature_c - _REFERENCE_C
    return mean * rise, math.hypot(u * rise, mean * _U_TEMPERATURE_K)


def expansion_per_kelvin(material: str) -> tuple[float, float]:
    """Give a material's expansion coefficient and its standard uncertainty, per kelvin."""
    frame = load_table("coupon_expansion").frame
    rows = frame[frame["material"].str.casefold() == material.casefold()]
    row = (rows if len(rows) else frame[frame["material"] == "any"]).iloc[0]
    low, high = float(row["low_per_kelvin"]), float(row["high_per_kelvin"])
    return 0.5 * (low + high), (high - low) / math.sqrt(12.0)
