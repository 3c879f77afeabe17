"""A check's finding as a panel shows it: its sentence, and its figure where the sentence has none.

Most sentences carry their figures rounded as a reader wants them; the same number again behind
them says nothing. What is told again is only the value or the limit that a sentence lacks.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitkit.core.finding import Finding

__all__ = ["shown_finding"]

# A figure may share its unit with the one after it: "15 to 36 N", "0.08 ± 0.02 mm".
_SHARED = r"(?: (?:to|or|±|x|of the) \d[\d.,]*)?"


def shown_finding(item: Finding) -> dict[str, Any]:
    """Give a finding as plain data for a view."""
    return {
        "check": item.check,
        "severity": item.severity,
        "text": item.text,
        "number": _untold(item),
        "remedy": item.remedy,
        "at": [list(point) for point in item.at],
    }


def _untold(item: Finding) -> str:
    """Say the value and limit that the words do not carry, empty if they carry both."""
    if item.value is None:
        return ""
    figures = _figures(item.text, item.unit)
    if item.limit is None:
        # A value held against nothing may stand for a range that the text gives.
        return "" if figures else _with_unit(item.value, item.unit)
    value = "" if _among(item.value, figures) else _with_unit(item.value, item.unit)
    # What to change often is the limit.
    figures += _figures(item.remedy, item.unit)
    limit = "" if _among(item.limit, figures) else f"(limit {_with_unit(item.limit, item.unit)})"
    return f"{value} {limit}".strip()


def _figures(text: str, unit: str) -> list[str]:
    """Figures of a text that stand in a unit; hours may be told in minutes."""
    units = r"(?:h|min)" if unit == "h" else re.escape(unit)
    return re.findall(rf"(?<![\d.])(-?\d+(?:\.\d+)?)(?={_SHARED} ?{units}(?!\w))", text)


def _among(value: float, figures: list[str]) -> bool:
    """Tell whether a value, rounded as one of the figures is, is that figure."""
    return any(
        abs(value - float(figure)) <= 0.5 * 10.0 ** -len(figure.partition(".")[2]) + 1e-9
        for figure in figures
    )


def _with_unit(value: float, unit: str) -> str:
    return f"{value:.3g} {unit}".strip()
