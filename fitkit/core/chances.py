"""A chance in words, never rounded to what cannot be: neither 0 % nor 100 % is ever promised."""

from __future__ import annotations

__all__ = ["say_chance"]


def say_chance(chance: float) -> str:
    """Write a chance in whole percent; in tenths near the ends, and as a bound beyond.

    Examples
    --------
    >>> [say_chance(chance) for chance in (0.956, 0.9951, 0.99999, 0.004, 0.0)]
    ['96 %', '99.5 %', 'over 99.9 %', '0.4 %', 'under 0.1 %']
    """
    if chance > 0.999:
        return "over 99.9 %"
    if chance < 0.001:
        return "under 0.1 %"
    places = 0 if 0.01 <= chance <= 0.99 else 1
    return f"{100 * chance:.{places}f} %"
