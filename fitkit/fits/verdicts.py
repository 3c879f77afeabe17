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
finds out by the verdicts which of them this printer is (a mixture of normals). So the chance
that is shown before any trial is that of printers at large, and trials of a far one move fast.

A gap that was predicted and not measured is off by what is unknown of the printer, and the next
print of the same sizes is off alike. That part is not scatter: verdicts on predicted gaps tell
where the next predicted gap behaves as wanted.

Draws are made of the kinds that were tried, once for all that is asked of the same trials, apart
for usual printers and for those far from practice (each has one mode). Kinds that were not tried
follow from them, since their shifts are jointly normal.

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
from fitkit.fits.sampling import differences, draw_about, normal_points, posterior_mode
from fitkit.fits.trial import AS_WANTED, VERDICTS, allows_interference

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from numpy.typing import ArrayLike, NDArray

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
# lambda, alpha, beta: means and standard deviations.
SHAPE_MEAN = (0.0, 0.0, 0.0)
SHAPE_SD = (0.35, 0.4, 0.4)
# Sorts of printers: their share, how many times farther than usual their bands stand, and how much
# their verdicts scatter. Of printers taken at random few stand far from practice. Trouble makes
# people print a ladder, and nothing says which sort theirs is; steps are even in the logarithm, so
# that no distance falls between two sorts. Common practice, no source.
AT_LARGE = ((0.94, 1.0, 0.02), (0.06, 5.0, 0.08))
DOUBTED = ((1 / 3, 1.0, 0.02), (1 / 3, 2.65, 0.045), (1 / 3, 7.0, 0.1))
# Natural logarithm, 1 sd, by which the scatter may be wrong.
SCATTER_LOG_SD = 0.5
SLIP, SLIP_MM = 0.01, 0.5
# Steps of numerical slopes: of a shift in mm, and of the four numbers of the shape.
_SLOPE_STEP = np.array([3e-4, 1e-3, 1e-3, 1e-3, 1e-3])
# Thresholds at either end of the wanted band.
WANTED = VERDICTS.index(AS_WANTED)
BAND = slice(WANTED - 1, WANTED + 1)
# Thresholds beyond which a pair does not go together, or rattles: nobody can use it.
USABLE = slice(0, len(VERDICTS) - 1, len(VERDICTS) - 2)


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
        Whether somebody doubts that the printer is a usual one: who prints a ladder does. A usual
        one, one apart from common practice and one far from it are then equally likely.

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
    kinds, place = _kinds_of(asked, trials)
    own = _own_covariance(kinds, lasting_mm2)
    pairs = tuple(kind.pair for kind in kinds)
    tried = list(dict.fromkeys(place))  # in the order of the trials, whatever is asked
    posterior = _after(
        tuple(trials),
        tuple(tried.index(at) for at in place),
        tuple(pairs[at] for at in tried),
        np.ascontiguousarray(own[np.ix_(tried, tried)]).tobytes(),
        draws,
        DOUBTED if doubted else AT_LARGE,
    )
    shifts = np.concatenate(
        [
            _of_asked(part.x, own + part.times**2 * _common_covariance(pairs), tried, len(asked))
            for part in posterior.parts
        ]
    )
    middle, half, zone = np.array(
        [(one.gap_mm, one.half_width_mm, one.zone_mm) for one in priors]
    ).T
    shape = np.concatenate([part.x[:, len(tried) :] for part in posterior.parts])
    limits = thresholds_of(middle + shifts, half, zone, shape)
    return Thresholds(limits, np.exp(shape[:, 3]), posterior.weight, posterior.effective)


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


def _kinds_of(asked: Sequence[Kind], trials: Sequence[Trial]) -> tuple[list[Kind], list[int]]:
    """List the kinds that are asked about, then the others that were tried; and each trial's."""
    kinds, place = list(asked), []
    for trial in trials:
        kind = Kind(trial.pair, trial.behaviour, trial.size_mm, round(trial.u_lasting_mm, 3))
        for at, one in enumerate(kinds):
            if kind == one._replace(u_lasting_mm=round(one.u_lasting_mm, 3)):
                kinds[at] = kind  # as tried, so that the trials say the same whoever asks
                break
        else:
            at = len(kinds)
            kinds.append(kind)
        place.append(at)
    return kinds, place


def _common_covariance(pairs: Sequence[str]) -> Array:
    """Prior covariance of what printer and pair share in the shifts, of usual printers."""
    names = np.array(pairs)
    return np.asarray(PRINTER_MM**2 + PAIR_MM**2 * (names[:, None] == names))


class _Part(NamedTuple):
    """Draws of one sort of printers, which stand `times` farther off than usual ones."""

    x: Array
    times: float


class _Posterior(NamedTuple):
    """What trials say of the kinds that were tried, x being their shifts and then the shape."""

    parts: tuple[_Part, ...]
    weight: Array
    effective: float


# A part's fits and a ladder's gaps are all asked of the same trials.
@lru_cache(maxsize=16)
def _after(
    trials: tuple[Trial, ...],
    place: tuple[int, ...],
    pairs: tuple[str, ...],
    own: bytes,
    draws: int,
    sorts: tuple[tuple[float, float, float], ...],
) -> _Posterior:
    """Draw the shifts of what was tried, and the shape, for each sort of printers.

    Parameters
    ----------
    trials : tuple of Trial
    place : tuple of int
        Of which kind each is.
    pairs : tuple of str, k of them
        Of the kinds.
    own : bytes of an array of shape (k, k), mm²
        Covariance of their own shifts.
    draws : int
    sorts : tuple of (float, float, float)
        Of printers, as `AT_LARGE` has them.

    Returns
    -------
    _Posterior
    """
    count = len(pairs)
    seen = _Seen.of(trials, np.array(place, dtype=int))
    tried = []
    for share, times, scatter_mm in sorts:
        cov = np.diag(np.square([0.0] * count + [*SHAPE_SD, SCATTER_LOG_SD]))
        cov[:count, :count] = np.frombuffer(own).reshape(count, count)
        cov[:count, :count] += times**2 * _common_covariance(pairs)
        mean = np.array([0.0] * count + [*SHAPE_MEAN, math.log(scatter_mm)])
        mode = posterior_mode(seen.of_draws, mean, cov, slopes=seen.slopes)
        tried.append((math.log(share), times, mean, cov, mode))
    likely = np.array([share + mode.log_evidence for share, *_, mode in tried])
    likely = np.exp(likely - likely.max())
    # Each sort has as many draws as it will weigh, but never so few that it could not gain weight.
    many = np.maximum(2 * np.round(draws * likely / likely.sum() / 2).astype(int), draws // 8)
    many[likely.argmax()] -= many.sum() - draws
    parts, weights = [], []
    for part_of, (share, times, mean, cov, mode) in zip(many, tried, strict=True):
        drawn = draw_about(mode, seen.of_draws, mean, cov, draws=int(part_of))
        parts.append(_Part(drawn.x, times))
        weights.append((share + drawn.log_evidence, drawn.weight))
    top = max(log for log, _ in weights)
    weight = np.concatenate([math.exp(log - top) * part for log, part in weights])
    weight /= weight.sum()
    return _Posterior(tuple(parts), weight, float(1.0 / (weight @ weight)))


def _of_asked(x: Array, cov: Array, tried: Sequence[int], asked: int) -> Array:
    """Draw the shifts of what is asked, given those of what was tried: shape (n, asked)."""
    found = np.zeros((len(x), asked))
    known = [at for at in range(asked) if at in tried]
    found[:, known] = x[:, [tried.index(at) for at in known]]
    new = [at for at in range(asked) if at not in tried]
    if not new:
        return found
    across = cov[np.ix_(new, tried)]
    gain = np.linalg.solve(cov[np.ix_(tried, tried)], across.T).T
    left = cov[np.ix_(new, new)] - gain @ across.T
    values, vectors = np.linalg.eigh(left)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    points = normal_points(len(new), len(x), seed=21)
    found[:, new] = x[:, : len(tried)] @ gain.T + points @ root.T
    return found


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
        return self._log_p(shifts[:, self.place], shape) @ self.times

    def of_draws(self, x: Array) -> Array:
        """Log-likelihood of draws that hold shifts and then the shape: (n, k + 4), giving (n,)."""
        return self.log_likelihood(x[:, :-4], x[:, -4:])

    def slopes(self, x: Array) -> tuple[Array, Array]:
        """Gradient of `of_draws` at x, (k + 4,), and its bend, (k + 4, k + 4), never negative.

        A trial hangs on its own shift and the four numbers of the shape only, so that all trials
        are moved at once, and the small matrices of each are then put where they belong.
        """
        gradient, bend = np.zeros(len(x)), np.zeros((len(x), len(x)))
        count = len(self.gap)
        if not count:
            return gradient, bend
        first, second = differences(
            lambda moves: self._log_p(x[self.place] + moves[:, :1], x[-4:] + moves[:, 1:]),
            _SLOPE_STEP,
        )
        own = np.concatenate(
            [self.place[:, None], np.broadcast_to(np.arange(len(x) - 4, len(x)), (count, 4))],
            axis=1,
        )
        np.add.at(gradient, own, (first * self.times[:, None]))
        np.add.at(bend, (own[:, :, None], own[:, None, :]), second * self.times[:, None, None])
        return gradient, bend

    def _log_p(self, shifts: Array, shape: Array) -> Array:
        """Log-probability of each trial's verdict: shifts (n, t), shape (n, 4), giving (n, t)."""
        limits = thresholds_of(self.middle + shifts, self.half, self.zone, shape)
        # Thresholds are few, so that each trial's two are picked rather than bounded by infinities.
        low = np.full(shifts.shape, -np.inf)
        high = np.full(shifts.shape, np.inf)
        first, last = self.verdict > 0, self.verdict < len(VERDICTS) - 1
        low[:, first] = limits[:, first, self.verdict[first] - 1]
        high[:, last] = limits[:, last, self.verdict[last]]
        low, high = low - self.gap, high - self.gap
        scatter = np.hypot(np.exp(shape[:, 3, None]), self.u_gap)
        p = (1.0 - SLIP) * interval_probability(low, high, scatter)
        p += SLIP * interval_probability(low, high, SLIP_MM)
        return np.asarray(np.log(np.maximum(p, 1e-300)))
