"""The ladder of gaps to print next: the k specimens whose verdicts are expected to teach most.

A specimen is worth the success that its verdict is expected to bring: the chance that the gap one
would then choose lies in the band that truly behaves as wanted, averaged over the verdicts that are
predicted, less that chance today. This is the knowledge gradient (Frazier, Powell and Dayanik,
2008). Gaps are added one by one, each the best with those already chosen.

Two specimens are never nearer to each other than the standard uncertainty with which a print keeps
a gap: no print could tell them apart. Mutual information of verdicts and thresholds (Lindley
1956) is given beside the gaps, but does not choose them.

On 200 simulated printers with bands shifted by up to 0.4 mm either way and twice the usual scatter,
two specimens a print, the gap found lies in the true band in 0.58, 0.73 and 0.80 after 2, 4 and 6
specimens, and is claimed to in 0.60, 0.79 and 0.85. Cutting a range of half a millimetre either way
into thirds reaches 0.53, 0.69 and 0.71 (250 printers; `studies/ladders.py`; one standard error is
0.03).

Left out: cost of a specimen by its size, and gaps that cannot be printed side by side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import FitError
from fitkit.fits.choose import U_NEXT_GAP_MM
from fitkit.fits.trial import allows_interference
from fitkit.fits.verdicts import BAND, WANTED, interval_probability, learn

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.fits.trial import Trial
    from fitkit.fits.verdicts import VerdictModel

    Array = NDArray[np.floating[Any]]

__all__ = ["Ladder", "even_ladder", "expected_after", "expected_prints", "next_ladder"]

MAX_SPECIMENS = 12
# So sure of the best gap, one prints the part: the part itself is then the next trial.
SURE = 0.9
# The joint outcomes of a ladder are 5^k; past these many a fair sample of them goes on.
_OUTCOMES = 128
# Of these so many weigh the next gap: all that two specimens can bring.
_WEIGHED = 25
# Draws are thinned to this many; the ladder needs no more digits than a printer can follow.
_DRAWS = 512
# Their bands' edges are softened by so much, or the best gap would follow single draws.
_EDGE_MM = 0.02


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
    sure_now, sure_after : float
        Chance that the best gap lies in the printer's true band, whatever a single print's scatter
        then makes of it: now, and as expected. When it is high enough, no ladder is needed.
    prints_part_first, prints_ladder_first : float
        Prints expected until the part behaves as wanted, if it is printed at once, and if this
        ladder comes first; the ladder counts as a print. After the first verdict each further print
        is taken to succeed with the chance it then has.
    notes : tuple of str
    """

    pair: str
    behaviour: str
    size_mm: float
    gaps_mm: tuple[float, ...]
    information_bits: float
    p_now: float
    p_after: float
    sure_now: float
    sure_after: float
    prints_part_first: float = math.nan
    prints_ladder_first: float = math.nan
    notes: tuple[str, ...] = ()

    def advice(self, *, part_g: float | None = None, ladder_g: float | None = None) -> str:
        """Say whether to print the part at once or a ladder first, with the figures of both.

        Parameters
        ----------
        part_g, ladder_g : float, g, optional
            Plastic of the part and of the ladder. With both, grams decide; else prints do.

        Returns
        -------
        str
            One sentence.
        """
        part, ladder = self.prints_part_first, self.prints_ladder_first
        told = (
            f"{part:.1f} prints are expected if the part comes first, {ladder:.1f} with the ladder "
            "counted if it comes first"
        )
        first = part <= ladder
        if part_g is not None and ladder_g is not None:
            grams = part * part_g, ladder_g + (ladder - 1.0) * part_g
            told += f" ({grams[0]:.0f} g against {grams[1]:.0f} g)"
            first = grams[0] <= grams[1]
        return f"print {'the part' if first else 'a ladder'} first: {told}"


def next_ladder(
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    specimens: int,
    trials: Iterable[Trial] = (),
    u_gap_mm: float = U_NEXT_GAP_MM,
    step_mm: float = 0.01,
    u_lasting_mm: float = 0.0,
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
    u_lasting_mm : float, mm
        How far the gaps of every such ladder may be off alike, as `fitkit.fits.learn` takes it:
        verdicts on an earlier ladder then tell of the next one, however vague the profile is.

    Returns
    -------
    Ladder

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
            f"a ladder cannot have {specimens} specimens",
            code="fits.specimens",
            remedy=f"Ask for 1 to {MAX_SPECIMENS}.",
        )
    model = learn(
        pair,
        behaviour,
        size_mm=size_mm,
        trials=trials,
        u_lasting_mm=u_lasting_mm,
        doubted=True,
    )
    candidates = _candidates(model, step_mm, least=2 * specimens)
    draws = _thinned(model)
    by_draw = model.p_by_draw(candidates, u_gap_mm=u_gap_mm, draws=draws)
    aims = np.linspace(candidates[0], candidates[-1], 41)
    near = np.abs(candidates[:, None] - candidates) < u_gap_mm - 1e-9
    np.fill_diagonal(near, True)
    chosen, _, bits = _greedy(by_draw, _in_band(model, aims, draws), specimens, near)
    gaps = tuple(sorted(float(candidates[i]) for i in chosen))
    # Few draws are enough to choose; what is then promised rests on all of them.
    finer = _aims(model, step_mm, least=2 * specimens)
    outcomes = _outcomes_of(model, gaps, u_gap_mm)
    wanted = _wanted_at(model, finer, u_gap_mm)
    best, p_now = model.best_gap_mm(u_gap_mm=u_gap_mm)
    p_after = max(_expected_best(outcomes, wanted), p_now)
    part_first, ladder_first = expected_prints(model, best, gaps, u_gap_mm=u_gap_mm)
    sure_now = model.p_in_band(best)
    return Ladder(
        pair=pair,
        behaviour=behaviour,
        size_mm=size_mm,
        gaps_mm=gaps,
        information_bits=bits,
        p_now=p_now,
        p_after=p_after,
        prints_part_first=part_first,
        prints_ladder_first=ladder_first,
        sure_now=sure_now,
        sure_after=max(_expected_best(outcomes, _in_band(model, finer)), sure_now),
        notes=_notes(model, sure_now),
    )


def expected_after(
    model: VerdictModel, gaps_mm: Iterable[float], *, u_gap_mm: float = U_NEXT_GAP_MM
) -> float:
    """Chance that the next print is as wanted, as expected once some gaps are printed and judged.

    Parameters
    ----------
    model : VerdictModel
        What is believed now.
    gaps_mm : iterable of float, mm
        That will be tried, as printed.
    u_gap_mm : float, mm
        Standard uncertainty with which each print keeps its gap.

    Returns
    -------
    float
        Never less than the chance now.
    """
    wanted = _wanted_at(model, _aims(model), u_gap_mm)
    now = float((model.weight @ wanted).max())
    return max(_expected_best(_outcomes_of(model, gaps_mm, u_gap_mm), wanted), now)


def expected_prints(
    model: VerdictModel,
    gap_mm: float,
    ladder_mm: Iterable[float],
    *,
    u_gap_mm: float = U_NEXT_GAP_MM,
) -> tuple[float, float]:
    """Prints to expect until a part is as wanted, printed at once or after a ladder.

    Parameters
    ----------
    model : VerdictModel
        What is believed now.
    gap_mm : float, mm
        Of the part, if it is printed at once.
    ladder_mm : iterable of float, mm
        Gaps of the ladder.
    u_gap_mm : float, mm
        Standard uncertainty with which each print keeps its gap.

    Returns
    -------
    part_first, ladder_first : float
        The ladder counts as a print. After the first verdict each further print is taken to succeed
        with the chance that it then has.
    """
    wanted = _wanted_at(model, _aims(model), u_gap_mm)
    outcomes = model.p_by_draw(gap_mm, u_gap_mm=u_gap_mm)[0].T * model.weight
    p_now = float(outcomes[WANTED].sum())
    p_next = _expected_best(np.delete(outcomes, WANTED, axis=0), wanted) / max(1.0 - p_now, 1e-9)
    p_after = expected_after(model, ladder_mm, u_gap_mm=u_gap_mm)
    part_first = 1.0 + (1.0 - p_now) / max(p_next, 1e-6)
    return part_first, 1.0 + 1.0 / max(p_after, p_now, 1e-6)


def _aims(model: VerdictModel, step_mm: float = 0.01, *, least: int = 4) -> Array:
    """Gaps that one may come to choose, over all that the thresholds may reach."""
    candidates = _candidates(model, step_mm, least=least)
    return np.linspace(candidates[0], candidates[-1], 81)


def _wanted_at(model: VerdictModel, aims: Array, u_gap_mm: float) -> Array:
    """Chance by each draw that a print at each aim is as wanted: array (n, a)."""
    return np.asarray(model.p_by_draw(aims, u_gap_mm=u_gap_mm)[:, :, WANTED].T)


def _outcomes_of(model: VerdictModel, gaps_mm: Iterable[float], u_gap_mm: float) -> Array:
    """Joint outcomes (o, n) of judging specimens of these gaps, with each draw's share."""
    outcomes: Array = model.weight[None, :]
    for gap in gaps_mm:
        by_draw = model.p_by_draw(gap, u_gap_mm=u_gap_mm)[0].T
        outcomes = _thin((outcomes[:, None, :] * by_draw).reshape(-1, len(model.weight)))
    return outcomes


def _notes(model: VerdictModel, sure_now: float) -> tuple[str, ...]:
    if not model.trials:
        return ("from common practice alone: no trials yet",)
    if sure_now >= SURE:
        return ("the best gap is sure enough already: print the part, not another ladder",)
    return ()


def even_ladder(pair: str, behaviour: str, *, size_mm: float, specimens: int) -> tuple[float, ...]:
    """Gaps evenly spaced over the band in which the best gap lies before any trial (95 %).

    Parameters
    ----------
    pair, behaviour : str
        From `PAIRS` and `BEHAVIOURS`.
    size_mm : float, mm
    specimens : int
        1 or more; a single one lies in the middle of the band.

    Returns
    -------
    tuple of float, mm
        Ascending; none is negative for a pair that allows no interference.
    """
    model = learn(pair, behaviour, size_mm=size_mm, doubted=True)
    low, high = model.best_gap_band_mm(0.95)
    if not allows_interference(pair):
        low = max(low, 0.0)
    if specimens == 1:
        return (0.5 * (low + high),)
    return tuple(float(gap) for gap in np.linspace(low, high, specimens))


def _candidates(model: VerdictModel, step_mm: float, *, least: int) -> Array:
    """Some forty gaps, multiples of the step, over all that the thresholds may reach."""
    low, high = model.best_gap_band_mm(0.95)
    reach = max(model.prior.half_width_mm, least * step_mm)
    first, last = math.ceil((low - reach) / step_mm), math.floor((high + reach) / step_mm)
    if not allows_interference(model.pair):
        first, last = max(first, 0), max(last, least)
    return step_mm * np.arange(first, last + 1, max(1, round((last - first) / 40)))


def _thinned(model: VerdictModel) -> NDArray[np.int64]:
    """Indices of few draws, of equal weight, that stand for all."""
    n = min(_DRAWS, len(model.weight))
    levels = (np.arange(n) + 0.5) / n
    # Sorted by the best gap, systematic thinning keeps that gap's distribution nearly exact.
    order = np.argsort(model.thresholds_mm[:, BAND].mean(axis=1))
    place = np.searchsorted(np.cumsum(model.weight[order]), levels).clip(max=len(order) - 1)
    return np.asarray(order[place])


def _in_band(model: VerdictModel, aims: Array, draws: NDArray[np.int64] | None = None) -> Array:
    """Tell how surely each aim lies in each draw's wanted band, or in some's: array (n, a)."""
    pick = slice(None) if draws is None else draws
    low, high = model.thresholds_mm[pick, BAND].T[:, :, None]
    return interval_probability(low - aims, high - aims, _EDGE_MM)


def _expected_best(outcomes: Array, worth: Array) -> float:
    """Sum over outcomes, which hold their own chance, of the best aim's worth: (o, n) @ (n, a)."""
    return float((outcomes @ worth).max(axis=1).sum())


def _greedy(
    by_draw: Array, worth: Array, specimens: int, near: NDArray[np.bool_] | None = None
) -> tuple[list[int], Array, float]:
    """Choose gaps one by one.

    Parameters
    ----------
    by_draw : array of shape (g, n, 5)
        Chance of each verdict at each gap by each draw.
    worth : array of shape (n, a)
        What each draw would give for each aim.
    near : array of shape (g, g), optional
        Which gaps are too near to each other to be told apart; each is near to itself.

    Returns
    -------
    indices of the gaps, joint outcomes (o, n) with each draw's share, information in bits
    """
    gaps, n, verdicts = by_draw.shape
    verdict_by_draw = by_draw.transpose(0, 2, 1)
    outcomes: Array = np.full((1, n), 1.0 / n)
    near = np.eye(gaps, dtype=bool) if near is None else near
    chosen: list[int] = []
    bits = 0.0
    for _ in range(specimens):
        few = _thin(outcomes, _WEIGHED)
        then = (few[:, None, None, :] * verdict_by_draw).reshape(-1, n)
        value = (then @ worth).max(axis=1).reshape(len(few), gaps, verdicts).sum(axis=(0, 2))
        value[near[chosen].any(axis=0)] = -np.inf
        best = int(value.argmax())
        chosen.append(best)
        chance = outcomes.sum(axis=1)
        predicted = outcomes @ by_draw[best] / chance[:, None]
        # The verdict's entropy, less what stays open even when the thresholds are known.
        bits += float(chance @ _entropy(predicted) - _entropy(by_draw[best]).mean())
        grown = (outcomes[:, None, :] * verdict_by_draw[best]).reshape(-1, n)
        outcomes = _thin(grown)
    return chosen, outcomes, bits


def _thin(outcomes: Array, keep: int = _OUTCOMES) -> Array:
    """Keep a fair sample of the joint outcomes if they are too many: systematic, by chance."""
    chance = outcomes.sum(axis=1)
    if len(outcomes) <= keep:
        return np.asarray(outcomes[chance > 0.0])
    levels = (np.arange(keep) + 0.5) / keep * chance.sum()
    pick = np.searchsorted(np.cumsum(chance), levels).clip(max=len(chance) - 1)
    return np.asarray(outcomes[pick] / chance[pick, None] / keep)


def _entropy(p: Array) -> Array:
    """Entropy in bits over the last axis."""
    from scipy.special import entr

    return np.asarray(entr(p).sum(axis=-1) / math.log(2.0))
