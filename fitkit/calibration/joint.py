"""What several sizes of one print come out at together: means, covariance, degrees of freedom.

Sizes of one print share what is unknown of the printer. Shrinkage moves a peg and its hole alike,
so it cancels in their gap; line width makes the peg larger and the hole smaller, so it counts
twice. A gap, or any other sum of sizes, is therefore worked out from all of them at once.

Model: the one update of `fitkit.calibration.posterior`, with what measured sizes taught
(`learned`). What stays from print to print is told apart from what each print draws again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from fitkit.calibration.effects import Sizes
from fitkit.calibration.learned import PrintedSize, size_at
from fitkit.core.expanded import effective_df

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.effects import SizeAt, Source
    from fitkit.calibration.learned import Learned
    from fitkit.calibration.profile import PrinterProfile

    Array = NDArray[np.float64]

__all__ = ["Cause", "Joint", "PredictsTogether", "PrintedSize", "Sum", "joint", "then_and_next"]


class Cause(NamedTuple):
    """One cause of doubt: covariance of the sizes in mm², degrees of freedom, and whether it lasts.

    What lasts is the same at the next print; the rest is drawn again by every print.
    """

    cov: Array
    df: float
    lasts: bool


class Sum(NamedTuple):
    """A weighted sum of sizes.

    Attributes
    ----------
    value_mm, u_mm : float, mm
        Best value and standard uncertainty.
    df : float
        Degrees of freedom of `u_mm`.
    u_lasting_mm : float, mm
        The part of `u_mm` that is the same at the next print.
    """

    value_mm: float
    u_mm: float
    df: float
    u_lasting_mm: float


class PredictsTogether(Protocol):
    """Whatever predicts several sizes of one print together."""

    def __call__(self, sizes: Sequence[PrintedSize], /) -> Joint:
        """Predict the sizes of one print."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joint:
    """Several sizes of one print together.

    Attributes
    ----------
    mean_mm : array of shape (n,), mm
    causes : tuple of Cause
        Independent causes of doubt.
    size_df : array of shape (n,), optional
        Degrees of freedom of each size alone, where its causes do not tell; a sum has those of the
        most doubtful size in it.
    """

    mean_mm: Array
    causes: tuple[Cause, ...]
    size_df: Array | None = None

    @property
    def cov_mm2(self) -> Array:
        """Covariance of the sizes, an array of shape (n, n) in mm²."""
        return np.asarray(sum(cause.cov for cause in self.causes))

    def correlation(self) -> Array:
        """Give the correlation matrix of the sizes, an array of shape (n, n)."""
        own = np.sqrt(np.diag(self.cov_mm2))
        safe = np.where(own > 0, own, 1.0)
        return np.asarray(self.cov_mm2 / np.outer(safe, safe))

    def sum(self, weights: Sequence[float]) -> Sum:
        """Work out a weighted sum of the sizes, such as a hole less its peg.

        Parameters
        ----------
        weights : sequence of n floats
            How often each size counts; +1 and -1 for a difference.

        Returns
        -------
        Sum
        """
        w = np.asarray(weights, dtype=float)
        lasting, by_df = 0.0, dict[float, float]()
        for cause in self.causes:
            variance = max(float(w @ cause.cov @ w), 0.0)
            lasting += variance * cause.lasts
            # What has the same degrees of freedom rests on the same scatter, and counts once.
            by_df[cause.df] = by_df.get(cause.df, 0.0) + variance
        df = effective_df(*((math.sqrt(variance), df) for df, variance in by_df.items()))
        if self.size_df is not None and w.any():
            df = self.size_df[w != 0.0].min()
        return Sum(
            value_mm=float(w @ self.mean_mm),
            u_mm=math.sqrt(sum(by_df.values())),
            df=float(df),
            u_lasting_mm=math.sqrt(lasting),
        )


def joint(
    sizes: Sequence[PrintedSize],
    profile: PrinterProfile,
    *,
    learned: Learned | None = None,
    print_code: str = "",
    source: Source | None = None,
) -> Joint:
    """Predict several sizes of one print together.

    Parameters
    ----------
    sizes : sequence of PrintedSize, n of them
    profile : PrinterProfile
    learned : Learned, optional
        What sizes measured on earlier prints taught.
    print_code : str
        Of the print, if it is made already: sizes measured on it tell of the others.
    source : Source, optional
        What that print was made with; the printer as it is now if None.

    Returns
    -------
    Joint
        Each size alone has the mean and uncertainty that `PrinterProfile.predict`, or
        `Learned.predict`, gives for it.

    Examples
    --------
    >>> from fitkit.calibration import generic_profile
    >>> both = joint(
    ...     [PrintedSize(8.3, "hole"), PrintedSize(7.9, "peg")], generic_profile("PETG")
    ... )
    >>> gap = both.sum([1.0, -1.0])
    >>> round(gap.value_mm, 2), round(gap.u_mm, 2)
    (0.35, 0.2)
    """
    whole = profile if learned is None else learned.taught
    asked = whole.sizes(_placed(sizes, print_code), source=source)
    found = whole.known.predict(asked)
    mean = found.mean_mm
    if learned is not None and not print_code:
        plain = profile.known.means(profile.sizes(asked.asked))
        mean = learned.towards(sizes, mean, plain)
    if print_code:  # of a print that is made, nothing is drawn again
        cause = Cause(found.cov, math.inf, lasts=False)
        return Joint(mean_mm=mean, causes=(cause,), size_df=found.df)
    fresh = whole.known.fresh(asked)
    causes = Cause(found.cov - fresh, math.inf, lasts=True), Cause(fresh, math.inf, lasts=False)
    return Joint(mean_mm=mean, causes=causes, size_df=found.df)


def then_and_next(
    sizes: Sequence[PrintedSize],
    weights: Sequence[float],
    profile: PrinterProfile,
    *,
    learned: Learned | None = None,
    print_code: str,
    source: Source | None = None,
) -> tuple[float, float, float]:
    """How far off a sum of sizes may be on a print that is made, at the next print, and alike.

    Parameters
    ----------
    sizes : sequence of PrintedSize, n of them
    weights : sequence of n floats
        As `Joint.sum` takes them.
    profile, learned, print_code, source
        As `joint` takes them.

    Returns
    -------
    u_then_mm : float, mm
        Standard uncertainty of the sum on the print that is made.
    u_next_mm : float, mm
        That part of the standard uncertainty at later prints which is the same at each.
    shared_mm2 : float, mm²
        Covariance of both. Where the print was measured, little is left of it: the error of the
        reading alone goes into both.
    """
    whole = profile if learned is None else learned.taught
    then = whole.sizes(_placed(sizes, print_code), source=source)
    later = whole.sizes(_placed(sizes, ""))
    cov = whole.known.predict(Sizes.joined([then, later])).cov
    w, count = np.asarray(weights, dtype=float), len(sizes)
    next_mm2 = w @ (cov[count:, count:] - whole.known.fresh(later)) @ w
    return (
        math.sqrt(max(float(w @ cov[:count, :count] @ w), 0.0)),
        math.sqrt(max(float(next_mm2), 0.0)),
        float(w @ cov[:count, count:] @ w),
    )


def _placed(sizes: Sequence[PrintedSize], print_code: str) -> Iterator[SizeAt]:
    for size in sizes:
        yield size_at(
            size.drawn_mm,
            size.kind,
            size.axis,
            feature=size.feature,
            print_code=print_code,
            wall_mm=size.wall_mm,
        )
