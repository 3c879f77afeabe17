"""Which models a coupon could support: terms apart, tied together, or left out.

Each candidate is a matrix that turns its few free coefficients into those of all terms, so that
"x and y shrink alike" or "pegs grow as bars do" are models like any other, compared by Akaike's
information criterion (1974, IEEE Trans. Automatic Control 19, 716; from memory). A term must also
have enough features behind it before it may enter. Its small-sample form, AICc, drops terms that
intervals then miss: see `regression`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from fitkit.calibration.layout import Layout

__all__ = ["Candidate", "aic", "candidates"]

_NAMES = tuple(TERMS)
# Fewest different sizes before a term may stand on its own.
_LEAST_HOLES_FOR_CURVATURE = 4
_LEAST_SIZES_FOR_OWN_SCALE = 3
_LEAST_PEGS_OF_THEIR_OWN = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A model: `tie` has shape (all terms, free coefficients); `says` names its choices."""

    tie: NDArray[np.float64]
    says: str

    @property
    def size(self) -> int:
        """Number of free coefficients."""
        return int(self.tie.shape[1])


def aic(rss: float, n: int, k: int) -> float:
    """Criterion of a least-squares fit of `k` coefficients to `n` rows; smaller is better."""
    return n * float(np.log(max(rss, 1e-300) / n)) + 2.0 * k


def candidates(layout: Layout) -> list[Candidate]:
    """All models that the coupon's features allow, the fullest first."""
    present = {name for i, name in enumerate(_NAMES) if layout.matrix[:, i].any()}
    free: list[tuple[str, ...]] = [
        (name,)
        for name in _NAMES
        if name in present
        and not name.startswith("scale")
        and name not in ("hole_curvature", "skew", "peg_offset")
    ]
    found = []
    for (scales, scale_says), (curve, curve_says), (pegs, peg_says), (skew, skew_says) in product(
        _scales(layout, present), _curves(layout, present), _pegs(layout, present), _skews(present)
    ):
        groups = [*scales, *_merge(free, pegs), *curve, *skew]
        tie = np.zeros((len(_NAMES), len(groups)))
        for column, group in enumerate(groups):
            for name in group:
                tie[_NAMES.index(name), column] = 1.0
        says = "; ".join(part for part in (scale_says, curve_says, peg_says, skew_says) if part)
        found.append(Candidate(tie=tie, says=says))
    return sorted(found, key=lambda candidate: -candidate.size)


def _sizes(layout: Layout, term: str) -> int:
    """Count the different drawn sizes on which a term acts."""
    acts = layout.matrix[:, _NAMES.index(term)] != 0
    return len(np.unique(layout.drawn_mm[acts]))


def _scales(layout: Layout, present: set[str]) -> Iterator[tuple[list[tuple[str, ...]], str]]:
    axes = [name for name in ("scale_x", "scale_y", "scale_z") if name in present]
    flat = tuple(name for name in axes if name != "scale_z")
    tall = tuple(name for name in axes if name == "scale_z")
    single = {
        name: len(
            np.unique(
                layout.drawn_mm[
                    [f.axis == name[-1] and f.kind != "hole_lying" for f in layout.features]
                ]
            )
        )
        for name in axes
    }
    if len(flat) == 2 and all(single[name] >= _LEAST_SIZES_FOR_OWN_SCALE for name in flat):
        yield [(flat[0],), (flat[1],), *([tall] if tall else [])], "each axis its own scale"
    if tall and flat and single["scale_z"] >= 2:
        yield [flat, tall], "x and y scale alike" if len(flat) == 2 else ""
        return
    if axes:
        says = "one scale along all axes" if tall and flat else "x and y scale alike"
        yield [tuple(axes)], says if len(axes) > 1 else ""


def _curves(layout: Layout, present: set[str]) -> Iterator[tuple[list[tuple[str, ...]], str]]:
    if _sizes(layout, "hole_curvature") >= _LEAST_HOLES_FOR_CURVATURE:
        yield [("hole_curvature",)], "holes close more when small"
    yield [], "holes close alike at all sizes" if "hole_closing" in present else ""


def _pegs(layout: Layout, present: set[str]) -> Iterator[tuple[str, str]]:
    if "peg_offset" not in present:
        yield "none", ""
        return
    if _sizes(layout, "peg_offset") >= _LEAST_PEGS_OF_THEIR_OWN or "outside_offset" not in present:
        yield "own", "pegs grow by an amount of their own"
    if "outside_offset" in present:
        yield "as bars", "pegs grow as bars do"


def _merge(free: list[tuple[str, ...]], pegs: str) -> list[tuple[str, ...]]:
    if pegs == "own":
        return [*free, ("peg_offset",)]
    if pegs == "as bars":
        return [("outside_offset", "peg_offset") if g == ("outside_offset",) else g for g in free]
    return free


def _skews(present: set[str]) -> Iterator[tuple[list[tuple[str, ...]], str]]:
    if "skew" in present:
        yield [("skew",)], "x and y out of square"
        yield [], "x and y square"
    else:
        yield [], ""
