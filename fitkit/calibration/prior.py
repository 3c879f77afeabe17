"""What is known of a printer before anything is measured on it, learned from other people's prints.

The mean of each term, and the covariance between printers, were learned from the open records in
``fitkit/data/printed_sizes.csv`` by the study ``studies.printer_prior``; they stand in
``fitkit/data/printer_prior.csv``. Few printers are known, so the doubt about the mean is most of
the covariance. Terms that no record shows take their figures from ``printer_generic.csv``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Prior", "learned_prior"]

# The material whose shrinkage most records show, so that others are moved by the difference.
_USUAL = ("PLA", "PETG")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prior:
    """Mean and covariance of a printer's terms, and how far printers stray from them.

    Attributes
    ----------
    mean : array of shape (k,)
        In the order of `fitkit.calibration.model.TERMS`.
    cov : array of shape (k, k)
    tail_df : float
        Degrees of freedom of the heavy tail: a printer's covariance is `cov` times an inverse
        gamma number of so many.
    says : str
        What it rests on.
    """

    mean: Array
    cov: Array
    tail_df: float = 6.0
    says: str = ""


def learned_prior(material: str = "") -> Prior:
    """Give the learned prior, moved to a material's shrinkage.

    Parameters
    ----------
    material : str
        One that ``printer_generic.csv`` knows; PLA and PETG, and unknown ones, are as learned.
    """
    return _learned(material.casefold(), tuple(TERMS))


@cache
def _learned(material: str, names: tuple[str, ...]) -> Prior:
    from fitkit.data import load_table

    table = load_table("printer_prior")
    frame = table.frame.set_index("term")
    mean, cov = np.zeros(len(names)), np.zeros((len(names), len(names)))
    held = [name for name in names if name in frame.index]
    at = [names.index(name) for name in held]
    mean[at] = frame.loc[held, "mean"].to_numpy(float)
    cov[np.ix_(at, at)] = frame.loc[held, held].to_numpy(float)
    for column, name in enumerate(names):
        if name not in held:  # a term of one's own says itself what is known of it
            mean[column], cov[column, column] = TERMS[name].known[0], TERMS[name].known[1] ** 2
    shift, sd = _shrinkage_beside(material)
    scales = [i for i, name in enumerate(names) if TERMS[name].varies == "scale"]
    mean[scales] += shift
    cov[np.ix_(scales, scales)] += sd**2
    mean.setflags(write=False)
    cov.setflags(write=False)
    tail_df = float(table.frame["mean"].to_numpy(float)[-1])
    return Prior(mean=mean, cov=cov, tail_df=tail_df, says=table.source)


def _shrinkage_beside(material: str) -> tuple[float, float]:
    """How much more a material grows than the usual ones, and the standard uncertainty of that."""
    from fitkit.data import load_table

    frame = load_table("printer_generic").frame
    scales = frame[frame["term"] == "scale"]
    low = dict(zip(scales["material"].str.casefold(), scales["low"] * 0.01, strict=True))
    high = dict(zip(scales["material"].str.casefold(), scales["high"] * 0.01, strict=True))
    key = material.casefold()
    usual = [name.casefold() for name in _USUAL]
    if key not in low or key in usual:
        return 0.0, 0.0
    middle = sum(low[name] + high[name] for name in usual) / (2 * len(usual))
    return 0.5 * (low[key] + high[key]) - middle, (high[key] - low[key]) / math.sqrt(12.0)
