"""A second way to propagate: draw every input from its distribution and watch the result.

JCGM 101:2008 (GUM Supplement 1): the distributions of 6.4, the interval of 7.7, the comparison
with the first way of clause 8. For models that are curved, or whose main input is a limit. Left
out: the adaptive choice of the number of draws (7.9); the stated scatter tells whether it is
enough.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.errors import StatsError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from fitkit.stats.uncertainty import Estimate, Source

    Array = NDArray[np.float64]

__all__ = ["MonteCarlo", "disagreement", "draw", "propagate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonteCarlo:
    """What the draws say.

    Attributes
    ----------
    value, u : float
        Mean and standard deviation; in mm if the model gives mm.
    low95, high95 : float
        Shortest interval that holds 95 % of the draws.
    draws : int
    """

    value: float
    u: float
    low95: float
    high95: float
    draws: int

    def __str__(self) -> str:
        """Value with its interval."""
        return (
            f"{self.value:.4f}, 95 % in [{self.low95:.4f}, {self.high95:.4f}] ({self.draws} draws)"
        )


def propagate(
    model: Callable[..., Array],
    inputs: Mapping[str, Estimate],
    *,
    rng: np.random.Generator,
    draws: int = 200_000,
) -> MonteCarlo:
    """Draw the inputs and work out the model.

    Parameters
    ----------
    model : callable
        Takes an array for each input, by name; gives an array.
    inputs : mapping of name to Estimate
        What they rest on is drawn once, so inputs that share it move together.
    rng : numpy Generator
    draws : int
        1000 or more.

    Returns
    -------
    MonteCarlo
        In the unit that the model gives.

    Raises
    ------
    StatsError
        If there are too few draws, the distribution of an input is not known, or the model gives
        something that is not a finite number.

    Examples
    --------
    >>> from fitkit.stats import Estimate
    >>> side = Estimate.of("side", 10.0, 0.1)
    >>> area = propagate(lambda a: a * a, {"a": side}, rng=np.random.default_rng(1))
    >>> round(area.value, 1), round(area.u, 1)
    (100.0, 2.0)
    """
    if draws < 1000:
        raise StatsError(
            f"{draws} draws are too few for a 95 % interval",
            code="stats.too-few-draws",
            remedy="Draw 1000 or more.",
        )
    made: dict[int, Array] = {}
    values = {name: draw(one, draws, rng, made) for name, one in inputs.items()}
    result = np.sort(np.broadcast_to(np.asarray(model(**values), dtype=float), (draws,)))
    if not np.isfinite(result).all():
        raise StatsError(
            "the model gives a value that is not finite for some draws",
            code="stats.not-finite",
            remedy="Check the model at the ends of its inputs, such as a root of a difference.",
        )
    held = math.ceil(0.95 * draws)
    at = int(np.argmin(result[held - 1 :] - result[: draws - held + 1]))
    return MonteCarlo(
        value=float(result.mean()),
        u=float(result.std(ddof=1)),
        low95=float(result[at]),
        high95=float(result[at + held - 1]),
        draws=draws,
    )


def draw(
    one: Estimate, draws: int, rng: np.random.Generator, made: dict[int, Array] | None = None
) -> Array:
    """Draw an estimate from what it rests on.

    Parameters
    ----------
    made : dict, optional
        Inputs drawn so far; passing it on keeps estimates correlated that share an input.
    """
    made = {} if made is None else made
    total = np.full(draws, one.value_mm)
    for row in one.budget:
        if row.source.input is None:
            raise StatsError(
                f"the distribution of {row.name!r} is not known",
                where=one.name,
                code="stats.distribution-unknown",
                remedy="Make it with Estimate.of.",
            )
        key = id(row.source.input)
        if key not in made:
            made[key] = _deviate(row.source, row.u, row.df, draws, rng)
        total += row.sensitivity * made[key]
    return total


def _deviate(source: Source, u: float, df: float, draws: int, rng: np.random.Generator) -> Any:
    match source.distribution:
        case "rectangular":
            return rng.uniform(-math.sqrt(3) * u, math.sqrt(3) * u, draws)
        case "triangular":
            half = math.sqrt(6) * u
            return rng.triangular(-half, 0.0, half, draws)
        case "student t" if math.isfinite(df):
            # JCGM 101, 6.4.9.2: the scale is u, so the spread of the draws is wider.
            return u * rng.standard_t(df, draws)
        case _:
            return rng.normal(0.0, u, draws)


def disagreement(first: Estimate, second: MonteCarlo, *, digits: int = 1) -> str | None:
    """Say in which way draws contradict the law of propagation, or give None if they do not.

    Parameters
    ----------
    first : Estimate
        By the law of propagation.
    second : MonteCarlo
        By draws, in mm.
    digits : int
        Significant digits of u that count: the ends of the two 95 % intervals may differ by half a
        unit in the last of them (JCGM 101, 8.1 and 7.9.2).

    Returns
    -------
    str or None
        A sentence with both intervals; None if they agree, or if the estimate is exact.
    """
    if not first.u_mm:
        return None
    tolerance = 0.5 * 10.0 ** (math.floor(math.log10(first.u_mm)) - digits + 1)
    low = first.value_mm - first.U95_mm - second.low95
    high = first.value_mm + first.U95_mm - second.high95
    if max(abs(low), abs(high)) <= tolerance:
        return None
    return (
        f"the draws give [{second.low95:.4f}, {second.high95:.4f}] mm, the law of propagation "
        f"{first.value_mm:.4f} ± {first.U95_mm:.4f} mm: ends differ by {low:+.4f} and {high:+.4f} "
        f"mm where {tolerance:.4f} mm is allowed; use the draws"
    )
