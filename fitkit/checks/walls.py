"""Whether walls, gaps and holes are wide enough for this nozzle to print.

A wall is laid in lines of about the nozzle's width: it needs two to be closed, and a width between
whole lines leaves a seam or a void inside. Common practice, no source; slicing steps differ in how
they fill the odd rest.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["check_walls", "whole_lines"]

# A thick wall closes its rest with infill; only walls of a few lines show a seam.
_FEW_LINES = 6
# A rest within this share of a line is squeezed in unseen.
_SLACK = 0.15


def whole_lines(thickness_mm: float, line_mm: float) -> tuple[int, float]:
    """Count whole lines in a wall, and the rest as a share of a line.

    Examples
    --------
    >>> lines, rest = whole_lines(1.0, 0.4)
    >>> lines, round(rest, 3)
    (2, 0.5)
    """
    lines = math.floor(thickness_mm / line_mm + 1e-9)
    return lines, max(0.0, thickness_mm / line_mm - lines)


def check_walls(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find walls under two lines or off whole lines, slots and holes that would close up."""
    line = context.nozzle_mm
    least = 2 * line
    for wall in part.walls:
        lines, rest = whole_lines(wall.thickness_mm, line)
        finding = partial(Finding, check="walls", body=wall.body, at=(wall.at,), unit="mm")
        if wall.thickness_mm < least - 1e-9:
            yield finding(
                severity="stop",
                text=(
                    f"{wall.name} is {wall.thickness_mm:.2f} mm, less than two lines of "
                    f"{line:.2f} mm: it would have holes or not print."
                ),
                value=wall.thickness_mm,
                limit=least,
                remedy=f"Make it {least:.2f} mm or more.",
            )
        elif lines < _FEW_LINES and _SLACK < rest < 1 - _SLACK:
            below, above = lines * line, (lines + 1) * line
            yield finding(
                severity="note",
                text=(
                    f"{wall.name} is {wall.thickness_mm:.2f} mm, between {lines} and {lines + 1} "
                    "lines: the rest may stay hollow."
                ),
                value=wall.thickness_mm,
                limit=above,
                remedy=f"Make it {below:.2f} or {above:.2f} mm.",
            )
    yield from _openings(part, line)


def _openings(part: Part, line_mm: float) -> Iterator[Finding]:
    """Find slots and holes that molten lines would close."""
    for opening in part.dimensions:
        hole = opening.kind.bore
        if opening.kind.jaws != "inside":
            continue
        closes, shrinks = (1.0, 2.5) if hole else (0.5, 1.0)
        if opening.value_mm >= shrinks * line_mm - 1e-9:
            continue
        stop = opening.value_mm < closes * line_mm - 1e-9
        limit = (closes if stop else shrinks) * line_mm
        middle = tuple((a + b) / 2 for a, b in zip(opening.start, opening.end, strict=True))
        yield Finding(
            check="holes" if hole else "gaps",
            severity="stop" if stop else "warn",
            text=(
                f"{opening.name} is {opening.value_mm:.2f} mm wide: it would "
                f"{'close' if stop else 'come out rough or'} {'up' if stop else 'close'} when "
                f"printed with lines of {line_mm:.2f} mm."
            ),
            value=opening.value_mm,
            limit=limit,
            unit="mm",
            body=opening.body,
            at=((middle[0], middle[1], middle[2]),),
            remedy=f"Make it {limit:.2f} mm or more{', or drill it' if hole else ''}.",
        )
