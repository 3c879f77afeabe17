"""Remedies are rounded to the side on which they pass."""

from __future__ import annotations

import math

__all__ = ["rounded_down", "rounded_up"]


def rounded_up(value: float, step: float = 0.1) -> float:
    """Give the least whole number of steps that is not below a value.

    Examples
    --------
    >>> rounded_up(2.41), rounded_up(2.4), rounded_up(float("inf"))
    (2.5, 2.4, inf)
    """
    if not math.isfinite(value):
        return value
    return round(math.ceil(value / step - 1e-9) * step, 9)


def rounded_down(value: float, step: float = 0.1) -> float:
    """Give the greatest whole number of steps that is not above a value.

    Examples
    --------
    >>> rounded_down(1.899), rounded_down(1.8)
    (1.8, 1.8)
    """
    return round(math.floor(value / step + 1e-9) * step, 9)
