"""A rounded rectangle from calipers readings: length, width, and the diagonals over its corners.

Jaws laid over two opposite round corners read, at their greatest, the distance between the two
corner arcs' middles plus two radii: D = sqrt((L - 2r)² + (W - 2r)²) + 2r, which is solved for r in
closed form. Uncertainties of L, W and D are carried through by their partial derivatives (GUM,
first order, taken as uncorrelated). Left out: corners of unequal radius, and bulging sides; two
diagonals that differ tell of a skewed box.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import PartError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["corner_radius_mm", "diagonal_mm", "fit_rounded_rectangle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundedRectangle:
    """A rounded rectangle with standard uncertainties, mm.

    Attributes
    ----------
    length_mm, width_mm, radius_mm : float, mm
    u_length_mm, u_width_mm, u_radius_mm : float, mm
        Standard uncertainties.
    skew_mm : float or None
        Difference of the two diagonals; None with one.
    notes : tuple of str
    """

    length_mm: float
    width_mm: float
    radius_mm: float
    u_length_mm: float
    u_width_mm: float
    u_radius_mm: float
    skew_mm: float | None = None
    notes: tuple[str, ...] = ()


def diagonal_mm(length: float, width: float, radius: float) -> float:
    """Greatest reading over two opposite corners, mm.

    Examples
    --------
    >>> diagonal_mm(40, 30, 0), round(diagonal_mm(40, 30, 15), 6)
    (50.0, 40.0)
    """
    return math.hypot(length - 2 * radius, width - 2 * radius) + 2 * radius


def corner_radius_mm(length: float, width: float, diagonal: float) -> float:
    """Corner radius that the three sizes say, mm; 0 where the diagonal is that of sharp corners.

    Raises
    ------
    PartError
        If the diagonal is longer than sharp corners allow by more than 1 %, or shorter than that
        of the roundest shape.

    Examples
    --------
    >>> round(corner_radius_mm(100, 60, diagonal_mm(100, 60, 8)), 9)
    8.0
    """
    sharp, roundest = math.hypot(length, width), max(length, width)
    if not roundest - 1e-9 <= diagonal <= 1.01 * sharp:
        raise PartError(
            f"{diagonal:.4g} mm does not go with {length:.4g} x {width:.4g} mm: it lies between "
            f"{roundest:.4g} mm (round ends) and {sharp:.4g} mm (sharp corners)",
            where="diagonal",
            code="profile.diagonal",
            remedy="Read it again over two opposite corners, at its greatest.",
        )
    if diagonal >= sharp:
        return 0.0
    # With s = 2r: s² - 2 (L + W - D) s + L² + W² - D² = 0; the smaller root is the corner. Written
    # as c / (b + root), it keeps its digits when the corners are nearly sharp.
    b = length + width - diagonal
    c = sharp * sharp - diagonal * diagonal
    return c / (b + math.sqrt(max(b * b - c, 0.0))) / 2


def fit_rounded_rectangle(
    lengths: Sequence[float],
    widths: Sequence[float],
    diagonals: Sequence[float],
    *,
    other_diagonals: Sequence[float] = (),
    u_instrument_mm: float = 0.017,
) -> RoundedRectangle:
    """Fit length, width and corner radius to readings.

    The three kinds of reading fix the three sizes just so; the least-squares solution is then that
    of their means.

    Parameters
    ----------
    lengths, widths, diagonals : sequences of float, mm
        Readings of each; at least one.
    other_diagonals : sequence of float, mm, optional
        Over the other two corners; their mean difference tells of skew.
    u_instrument_mm : float, mm
        Standard uncertainty of the calipers: by default a limit of error of 0.03 mm, rectangular.

    Raises
    ------
    PartError
        If a kind has no reading, or they do not go together.

    Examples
    --------
    >>> box = fit_rounded_rectangle([100.02, 99.98], [60.0], [diagonal_mm(100, 60, 8)])
    >>> round(box.radius_mm, 3), round(box.u_radius_mm, 3)
    (8.0, 0.043)
    """
    means, spreads = [], []
    pooled = [*diagonals, *other_diagonals]
    for name, values in (("lengths", lengths), ("widths", widths), ("diagonals", pooled)):
        if not len(values):
            raise PartError(
                "this size has no reading",
                where=name,
                code="profile.no-reading",
                remedy="Read it at least once.",
            )
        means.append(float(np.mean(values)))
        repeat = float(np.std(values, ddof=1) / math.sqrt(len(values))) if len(values) > 1 else 0.0
        spreads.append(math.hypot(repeat, u_instrument_mm))
    radius = corner_radius_mm(*means)
    length, width, _ = means
    notes: tuple[str, ...] = ()
    # Partial derivatives of D(L, W, r): dr = (dD - dD/dL dL - dD/dW dW) / (dD/dr).
    a, b = length - 2 * radius, width - 2 * radius
    slant = math.hypot(a, b)
    by_r = 2 - 2 * (a + b) / slant
    if abs(by_r) < 1e-6:
        u_radius = math.inf
        notes = ("ends are wholly round: the diagonal says nothing more about the radius",)
    else:
        u_radius = math.hypot(spreads[2], a / slant * spreads[0], b / slant * spreads[1]) / abs(
            by_r
        )
    skew = None
    if len(other_diagonals) and len(diagonals):
        skew = float(np.mean(diagonals) - np.mean(other_diagonals))
        if abs(skew) > 3 * math.sqrt(2) * u_instrument_mm:
            notes = (*notes, f"the diagonals differ by {abs(skew):.2f} mm: the box is skewed")
    return RoundedRectangle(
        length_mm=length,
        width_mm=width,
        radius_mm=radius,
        u_length_mm=spreads[0],
        u_width_mm=spreads[1],
        u_radius_mm=u_radius,
        skew_mm=skew,
        notes=notes,
    )
