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
one alone cannot drag the answer far, and many that agree still can. What is common to a printer and
a pair has the tails of a Student t, since real printers stand farther from common practice than a
normal distribution allows; the scatter may be twice or half of what is usual, and is learned.

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
    from collections.abc import Iterable
    from typing import Any

    from numpy.typing import ArrayLike, NDArray

    from fitkit.fits.sampling import WeightedDraws
    from fitkit.fits.trial import Trial

    Array = NDArray[np.floating[Any]]

__all__ = ["VerdictModel", "interval_probability", "learn", "thresholds_of"]

# Standard deviations of the parts of the shift d, mm; common practice, no source.
PRINTER_MM, PAIR_MM, BEHAVIOUR_MM, SIZE_MM = 0.07, 0.05, 0.04, 0.05
# Over this many doublings of the size, the size's part falls to 1/e.
SIZE_FADE = 2.0
# lambda, alpha, beta, log s: prior means and standard deviations.
SHAPE_MEAN = (0.0, 0.0, 0.0, math.log(0.06))
# The scatter may well be twice or half of what is usual, and is learned.
SHAPE_SD = (0.35, 0.4, 0.4, 0.7)
# Degrees of freedom of the Student t of what is common to a printer and a pair: so heavy are its
# tails that a shift of three usual ones is not ruled out.
COMMON_DF = 2.0
_BASE = 2.5
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

    Returns
    -------
    VerdictModel
        The same question is answered from a cache.

    Raises
    ------
    FitError
        If the pair or behaviour is unknown, or the pair cannot behave so.
    """
    return _learn(pair, behaviour, float(size_mm), tuple(trials), draws, round(u_lasting_mm, 4))


@lru_cache(maxsize=256)
def _learn(
    pair: str,
    behaviour: str,
    size_mm: float,
    trials: tuple[Trial, ...],
    draws: int,
    u_lasting_mm: float,
) -> VerdictModel:
    prior = gap_prior(pair, behaviour, size_mm)
    kinds = [_Kind(pair, behaviour, size_mm, u_lasting_mm)]
    place = []
    for trial in trials:
        kind = _Kind(trial.pair, trial.behaviour, trial.size_mm, round(trial.u_lasting_mm, 3))
        if kind == kinds[0]._replace(u_lasting_mm=round(u_lasting_mm, 3)):
            kind = kinds[0]
        if kind not in kinds:
            kinds.append(kind)
        place.append(kinds.index(kind))
    pairs = list(dict.fromkeys(kind.pair for kind in kinds))
    of_pair = np.array([pairs.index(kind.pair) for kind in kinds])
    own, common = len(kinds), len(pairs)
    cov = np.zeros((own + common + 4, own + common + 4))
    cov[:own, :own] = _own_covariance(kinds)
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
        told = seen.log_likelihood(shifts_of(x), x[:, own + common :])
        return told + _tails(x[:, own : own + common], inverse)

    drawn: WeightedDraws = sample_posterior(log_likelihood, mean, cov, draws=draws)
    shape = drawn.x[:, own + common :]
    middle, half, zone = (np.array([v]) for v in (prior.gap_mm, prior.half_width_mm, prior.zone_mm))
    limits = thresholds_of(middle + shifts_of(drawn.x)[:, :1], half, zone, shape)[:, 0, :]
    arrays = (limits, np.exp(shape[:, 3]), drawn.weight)
    for array in arrays:  # the result is cached and shared
        array.flags.writeable = False
    return VerdictModel(
        pair=pair,
        behaviour=behaviour,
        size_mm=size_mm,
        prior=prior,
        thresholds_mm=arrays[0],
        scatter_mm=arrays[1],
        weight=arrays[2],
        effective=drawn.effective,
        trials=trials,
    )


class _Kind(NamedTuple):
    """What has a shift of its own: a pair, behaviour and size, and how well its gap is known."""

    pair: str
    behaviour: str
    size_mm: float
    u_lasting_mm: float


def _own_covariance(kinds: list[_Kind]) -> Array:
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
    return cov


def _tails(common: Array, inverse: Array) -> Array:
    """Log density of a multivariate Student t, less that of the normal it is drawn from.

    Both but for constants. The t has `COMMON_DF` degrees of freedom; the normal is `_BASE` times as
    wide, so that draws reach the tails.
    """
    distance = np.einsum("ni,ij,nj->n", common, inverse, common)
    power = 0.5 * (COMMON_DF + common.shape[1])
    return np.asarray(-power * np.log1p(distance / COMMON_DF) + 0.5 * distance / _BASE**2)


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
    def of(cls, trials: tuple[Trial, ...], place: NDArray[np.int64]) -> _Seen:
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
