"""The gap to aim for, and the chance that the first print then behaves as wanted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.fits.prior import gap_prior

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.fits.trial import Trial

__all__ = ["GapChoice", "choose_gap"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapChoice:
    """The gap to aim for.

    Attributes
    ----------
    pair, behaviour : str
    gap_mm : float, mm
        As printed and finished; positive is clearance, on the full size.
    low_mm, high_mm : float, mm
        Band of gaps that should still behave as wanted: its expected edges.
    p_wanted : float
        Expected chance that the first print behaves as wanted.
    basis : str
        ``prior: common practice, no source ...`` or ``12 trials on this printer``.
    notes : tuple of str
    """

    pair: str
    behaviour: str
    gap_mm: float
    low_mm: float
    high_mm: float
    p_wanted: float
    basis: str
    notes: tuple[str, ...] = ()


def choose_gap(
    pair: str, behaviour: str, *, size_mm: float, trials: Iterable[Trial] = ()
) -> GapChoice:
    """Choose the gap that is likeliest to behave as wanted."""
    prior = gap_prior(pair, behaviour, size_mm)
    spread = math.sqrt(2.0) * math.hypot(0.05, 0.05, 0.1)
    return GapChoice(
        pair=pair,
        behaviour=behaviour,
        gap_mm=prior.gap_mm,
        low_mm=prior.gap_mm - prior.half_width_mm,
        high_mm=prior.gap_mm + prior.half_width_mm,
        p_wanted=math.erf(prior.half_width_mm / spread),
        basis=f"prior: {prior.basis}",
        notes=("no trials on this printer yet: print a fit ladder",),
    )
