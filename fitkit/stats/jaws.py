"""Flat inside jaws in round holes, as terms of a measurement model: GTC numbers in and out.

In one hole both flats stand side by side and read a chord; over the far walls of two holes each
flat touches its own. Model and source: `fitkit.readings.corrections`. Left out: jaws wider than
their hole is round, such as in a slot.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import StatsError
from fitkit.stats.uncertainty import Source

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.stats.uncertainty import Estimate

__all__ = ["bore", "chord", "over_far_walls"]


def bore(shown: Any, width: Any) -> Any:
    """Find a hole's diameter from the chord that jaws of a width over both flats read."""
    import GTC

    return GTC.sqrt(shown**2 + width**2)


def chord(diameter: Any, width: Any) -> Any:
    """Find the chord that jaws of a width over both flats read in a hole of a diameter."""
    import GTC

    return GTC.sqrt(diameter**2 - width**2)


def over_far_walls(
    span: Any, holes: Sequence[Estimate], width: Any, *, feature: str
) -> tuple[Any, Source]:
    """Lengthen a span read over the far walls of two holes by what flat jaws leave out.

    How the calipers lay is not known: swung to the largest reading, half the width counts; held
    along the line of centres, all of it does. The error goes with its square: anything between a
    quarter and the whole is taken as equally likely.

    Returns
    -------
    span : GTC number
    lay : Source
        Of the input that says how the calipers lay, for the budget.

    Raises
    ------
    StatsError
        If the jaws are wider than a hole.
    """
    import GTC

    lay = GTC.ureal(0.625, 0.375 / math.sqrt(3), label=f"{feature}: how the jaws lay")
    source = Source(
        type="B",
        distribution="rectangular",
        basis="swung to the largest reading, or along the line of centres",
        unit="",
        input=lay,
    )
    square = lay * width**2
    for hole in holes:
        if not hole.value_mm > width.x:
            raise StatsError(
                f"jaws of {width.x:g} mm over their faces do not enter {hole.name!r} of "
                f"{hole.value_mm:.2f} mm",
                where=feature,
                code="stats.jaws-too-wide",
                remedy="Check both, or read the span over the near edges with the outside jaws.",
            )
        size = hole.uncertain
        span = span + square / (size + GTC.sqrt(size**2 - square)) / 2
    return span, source
