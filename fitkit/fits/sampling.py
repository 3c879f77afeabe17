"""Weighted draws from a posterior with a normal prior, by tempered importance sampling.

Quasi-random draws from the prior are weighted by a power of the likelihood that keeps enough of
them alive; a normal fitted to them gives the next draws; so on until the power is 1 (Del Moral,
Doucet and Jasra 2006 for the tempering; the weights are exact at every step, so the fitted normal
decides only how many draws count, never the answer). Draws are the same at each call.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

__all__ = ["WeightedDraws", "sample_posterior"]

_ROUNDS = 40
# The fitted normal is made this much wider, so that no tail of the posterior lies outside it.
_WIDEN = 1.15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedDraws:
    """Draws and their weights.

    Attributes
    ----------
    x : array of shape (n, k)
    weight : array of shape (n,)
        Sums to 1.
    effective : float
        Number of equally weighted draws that would be worth as much.
    """

    x: Array
    weight: Array
    effective: float


def sample_posterior(
    log_likelihood: Callable[[Array], Array], mean: Array, cov: Array, *, draws: int = 2048
) -> WeightedDraws:
    """Draw from prior times likelihood.

    Parameters
    ----------
    log_likelihood : function of an array (n, k), giving (n,)
    mean, cov : arrays (k,) and (k, k)
        Of the normal prior.
    draws : int
        A power of two.

    Returns
    -------
    WeightedDraws
    """
    prior_chol: Array = np.linalg.cholesky(cov)
    # Inverting the factor once is far quicker than solving for thousands of draws each round.
    inverse: Array = np.linalg.inv(prior_chol)
    centre, chol, power = mean, prior_chol, 0.0
    z = _normal_points(len(mean), draws)
    for _ in range(_ROUNDS):
        x = centre + z @ chol.T
        # 0.5 * z² is the proposal's own log density, but for constants.
        log_ratio = _log_normal(x, mean, inverse) + 0.5 * np.einsum("ij,ij->i", z, z)
        log_like = log_likelihood(x)
        power = _next_power(log_like, log_ratio, power, least=draws / 4)
        weight, effective = _weights(power * log_like + log_ratio)
        if power == 1.0 and effective >= draws / 4:
            break
        centre = weight @ x
        spread = (x - centre).T @ ((x - centre) * weight[:, None])
        # A trace of the prior keeps the fitted normal from collapsing.
        chol = np.linalg.cholesky(_WIDEN**2 * spread + 1e-6 * cov)
    return WeightedDraws(x=x, weight=weight, effective=effective)


def _next_power(log_like: Array, log_ratio: Array, power: float, *, least: float) -> float:
    """Raise the power of the likelihood as far as enough draws stay alive."""
    if _weights(log_like + log_ratio)[1] >= least:
        return 1.0
    low, high = power, 1.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        alive = _weights(middle * log_like + log_ratio)[1]
        low, high = (middle, high) if alive >= least else (low, middle)
    return low


def _weights(log_weight: Array) -> tuple[Array, float]:
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    return weight, float(1.0 / (weight @ weight))


def _log_normal(x: Array, mean: Array, inverse: Array) -> Array:
    """Log density of a normal, but for constants; `inverse` is that of its Cholesky factor."""
    z = (x - mean) @ inverse.T
    return np.asarray(-0.5 * np.einsum("ij,ij->i", z, z))


@cache
def _normal_points(dimension: int, draws: int) -> Array:
    from scipy.special import ndtri
    from scipy.stats import qmc

    # Scrambling moves the first Sobol point off the corner, where ndtri is infinite.
    points = qmc.Sobol(dimension, rng=np.random.default_rng(20)).random(draws)
    normal: Array = ndtri(points)
    normal.flags.writeable = False
    return normal
