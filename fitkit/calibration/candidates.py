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
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration.model import TERMS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.layout import Layout
    from fitkit.calibration.model import Term

__all__ = ["Candidate", "aic", "candidates"]

# Fewest different sizes along an axis before it may have a scale of its own.
_LEAST_SIZES_FOR_OWN_SCALE = 3


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
    names = tuple(TERMS)
    present = {name for i, name in enumerate(names) if layout.matrix[:, i].any()}
    always = [
        name
        for name, term in TERMS.items()
        if name in present and term.varies != "scale" and term.choice is None
    ]
    # From what tells on small sizes to what tells on large ones.
    open_ = sorted((term for term in TERMS.values() if term.choice), key=lambda term: term.power)
    found = []
    ways = list(product(*(list(_ways(term, layout, present)) for term in open_)))
    for (scales, scale_says), chosen in product(_scales(layout, present), ways):
        groups = [*scales, *_tied(always, chosen)]
        tie = np.zeros((len(names), len(groups)))
        for column, group in enumerate(groups):
            for name in group:
                tie[names.index(name), column] = 1.0
        says = "; ".join(part for part in (scale_says, *(way.says for way in chosen)) if part)
        found.append(Candidate(tie=tie, says=says))
    return sorted(found, key=lambda candidate: -candidate.size)


class _Way(NamedTuple):
    """One way to treat a term that the data decide on: kept, tied to another, or left out."""

    term: str
    kept: bool
    tied_to: str
    says: str


def _ways(term: Term, layout: Layout, present: set[str]) -> Iterator[_Way]:
    """Every way to treat a term on this coupon, the fullest first."""
    choice = term.choice
    if choice is None or term.name not in present:
        yield _Way(term.name, False, "", "")
        return
    tied_to = choice.follows if choice.follows in present else ""
    # A term that nothing could stand for is kept however few features show it.
    alone = bool(choice.follows) and not tied_to
    if _sizes(layout, term.name) >= choice.least or alone:
        yield _Way(term.name, True, "", choice.kept)
    if not alone:
        yield _Way(term.name, False, tied_to, choice.left_out)


def _tied(always: list[str], chosen: Sequence[_Way]) -> list[tuple[str, ...]]:
    """Groups of terms that share a coefficient."""
    groups = [(name, *(way.term for way in chosen if way.tied_to == name)) for name in always]
    return [*groups, *((way.term,) for way in chosen if way.kept)]


def _sizes(layout: Layout, term: str) -> int:
    """Count the different drawn sizes on which a term acts."""
    acts = layout.matrix[:, tuple(TERMS).index(term)] != 0
    return len(np.unique(layout.drawn_mm[acts]))


def _scales(layout: Layout, present: set[str]) -> Iterator[tuple[list[tuple[str, ...]], str]]:
    axes = [name for name in ("scale_x", "scale_y", "scale_z") if name in present]
    flat = tuple(name for name in axes if name != "scale_z")
    tall = tuple(name for name in axes if name == "scale_z")
    single = {
        name: len(
            np.unique(
                layout.drawn_mm[[f.axis == name[-1] and not f.kind.lying for f in layout.features]]
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
