"""Mean, spread and Student's interval of every feature of a large table, all at once.

Only what repeats tell (type A) is in it: for zero error, jaws and limits use `average.estimates`.
Sums are taken of differences from each feature's first reading, and the spread in a second pass,
so that large sizes with small spreads keep their digits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.expanded import expanded
from fitkit.core.format import doubted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from fitkit.readings.table import ReadingTable

    Array = NDArray[np.float64]

__all__ = ["Summary", "mean_and_spread", "summarise"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Summary:
    """One row a feature, in order of appearance.

    Attributes
    ----------
    frame : pandas.DataFrame
        Index ``feature``; columns ``n``, ``mean_mm``, ``s_mm``, ``u_mm`` (of the mean), ``k95``,
        ``U95_mm``. Where n is 1, spread and all after it are missing (nan): one reading tells no
        repeatability.
    name : str
    """

    frame: pd.DataFrame
    name: str

    def summary(self) -> str:
        """Give a line a feature."""
        return "\n".join(f"{row[0]}: {row[2]} ± {row[5]} (n = {row[1]})" for row in self._rows())

    def _rows(self) -> list[tuple[str, ...]]:
        def length(value: float) -> str:
            return "unknown" if np.isnan(value) else f"{value:.3f} mm"

        rows: list[tuple[str, ...]] = []
        for name, n, mean, s, _, k, U95 in self.frame.itertuples():
            if np.isnan(k):
                best, half, factor = length(mean), "unknown", "unknown"
            else:
                best, half = (f"{text} mm" for text in doubted(mean, U95))
                factor = f"{k:.2f}"
            rows.append((str(name), str(n), best, length(s), factor, half))
        return rows

    def _repr_html_(self) -> str:
        from fitkit.core.html import html_table

        header = ("feature", "n", "mean", "s of one reading", "k (95 %)", "U95, repeats only")
        return html_table(f"{self.name}: features", header, self._rows())

    def __repr__(self) -> str:
        """One cheap line."""
        return f"Summary({self.name!r}, {len(self.frame)} features)"


def summarise(table: ReadingTable) -> Summary:
    """Average every feature's counted readings, as shown (uncorrected)."""
    import pandas as pd

    counts = table.frame["counts"].to_numpy(bool)
    codes, names = pd.factorize(table.frame["feature"])
    n, mean, s = mean_and_spread(
        table.frame["value_mm"].to_numpy(float)[counts], codes[counts], len(names)
    )
    # Student's factor is slow; there are few different n.
    different, at = np.unique(n, return_inverse=True)
    _, factor = expanded(np.ones(len(different)), np.maximum(different - 1.0, 1.0))
    k = np.where(n > 1, factor[at], np.nan)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = s / np.sqrt(n)
    frame = pd.DataFrame(
        {"n": n, "mean_mm": mean, "s_mm": s, "u_mm": u, "k95": k, "U95_mm": k * u},
        index=pd.Index(names, name="feature"),
    )
    return Summary(frame=frame[n > 0], name=table.name)


def mean_and_spread(
    values: ArrayLike, codes: ArrayLike, groups: int
) -> tuple[NDArray[np.int64], Array, Array]:
    """Count, mean and standard deviation (n - 1) of each group.

    Parameters
    ----------
    values : array of shape (n,)
    codes : array of n ints
        Group of each value, 0 to groups - 1.

    Returns
    -------
    n, mean, s : arrays of shape (groups,)
        nan where undefined.
    """
    shown, group = np.asarray(values, dtype=float), np.asarray(codes, dtype=np.intp)
    n = np.bincount(group, minlength=groups)
    first = np.zeros(groups)
    first[group[::-1]] = shown[::-1]  # the last one written is the first in the table
    off = shown - first[group]
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.bincount(group, off, groups) / n
        rest = off - shift[group]
        squares: Array = np.bincount(group, rest * rest, groups).astype(float)
        # The second term is zero but for rounding (corrected two-pass algorithm, Chan et al. 1983).
        squares -= np.bincount(group, rest, groups) ** 2 / n
        s = np.sqrt(np.maximum(squares, 0.0) / np.where(n > 1, n - 1, np.nan))
        mean = np.where(n > 0, first + shift, np.nan)
    return n, mean, s
