"""All checks of a part in one call, the worst findings first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.checks.assembly import check_assembly
from fitkit.checks.bed import check_bed
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
from fitkit.core.finding import SEVERITIES, Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["CHECKS", "in_turn", "run_checks"]

# The cheapest first, so that whoever shows findings as they come shows most of them at once.
CHECKS: tuple[Callable[[Part, CheckContext], Iterable[Finding]], ...] = (
    check_cautions,
    check_walls,
    check_finish,
    check_snap,
    check_strength,
    check_heat,
    check_bed,
    check_overhang,
    check_orientation,
    check_slender,
    check_assembly,
    check_places,
    check_cost,
)


def in_turn(part: Part, context: CheckContext) -> Iterator[tuple[Finding, ...]]:
    """Give each check's findings as soon as they are there, the cheapest check first.

    Parameters
    ----------
    part : Part
    context : CheckContext

    Yields
    ------
    tuple of Finding
        The build's own, then those of one check after the other, as `run_checks` takes them.
    """
    yield part.findings
    for check in CHECKS:
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
    found = [item for findings in in_turn(part, context) for item in findings]
    return tuple(sorted(found, key=lambda item: SEVERITIES.index(item.severity)))
