"""All checks of a part in one call, the worst findings first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.checks.bed import check_bed
from fitkit.checks.finding import SEVERITIES, Finding
from fitkit.checks.walls import check_walls

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["CHECKS", "run_checks"]

CHECKS: tuple[Callable[[Part, CheckContext], Iterable[Finding]], ...] = (
    check_bed,
    check_walls,
)


def run_checks(part: Part, context: CheckContext) -> tuple[Finding, ...]:
    """Check a part.

    Parameters
    ----------
    part : Part
        As its template built it.
    context : CheckContext
        Printer, material, use and meshes.

    Returns
    -------
    tuple of Finding
        The build's own findings first within each severity, then each check's in the order of
        `CHECKS`; stops come first, notes last.
    """
    found = [*part.findings, *(item for check in CHECKS for item in check(part, context))]
    return tuple(sorted(found, key=lambda item: SEVERITIES.index(item.severity)))
