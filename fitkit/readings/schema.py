"""The columns of a readings table, and the schema that every row is held against.

Each rule is a mask over a whole column, so that a table of thousands of rows is held at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, cast

from fitkit.readings.numbers import celsius

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

__all__ = ["ABOUT", "COLUMNS", "COMPUTED", "MODES", "OPTIONAL", "SHARED", "faults"]

# What each column of a file holds; the usual ones first, in their order in a file.
ABOUT = {
    "item": "The thing that was measured; a feature belongs to its item.",
    "feature": "What was measured, in plain words: `board length`. Repeats have the same name.",
    "mode": "Which faces of the calipers read it: `outside`, `inside`, `depth` or `step`.",
    "reading": "What the display showed.",
    "unit": "`mm`, `cm` or `in`, if the reading does not say it.",
    "instrument": "Which calipers, by their name in the instruments file.",
    "taken_at": "When: date, or date and time.",
    "note": "Your words, such as where the jaws were put.",
    "round": "`yes` if the feature is a round hole or round body, `no` if it is not.",
    "between": "Round holes whose far walls the inside jaws touch: one name for two alike, or two "
    "apart by a semicolon.",
    "place": "Where on the thing it was read.",
    "zeroed": "The length at which the display was set to zero.",
    "temperature": "Of the thing when it was read, such as `45 °C`.",
    "form": "How far the thing's own size differs from place to place, as a standard deviation.",
    "left_out": "Why the reading does not count.",
    "kept": "Why it counts although it was doubted.",
    "refused": "Why the row could not be taken as it was found.",
}
COLUMNS = tuple(ABOUT)[:8]
OPTIONAL = tuple(ABOUT)[8:]
# What the repeats of a feature have in common.
SHARED = ("item", "feature", "mode", "unit", "instrument")
# Worked out from the text columns, and never written.
COMPUTED = (
    "row",
    "value_mm",
    "step_mm",
    "stated_mm",
    "zeroed_mm",
    "form_mm",
    "rejected",
    "remark",
    "zero_check",
    "mode_as_typed",
    "double_of",
    "counts",
)
MODES = ("outside", "inside", "depth", "step")
_YES_NO = ("", "yes", "no")

# What a thing may have that is held and read. Common practice, no source.
_COLDEST_C, _WARMEST_C = -40.0, 120.0


def _no_temperature(cells: pd.Series) -> pd.Series:
    found = {text: celsius(text) for text in cells.unique() if text}
    bad = {text: c is None or not _COLDEST_C <= c <= _WARMEST_C for text, c in found.items()}
    return cells.map({"": False} | bad).astype(bool)


class _Rule(NamedTuple):
    """Which cells of a column are bad, and what is said of one."""

    column: str
    bad: Callable[[pd.Series], pd.Series]
    reason: str


_RULES = (
    _Rule("feature", lambda cells: cells == "", "the feature has no name"),
    _Rule("mode", lambda cells: ~cells.isin(MODES), f"mode {{!r}} is none of {', '.join(MODES)}"),
    _Rule("round", lambda cells: ~cells.isin(_YES_NO), "round {!r} is neither yes nor no"),
    _Rule(
        "temperature",
        _no_temperature,
        "temperature {!r} is not such as '45 °C', or is more than a thing has that is read",
    ),
)
# No hand instrument for lengths of parts reads farther. Common practice, no source.
_FARTHEST_MM = 10_000.0
# Depths and steps may be zero or turned round; outsides and insides may not.
_ABOVE_ZERO = ("outside", "inside")


def faults(frame: pd.DataFrame) -> dict[int, str]:
    """Find what each row lacks: index of the row to reasons in plain words.

    A row whose reading is not a number is left to the parser, which knows why.
    """
    readable = frame[frame["value_mm"].notna()]
    found: dict[int, list[str]] = {}
    for column, bad, reason in _RULES:
        if column in readable:
            cells = readable[column].astype(object).astype(str)
            for index, cell in cells[bad(cells)].items():
                found.setdefault(cast("int", index), []).append(reason.format(cell))
    not_above = ~(readable["value_mm"] > 0) & readable["mode"].isin(_ABOVE_ZERO)
    if "zero_check" in readable:
        not_above &= ~readable["zero_check"].astype(bool)
    for index in readable.index[not_above]:
        found.setdefault(int(index), []).append("the size is not above zero")
    if "zeroed_mm" in readable and readable["zeroed_mm"].notna().any():
        # Holes whose middles are nearer than half of one's width would be one hole.
        apart = readable["zeroed_mm"].abs() / 2 > readable["value_mm"].abs()
        for index in readable.index[apart]:
            value, zero = readable["value_mm"][index], readable["zeroed_mm"][index]
            found.setdefault(int(index), []).append(
                f"the display was zeroed at {zero:.2f} mm, so {value:.2f} mm is a difference and "
                "not a size; write the size itself"
            )
    for index in readable.index[readable["value_mm"] > _FARTHEST_MM]:
        found.setdefault(int(index), []).append(
            f"{readable['value_mm'][index] / 1000:.0f} m are more than any calipers read; is the "
            "unit right, or is it the number of a day that a spreadsheet made of a date?"
        )
    return {index: "; ".join(reasons) for index, reasons in found.items()}
