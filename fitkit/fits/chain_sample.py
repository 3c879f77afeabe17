"""Monte Carlo of a tolerance chain: the gap's distribution from the contributors' own.

Independent contributors are drawn one by one into one buffer that stays in the processor's cache;
correlated ones through a normal copula (their normal scores have the stated correlation, each keeps
its own shape).

Left out: skewed shapes, and dependence that a correlation cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import FitError

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.fits.chain import Chain, Contributor

    Array = NDArray[np.floating[Any]]

__all__ = ["ChainSample", "sample_chain"]

_BLOCK = 32_768


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChainSample:
    """Drawn gaps of a chain.

    Attributes
    ----------
    chain : Chain
    gaps_mm : array of shape (n,), mm
    """

    chain: Chain
    gaps_mm: Array

    @property
    def p_interference(self) -> float:
        """Share of gaps below the least that the chain allows (0 mm: interference)."""
        return float(np.count_nonzero(self.gaps_mm < self.chain.least_mm)) / len(self.gaps_mm)

    @property
    def p_too_wide(self) -> float | None:
        """Share of gaps above the most that the chain allows; None if it sets no most."""
        if self.chain.most_mm is None:
            return None
        return float(np.count_nonzero(self.gaps_mm > self.chain.most_mm)) / len(self.gaps_mm)

    @property
    def u_p_interference(self) -> float:
        """Standard uncertainty of `p_interference` from the finite number of draws.

        With no hit at all it is that of one hit, since 0 draws of n do not mean 0 chance.
        """
        n = len(self.gaps_mm)
        p = min(max(self.p_interference, 1.0 / n), 1.0 - 1.0 / n)
        return float(np.sqrt(p * (1.0 - p) / n))

    def band_mm(self, level: float = 0.95) -> tuple[float, float]:
        """Band that holds so much of the gaps, with equal shares beyond either end."""
        low, high = np.quantile(self.gaps_mm, [0.5 - level / 2, 0.5 + level / 2])
        return float(low), float(high)


def sample_chain(chain: Chain, samples: int = 1_000_000, *, seed: int = 0) -> ChainSample:
    """Draw gaps of a chain.

    Parameters
    ----------
    chain : Chain
    samples : int
        At least 1.
    seed : int
        The same seed draws the same gaps.

    Returns
    -------
    ChainSample

    Raises
    ------
    FitError
        If there is nothing to draw.
    """
    if samples < 1:
        raise FitError(
            f"{samples} samples cannot be drawn",
            where=chain.name,
            code="fits.samples",
            remedy="Draw at least one.",
        )
    correlation = chain.correlation()
    tied = np.abs(correlation - np.eye(len(correlation))).max(axis=1) > 0
    spreading = [part.u_mm > 0 for part in chain.contributors]
    alone = [p for p, t, s in zip(chain.contributors, tied, spreading, strict=True) if s and not t]
    together = [p for p, t in zip(chain.contributors, tied, strict=True) if t]
    root = _root(correlation[np.ix_(tied, tied)])
    rng = np.random.default_rng(seed)
    gaps = np.full(samples, chain.gap_mm)
    buffer = np.empty(min(_BLOCK, samples))
    for first in range(0, samples, _BLOCK):
        block = gaps[first : first + _BLOCK]
        for part in alone:
            block += _draw(part, rng, buffer[: len(block)])
        if together:
            scores = root @ rng.standard_normal((len(together), len(block)))
            for part, score in zip(together, scores, strict=True):
                block += part.factor * part.u_mm * _shaped(part, score)
    gaps.flags.writeable = False
    return ChainSample(chain=chain, gaps_mm=gaps)


def _root(correlation: Array) -> Array:
    """Square root of a positive semidefinite matrix; a Cholesky factor fails at correlation 1."""
    values, vectors = np.linalg.eigh(correlation)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def _draw(part: Contributor, rng: np.random.Generator, out: Array) -> Array:
    """Draw what one independent contributor adds to the gap."""
    scale = part.factor * part.u_mm
    if part.shape == "normal":
        rng.standard_normal(out=out)
    elif part.shape == "rectangular":
        rng.random(out=out)
        out -= 0.5
        scale *= 12.0**0.5
    elif part.shape == "triangular":
        rng.random(out=out)
        out -= rng.random(len(out))
        scale *= 6.0**0.5
    else:
        out[:] = rng.standard_t(part.df, len(out))
    out *= scale
    return out


def _shaped(part: Contributor, score: Array) -> Array:
    """Turn normal scores into draws of a contributor's shape, of unit standard uncertainty."""
    from scipy.special import ndtr, stdtrit

    if part.shape == "normal":
        return score
    p = ndtr(score)
    if part.shape == "rectangular":
        return np.asarray(12.0**0.5 * (p - 0.5))
    if part.shape == "triangular":
        tail = np.minimum(p, 1.0 - p)
        return np.asarray(6.0**0.5 * np.copysign(1.0 - np.sqrt(2.0 * tail), score))
    return np.asarray(stdtrit(part.df, p))
