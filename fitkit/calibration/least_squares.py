"""Ordinary least squares with its covariance, by QR of columns brought to one length.

LAPACK does the work, through scipy; the columns are scaled first, since sizes, ones and one over
the size differ by orders of magnitude. Checked against certified data sets in ``tests/outside``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Solution", "solve"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """Coefficients, their covariance for rows of unit variance, residuals, leverage of rows."""

    coef: Array
    cov: Array
    residual: Array
    leverage: Array

    @property
    def rss(self) -> float:
        """Sum of squared residuals."""
        return float(self.residual @ self.residual)


def solve(columns: Array, y: Array) -> Solution:
    """Fit y by columns, which must not depend on each other.

    Parameters
    ----------
    columns : array of shape (n, k)
    y : array of shape (n,)

    Examples
    --------
    >>> line = solve(np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]]), np.array([1.0, 3.0, 5.0]))
    >>> line.coef.round(12)
    array([1., 2.])
    """
    from scipy.linalg import qr

    length = np.linalg.norm(columns, axis=0)
    basis, triangle = qr(columns / length, mode="economic", check_finite=False)
    # The triangular solver of the usual BLAS starts threads even for a few rows, and on a busy
    # machine took a hundred times as long as this.
    inverse = np.linalg.inv(triangle)
    coef = inverse @ (basis.T @ y)
    residual = y - basis @ (basis.T @ y)
    # A second pass takes off what rounding left of the columns in the residual.
    again = basis.T @ residual
    return Solution(
        coef=(coef + inverse @ again) / length,
        cov=(inverse @ inverse.T) / np.outer(length, length),
        residual=residual - basis @ again,
        leverage=np.einsum("ij,ij->i", basis, basis),
    )
