"""The chance that all fits of a part behave as wanted at its next print, drawn together.

The fits of one part are not independent. What is unknown of the printer moves many gaps alike, and
so does the habit by which this printer's fits want more or less than common practice: where one
goes, the next is likelier to go. So the product of the chances is too low. Here thresholds and gaps
of all fits are drawn together, and what is left to each fit alone (the hand that judges, and the
form of its faces) is multiplied within each draw.

Left out: verdicts of slips, and fits whose gap the sheet sets itself, since nobody has said how
they shall behave.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.core.errors import FitError
from fitkit.fits.verdicts import BAND, USABLE, Kind, interval_probability, thresholds_together

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.fits.trial import Trial

    Array = NDArray[np.floating[Any]]

__all__ = ["WantedFit", "WholeChance", "chance_of_all"]

# Fresh gaps for each draw of the thresholds: with 2048 draws the chance is known to 0.01.
_PRINTS = 8


class WantedFit(NamedTuple):
    """A fit of a part: what is wanted of it, and the gap that its print should have.

    `p_wanted` is its own chance, if it is known already.
    """

    pair: str
    behaviour: str
    size_mm: float
    gap_mm: float
    p_wanted: float = math.nan


class WholeChance(NamedTuple):
    """Chances of a part's next print.

    Attributes
    ----------
    p_all : float
        That all fits behave as wanted; 1 if there are none.
    p_each : tuple of float
        That each does, from the same draws.
    p_usable : float
        That all fits can be used: each goes together and none rattles, if a little tight or loose.
    p_usable_each : tuple of float
        That each can.
    """

    p_all: float
    p_each: tuple[float, ...]
    p_usable: float = 1.0
    p_usable_each: tuple[float, ...] = ()


def chance_of_all(
    fits: Sequence[WantedFit],
    *,
    fresh_mm2: Array,
    lasting_mm2: Array,
    df: float = math.inf,
    trials: Iterable[Trial] = (),
    draws: int = 2048,
) -> WholeChance:
    """Find the chance that all fits of a part behave as wanted at its next print.

    Parameters
    ----------
    fits : sequence of WantedFit, k of them
    fresh_mm2, lasting_mm2 : arrays of shape (k, k), mm²
        Covariance of the gaps: of what the next print draws again, and of what is the same at every
        print of the part.
    df : float
        Degrees of freedom of the first.
    trials : iterable of Trial
        All of this printer and material.
    draws : int
        A power of two.

    Returns
    -------
    WholeChance

    Raises
    ------
    FitError
        If a word is unknown, or a covariance has another shape than the fits.
    """
    count = len(fits)
    fresh, lasting = np.asarray(fresh_mm2, dtype=float), np.asarray(lasting_mm2, dtype=float)
    if fresh.shape != (count, count) or lasting.shape != (count, count):
        raise FitError(
            f"covariances of {fresh.shape} and {lasting.shape} do not suit {count} fits",
            code="fits.covariance",
            remedy="Give one row and one column to each fit.",
        )
    if not fits:
        return WholeChance(1.0, ())
    u_lasting = np.sqrt(np.maximum(np.diag(lasting), 0.0))
    asked = [
        Kind(fit.pair, fit.behaviour, fit.size_mm, round(float(u), 4))
        for fit, u in zip(fits, u_lasting, strict=True)
    ]
    found = thresholds_together(asked, tuple(trials), draws=draws, lasting_mm2=lasting)
    rng = np.random.default_rng(count)
    errors = rng.standard_normal((len(found.weight), _PRINTS, count)) @ _root(fresh).T
    if math.isfinite(df):  # a normal of a scale that is not known; one print has one scale
        scale = np.sqrt(df / rng.chisquare(df, errors.shape[:2]))
        errors *= scale[:, :, None]
    gaps = np.array([fit.gap_mm for fit in fits]) + errors
    scatter = found.scatter_mm[:, None, None]

    def between(edges: slice) -> tuple[float, tuple[float, ...]]:
        low, high = np.moveaxis(found.thresholds_mm[:, None, :, edges], -1, 0)
        each = interval_probability(low - gaps, high - gaps, scatter)
        p_all = float(found.weight @ each.prod(axis=2).mean(axis=1))
        return p_all, tuple((found.weight @ each.mean(axis=1)).tolist())

    return WholeChance(*between(BAND), *between(USABLE))


def _root(cov: Array) -> Array:
    """Square root of a covariance; a Cholesky factor fails where two gaps are one."""
    values, vectors = np.linalg.eigh(cov)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
