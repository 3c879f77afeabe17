"""All checks of a part in one call, the worst findings first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.checks.assembly import check_assembly
from fitkit.checks.bed import check_bed
from fitkit.checks.broken import check_broken
from fitkit.checks.buys import check_buys
from fitkit.checks.cautions import check_cautions
from fitkit.checks.cost import check_cost
from fitkit.checks.finish import check_finish
from fitkit.checks.heat import check_heat
from fitkit.checks.orientation import check_orientation
from fitkit.checks.overhang import check_overhang
from fitkit.checks.places import check_places
from fitkit.checks.slender import check_slender
from fitkit.checks.snap import check_snap
from fitkit.checks.strength import check_strength
from fitkit.checks.walls import check_walls
from fitkit.core.finding import worst_first

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.core.finding import Finding
    from fitkit.parts.contract import Part

__all__ = ["CHECKS", "QUICK", "SLOW", "in_turn", "run_checks"]

# What takes a few milliseconds all together, and what looks at every triangle many times: the
# cheapest first, so that whoever shows findings as they come shows most of them at once.
QUICK: tuple[Callable[[Part, CheckContext], Iterable[Finding]], ...] = (
    check_cautions,
    check_walls,
    check_finish,
    check_places,
    check_snap,
    check_strength,
    check_broken,
    check_heat,
    check_bed,
    check_overhang,
)
SLOW: tuple[Callable[[Part, CheckContext], Iterable[Finding]], ...] = (
    check_orientation,
    check_slender,
    check_assembly,
    check_cost,
    check_buys,
)
CHECKS = (*QUICK, *SLOW)


def in_turn(part: Part, context: CheckContext) -> Iterator[tuple[Finding, ...]]:
    """Give findings as soon as they are there: those of all quick checks, then one slow check each.

    Parameters
    ----------
    part : Part
    context : CheckContext

    Yields
    ------
    tuple of Finding
        The build's own with those of the quick checks, then those of one check after the other.
    """
    yield (*part.findings, *(item for check in QUICK for item in check(part, context)))
    for check in SLOW:
        yield tuple(check(part, context))


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
    return worst_first(item for findings in in_turn(part, context) for item in findings)
