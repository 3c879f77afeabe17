"""Interference by strain, against Lame's stresses worked out point by point."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.core.errors import FitError
from fitkit.fits import choose_gap
from fitkit.fits.interference import POISSON, interference_strain, most_interference_mm


@pytest.mark.parametrize(("size", "wall"), [(2.0, 2.0), (10.0, 1.2), (10.0, 40.0)])
def test_the_strain_is_that_of_a_ring_solved_by_finite_differences(size, wall):
    """Ring and solid peg by radial equilibrium u'' + u'/r - u/r^2 = 0, solved on a grid."""
    a, b, modulus = size / 2, size / 2 + wall, 2000.0
    r = np.linspace(a, b, 4001)
    h = r[1] - r[0]
    from scipy.linalg import solve_banded

    n, plane = len(r), modulus / (1 - POISSON**2)
    bands, right = np.zeros((5, n)), np.zeros(n)
    middle = slice(1, n - 1)
    inner = r[middle]
    bands[1, 2:] = 1 / h**2 + 1 / (2 * h * inner)
    bands[2, middle] = -2 / h**2 - 1 / inner**2
    bands[3, : n - 2] = 1 / h**2 - 1 / (2 * h * inner)
    # Radial stress is -1 MPa inside and 0 outside; one-sided slopes of second order.
    bands[2, 0], bands[1, 1], bands[0, 2] = (
        plane * (-1.5 / h + POISSON / a), plane * 2 / h, plane * -0.5 / h,
    )  # fmt: skip
    right[0] = -1.0
    bands[2, -1], bands[3, -2], bands[4, -3] = 1.5 / h + POISSON / b, -2 / h, 0.5 / h
    moved = solve_banded((2, 2), bands, right)
    ring = moved[0] / a  # strain of the bore's edge at 1 MPa
    peg = (1 - POISSON) / modulus  # of a solid peg under the same pressure all round
    interference = size * (ring + peg)
    assert interference_strain(size, interference, wall_mm=wall) == pytest.approx(ring, rel=0.002)
    assert most_interference_mm(size, strain=ring, wall_mm=wall) == pytest.approx(
        interference, rel=0.002
    )


def test_a_wall_that_is_not_known_counts_as_thin():
    assert most_interference_mm(2.0, strain=0.02) < most_interference_mm(
        2.0, strain=0.02, wall_mm=1.0
    )


def test_no_choice_strains_a_bore_more_than_the_plastic_bears():
    free = choose_gap("peg and hole", "permanent interference", size_mm=2.0)
    assert -free.gap_mm / 2.0 > 0.03
    bound = choose_gap("peg and hole", "permanent interference", size_mm=2.0, most_strain=0.02)
    assert bound.gap_mm == pytest.approx(-0.04)
    assert bound.p_wanted < free.p_wanted
    assert any("2.0 %" in note and "2.00 mm" in note for note in bound.notes)
    large = choose_gap("peg and hole", "permanent interference", size_mm=40.0, most_strain=0.02)
    assert large == choose_gap("peg and hole", "permanent interference", size_mm=40.0)


@pytest.mark.parametrize("bad", [{"size_mm": 0.0}, {"strain": -0.1}, {"wall_mm": -1.0}])
def test_sizes_that_cannot_be_are_refused(bad):
    with pytest.raises(FitError, match="above 0 mm"):
        most_interference_mm(**({"size_mm": 2.0, "strain": 0.02} | bad))
