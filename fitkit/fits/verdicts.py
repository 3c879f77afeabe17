"""Verdicts against gap: a Bayesian ordered-probit model, pooled over pairs, behaviours and sizes.

Four thresholds on the gap part the five verdicts; a trial of gap g, known to u, ends below
threshold t with probability Phi((t - g) / sqrt(s² + u²)), s being print-to-print scatter and the
judge's own. Integrating a normal error of the gap out of a probit gives just that wider scatter, so
the uncertainty of the as-printed gap is exact in the model. The thresholds stand at

    t1 = t2 - zone * exp(alpha)     will not go | tight
    t2 = m + d - w * exp(lambda)    tight | as wanted
    t3 = m + d + w * exp(lambda)    as wanted | loose
    t4 = t3 + zone * exp(beta)      loose | rattles

with m, w, zone from the prior table; of further verdicts on either side, each would stand a zone
farther out. The shift d is a normal process over (pair, behaviour, size):
a printer-wide part, parts for the pair, for the behaviour of that pair, and for the size, the last
fading with the ratio of the sizes. So trials of one pair teach about another, less the more they
differ. One verdict in a hundred is taken for a slip, judged with a scatter of half a millimetre: so
one alone cannot drag the answer far, and many that agree still can. Most printers stand near common
practice once gaps are taken as printed; a few stand far from it and scatter more, and the model
finds out by the verdicts which of the two this printer is (a mixture of two normals). So the chance
that is shown before any trial is that of printers at large, and trials of a far one move fast.

A gap that was predicted and not measured is off by what is unknown of the printer, and the next
print of the same sizes is off alike. That part is not scatter: verdicts on predicted gaps tell
where the next predicted gap behaves as wanted.

Left out: a scatter that differs between pairs, wear, and thresholds that move with the season.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.special import chdtri, ndtr

from fitkit.fits.prior import GapPrior, gap_prior
from fitkit.fits.sampling import sample_posterior
from fitkit.fits.trial import AS_WANTED, VERDICTS, allows_interference

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from numpy.typing import ArrayLike, NDArray

    from fitkit.fits.sampling import WeightedDraws
    from fitkit.fits.trial import Trial

    Array = NDArray[np.floating[Any]]

__all__ = [
    "Kind",
    "Thresholds",
    "VerdictModel",
    "interval_probability",
    "learn",
    "thresholds_of",
    "thresholds_together",
]

# Standard deviations of the parts of the shift d, mm; common practice, no source.
PRINTER_MM, PAIR_MM, BEHAVIOUR_MM, SIZE_MM = 0.03, 0.025, 0.02, 0.025
# Over this many doublings of the size, the size's part falls to 1/e.
SIZE_FADE = 2.0
# lambda, alpha, beta, log s: means and standard deviations from which they are drawn.
SHAPE_MEAN = (0.0, 0.0, 0.0, math.log(0.02))
SHAPE_SD = (0.35, 0.4, 0.4, 1.0)
# Scatter of usual printers and of those far from practice, and its spread in logarithms.
SCATTER_MM, FAR_SCATTER_MM, SCATTER_LOG_SD = 0.02, 0.08, 0.5
# So many times farther do printers far from practice stand; and their share: of printers taken at
# random, and of those for which somebody prints a ladder, since trouble makes people do that.
FAR_TIMES, FAR_SHARE, FAR_SHARE_DOUBTED = 5.0, 0.06, 0.25
# What is common to printer and pair is drawn so many times wider than it usually is.
_BASE = 4.0
SLIP, SLIP_MM = 0.01, 0.5
# Thresholds at either end of the wanted band.
WANTED = VERDICTS.index(AS_WANTED)
BAND = slice(WANTED - 1, WANTED + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VerdictModel:
    """What is believed of one pair, behaviour and size after the trials.

    Attributes
    ----------
    pair, behaviour : str
    size_mm : float, mm
    prior : GapPrior
        The band before any trial.
    thresholds_mm : array of shape (n, v - 1), mm
        Draws of the thresholds between the v verdicts.
    scatter_mm : array of shape (n,), mm
        Draws of s.
    weight : array of shape (n,)
        Of the draws; sums to 1.
    effective : float
        How many draws of equal weight they are worth.
    trials : tuple of Trial
        What it rests on.
    """

    pair: str
    behaviour: str
    size_mm: float
    prior: GapPrior
    thresholds_mm: Array
    scatter_mm: Array
    weight: Array
    effective: float
    trials: tuple[Trial, ...]

    def p_verdict(self, gap_mm: ArrayLike, *, u_gap_mm: float = 0.0, df: float = math.inf) -> Array:
        """Chance of each verdict.

        Parameters
        ----------
        gap_mm : array of shape (g,), mm
        u_gap_mm : float, mm
            Standard uncertainty with which a print keeps such a gap.
        df : float
            Its degrees of freedom.

        Returns
        -------
        array of shape (g, v)
            In the order of the v `VERDICTS`; rows sum to 1.
        """
        return self.weight @ self.p_by_draw(gap_mm, u_gap_mm=u_gap_mm, df=df)

    def p_by_draw(
        self,
        gap_mm: ArrayLike,
        *,
        u_gap_mm: float = 0.0,
        df: float = math.inf,
        draws: NDArray[np.int64] | None = None,
    ) -> Array:
        """Chance of each verdict by each draw, or by some.

        Parameters
        ----------
        gap_mm : array of shape (g,), mm
        u_gap_mm : float, mm
        df : float
            As `p_verdict` takes them.
        draws : array of int of shape (n,), optional
            Indices of the draws that count; all if not given.

        Returns
        -------
        array of shape (g, n, 5)
            In the order of `VERDICTS`; sums to 1 over the last axis.
        """
        gaps = np.atleast_1d(np.asarray(gap_mm, dtype=float))
        pick = slice(None) if draws is None else draws
        scatter = self._scatter(u_gap_mm, df)[pick]
        below = ndtr((self.thresholds_mm[pick] - gaps[:, None, None]) / scatter[:, None])
        return np.diff(below, axis=2, prepend=0.0, append=1.0)

    def p_wanted(self, gap_mm: ArrayLike, *, u_gap_mm: float = 0.0, df: float = math.inf) -> Array:
        """Chance of ``as wanted`` at each gap.

        Parameters
        ----------
        gap_mm : array of shape (g,), mm
        u_gap_mm : float, mm
            Standard uncertainty with which a print keeps such a gap.
        df : float
            Its degrees of freedom.

        Returns
        -------
        array of shape (g,)
        """
        gaps = np.atleast_1d(np.asarray(gap_mm, dtype=float))
        low, high = self.thresholds_mm[:, BAND].T
        scatter = self._scatter(u_gap_mm, df)
        p = interval_probability(low - gaps[:, None], high - gaps[:, None], scatter)
        return p @ self.weight

    def p_in_band(self, gap_mm: float) -> float:
        """Chance that the gap lies in the true wanted band, whatever the scatter of one print."""
        low, high = self.thresholds_mm[:, BAND].T
        return float(self.weight @ ((low < gap_mm) & (gap_mm < high)))

    def _scatter(self, u_gap_mm: float, df: float) -> Array:
        """Scatter of a verdict by each draw, mm: print and judge, and the doubt about the gap.

        A doubt of few degrees of freedom is a Student t, which is a normal of a scale that is not
        known: each draw takes a scale of its own, and together they take all (even quantiles).
        """
        if not math.isfinite(df) or not u_gap_mm:
            return np.hypot(self.scatter_mm, u_gap_mm)
        golden = 0.5 * (math.sqrt(5.0) - 1.0)
        levels = (0.5 + golden * np.arange(len(self.scatter_mm))) % 1.0
        return np.asarray(np.hypot(self.scatter_mm, u_gap_mm * np.sqrt(df / chdtri(df, levels))))

    def best_gap_mm(self, *, u_gap_mm: float = 0.0, df: float = math.inf) -> tuple[float, float]:
        """Find the gap with the greatest chance of ``as wanted``.

        Parameters
        ----------
        u_gap_mm : float, mm
        df : float
            As `p_wanted` takes them.

        Returns
        -------
        gap_mm : float, mm
        chance : float
        """
        if not self.trials:  # all that is believed lies even about the middle of the prior
            gap = self.prior.gap_mm
            return gap, float(self.p_wanted(gap, u_gap_mm=u_gap_mm, df=df)[0])
        low, high = self.wanted_band_mm
        reach = max(high - low, 0.02)
        gap, step = 0.5 * (low + high), reach / 10.0
        for _ in range(3):  # ever finer: the curve is smooth on the scale of the band
            gaps = gap + step * np.arange(-10.0, 11.0)
            if not allows_interference(self.pair):
                gaps = np.unique(np.maximum(gaps, 0.0))
            p = self.p_wanted(gaps, u_gap_mm=u_gap_mm, df=df)
            gap, chance = float(gaps[p.argmax()]), float(p.max())
            step /= 10.0
        return gap, chance

    @property
    def wanted_band_mm(self) -> tuple[float, float]:
        """Expected edges of the band that behaves as wanted."""
        low, high = self.weight @ self.thresholds_mm[:, BAND]
        return float(low), float(high)

    def best_gap_band_mm(self, level: float = 0.9) -> tuple[float, float]:
        """Credible band of the best gap, which for each draw is the middle of its wanted band."""
        middle = self.thresholds_mm[:, BAND].mean(axis=1)
        order = np.argsort(middle)
        reached = np.cumsum(self.weight[order]) - 0.5 * self.weight[order]
        low, high = np.interp([0.5 - level / 2, 0.5 + level / 2], reached, middle[order])
        return float(low), float(high)


def learn(
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    trials: Iterable[Trial] = (),
    draws: int = 2048,
    u_lasting_mm: float = 0.0,
    doubted: bool = False,
) -> VerdictModel:
    """Learn the thresholds of one pair, behaviour and size from trials of any.

    Parameters
    ----------
    pair, behaviour : str
        From `PAIRS` and `BEHAVIOURS`.
    size_mm : float, mm
    trials : iterable of Trial
        All of one printer and material; may be empty.
    draws : int
        A power of two.
    u_lasting_mm : float, mm
        How far the gap of every print of this size may be off alike. The thresholds are then those
        of the gap as it is predicted, and trials whose gap was predicted too share the error.
    doubted : bool
        Whether somebody doubts that the printer is a usual one: who prints a ladder does. One in
        four such printers is then believed to be far from common practice.

    Returns
    -------
    VerdictModel
        The same question is answered from a cache.

    Raises
    ------
    FitError
        If the pair or behaviour is unknown, or the pair cannot behave so.
    """
    known = tuple(trials)
    return _learn(pair, behaviour, float(size_mm), known, draws, round(u_lasting_mm, 4), doubted)


@lru_cache(maxsize=256)
def _learn(
    pair: str,
    behaviour: str,
    size_mm: float,
    trials: tuple[Trial, ...],
    draws: int,
    u_lasting_mm: float,
    doubted: bool,
) -> VerdictModel:
    asked = Kind(pair, behaviour, size_mm, u_lasting_mm)
    drawn = thresholds_together((asked,), trials, draws=draws, doubted=doubted)
    arrays = (drawn.thresholds_mm[:, 0, :], drawn.scatter_mm, drawn.weight)
    for array in arrays:  # the result is cached and shared
        array.flags.writeable = False
    return VerdictModel(
        pair=pair,
        behaviour=behaviour,
        size_mm=size_mm,
        prior=gap_prior(pair, behaviour, size_mm),
        thresholds_mm=arrays[0],
        scatter_mm=arrays[1],
        weight=arrays[2],
        effective=drawn.effective,
        trials=trials,
    )


class Thresholds(NamedTuple):
    """Draws of the thresholds of several fits of one printer, together.

    Attributes
    ----------
    thresholds_mm : array of shape (n, k, 4), mm
    scatter_mm : array of shape (n,), mm
    weight : array of shape (n,)
        Sums to 1.
    effective : float
        How many draws of equal weight they are worth.
    """

    thresholds_mm: Array
    scatter_mm: Array
    weight: Array
    effective: float


def thresholds_together(
    asked: Sequence[Kind],
    trials: Sequence[Trial],
    *,
    draws: int = 2048,
    lasting_mm2: Array | None = None,
    doubted: bool = False,
) -> Thresholds:
    """Draw the thresholds of several fits of one printer together, after the trials.

    Parameters
    ----------
    asked : sequence of Kind, k of them
    trials : sequence of Trial
    draws : int
        A power of two.
    lasting_mm2 : array of shape (k, k), mm², optional
        Covariance of what the predicted gaps of the asked fits are off by at every print, if it is
        known better than from what each is off by alone.
    doubted : bool
        As `learn` takes it.

    Returns
    -------
    Thresholds
    """
    priors = [gap_prior(kind.pair, kind.behaviour, kind.size_mm) for kind in asked]
    far_share = FAR_SHARE_DOUBTED if doubted else FAR_SHARE
    kinds = list(asked)
    place = []
    for trial in trials:
        kind = Kind(trial.pair, trial.behaviour, trial.size_mm, round(trial.u_lasting_mm, 3))
        same = (one for one in asked if kind == one._replace(u_lasting_mm=round(one[3], 3)))
        kind = next(same, kind)
        if kind not in kinds:
            kinds.append(kind)
        place.append(kinds.index(kind))
    pairs = list(dict.fromkeys(kind.pair for kind in kinds))
    of_pair = np.array([pairs.index(kind.pair) for kind in kinds])
    own, common = len(kinds), len(pairs)
    cov = np.zeros((own + common + 4, own + common + 4))
    cov[:own, :own] = _own_covariance(kinds, lasting_mm2)
    shared = PRINTER_MM**2 + PAIR_MM**2 * np.eye(common)
    cov[own : own + common, own : own + common] = _BASE**2 * shared
    cov[range(own + common, own + common + 4), range(own + common, own + common + 4)] = np.square(
        SHAPE_SD
    )
    mean = np.concatenate([np.zeros(own + common), SHAPE_MEAN])
    seen = _Seen.of(trials, np.array(place, dtype=int))
    inverse = np.linalg.inv(shared)

    def shifts_of(x: Array) -> Array:
        return x[:, :own] + x[:, own : own + common][:, of_pair]

    def log_likelihood(x: Array) -> Array:
        of_trials = seen.log_likelihood(shifts_of(x), x[:, own + common :])
        return of_trials + _believed(x[:, own : own + common], x[:, -1], inverse, far_share)

    drawn: WeightedDraws = sample_posterior(log_likelihood, mean, cov, draws=draws)
    shape = drawn.x[:, own + common :]
    middle, half, zone = np.array(
        [(one.gap_mm, one.half_width_mm, one.zone_mm) for one in priors]
    ).T
    limits = thresholds_of(middle + shifts_of(drawn.x)[:, : len(asked)], half, zone, shape)
    return Thresholds(limits, np.exp(shape[:, 3]), drawn.weight, drawn.effective)


class Kind(NamedTuple):
    """What has a shift of its own: a pair, behaviour and size, and how well its gap is known."""

    pair: str
    behaviour: str
    size_mm: float
    u_lasting_mm: float


def _own_covariance(kinds: Sequence[Kind], lasting_mm2: Array | None = None) -> Array:
    """Prior covariance of the shifts of several kinds, beside what printer and pair share."""
    pairs = np.array([kind.pair for kind in kinds])
    wants = np.array([kind.behaviour for kind in kinds])
    doublings = np.log2([kind.size_mm for kind in kinds])
    lasting = np.array([kind.u_lasting_mm for kind in kinds])
    same_pair = pairs[:, None] == pairs
    same_want = same_pair & (wants[:, None] == wants)
    fade = np.exp(-np.abs(doublings[:, None] - doublings) / SIZE_FADE)
    cov: Array = (
        BEHAVIOUR_MM**2 * same_want
        + SIZE_MM**2 * fade
        # Gaps that were predicted are off alike, most where the sizes are alike.
        + np.outer(lasting, lasting) * same_pair * fade
        + 1e-12 * np.eye(len(kinds))
    )
    if lasting_mm2 is None:
        return cov
    known = len(lasting_mm2)
    cov[:known, :known] += (
        lasting_mm2 - (np.outer(lasting, lasting) * same_pair * fade)[:known, :known]
    )
    # Two ways of saying how alike errors are need not agree to the last digit.
    values, vectors = np.linalg.eigh(cov)
    return np.asarray(vectors * np.maximum(values, 1e-9) @ vectors.T)


def _believed(common: Array, log_scatter: Array, inverse: Array, far_share: float) -> Array:
    """Log density of what is believed before trials, less that of the normal it is drawn from.

    But for constants. A printer is a usual one, or one of the few far from common practice, which
    scatter more, too.
    """
    distance = np.einsum("ni,ij,nj->n", common, inverse, common)

    def of(share: float, times: float, scatter_mm: float) -> Array:
        off = np.square((log_scatter - math.log(scatter_mm)) / SCATTER_LOG_SD)
        return np.asarray(
            math.log(share) - common.shape[1] * math.log(times) - 0.5 * (distance / times**2 + off)
        )

    usual = of(1.0 - far_share, 1.0, SCATTER_MM)
    far = of(far_share, FAR_TIMES, FAR_SCATTER_MM)
    drawn = distance / _BASE**2 + np.square((log_scatter - SHAPE_MEAN[3]) / SHAPE_SD[3])
    return np.asarray(np.logaddexp(usual, far) + 0.5 * drawn)


def thresholds_of(middle: Array, half: Array, zone: Array, shape: Array) -> Array:
    """Place the thresholds, one between each two verdicts.

    Parameters
    ----------
    middle : array of shape (n, t), mm
    half, zone : arrays of shape (t,), mm
    shape : array of shape (n, 4)
        lambda, alpha, beta, log s.

    Returns
    -------
    array of shape (n, t, v - 1), mm
        For v verdicts, from too small a gap to too large. Two of them bound the wanted band; each
        further one stands a zone farther out.
    """
    width, low_zone, high_zone = (np.exp(shape[:, i, None]) for i in range(3))
    low, high = middle - half * width, middle + half * width
    below = [low - out * zone * low_zone for out in range(WANTED - 1, -1, -1)]
    above = [high + out * zone * high_zone for out in range(len(VERDICTS) - 1 - WANTED)]
    return np.stack([*below, *above], axis=-1)


def interval_probability(low: Array, high: Array, scatter: Array | float) -> Array:
    """Probability of a centred normal between two bounds; exact far out in either tail."""
    a, b = low / scatter, high / scatter
    # Both bounds far right would cancel to 0; mirrored they lie far left, where ndtr keeps digits.
    flip = np.where(a + b > 0.0, -1.0, 1.0)
    return np.asarray(np.abs(ndtr(flip * b) - ndtr(flip * a)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """The trials as arrays of shape (t,)."""

    place: NDArray[np.int64]
    middle: Array
    half: Array
    zone: Array
    gap: Array
    u_gap: Array
    verdict: NDArray[np.int64]
    times: Array

    @classmethod
    def of(cls, trials: Sequence[Trial], place: NDArray[np.int64]) -> _Seen:
        """Gather trials; equal ones are counted, not repeated."""
        rows: dict[tuple[float, ...], int] = {}
        for trial, at in zip(trials, place, strict=True):
            prior = gap_prior(trial.pair, trial.behaviour, trial.size_mm)
            row = (
                float(at),
                prior.gap_mm,
                prior.half_width_mm,
                prior.zone_mm,
                trial.gap_mm,
                trial.u_fresh_mm,
                float(VERDICTS.index(trial.verdict)),
            )
            rows[row] = rows.get(row, 0) + 1
        table = np.array(list(rows), dtype=float).reshape(-1, 7).T
        return cls(
            place=table[0].astype(int),
            middle=table[1],
            half=table[2],
            zone=table[3],
            gap=table[4],
            u_gap=table[5],
            verdict=table[6].astype(int),
            times=np.array(list(rows.values()), dtype=float),
        )

    def log_likelihood(self, shifts: Array, shape: Array) -> Array:
        """Log-likelihood of n draws: shifts (n, k), shape (n, 4), giving (n,)."""
        if not len(self.gap):
            return np.zeros(len(shifts))
        limits = thresholds_of(self.middle + shifts[:, self.place], self.half, self.zone, shape)
        count = len(self.gap)
        bounds = np.empty((len(shifts), count, len(VERDICTS) + 1))
        bounds[..., 0], bounds[..., 1:-1], bounds[..., -1] = -np.inf, limits, np.inf
        rows = np.arange(count)
        low = bounds[:, rows, self.verdict] - self.gap
        high = bounds[:, rows, self.verdict + 1] - self.gap
        scatter = np.hypot(np.exp(shape[:, 3, None]), self.u_gap)
        p = (1.0 - SLIP) * interval_probability(low, high, scatter)
        p += SLIP * interval_probability(low, high, SLIP_MM)
        log_p: Array = np.log(np.maximum(p, 1e-300))
        return log_p @ self.times
