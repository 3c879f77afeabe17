"""One update for all evidence: what readings of a printer's prints tell about sizes still to come.

A reading of a size drawn n mm, on print p, is

    read = n + x'b + (width, scale, height, flare of p) + d(n) + q + f + r

with the printer's terms b (`effects`), what no term holds d, the lasting peculiarity q of one
feature of one part, its scatter f from print to print, and the reading r. All are normal but for
r (Student's t, so that a slip moves little) and for four factors that nobody knows: how far this
printer strays from others, how large d is, how much prints differ, and how much features of one
print scatter (q and f). A grid over the four is weighed by how likely each makes the readings; a
prediction is the mixture over the grid.

With C the covariance of the readings and k that of new sizes with them, the new sizes have the mean
``n + x'm + k C^-1 (read - drawn - X m)`` and the covariance ``K - k C^-1 k'``: all sizes of a part
at once, so that gaps and chains are differences of rows.

What a coupon cannot tell: whether d is small. Its own sizes fit well either way, so only sizes
measured on parts have a say about that factor.

Model: Gaussian conditioning, as in any text on it; t noise by reweighting (Lange, Little and Taylor
1989, from memory), whose weights cost what the variational bound says (Tipping and Lawrence 2005,
from memory). The constants below are common practice and choices, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration.effects import Sizes, Source
from fitkit.core.expanded import expanded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.prior import Prior

    Array = NDArray[np.float64]

__all__ = ["Covariances", "Evidence", "Foreseen", "Knowledge", "learn", "log_points", "tail_points"]

# What no term holds, 1 sd, and over how large a ratio of sizes (natural logarithm) it fades.
DISCREPANCY_MM, FADE = 0.02, 1.0
# Bend of long sizes, 1 sd at 100 mm; it grows with the square of the size.
BEND_MM, BEND_AT_MM = 0.03, 100.0
# A feature's lasting peculiarity, and its scatter from print to print, 1 sd.
PECULIAR_MM, SCATTER_MM = 0.012, 0.015
# Print to print, 1 sd: line width, scale, height of the first layer, flare at the bed.
PRINT_SD = (0.02, 0.0003, 0.02, 0.03)
# Natural logarithms, 1 sd, by which the discrepancy and the print-to-print figures may be wrong.
DISCREPANCY_LOG_SD, PRINT_LOG_SD = 0.5, 0.35
# Degrees of freedom of how much features of one print scatter: few, since those of the open records
# scatter by 0.02 to 0.09 mm, and hardly any by less than they usually do.
SCATTER_DF = 1.5
# Degrees of freedom of the noise of readings.
NOISE_DF = 4.0
# How alike printers of one workshop are, and one printer with another material, nozzle or spool;
# and the days after which a printer is still so alike that e^-1 of the prior is left in common. Of
# a habit's variance between printers, a change draws again 1 less the square of this.
OTHER_PRINTER, OTHER_MATERIAL, OTHER_NOZZLE, OTHER_SPOOL = 0.85, 0.9, 0.93, 0.97
FADE_DAYS = 9000.0
# Readings farther than so many standard deviations from what all others predict are doubted.
DOUBTED = 1.5
# More readings than this are weighed on the whole grid only with their newest part.
_MOST_ON_GRID = 120
# Points of the grid that have less than this share of the weight are left out.
_LEAST_WEIGHT = 1e-4
NOBODYS = Source()
_ROUNDS = 8
_FLOOR_MM = 0.003
_ROOT_2PI = math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """Readings of printed sizes.

    Attributes
    ----------
    sizes : Sizes, n of them
    read_mm : array of shape (n,), mm
    own : array of shape (n,), mm²
        Variance of each reading's own error.
    shared : array of shape (n, n), mm²
        Covariance of what readings share: zero and scale of the calipers, temperature.
    coupon : array of bool of shape (n,)
        True for readings of coupons, False for sizes measured on parts.
    """

    sizes: Sizes
    read_mm: Array
    own: Array
    shared: Array
    coupon: NDArray[np.bool_]

    @classmethod
    def joined(cls, parts: Sequence[Evidence]) -> Evidence:
        """Put several together; what they share among each other is not known."""
        count = sum(len(part.sizes) for part in parts)
        shared = np.zeros((count, count))
        start = 0
        for part in parts:
            end = start + len(part.sizes)
            shared[start:end, start:end] = part.shared
            start = end
        return cls(
            sizes=Sizes.joined([part.sizes for part in parts]),
            read_mm=np.concatenate([part.read_mm for part in parts]),
            own=np.concatenate([part.own for part in parts]),
            shared=shared,
            coupon=np.concatenate([part.coupon for part in parts]),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foreseen:
    """Sizes to expect of one print, together.

    Attributes
    ----------
    mean_mm : array of shape (m,), mm
    cov : array of shape (m, m), mm²
    U95_mm : array of shape (m,), mm
        Half width of each interval that holds 95 %.
    weights, means, covs : arrays of shapes (g,), (g, m), (g, m, m)
        The normal distributions that the prediction is a mixture of.
    """

    mean_mm: Array
    cov: Array
    U95_mm: Array
    weights: Array
    means: Array
    covs: Array

    @property
    def u_mm(self) -> Array:
        """Standard uncertainties, shape (m,), mm."""
        return np.sqrt(np.diag(self.cov))

    @property
    def df(self) -> Array:
        """Degrees of freedom of Student's t that has the same U95 over u, shape (m,)."""
        return _df_of(self.U95_mm / np.maximum(self.u_mm, 1e-12))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Knowledge:
    """A printer as known from a prior and readings; made by `learn`.

    Attributes
    ----------
    prior : Prior
    evidence : Evidence or None
    weights : array of shape (g,)
        Of the points of the grid.
    tail, discrepancy, between, scatter : arrays of shape (g,)
        Factors of the variances at the points of the grid.
    inflation : array of shape (n,)
        By how much the variance of each reading was raised, since it lies far off; at the point of
        the greatest weight.
    """

    prior: Prior
    evidence: Evidence | None
    weights: Array
    tail: Array
    discrepancy: Array
    between: Array
    scatter: Array
    inflation: Array
    _inverse: Array = field(repr=False)
    _alpha: Array = field(repr=False)

    def predict(self, sizes: Sizes, *, lasting: bool = False) -> Foreseen:
        """Predict sizes of one print, all together.

        Parameters
        ----------
        sizes : Sizes, m of them
            Those without a print code are all of one print still to come.
        lasting : bool
            Predict the means over many prints and features instead.
        """
        own = Covariances.of(self.prior, sizes, sizes, same=True)
        if lasting:
            own = own.lasting(len(sizes))
        start = sizes.drawn + sizes.loads @ self.prior.mean
        covs = own.at(*self._factors)
        if self.evidence is None:
            means = np.broadcast_to(start, (len(self.weights), len(start)))
        else:
            cross = Covariances.of(self.prior, sizes, self.evidence.sizes).at(*self._factors)
            means = start + np.einsum("gmn,gn->gm", cross, self._alpha)
            gained = cross @ self._inverse @ np.swapaxes(cross, 1, 2)
            covs = covs - gained
        return _mixed(self.weights, means, covs)

    def fresh(self, sizes: Sizes) -> Array:
        """Give the covariance of what the next print draws again, shape (m, m), mm²."""
        parts = Covariances.of(self.prior, sizes, sizes, same=True)
        return np.asarray(
            float(self.weights @ self.between) * parts.between
            + float(self.weights @ self.scatter) * parts.scatter
            + parts.step
        )

    def means(self, sizes: Sizes) -> Array:
        """Give the expected sizes alone, as `predict` does but quicker, shape (m,), mm."""
        start = sizes.drawn + sizes.loads @ self.prior.mean
        return np.asarray(start + self.shares(sizes).sum(axis=1))

    def shares(self, sizes: Sizes) -> Array:
        """How much each reading moves each expected size, shape (m, n), mm."""
        if self.evidence is None:
            return np.zeros((len(sizes), 0))
        parts = Covariances.of(self.prior, sizes, self.evidence.sizes)
        return np.asarray(
            parts.terms * ((self.weights * self.tail) @ self._alpha)
            + parts.unheld * ((self.weights * self.discrepancy) @ self._alpha)
            + parts.between * ((self.weights * self.between) @ self._alpha)
            + (parts.scatter + parts.peculiar) * ((self.weights * self.scatter) @ self._alpha)
        )

    @property
    def _factors(self) -> tuple[Array, Array, Array, Array]:
        return self.tail, self.discrepancy, self.between, self.scatter

    def terms(self, source: Source = NOBODYS) -> tuple[Array, Array]:
        """Give mean and covariance of the printer's terms, shapes (k,) and (k, k).

        Parameters
        ----------
        source : Source
            The printer with nozzle and spool as they are now.
        """
        if self.evidence is None:
            scale = float(self.weights @ self.tail)
            return self.prior.mean.copy(), scale * self.prior.cov
        alike = _alike((source,), self.evidence.sizes.sources)
        cross = self.prior.cov @ (self.evidence.sizes.loads * alike[0][:, None]).T
        crosses = self.tail[:, None, None] * cross
        means = self.prior.mean + np.einsum("gkn,gn->gk", crosses, self._alpha)
        covs = self.tail[:, None, None] * self.prior.cov
        covs = covs - crosses @ self._inverse @ np.swapaxes(crosses, 1, 2)
        both = _mixed(self.weights, means, covs)
        return both.mean_mm, both.cov

    def left_out(self) -> tuple[Array, Array]:
        """Predict each reading from all others: error in mm, and in its standard deviations."""
        if self.evidence is None:
            return np.zeros(0), np.zeros(0)
        at = int(np.argmax(self.weights))
        own = np.diag(self._inverse[at])
        error = self._alpha[at] / own
        # The reading's own variance counts as it would be if it were a good one.
        raised = (self.inflation - 1.0) * self.evidence.own
        sd = np.sqrt(np.maximum(1.0 / own - raised, 1e-8))
        return error, error / sd

    def common_error(self) -> tuple[float, float]:
        """Give an error that all readings share, such as a zero error, and its uncertainty, mm.

        Outsides and insides are all read larger by it, which no line width can do.
        """
        if self.evidence is None:
            return 0.0, math.inf
        at = int(np.argmax(self.weights))
        weight = self._inverse[at].sum(axis=0)
        residual = self.evidence.read_mm - self.evidence.sizes.drawn
        residual = residual - self.evidence.sizes.loads @ self.prior.mean
        return float(weight @ residual / weight.sum()), float(1.0 / math.sqrt(weight.sum()))

    def strangeness(self) -> Array:
        """How many standard deviations of the prior each term lies from its mean, shape (k,)."""
        mean, _ = self.terms()
        sd = np.sqrt(np.diag(self.prior.cov))
        return np.asarray((mean - self.prior.mean) / np.where(sd > 0, sd, 1.0))


def learn(prior: Prior, evidence: Evidence | None = None) -> Knowledge:
    """Update what is known of a printer by readings.

    Parameters
    ----------
    prior : Prior
    evidence : Evidence, optional
        All readings of this printer, and of the workshop's others.
    """
    tail, tail_weight = tail_points(prior.tail_df)
    discrepancy, d_weight = log_points(DISCREPANCY_LOG_SD)
    between, b_weight = log_points(PRINT_LOG_SD)
    scatter, s_weight = tail_points(SCATTER_DF)
    axes = np.meshgrid(tail, discrepancy, between, scatter, indexing="ij")
    grid = [axis.ravel() for axis in axes]
    weights = np.einsum("i,j,k,l->ijkl", tail_weight, d_weight, b_weight, s_weight).ravel()
    if evidence is None or not len(evidence.sizes):
        empty = np.zeros(0)
        return Knowledge(
            prior=prior,
            evidence=None,
            weights=weights,
            tail=grid[0],
            discrepancy=grid[1],
            between=grid[2],
            scatter=grid[3],
            inflation=empty,
            _inverse=empty,
            _alpha=empty,
        )
    residual = evidence.read_mm - evidence.sizes.drawn - evidence.sizes.loads @ prior.mean
    parts = Covariances.of(prior, evidence.sizes, evidence.sizes, same=True)
    count = len(residual)
    recent = np.arange(max(0, count - _MOST_ON_GRID), count)
    seen = _Rows(parts, evidence, residual).only(recent)
    raised = np.array([seen.inflation(one) for one in scatter])[np.searchsorted(scatter, grid[3])]
    likely = seen.likely(grid, raised)
    weights = weights * np.exp(likely - likely.max())
    weights /= weights.sum()
    kept = np.flatnonzero(weights > _LEAST_WEIGHT)
    if count > _MOST_ON_GRID:
        kept = np.array([np.argmax(weights)])
    grid, raised, weights = [axis[kept] for axis in grid], raised[kept], weights[kept]
    weights /= weights.sum()
    if count > _MOST_ON_GRID:
        raised = _Rows(parts, evidence, residual).inflation(float(grid[3][0]))[None]
    inverse = np.linalg.inv(_with_noise(parts.at(*grid) + evidence.shared, evidence.own * raised))
    return Knowledge(
        prior=prior,
        evidence=evidence,
        weights=weights,
        tail=grid[0],
        discrepancy=grid[1],
        between=grid[2],
        scatter=grid[3],
        inflation=raised[np.argmax(weights)],
        _inverse=np.asarray(inverse),
        _alpha=inverse @ residual,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Covariances:
    """Covariances of rows with columns, mm², by what may be wrong by a factor.

    Attributes
    ----------
    terms, unheld, between : arrays of shape (n, m), mm²
        Of the printer's terms, of what no term holds, and of what each print draws again.
    peculiar, scatter : arrays of shape (n, m), mm²
        Of single features: what lasts, and what each print draws again.
    step : array of shape (n, m), mm²
        Of layers that nobody knows; no factor acts on it.
    """

    terms: Array
    unheld: Array
    between: Array
    peculiar: Array
    scatter: Array
    step: Array

    @classmethod
    def of(cls, prior: Prior, left: Sizes, right: Sizes, *, same: bool = False) -> Covariances:
        """Work them out; `same` if rows and columns are one and the same sizes."""
        alike = _alike(left.sources, right.sources)
        terms = alike * (left.loads @ prior.cov @ right.loads.T)
        apart = np.log(left.drawn)[:, None] - np.log(right.drawn)
        unheld = _kin(left, right) * np.exp(-0.5 * (apart / FADE) ** 2)
        unheld *= DISCREPANCY_MM**2
        bend = (left.drawn[:, None] * right.drawn / BEND_AT_MM**2) ** 2
        unheld += BEND_MM**2 * bend * (0.5 + 0.5 * _unit(left.along) @ _unit(right.along).T)
        unheld *= alike
        same_print = left.prints[:, None] == right.prints
        same_feature = (left.features[:, None] == right.features) & (left.features != "")[:, None]
        if same:
            same_feature |= np.eye(len(left), dtype=bool)
        else:  # what has no code is still to come
            same_print &= (left.prints != "")[:, None]
        moved = left.moved * np.array(PRINT_SD) ** 2
        return cls(
            terms=terms,
            unheld=unheld,
            between=(moved @ right.moved.T) * same_print,
            peculiar=PECULIAR_MM**2 * same_feature,
            scatter=SCATTER_MM**2 * (same_feature & same_print),
            step=np.diag(left.step) if same else np.zeros_like(terms),
        )

    def at(self, tail: Array, discrepancy: Array, between: Array, scatter: Array) -> Array:
        """Sum at the points of a grid, shape (g, n, m)."""
        parts = np.stack(
            [self.terms, self.unheld, self.between, self.peculiar + self.scatter, self.step]
        )
        factors = np.stack([tail, discrepancy, between, scatter, np.ones_like(tail)], axis=1)
        return np.asarray(np.einsum("gp,pnm->gnm", factors, parts))

    def lasting(self, count: int) -> Covariances:
        """Leave out what is fresh at each print and feature."""
        none = np.zeros((count, count))
        return Covariances(
            terms=self.terms,
            unheld=self.unheld,
            between=none,
            peculiar=self.peculiar - np.eye(count) * PECULIAR_MM**2,
            scatter=none,
            step=none,
        )

    def rows(self, which: NDArray[np.int64]) -> Covariances:
        """Keep the rows and columns with these numbers."""
        at = np.ix_(which, which)
        return Covariances(**{name: getattr(self, name)[at] for name in self.__slots__})


def _kin(left: Sizes, right: Sizes) -> Array:
    """Share of the errors beyond the terms that two sizes have in common."""
    found = np.zeros((len(left), len(right)))
    for i in range(2):
        for j in range(2):
            same = left.families[:, i][:, None] == right.families[:, j]
            found += same * np.outer(left.shares[:, i], right.shares[:, j])
    return found


def _unit(along: Array) -> Array:
    return np.asarray(along / np.linalg.norm(along, axis=1, keepdims=True))


def _alike(left: tuple[Source, ...], right: tuple[Source, ...]) -> Array:
    """How alike two sources' printers are, 1 for one and the same."""
    (ours, our_days), (theirs, their_days) = _told(left), _told(right)
    found = np.ones((len(left), len(right)))
    for one, other, share in zip(ours, theirs, _ALIKE.values(), strict=True):
        found *= np.where(one[:, None] == other, 1.0, share)
    apart = np.abs(our_days[:, None] - their_days) * (our_days > 0.0)[:, None] * (their_days > 0.0)
    return np.asarray(found * np.exp(-apart / FADE_DAYS))


_ALIKE = {  # how alike printers still are that differ in one thing
    "printer": OTHER_PRINTER,
    "material": OTHER_MATERIAL,
    "nozzle": OTHER_NOZZLE,
    "spool": OTHER_SPOOL,
}


@lru_cache(maxsize=32)  # the readings' sources are asked for with each size that is predicted
def _told(sources: tuple[Source, ...]) -> tuple[tuple[NDArray[np.str_], ...], Array]:
    """Names that are compared, an array for each of `_ALIKE`, and days, shape (n,)."""
    names = tuple(
        np.array([getattr(one, name).casefold() for one in sources], dtype=str) for name in _ALIKE
    )
    return names, np.array([one.day for one in sources], dtype=float)


class _Rows(NamedTuple):
    """Readings whose likelihood is asked for: their covariances, and how far off each is."""

    parts: Covariances
    evidence: Evidence
    residual: Array
    which: NDArray[np.int64] | slice = slice(None)

    def only(self, rows: NDArray[np.int64]) -> _Rows:
        """Keep the readings with these numbers."""
        return _Rows(self.parts.rows(rows), self.evidence, self.residual[rows], rows)

    def likely(self, grid: Sequence[Array], raised: Array) -> Array:
        """How likely the readings are at each point of the grid: logarithm, but for a constant.

        Of how large the discrepancy is, coupons alone say nothing: at a point of the grid they
        count as they would at its middle.
        """
        middle = np.full_like(grid[1], np.median(grid[1]))
        coupon = np.flatnonzero(self.evidence.coupon[self.which])
        # Points that differ in the discrepancy alone are one and the same to a coupon.
        first = np.flatnonzero(grid[1] == middle)
        others = np.stack([grid[0], grid[2], grid[3]])
        alike = (others[:, :, None] == others[:, None, first]).all(axis=0)
        at = [grid[0][first], middle[first], grid[2][first], grid[3][first]]
        likely = self._log_density(at, raised[first], coupon)[alike.argmax(axis=1)]
        if len(coupon) < len(self.residual):
            likely += self._log_density(grid, raised, np.arange(len(self.residual)))
            likely -= self._log_density(grid, raised, coupon)
        # What it costs that readings were taken for slips.
        return np.asarray(likely - 0.5 * NOISE_DF * (np.log(raised) + 1.0 / raised).sum(axis=1))

    def _log_density(self, grid: Sequence[Array], raised: Array, rows: NDArray[np.int64]) -> Array:
        """Logarithm of the density of some of the readings at each point of the grid."""
        shared = self.evidence.shared[self.which][:, self.which][np.ix_(rows, rows)]
        noise = self.evidence.own[self.which][rows] * raised[:, rows]
        root = np.linalg.cholesky(_with_noise(self.parts.rows(rows).at(*grid) + shared, noise))
        off = np.broadcast_to(self.residual[rows][:, None], (len(root), len(rows), 1))
        white = np.linalg.solve(root, off)[..., 0]
        logs = np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
        return np.asarray(-0.5 * (white**2).sum(axis=1) - logs)

    def inflation(self, scatter: float) -> Array:
        """Raise the variance of readings that lie far off, as Student's t does, shape (n,)."""
        one = np.ones(1)
        known = self.parts.at(one, one, one, one * scatter)[0]
        known = known + self.evidence.shared[self.which][:, self.which]
        own = np.maximum(self.evidence.own[self.which], _FLOOR_MM**2)
        factor = np.ones(len(own))
        for _ in range(_ROUNDS):
            noise = own * factor
            inverse = np.linalg.inv(known + np.diag(noise))
            error = noise * (inverse @ self.residual)
            doubt = noise - noise**2 * np.diag(inverse)
            before, factor = factor, (NOISE_DF + (error**2 + doubt) / own) / (NOISE_DF + 1.0)
            if np.max(np.abs(factor - before)) < 1e-3:
                break
        return np.maximum(factor, 0.8)


def _with_noise(covs: Array, own: Array) -> Array:
    """Add each reading's own variance, shape (g, n), to covariances of shape (g, n, n)."""
    at = np.arange(own.shape[1])
    covs[:, at, at] += own
    return covs


def tail_points(df: float) -> tuple[Array, Array]:
    """Four equally likely values of an inverse gamma number whose df is given."""
    from scipy.special import chdtri

    upper = np.array([0.125, 0.375, 0.625, 0.875])
    return np.asarray(df / chdtri(df, upper), dtype=float), np.full(4, 0.25)


def log_points(log_sd: float) -> tuple[Array, Array]:
    """Factors of a variance whose root is log-normal, by Gauss-Hermite, and their weights."""
    step = math.sqrt(3.0) * log_sd
    return np.exp(2.0 * np.array([-step, 0.0, step])), np.array([1.0, 4.0, 1.0]) / 6.0


def _mixed(weights: Array, means: Array, covs: Array) -> Foreseen:
    mean = weights @ means
    off = means - mean
    cov = np.einsum("g,gij->ij", weights, covs) + np.einsum("g,gi,gj->ij", weights, off, off)
    sds = np.sqrt(np.maximum(np.diagonal(covs, axis1=1, axis2=2), 1e-12))
    return Foreseen(
        mean_mm=mean,
        cov=cov,
        U95_mm=_half_width(weights, off, sds),
        weights=weights,
        means=np.asarray(means),
        covs=covs,
    )


def _half_width(weights: Array, off: Array, sds: Array) -> Array:
    """Half width of the intervals about zero that hold 95 % of mixtures.

    By Newton's steps, each kept inside what is known to hold the answer.
    """
    from scipy.special import ndtr

    spread = np.sqrt(weights @ (sds**2 + off**2))
    low, high = np.zeros_like(spread), spread * 6.0
    found = spread * 2.0
    for _ in range(60):
        above, below = (found - off) / sds, (-found - off) / sds
        held = weights @ (ndtr(above) - ndtr(below))
        low, high = np.where(held < 0.95, found, low), np.where(held < 0.95, high, found)
        slope = weights @ ((np.exp(-0.5 * above**2) + np.exp(-0.5 * below**2)) / sds) / _ROOT_2PI
        before, found = found, found + (0.95 - held) / np.maximum(slope, 1e-300)
        found = np.where((low <= found) & (found <= high), found, 0.5 * (low + high))
        if (np.abs(found - before) <= 1e-12 * spread).all():
            break
    return found


@cache
def _students_factors() -> tuple[Array, Array]:
    """Degrees of freedom and the factors of their 95 % intervals."""
    grid = np.geomspace(2.0, 1e4, 400)
    return grid, expanded(np.ones_like(grid), grid)[1]


def _df_of(factor: Array) -> Array:
    """Degrees of freedom at which Student's t has these coverage factors; infinite below 1.96."""
    grid, factors = _students_factors()
    df = np.exp(np.interp(-np.asarray(factor), -factors, np.log(grid)))
    return np.where(np.asarray(factor) <= factors[-1], np.inf, df)
