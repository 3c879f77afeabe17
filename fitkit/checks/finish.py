"""What a finish coat does to the fits, and what its making asks for.

A coat adds its thickness to each coated face, so a gap between two coated faces loses two coats.
What is left comes with the coat's and the fit's uncertainties combined. Leaves out runs and edges,
where a coat is thicker.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.core.expanded import effective_df, expanded
from fitkit.core.finding import Finding
from fitkit.core.format import with_doubt

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["check_finish", "gap_left_mm"]


def gap_left_mm(
    gap_mm: float, u_gap_mm: float, *, coat_mm: float, u_coat_mm: float, faces: int
) -> tuple[float, float]:
    """Gap under a coat and its standard uncertainty, mm; the coats on both faces are one job.

    Examples
    --------
    >>> left, u = gap_left_mm(0.20, 0.0, coat_mm=0.08, u_coat_mm=0.03, faces=2)
    >>> round(left, 3), round(u, 3)
    (0.04, 0.06)
    """
    return gap_mm - faces * coat_mm, math.hypot(u_gap_mm, faces * u_coat_mm)


def check_finish(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find fits that a coat would eat, and give the cautions of coating."""
    coat = context.coat
    if coat is None:
        return
    if not context.fits:
        yield Finding(
            check="finish",
            severity="note",
            text="not run, because no fit sizes were given that a coat could close.",
            remedy="Check each mating face by hand, or mask it.",
        )
    for fit in context.fits:
        if not fit.coated_faces or fit.drawn_for_coat:
            continue
        left, u = gap_left_mm(
            fit.gap_mm,
            fit.u_mm,
            coat_mm=coat.thickness_mm,
            u_coat_mm=coat.u_mm,
            faces=fit.coated_faces,
        )
        eaten = fit.gap_mm - left
        df = float(effective_df((fit.u_mm, fit.df), (fit.coated_faces * coat.u_mm, math.inf)))
        stop = left <= 0 < fit.gap_mm
        yield Finding(
            check="finish",
            severity="stop" if stop else "warn",
            text=(
                f"the coat takes {eaten:.2f} of the {fit.gap_mm:.2f} mm gap of {fit.name}: "
                f"{with_doubt(left, expanded(u, df)[0])} mm (95 %) is left."
            ),
            value=left,
            limit=0.0 if stop else fit.gap_mm,
            untold=("limit",) if stop else (),
            unit="mm",
            basis="arithmetic on the declared coat",
            remedy="Declare the finish so that the part is drawn for it, or mask the fit faces.",
        )
