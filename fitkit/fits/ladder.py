"""The ladder of gaps to print next: the k specimens whose verdicts are expected to teach most.

What a ladder teaches is the mutual information between its verdicts and the thresholds (Lindley
1956): the entropy of the verdicts, less what of it is mere scatter. Gaps are added one by one, each
the best with those already chosen; the information of verdicts is submodular, so this greedy ladder
keeps at least 63 % of the best possible one (Nemhauser, Wolsey and Fisher 1978) and in practice
nearly all.

Choosing by the expected gain in success instead (the chance of the gap that would then be best,
one specimen after the other) was tried on 500 simulated printers, two specimens a print: 5.8
specimens to 90 % success against 6.2, which such a number hardly tells apart, for twice the time.
One specimen a print needs 6.0 (300 printers): what is left is the scatter of the verdicts, not the
choice of gaps.

Left out: cost of a specimen by its size, and gaps that cannot be printed side by side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.errors import FitError
from fitkit.fits.choose import U_NEXT_GAP_MM
from fitkit.fits.trial import allows_interference
from fitkit.fits.verdicts import learn

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.fits.trial import Trial
    from fitkit.fits.verdicts import VerdictModel

    Array = NDArray[np.floating[Any]]

__all__ = ["MAX_SPECIMENS", "Ladder", "even_ladder", "next_ladder"]

MAX_SPECIMENS = 12
# The joint outcomes of a ladder are 5^k; past these many a fair sample of them goes on.
_OUTCOMES = 128
# Draws are thinned to this many; the ladder needs no more digits than a printer can follow.
_DRAWS = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """Gaps to print next, and what they should bring.

    Attributes
    ----------
    pair, behaviour : str
    size_mm : float, mm
    gaps_mm : tuple of float, mm
        As printed, ascending.
    information_bits : float
        Expected, of all specimens together.
    p_now, p_after : float
        Chance that a print at the best gap behaves as wanted: now, and as expected once the
        ladder's verdicts are known.
    notes : tuple of str
    """

    pair: str
    behaviour: str
    size_mm: float
    gaps_mm: tuple[float, ...]
    information_bits: float
    p_now: float
    p_after: float
    notes: tuple[str, ...] = ()


def next_ladder(
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    specimens: int,
    trials: Iterable[Trial] = (),
    u_gap_mm: float = U_NEXT_GAP_MM,
    step_mm: float = 0.01,
) -> Ladder:
    """Choose the gaps of the next fit ladder.

    Parameters
    ----------
    pair, behaviour : str
    size_mm : float, mm
    specimens : int
        How many the print has, 1 to 12.
    trials : iterable of Trial
        What is known already.
    u_gap_mm : float, mm
        Standard uncertainty with which the printer keeps a gap.
    step_mm : float, mm
        Gaps are multiples of this.

    Raises
    ------
    FitError
        If a word is unknown, or the number of specimens is out of range.

    Examples
    --------
    >>> ladder = next_ladder("peg and hole", "slides", size_mm=10.0, specimens=4)
    >>> len(ladder.gaps_mm), ladder.p_after > ladder.p_now
    (4, True)
    """
    if not 1 <= specimens <= MAX_SPECIMENS:
        raise FitError(
            f"a ladder of {specimens} specimens", remedy=f"Ask for 1 to {MAX_SPECIMENS}."
        )
    model = learn(pair, behaviour, size_mm=size_mm, trials=trials)
    candidates = _candidates(model, step_mm, least=2 * specimens)
    by_draw = _thinned(model, candidates, u_gap_mm)
    chosen, outcomes, bits = _greedy(by_draw, specimens)
    gaps = tuple(sorted(float(candidates[i]) for i in chosen))
    finer = np.linspace(candidates[0], candidates[-1], 81)
    wanted = _thinned(model, finer, u_gap_mm)[:, :, 2]
    # Each outcome (a row that sums over draws to its own chance) would choose its own best gap.
    p_after = float((outcomes @ wanted.T).max(axis=1).sum())
    p_now = model.best_gap_mm(u_gap_mm=u_gap_mm)[1]
    return Ladder(
        pair=pair,
        behaviour=behaviour,
        size_mm=size_mm,
        gaps_mm=gaps,
        information_bits=bits,
        p_now=p_now,
        p_after=max(p_after, p_now),
        notes=() if model.trials else ("from common practice alone: no trials yet",),
    )


def even_ladder(pair: str, behaviour: str, *, size_mm: float, specimens: int) -> tuple[float, ...]:
    """Gaps evenly spaced over the band in which the best gap lies before any trial (95 %)."""
    model = learn(pair, behaviour, size_mm=size_mm)
    low, high = model.best_gap_band_mm(0.95)
    if not allows_interference(pair):
        low = max(low, 0.0)
    if specimens == 1:
        return (0.5 * (low + high),)
    return tuple(float(gap) for gap in np.linspace(low, high, specimens))


def _candidates(model: VerdictModel, step_mm: float, *, least: int) -> Array:
    """Some forty gaps, multiples of the step, over all that the thresholds may reach."""
    low, high = model.best_gap_band_mm(0.98)
    reach = max(model.prior.half_width_mm, least * step_mm)
    first, last = math.ceil((low - reach) / step_mm), math.floor((high + reach) / step_mm)
    if not allows_interference(model.pair):
        first, last = max(first, 0), max(last, least)
    return step_mm * np.arange(first, last + 1, max(1, round((last - first) / 40)))


def _thinned(model: VerdictModel, gaps: Array, u_gap_mm: float) -> Array:
    """Chance of each verdict by equally weighted draws: array (g, n, 5) whose n is small."""
    n = min(_DRAWS, len(model.weight))
    levels = (np.arange(n) + 0.5) / n
    # Sorted by the best gap, systematic thinning keeps that gap's distribution nearly exact.
    order = np.argsort(model.thresholds_mm[:, 1:3].mean(axis=1))
    pick = order[np.searchsorted(np.cumsum(model.weight[order]), levels).clip(max=len(order) - 1)]
    return model.p_by_draw(gaps, u_gap_mm=u_gap_mm, draws=pick)


def _greedy(by_draw: Array, specimens: int) -> tuple[list[int], Array, float]:
    """Choose gaps one by one.

    Parameters
    ----------
    by_draw : array of shape (g, n, 5)
        Chance of each verdict at each gap by each draw.

    Returns
    -------
    indices of the gaps, joint outcomes (o, n) with each draw's share, information in bits
    """
    gaps, n, verdicts = by_draw.shape
    scatter = _entropy(by_draw).mean(axis=1)  # what stays open even when thresholds are known
    flat = by_draw.transpose(1, 0, 2).reshape(n, gaps * verdicts)
    outcomes: Array = np.full((1, n), 1.0 / n)
    chosen: list[int] = []
    bits = 0.0
    for _ in range(specimens):
        chance = outcomes.sum(axis=1)
        foretold = (outcomes @ flat / chance[:, None]).reshape(-1, gaps, verdicts)
        gain = chance @ _entropy(foretold) - scatter
        gain[chosen] = -np.inf  # a second specimen of the same gap teaches less than a neighbour
        best = int(gain.argmax())
        chosen.append(best)
        bits += float(gain[best])
        outcomes = _thin((outcomes[:, None, :] * by_draw[best].T).reshape(-1, n))
    return chosen, outcomes, bits


def _thin(outcomes: Array) -> Array:
    """Keep a fair sample of the joint outcomes if they are too many: systematic, by chance."""
    chance = outcomes.sum(axis=1)
    if len(outcomes) <= _OUTCOMES:
        return np.asarray(outcomes[chance > 0.0])
    levels = (np.arange(_OUTCOMES) + 0.5) / _OUTCOMES * chance.sum()
    pick = np.searchsorted(np.cumsum(chance), levels).clip(max=len(chance) - 1)
    return np.asarray(outcomes[pick] / chance[pick, None] / _OUTCOMES)


def _entropy(p: Array) -> Array:
    """Entropy in bits over the last axis."""
    from scipy.special import entr

    return np.asarray(entr(p).sum(axis=-1) / math.log(2.0))
