"""What a circle loses when it is drawn as a polygon: chords, sagitta, sides for a tolerance.

Source: plane geometry of the regular polygon. The corners lie on the circle, so an inside
diameter gauged over the flats is short by the cosine of half the central angle.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import CalibrationError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["across_flats_factor", "chord_for_share", "sagitta_mm", "sides_for"]


def across_flats_factor(sides: int | None) -> float:
    """Size over the flats for one unit over the corners; 1 for a true circle (None).

    Examples
    --------
    >>> round(3.00 * across_flats_factor(16), 3)
    2.942
    """
    if sides is None:
        return 1.0
    if sides < 3:
        raise CalibrationError(
            f"a polygon cannot have {sides} sides",
            code="calibration.polygon-sides",
            remedy="Give 3 or more.",
        )
    return math.cos(math.pi / sides)


def sagitta_mm(diameter_mm: ArrayLike, sides: ArrayLike) -> NDArray[np.float64]:
    """Depth of each flat below the circle, mm: a hole loses twice this over its flats."""
    half = np.pi / np.asarray(sides, dtype=float)
    # 1 - cos(x) as 2 sin²(x/2), which keeps its digits for many sides.
    return np.asarray(np.asarray(diameter_mm, dtype=float) * np.sin(0.5 * half) ** 2)


def sides_for(diameter_mm: ArrayLike, *, tolerance_mm: float) -> NDArray[np.int64]:
    """Fewest sides whose flats lie no deeper than a tolerance below the circle.

    Examples
    --------
    >>> int(sides_for(3.0, tolerance_mm=0.01))
    28
    """
    if not tolerance_mm > 0:
        raise CalibrationError(
            f"the tolerance of the mesh is {tolerance_mm} mm",
            code="calibration.mesh-tolerance",
            remedy="Give more than 0 mm.",
        )
    ratio = np.minimum(tolerance_mm / np.asarray(diameter_mm, dtype=float), 0.25)
    return np.maximum(np.ceil(0.5 * np.pi / np.arcsin(np.sqrt(ratio)) - 1e-9), 3).astype(np.int64)


def chord_for_share(U95_mm: float, *, share: float = 0.1) -> float:
    """Mesh tolerance for which the loss over a hole's flats stays under a share of its U95, mm."""
    return 0.5 * share * U95_mm
