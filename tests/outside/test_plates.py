"""Pressed plates against a handbook's tables, a Navier series, and finite elements.

Sources: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, tables 8, 35, 40 and 41
(even pressure, Poisson's ratio 0.3; from memory); Navier's double series, written here from first
principles; plate elements of Morley's kind in scikit-fem 12.0.2, on 80 rows of triangles, run once
apart from this code, Poisson's ratio 0.38, a fingertip of 6 mm radius.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import j1

from fitkit.checks.plates import RectangularPlate, pressed

S, C, F = "simple", "clamped", "free"

# Sides; edges at low x, high x, low y, high y; greatest deflection over q a⁴ / D, greatest
# moments over q a². A dash where the table gives the moment of another point.
TABLES = [
    (1.0, 1.0, (S, S, S, S), 0.00406, 0.0479, 0.0479),
    (1.0, 1.0, (C, C, C, C), 0.00126, 0.0513, 0.0513),
    (1.0, 0.5, (S, S, S, F), 0.00710, 0.060, None),
    (1.0, 1.0, (S, S, S, F), 0.01286, 0.112, None),
    (1.0, 2.0, (S, S, S, F), 0.01507, 0.132, None),
    (1.0, 1.0, (S, S, C, F), 0.0113, 0.0972, 0.119),
    (1.0, 0.5, (S, S, C, F), 0.0582 / 16, 0.0293, 0.319 / 4),
]


@pytest.mark.parametrize(("a", "b", "edges", "deflection", "x", "y"), TABLES)
def test_even_pressure_is_the_handbooks(a, b, edges, deflection, x, y) -> None:
    plate = RectangularPlate(a, b, edges, poisson=0.3, finest_mm=0.1)
    found = plate.even()
    assert found.deflection == pytest.approx(deflection, rel=0.01)
    assert found.x == pytest.approx(x, rel=0.01)
    if y is not None:
        assert found.y == pytest.approx(y, rel=0.01)


@pytest.mark.parametrize(("a", "b", "radius"), [(68.8, 17.2, 6), (74, 52, 6), (60, 60, 3)])
def test_a_finger_in_the_middle_of_a_simply_held_plate_is_naviers_series(a, b, radius) -> None:
    """Each term is a shape that the Laplacian only scales, so a disc's mean of it is exact."""
    nu = 0.38
    odd = np.arange(1, 1600, 2)
    m, n = odd[:, None] / a, odd[None, :] / b
    square = m**2 + n**2
    reach = math.pi * radius * np.sqrt(square)
    share = 2 * j1(reach) / reach * 4 / (a * b * math.pi**2) / square**2
    expected = [float((share * (p**2 + nu * q**2)).sum()) for p, q in ((m, n), (n, m))]
    plate = RectangularPlate(a, b, (S, S, S, S), poisson=nu, finest_mm=radius)
    found = plate.discs([(0.0, 0.0)], radius)
    # Polynomials cannot follow the disc's very edge; 3 % is less than any strength is known to.
    assert found.x == pytest.approx(expected[0], rel=0.03)
    assert found.y == pytest.approx(expected[1], rel=0.03)


# Sides, edges, place of the finger along y, moments along x and y, deflection in mm².
ELEMENTS = [
    (68.8, 17.2, (S, S, S, S), 0.0, 0.0988, 0.1431, 3.696),
    (68.8, 17.2, (C, C, C, S), 0.0, 0.0716, 0.1713, 2.024),
    (68.8, 17.2, (C, C, C, F), 2.6, 0.1601, 0.3818, 23.80),
    (73.0, 30.0, (C, C, C, F), 9.0, 0.3522, 0.3412, 75.56),
    (68.8, 17.2, (S, S, S, F), 2.6, 0.3323, 0.1208, 113.56),
    (65.0, 47.0, (S, S, S, S), 0.0, 0.2121, 0.2393, 30.67),
]


@pytest.mark.parametrize(("a", "b", "edges", "place", "x", "y", "deflection"), ELEMENTS)
def test_a_finger_on_a_wall_is_what_finite_elements_give(
    a, b, edges, place, x, y, deflection
) -> None:
    found = RectangularPlate(a, b, edges).discs([(0.0, place)], 6.0)
    assert found.x == pytest.approx(x, rel=0.04)
    assert found.y == pytest.approx(y, rel=0.02)
    assert found.deflection == pytest.approx(deflection, rel=0.01)


def test_the_worst_place_of_the_finger_is_found() -> None:
    """A free edge is pressed at the edge, where elements gave more than in the middle."""
    assert pressed(68.8, 17.2, (C, C, C, F)).y == pytest.approx(0.382, rel=0.02)
    assert pressed(73.0, 30.0, (C, C, C, F)).x == pytest.approx(0.352, rel=0.02)


def test_a_plate_that_could_tip_is_refused() -> None:
    with pytest.raises(ValueError, match="not held"):
        RectangularPlate(10, 10, (S, F, F, F))
