"""A check's finding as a panel shows it: its sentence, and its figures where the sentence has none.

Most sentences carry their figures rounded as a reader wants them; the same number again behind
them says nothing. A finding says itself which of its figures it does not tell.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitkit.core.finding import Finding

__all__ = ["shown_finding"]


def shown_finding(item: Finding) -> dict[str, Any]:
    """Give a finding as plain data for a view."""
    return {
        "check": item.check,
        "severity": item.severity,
        "text": item.text,
        "number": _untold(item),
        "remedy": item.remedy,
        "at": [list(point) for point in item.at],
        "readings": [asdict(one) for one in item.readings],
    }


def _untold(item: Finding) -> str:
    """Give the value and limit that the words do not carry, empty if they carry both."""
    value = limit = ""
    if "value" in item.untold and item.value is not None:
        value = _with_unit(item.value, item.unit)
    if "limit" in item.untold and item.limit is not None:
        limit = f"(limit {_with_unit(item.limit, item.unit)})"
    return f"{value} {limit}".strip()


def _with_unit(value: float, unit: str) -> str:
    return f"{value:.3g} {unit}".strip()
