"""The one rule for "± at 95 %": a standard uncertainty and its degrees of freedom to U and k.

Model: U = k u, with k from Student's t at the effective degrees of freedom (JCGM 100:2008, G.3.2
and G.6.4). Where these are not a whole number, JCGM 100 lets one interpolate or cut them to the
whole number below (note 1 of G.4.1). We take Student's t at the number as it is, which is what an
interpolation aims at: cutting would let U jump as a size or a reading changes, by a factor of
three from 2.0 to 1.9. Left out: intervals that are not symmetric.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, overload

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

__all__ = ["effective_df", "expanded"]

# Student's t at more degrees of freedom than this is the normal distribution to every digit.
_AS_NORMAL = 1e12


@overload
def expanded(u: float, df: float = ..., level: float = ...) -> tuple[float, float]: ...
@overload
def expanded(u: Array, df: ArrayLike = ..., level: float = ...) -> tuple[Array, Array]: ...


def expanded(
    u: float | Array, df: ArrayLike = math.inf, level: float = 0.95
) -> tuple[float | Array, float | Array]:
    """Expand a standard uncertainty to an interval's half width.

    Parameters
    ----------
    u : float or array of shape (...)
        Standard uncertainty, in any unit, 0 or more.
    df : float or array that broadcasts with `u`
        Effective degrees of freedom, above 0; infinite where `u` is known exactly.
    level : float
        Share of cases that the interval is to hold, between 0 and 1.

    Returns
    -------
    U : float, or array of the shape of both inputs together
        Half width, in the unit of `u`.
    k : float, or array of the shape of `df`
        Coverage factor. An input that is not a number, or degrees of freedom of 0 or less, give
        nan; but U is 0 wherever `u` is.

    Notes
    -----
    Source: JCGM 100:2008, G.3.2, G.4.1 with note 1, G.6.4.

    Examples
    --------
    >>> U, k = expanded(0.02, 5)
    >>> round(U, 3), round(k, 2)
    (0.051, 2.57)
    """
    if np.ndim(u) == 0 and np.ndim(df) == 0:
        k = _factor(float(df), level)  # type: ignore[arg-type]  # no array here
        return (k * float(u) if u else 0.0), k
    from scipy.special import stdtrit

    factors = np.asarray(stdtrit(np.minimum(np.asarray(df, float), _AS_NORMAL), _quantile(level)))
    spread = np.asarray(u, float)
    return np.where(spread == 0.0, 0.0, factors * spread), factors


def effective_df(*parts: tuple[ArrayLike, ArrayLike]) -> Array:
    """Degrees of freedom of a sum of independent parts (Welch and Satterthwaite).

    Parameters
    ----------
    *parts : pairs of (u, df)
        Standard uncertainty of each part, in the unit of the sum, and its degrees of freedom;
        floats or arrays that broadcast together.

    Returns
    -------
    array of the shape of the parts together
        Infinite where no part of finite degrees of freedom has any uncertainty.

    Notes
    -----
    Source: JCGM 100:2008, equation G.2b.

    Examples
    --------
    >>> float(effective_df((0.03, 4), (0.04, float("inf"))).round(1))
    30.9
    """
    variance: Array = np.asarray(0.0)
    weight: Array = np.asarray(0.0)
    for u, df in parts:
        square = np.asarray(u, dtype=float) ** 2
        variance = variance + square
        weight = weight + square**2 / np.asarray(df, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(weight > 0, variance**2 / weight, np.inf))


@lru_cache(maxsize=4096)
def _factor(df: float, level: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(min(df, _AS_NORMAL), _quantile(level)))


def _quantile(level: float) -> float:
    return 0.5 + 0.5 * level
