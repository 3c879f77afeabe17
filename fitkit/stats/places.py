"""Tell whether places on one part differ by more than the readings in each do.

One-way analysis of variance with unequal groups. A bar that is wide at the bed is not read badly.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike

__all__ = ["PLACES_DIFFER", "compare_places"]

PLACES_DIFFER = "places differ by more than the readings in each"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceComparison:
    """Means of the places, the spread between and within them, and whether they differ.

    `within_mm` is None, and `differ` taken as true, where no place was read twice: then readings
    and places cannot be told apart, and mixing them would hide it.
    """

    means_mm: Mapping[str, float]
    between_mm: float
    within_mm: float | None
    differ: bool

    def __str__(self) -> str:
        """Name each place with its mean."""
        means = ", ".join(f"{name} {mean:.3f} mm" for name, mean in self.means_mm.items())
        within = "unknown" if self.within_mm is None else f"{self.within_mm:.3f} mm"
        return f"{means} (between {self.between_mm:.3f} mm, within {within})"


def compare_places(
    values_mm: ArrayLike, places: ArrayLike, *, level: float = 0.05
) -> PlaceComparison:
    """Compare the places of one feature.

    Parameters
    ----------
    values_mm : array of shape (n,), mm
    places : array of n names
        At least two different ones.
    level : float
        Of the F test.
    """
    from scipy.special import fdtrc

    values, names = np.asarray(values_mm, dtype=float), np.asarray(places, dtype=object)
    order = list(dict.fromkeys(names))
    groups = [values[names == name] for name in order]
    means = np.array([group.mean() for group in groups])
    counts = np.array([len(group) for group in groups])
    df_within = len(values) - len(groups)
    ss_between = float(np.sum(counts * (means - values.mean()) ** 2))
    mean_square = ss_between / (len(groups) - 1)
    within = None
    differ = bool(ss_between > 0)
    if df_within:
        ss_within = float(sum(np.sum((group - group.mean()) ** 2) for group in groups))
        within = float(np.sqrt(ss_within / df_within))
        if ss_within:
            differ = float(fdtrc(len(groups) - 1, df_within, mean_square / within**2)) < level
    return PlaceComparison(
        means_mm=MappingProxyType(dict(zip(map(str, order), means.tolist(), strict=True))),
        between_mm=float(means.std(ddof=1)),
        within_mm=within,
        differ=differ,
    )
