"""Weighted draws from a posterior with a normal prior, by importance sampling about its mode.

Newton's method finds the mode; a normal with the curvature there gives the draws, and their weights
make good what it is not (Laplace's approximation as a proposal: Tierney and Kadane 1986, from
memory). Where too few of them would count, a normal fitted to what they weigh gives the next draws.
The weights are exact in each round, so the proposal decides how many draws count, and never the
answer. Draws are the same at each call: Latin hypercubes and their mirror images.

What has several modes is to be cut into parts that have one each, such as a mixture of priors:
`log_evidence` then says how much each part weighs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]
    Slopes = Callable[[Array], tuple[Array, Array]]

__all__ = [
    "Mode",
    "WeightedDraws",
    "differences",
    "draw_about",
    "normal_points",
    "posterior_mode",
    "sample_posterior",
]

_STEPS, _HALVINGS = 40, 12
_CLOSE = 1e-6
# A proposal is made this much wider, so that no tail of the posterior lies outside it.
_WIDEN = 1.06
# So many times it is fitted again while fewer than this share of the draws count.
_ROUNDS, _ENOUGH = 6, 0.25
# Step of numerical slopes, in standard deviations of the prior.
_STEP = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightedDraws:
    """Draws and their weights.

    Attributes
    ----------
    x : array of shape (n, k)
    weight : array of shape (n,)
        Sums to 1.
    effective : float
        Number of equally weighted draws that would be worth as much.
    log_evidence : float
        Logarithm of the likelihood's mean over the prior.
    """

    x: Array
    weight: Array
    effective: float
    log_evidence: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mode:
    """Where a posterior is greatest, and how it falls off there.

    Attributes
    ----------
    centre : array of shape (k,)
    chol : array of shape (k, k)
        Cholesky factor of the covariance of the normal with the posterior's curvature.
    log_evidence : float
        As `WeightedDraws` has it, were the posterior that normal.
    """

    centre: Array
    chol: Array
    log_evidence: float


def sample_posterior(
    log_likelihood: Callable[[Array], Array],
    mean: Array,
    cov: Array,
    *,
    draws: int = 2048,
    slopes: Slopes | None = None,
) -> WeightedDraws:
    """Draw from prior times likelihood.

    Parameters
    ----------
    log_likelihood : function of an array (n, k), giving (n,)
    mean, cov : arrays (k,) and (k, k)
        Of the normal prior.
    draws : int
    slopes : function of an array (k,), giving arrays (k,) and (k, k), optional
        Gradient of the log-likelihood, and its second derivatives with the sign turned, with no
        negative eigenvalue. Worked out by differences if not given.

    Returns
    -------
    WeightedDraws
    """
    mode = posterior_mode(log_likelihood, mean, cov, slopes=slopes)
    return draw_about(mode, log_likelihood, mean, cov, draws=draws)


def posterior_mode(
    log_likelihood: Callable[[Array], Array],
    mean: Array,
    cov: Array,
    *,
    slopes: Slopes | None = None,
) -> Mode:
    """Find the mode by Newton's method with halved steps.

    Parameters
    ----------
    log_likelihood, mean, cov, slopes
        As `sample_posterior` takes them.

    Returns
    -------
    Mode
    """
    chol = np.linalg.cholesky(cov)

    def at_x(x: Array) -> tuple[Array, Array]:
        if slopes is not None:
            return slopes(x)
        step = np.sqrt(np.diag(cov)) * _STEP
        first, second = differences(lambda moves: log_likelihood(x + moves)[:, None], step)
        return first[0], second[0]

    # In these coordinates the prior is that of independent normals of sd 1 about zero.
    z = np.zeros(len(mean))
    identity = np.eye(len(mean))

    def height(z: Array) -> float:
        return float(log_likelihood((mean + chol @ z)[None])[0] - 0.5 * z @ z)

    now = height(z)
    for _ in range(_STEPS):
        gradient, bend = at_x(mean + chol @ z)
        curvature = identity + chol.T @ bend @ chol
        pull = chol.T @ gradient - z
        step = np.linalg.solve(curvature, pull)
        if float(pull @ step) < _CLOSE:
            break
        for halved in range(_HALVINGS):
            there = height(z + step / 2**halved)
            if there > now:
                z, now = z + step / 2**halved, there
                break
        else:
            break
    gradient, bend = at_x(mean + chol @ z)
    curvature = identity + chol.T @ bend @ chol
    # L L' = curvature^-1
    root = np.linalg.inv(np.linalg.cholesky(curvature)).T
    log_evidence = now + float(np.log(np.abs(np.diag(root))).sum())
    return Mode(centre=mean + chol @ z, chol=chol @ root, log_evidence=log_evidence)


def draw_about(
    mode: Mode,
    log_likelihood: Callable[[Array], Array],
    mean: Array,
    cov: Array,
    *,
    draws: int,
) -> WeightedDraws:
    """Draw from prior times likelihood, of which the mode is known.

    Parameters
    ----------
    mode : Mode
    log_likelihood, mean, cov, draws
        As `sample_posterior` takes them.

    Returns
    -------
    WeightedDraws
    """
    prior_chol = np.linalg.cholesky(cov)
    inverse = np.linalg.inv(prior_chol)
    prior_log = float(np.log(np.diag(prior_chol)).sum())
    z = normal_points(len(mean), draws)
    half_square = 0.5 * np.einsum("ij,ij->i", z, z)
    # Where the likelihood says nothing, the prior is the answer, and all draws count alike.
    flat = np.allclose(mode.chol @ mode.chol.T, cov, rtol=1e-9, atol=0.0)
    centre, chol = mode.centre, mode.chol * (1.0 if flat else _WIDEN)
    best: WeightedDraws | None = None
    for _ in range(_ROUNDS):
        x = centre + z @ chol.T
        off = (x - mean) @ inverse.T
        # Both densities but for the same constant.
        prior = -0.5 * np.einsum("ij,ij->i", off, off) - prior_log
        proposal = -half_square - float(np.log(np.abs(np.linalg.det(chol / np.abs(chol).max()))))
        proposal -= len(mean) * math.log(np.abs(chol).max())
        log_weight = log_likelihood(x) + prior - proposal
        top = log_weight.max()
        weight = np.exp(log_weight - top)
        log_evidence = float(top + math.log(weight.mean()))
        weight /= weight.sum()
        effective = float(1.0 / (weight @ weight))
        if best is None or effective > best.effective:
            best = WeightedDraws(x=x, weight=weight, effective=effective, log_evidence=log_evidence)
        if effective >= _ENOUGH * draws:
            break
        centre = weight @ x
        spread = (x - centre).T @ ((x - centre) * weight[:, None])
        # A trace of the mode's own spread keeps the fitted normal from collapsing.
        kept = mode.chol @ mode.chol.T
        chol = np.linalg.cholesky(1.1 * (0.8 * spread + 0.2 * kept))
    assert best is not None
    return best


def differences(values: Callable[[Array], Array], step: Array) -> tuple[Array, Array]:
    """Work out slopes by central differences, of many functions of the same k variables at once.

    Parameters
    ----------
    values : function of an array (m, k), giving (m, t)
        What t functions are at m places, told as moves from where slopes are asked for.
    step : array of shape (k,)

    Returns
    -------
    gradient : array of shape (t, k)
    bend : array of shape (t, k, k)
        Second derivatives with the sign turned; negative eigenvalues are set to zero.
    """
    count = len(step)
    one = np.eye(count)
    i, j = np.triu_indices(count, 1)
    moves = np.concatenate([np.zeros((1, count)), one, -one, one[i] + one[j], -one[i] - one[j]])
    found = values(moves * step)
    ends = np.cumsum([1, count, count, len(i)])
    here, plus, minus, both, neither = np.split(found, ends)
    bend = np.empty((found.shape[1], count, count))
    bend[:, range(count), range(count)] = (2.0 * here - plus - minus).T
    cross = 0.5 * (plus[i] + minus[i] + plus[j] + minus[j] - 2.0 * here - both - neither)
    bend[:, i, j] = bend[:, j, i] = cross.T
    eigen, vectors = np.linalg.eigh(bend / np.outer(step, step))
    kept = (vectors * np.maximum(eigen, 0.0)[:, None, :]) @ np.swapaxes(vectors, 1, 2)
    return (plus - minus).T / (2.0 * step), kept


@lru_cache(maxsize=64)
def normal_points(dimension: int, draws: int, *, seed: int = 20) -> Array:
    """Give points that stand for independent normals of mean 0 and sd 1.

    Parameters
    ----------
    dimension, draws : int
    seed : int
        Points of other seeds are independent of these.

    Returns
    -------
    array of shape (draws, dimension)
        Each column has one point in each of half as many equally likely intervals, and their
        mirror images (McKay, Beckman and Conover 1979; antithetic, Hammersley and Morton 1956;
        both from memory).
    """
    from scipy.special import ndtri

    rng = np.random.default_rng([seed, dimension])
    half = (draws + 1) // 2
    cell = rng.permuted(np.tile(np.arange(half), (dimension, 1)), axis=1).T
    normal = ndtri((cell + rng.random(cell.shape)) / half)
    points = np.concatenate([normal, -normal])[:draws]
    points.flags.writeable = False
    return np.asarray(points)
