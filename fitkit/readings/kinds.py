"""What a feature is, by its name: a round hole, a span over two holes, or the closed jaws.

The words are English, and names are compared word by word, without regard to capitals. Left out:
what columns say of a feature, which wins over its name (see `shapes`).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "is_hole",
    "is_zero_check",
    "read_inside",
    "says_span",
    "words_of",
    "zero_check_name",
    "zero_checks",
]

_WORD = re.compile(r"[^\W_]+|[øØ⌀]")
_HOLES = frozenset(("hole", "holes", "bore", "bores", "drilling", "borehole"))
_ROUND = _HOLES | frozenset(("diameter", "dia", "diam", "ø", "⌀"))
# What goes into a hole or over it has an outside size.
_IN_HOLES = frozenset(
    ("plug", "peg", "pin", "bolt", "screw", "cap", "cover", "gauge", "bush", "sleeve", "ring")
)
_NOT_ROUND = frozenset(
    ("slot", "slots", "square", "hex", "hexagon", "rectangular", "oval", "depth", "oblong")
)
_SPANS = frozenset(
    (
        "far", "outer", "edge", "edges", "wall", "walls", "span", "spacing", "pitch", "distance",
        "centre", "centres", "center", "centers", "between", "apart", "over", "across", "to",
        "zeroed",
    )
)  # fmt: skip
_CLOSED = frozenset(
    (
        "closed", "closed jaws", "jaws closed", "zero", "zero check", "zero error", "zero reading",
        "check of zero", "calipers closed", "closed calipers",
    )
)  # fmt: skip
# What closed jaws may show; more than that is the size of something. Common practice, no source.
_MOST_ZERO_MM = 1.0


def words_of(name: str) -> list[str]:
    """Part a name into its words, without regard to capitals, hyphens and underscores.

    Examples
    --------
    >>> words_of("Hole_x far-edges")
    ['hole', 'x', 'far', 'edges']
    """
    return _WORD.findall(name.casefold())


def is_hole(name: str) -> bool:
    """Tell whether an inside feature of this name is one round hole.

    Examples
    --------
    >>> is_hole("mounting hole"), is_hole("hole spacing"), is_hole("square hole")
    (True, False, False)
    """
    words = set(words_of(name))
    return bool(words & _ROUND) and not words & (_SPANS | _NOT_ROUND)


def read_inside(name: str) -> bool:
    """Tell whether a feature of this name can only be read with the inside jaws.

    Examples
    --------
    >>> read_inside("mounting hole"), read_inside("hole plug"), read_inside("holes far edges")
    (True, False, True)
    """
    words = set(words_of(name))
    if not words & _HOLES or words & _IN_HOLES:
        return False
    return is_hole(name) or "far" in words


def says_span(name: str) -> bool:
    """Tell whether an inside feature of this name is a span over two holes.

    Examples
    --------
    >>> says_span("holes x far edges"), says_span("hole 3"), says_span("far wall")
    (True, False, False)
    """
    words = set(words_of(name))
    return bool(words & _HOLES) and bool(words & _SPANS)


def is_zero_check(name: str, value_mm: float) -> bool:
    """Tell whether a reading is what the closed jaws showed.

    Parameters
    ----------
    name : str
        Of its feature.
    value_mm : float, mm

    Returns
    -------
    bool
        False for more than 1 mm, whatever the name.

    Examples
    --------
    >>> is_zero_check("Jaws closed", -0.02), is_zero_check("zero", 12.0)
    (True, False)
    """
    return abs(value_mm) <= _MOST_ZERO_MM and zero_check_name(name)


def zero_check_name(name: str) -> bool:
    """Tell whether a feature is called as people call what the closed jaws show."""
    return " ".join(words_of(name)) in _CLOSED


def zero_checks(frame: pd.DataFrame) -> pd.Series:
    """Find the rows that hold what closed jaws showed.

    Parameters
    ----------
    frame : DataFrame
        Of a `ReadingTable`, with ``value_mm``.

    Returns
    -------
    Series of bool
    """
    names = {name: zero_check_name(str(name)) for name in frame["feature"].unique()}
    called = frame["feature"].map(names).astype(bool)
    if not called.any():
        return called
    return called & (frame["value_mm"].abs() <= _MOST_ZERO_MM)
