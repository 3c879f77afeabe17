"""How well a gap is known before it is printed: from both of its sides together.

Where both sides are printed, what they share of the printer counts as `fitkit.calibration.joint`
says: shrinkage cancels, line width adds. Where one side is a thing that was measured, its reading
counts beside the print.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from fitkit.core.expanded import effective_df

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitkit.calibration import PrinterProfile
    from fitkit.calibration.learned import Learned
    from fitkit.parts.fit_size import FitSize
    from fitkit.stats import Estimate

__all__ = ["GapDoubt", "gap_doubt", "gap_doubt_then"]


class GapDoubt(NamedTuple):
    """How well a gap of the next print is known.

    Attributes
    ----------
    u_mm : float, mm
        Standard uncertainty.
    df : float
        Its degrees of freedom.
    u_lasting_mm : float, mm
        The part of it that is the same at every print of the part: what is unknown of the printer,
        and the reading of the thing.
    """

    u_mm: float
    df: float
    u_lasting_mm: float


def gap_doubt(
    fit: FitSize,
    mate: FitSize | None,
    thing: Estimate,
    *,
    profile: PrinterProfile,
    learned: Learned | None,
    coat: Estimate | None,
    feature: Callable[[str], str],
) -> GapDoubt:
    """Find how well the gap of a fit is known.

    Parameters
    ----------
    fit : FitSize
    mate : FitSize or None
        The other side, if it is a size of the same print.
    thing : Estimate
        What the size fits; it counts only where there is no mate.
    profile : PrinterProfile
    learned : Learned or None
        What sizes measured on earlier prints taught.
    coat : Estimate or None
        Thickness of the finish on one face.
    feature : callable of a size's name
        As `fitkit.flow.earlier.feature_of` names a feature.

    Returns
    -------
    GapDoubt
    """
    from fitkit.calibration.joint import PrintedSize, joint

    sides = [fit] if mate is None else [fit, mate]
    # Doubt hardly changes between nominal and drawn size, and the drawn size rests on it.
    asked = [
        PrintedSize(
            max(side.nominal_mm, 0.1), side.kind, side.axis, feature(side.name), side.wall_mm
        )
        for side in sides
    ]
    gap = joint(asked, profile, learned=learned).sum([1.0, -1.0][: len(sides)])
    u_coat = sum(side.coated_faces for side in sides) * (coat.u_mm if coat else 0.0)
    u_thing, df_thing = (thing.u_mm, thing.df) if mate is None else (0.0, math.inf)
    return GapDoubt(
        u_mm=math.hypot(gap.u_mm, u_coat, u_thing),
        df=float(effective_df((gap.u_mm, gap.df), (u_coat, math.inf), (u_thing, df_thing))),
        u_lasting_mm=math.hypot(gap.u_lasting_mm, u_thing),
    )


def gap_doubt_then(
    u_then_mm: float, u_next_mm: float, shared_mm2: float, u_thing_mm: float = 0.0
) -> tuple[float, float]:
    """Say how well a gap that was tried is known, and what of it the next print is off by, too.

    Parameters
    ----------
    u_then_mm, u_next_mm, shared_mm2 : float
        Of the printed sizes, as `fitkit.calibration.joint.then_and_next` gives them.
    u_thing_mm : float, mm
        Standard uncertainty of the reading of what they fit: it is off alike both times.

    Returns
    -------
    u_mm, u_lasting_mm : float, mm
        As `fitkit.fits.Trial` takes them: the product of the second with what lasts of the next
        gap's doubt is their covariance.
    """
    u_mm = math.hypot(u_then_mm, u_thing_mm)
    lasting_mm = math.hypot(u_next_mm, u_thing_mm)
    shared = max(shared_mm2 + u_thing_mm**2, 0.0)
    return u_mm, min(shared / lasting_mm if lasting_mm else 0.0, u_mm)
