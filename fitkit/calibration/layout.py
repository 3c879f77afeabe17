"""From a list of coupon features, print by print, to the matrices that a fit works on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS, design, print_loads

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from fitkit.calibration.coupon import CouponFeature

__all__ = ["Layout"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """What was read, a row a feature of a print, as numbers.

    Attributes
    ----------
    features : tuple of CouponFeature, length n
    prints : array of shape (n,)
        Which print each row is of, counted from 0.
    drawn_mm : array of shape (n,), mm
    matrix : array of shape (n, k)
        Loads of all terms of `model.TERMS`, in its order.
    width, scale : arrays of shape (n,)
        How a print's own line width and own scale move each row.
    """

    features: tuple[CouponFeature, ...]
    prints: NDArray[np.int64]
    drawn_mm: NDArray[np.float64]
    matrix: NDArray[np.float64]
    width: NDArray[np.float64]
    scale: NDArray[np.float64]

    @classmethod
    def of(cls, features: Sequence[CouponFeature], prints: ArrayLike | None = None) -> Layout:
        """Lay out features; all of one print if `prints` is None."""
        rows = [
            design(tuple(TERMS), f.drawn_mm, f.kind, f.axis, place=f.place, diagonal=f.diagonal)
            for f in features
        ]
        moved = [print_loads(f.drawn_mm, f.kind, f.axis) for f in features]
        return cls(
            features=tuple(features),
            prints=np.asarray(prints if prints is not None else np.zeros(len(features)), int),
            drawn_mm=np.array([f.drawn_mm for f in features]),
            matrix=np.array(rows).reshape(len(features), len(TERMS)),
            width=np.array([float(w) for w, _ in moved]),
            scale=np.array([float(s) for _, s in moved]),
        )

    @property
    def print_count(self) -> int:
        """How many prints there are."""
        return len(np.unique(self.prints))

    def same_feature(self) -> NDArray[np.float64]:
        """1 where two rows are the same feature on whatever print, shape (n, n)."""
        number: dict[str, int] = {}
        codes = np.array([number.setdefault(f.name, len(number)) for f in self.features])
        return np.asarray(codes[:, None] == codes[None, :], dtype=float)

    def print_columns(self) -> NDArray[np.float64]:
        """Columns for each print's own width and scale, summing to nil over prints.

        Shape (n, 2 (p - 1)): widths first, then scales; none if there is one print.
        """
        which = np.unique(self.prints)
        own = (self.prints[:, None] == which[None, :]).astype(float)
        contrast = own[:, :-1] - own[:, -1:]
        return np.hstack([contrast * self.width[:, None], contrast * self.scale[:, None]])
