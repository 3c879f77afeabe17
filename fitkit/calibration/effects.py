"""Sizes as arrays: what the printer's terms, a print's own deviations, and the rest do to them.

One row a size, so that the update in `posterior` is a few solves. For a size drawn n mm the printed
size is ``n + x'b`` with the terms b of the printer (`model`). A print adds its own line width,
scale, first-layer height and flare. What no term holds is shared by sizes of one family (slots with
slots, holes with holes) that are alike in size.

Model: common practice, no source. Left out: where on the bed a part stands, and its neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

from fitkit.calibration.model import TERMS, design
from fitkit.core.sizes import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.calibration.model import Place
    from fitkit.core.sizes import Axis

    Array = NDArray[np.float64]

__all__ = ["SizeAt", "Sizes", "Source", "loads_of"]

# Floor and roof of a window each stand on layers; together they vary by so much of one's variance.
_FLOOR_AND_ROOF = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a print came from: what differs between two of them loosens what one tells of another.

    Attributes
    ----------
    printer, material, nozzle, spool : str
        In the maker's words; empty where nobody noted it.
    day : float
        Days since any fixed day; 0 if nobody wrote it down.
    """

    printer: str = ""
    material: str = ""
    nozzle: str = ""
    spool: str = ""
    day: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeAt:
    """One size as drawn, and where it belongs.

    Attributes
    ----------
    kind, axis, place, diagonal, wall_mm
        As in `fitkit.calibration.model.loads`.
    drawn_mm : float, mm
    print_code : str
        The print that it is on; empty for a print still to come.
    feature : str
        The feature of the part, the same at each reprint; empty if it is nobody's.
    source : Source
    step_mm : float, mm
        Layer height where floor and roof (or top) are not known to be whole layers; else 0.
    """

    kind: str
    axis: Axis = "xy"
    drawn_mm: float
    place: Place = "mid"
    diagonal: int = 0
    wall_mm: float = 0.0
    print_code: str = ""
    feature: str = ""
    source: Source = Source()
    step_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sizes:
    """Sizes as arrays.

    Attributes
    ----------
    drawn : array of shape (n,), mm
    loads : array of shape (n, k)
        Of the terms, in the order of `fitkit.calibration.model.TERMS`.
    families : array of str of shape (n, 2)
        Families whose errors a size shares; an empty name for none.
    shares : array of shape (n, 2)
        By how much.
    along : array of shape (n, 3)
        Directions x, y, z.
    moved : array of shape (n, 4)
        How a print's line width, scale, first-layer height and flare move a size.
    step : array of shape (n,), mm²
        Variance of layers that nobody knows.
    prints, features : arrays of str of shape (n,)
    asked : tuple of SizeAt, length n
        What the rows are of.
    """

    drawn: Array
    loads: Array
    families: NDArray[np.str_]
    shares: Array
    along: Array
    moved: Array
    step: Array
    prints: NDArray[np.str_]
    features: NDArray[np.str_]
    asked: tuple[SizeAt, ...]

    @classmethod
    def of(cls, sizes: Iterable[SizeAt]) -> Self:
        """Lay out sizes as arrays."""
        sizes = tuple(sizes)
        families = [_families(size) for size in sizes]
        drawn = np.array([size.drawn_mm for size in sizes], dtype=float)
        return cls(
            drawn=drawn,
            loads=_stacked([loads_of(size) for size in sizes], len(TERMS)),
            families=np.array([names for names, _ in families], dtype=str).reshape(len(sizes), 2),
            shares=_stacked([shares for _, shares in families], 2),
            along=_stacked([_ALONG[kind_of(s.kind).along(s.axis)] for s in sizes], 3),
            moved=_stacked([_moved(size) for size in sizes], 4),
            step=np.array([_step(size) for size in sizes], dtype=float),
            prints=np.array([size.print_code for size in sizes], dtype=str),
            features=np.array([size.feature for size in sizes], dtype=str),
            asked=sizes,
        )

    def __len__(self) -> int:
        """Give the number of sizes."""
        return len(self.drawn)

    def rows(self, which: Sequence[int] | NDArray[np.int64]) -> Sizes:
        """Keep the sizes with these numbers."""
        at = np.asarray(which, dtype=int)
        arrays = {name: getattr(self, name)[at] for name in _ARRAYS}
        return Sizes(**arrays, asked=tuple(self.asked[i] for i in at))

    @classmethod
    def joined(cls, parts: Sequence[Sizes]) -> Sizes:
        """Put several one after the other."""
        arrays = {name: np.concatenate([getattr(p, name) for p in parts]) for name in _ARRAYS}
        return cls(**arrays, asked=tuple(size for part in parts for size in part.asked))

    @property
    def sources(self) -> tuple[Source, ...]:
        """Where each is from."""
        return tuple(size.source for size in self.asked)


_ARRAYS = (
    "drawn",
    "loads",
    "families",
    "shares",
    "along",
    "moved",
    "step",
    "prints",
    "features",
)
_ALONG = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "xy": (0.5, 0.5, 0.0),
}


def _stacked(rows: Sequence[Sequence[float] | Array], width: int) -> Array:
    return np.array(rows, dtype=float).reshape(len(rows), width)


def loads_of(size: SizeAt | CouponFeature) -> Array:
    """Give what one size loads on each of `TERMS`, shape (t,)."""
    return design(
        tuple(TERMS),
        size.drawn_mm,
        size.kind,
        size.axis,
        place=size.place,
        diagonal=size.diagonal,
        wall_mm=size.wall_mm,
    )


def _families(size: SizeAt) -> tuple[tuple[str, str], tuple[float, float]]:
    shares = [*kind_of(size.kind).family_along(size.axis).items(), ("", 0.0), ("", 0.0)]
    (first, share), (second, other) = shares[:2]
    return (first, second), (share, other)


def _moved(size: SizeAt) -> tuple[float, float, float, float]:
    kind = kind_of(size.kind)
    return (
        float(kind.line_sense(size.axis)),
        size.drawn_mm,
        float(kind.upright(size.axis)),
        float(kind.flares and size.place == "bed"),
    )


def _step(size: SizeAt) -> float:
    kind = kind_of(size.kind)
    window = kind.along(size.axis) == "z" and not kind.upright(size.axis)
    return size.step_mm**2 / 12.0 * (_FLOOR_AND_ROOF if window else 1.0)
