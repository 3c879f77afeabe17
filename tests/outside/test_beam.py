"""Bending of lugs and ribs, and tearing beside a hole, each solved another way here.

The cantilever is solved as a differential equation; the net section beside a hole is held against
Kirsch's plane solution for a wide strip with a hole (from memory). Pull-out is held against the
screw-thread standards' formula for the sheared area of an internal thread (FED-STD-H28 and ISO 898
use it, from memory), and against a published pull-out test of printed parts, of which the abstract
was read: Polymers 18 (2026) 112.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_bvp

from fitkit.checks.bending import (
    beam_depth_mm,
    lug_bending_mpa,
    lug_tear_out_mpa,
    thread_pull_out_n,
)


def test_lug_stress_is_that_of_the_bent_line_at_its_root() -> None:
    """The line of no fourth derivative, held at the root, pushed at the tip; stress E t w'' / 2."""
    load, reach, width, thickness, modulus = 30.0, 10.0, 12.0, 3.0, 2000.0
    stiff = modulus * width * thickness**3 / 12

    def line(_: np.ndarray, y: np.ndarray) -> np.ndarray:  # w and its three derivatives
        return np.stack([y[1], y[2], y[3], np.zeros_like(y[0])])

    def ends(root: np.ndarray, tip: np.ndarray) -> np.ndarray:
        return np.array([root[0], root[1], tip[2], stiff * tip[3] + load])

    grid = np.linspace(0, reach, 40)
    solved = solve_bvp(line, ends, grid, np.zeros((4, grid.size)), tol=1e-10)
    assert solved.success
    expected = modulus * thickness / 2 * solved.sol(0.0)[2]
    found = lug_bending_mpa(load, reach_mm=reach, width_mm=width, thickness_mm=thickness)
    assert found == pytest.approx(expected, rel=1e-6)


def test_tear_out_is_the_mean_of_the_stress_beside_a_hole_in_a_wide_strip() -> None:
    hole, width, thickness, pull = 4.0, 80.0, 3.0, 1.0
    a = hole / 2
    beside, _ = quad(lambda r: pull * (1 + a**2 / (2 * r**2) + 3 * a**4 / (2 * r**4)), a, width / 2)
    load = pull * width * thickness
    found = lug_tear_out_mpa(load, width_mm=width, hole_mm=hole, thickness_mm=thickness)
    assert found == pytest.approx(beside / (width / 2 - a), rel=2e-3)


def test_a_rib_of_the_worked_out_depth_is_stressed_to_its_strength() -> None:
    """The moment by adding up the shear along the rib, what it carries by adding up its stress."""
    load, span, width, strength = 60.0, 47.0, 2.0, 35.0
    depth = beam_depth_mm(load, span_mm=span, width_mm=width, strength_mpa=strength)
    moment, _ = quad(lambda _: load / 2, 0, span / 2)
    carried, _ = quad(lambda y: strength * (2 * y / depth) * y * width, -depth / 2, depth / 2)
    assert carried == pytest.approx(moment, rel=1e-9)


@pytest.mark.parametrize(
    ("major", "pitch", "minor"),
    [(2.5, 0.45, 2.013), (3.0, 0.5, 2.459), (4.0, 0.7, 3.242), (5.0, 0.8, 4.134)],
)
def test_pull_out_is_what_half_a_printed_thread_keeps_of_the_standards_formula(
    major, pitch, minor
) -> None:
    """Sheared area of a nut's thread: pi n L d (1 / (2 n) + 0.577 (d - D2)), D2 at half depth.

    A cut thread in solid metal keeps seven eighths of its cylinder. One that a screw forms in a
    printed hole is told to keep half: less than the standard's, and more than half of it.
    """
    depth, shear, turns = 6.0, 20.0, 1 / pitch
    mean = major - 0.6495 * pitch
    area = np.pi * turns * depth * major * (1 / (2 * turns) + 0.57735 * (major - mean))
    assert area == pytest.approx(0.875 * np.pi * major * depth, rel=1e-3)
    found = thread_pull_out_n(screw_mm=major, depth_mm=depth, shear_mpa=shear)
    assert 0.5 < found / (area * shear) < 1.0
    # And no more than the cylinder through the roots of the formed thread would bear.
    assert found < np.pi * minor * depth * shear


def test_pull_out_of_an_m8_thread_in_sintered_nylon_is_told_too_low_rather_than_too_high() -> None:
    """Printed M8 threads and heat-set inserts failed by pulling out, at 3.41 and 3.83 kN.

    The abstract does not give their length; a nut of M8 is 6.8 mm high (ISO 4032), and no thread
    here would be shorter. PA 12 from the powder bears 48 MPa (its makers' figure, from memory).
    """
    shear = 48.0 / np.sqrt(3)
    found = thread_pull_out_n(screw_mm=8.0, depth_mm=6.8, shear_mpa=shear)
    assert 0.5 * 3410 < found < 3410
    assert found < 3830
