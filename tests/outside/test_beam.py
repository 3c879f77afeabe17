"""Bending of lugs and walls against textbook results, each solved a second way here.

Sources: bending of a cantilever (any strength-of-materials text); round plates after Timoshenko and
Woinowsky-Krieger, Theory of Plates and Shells, art. 15 and 16 (formulas from memory), checked here
against the plate equation solved by finite differences.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from fitkit.checks.bending import (
    lug_bending_mpa,
    lug_tear_out_mpa,
    plate_bending_mpa,
    thread_pull_out_n,
)


def test_lug_stress_is_moment_over_section_modulus() -> None:
    load, reach, width, thickness = 30.0, 10.0, 12.0, 3.0
    section = width * thickness**2 / 6  # 18 mm³
    assert section == 18
    assert lug_bending_mpa(
        load, reach_mm=reach, width_mm=width, thickness_mm=thickness
    ) == pytest.approx(load * reach / section)


def test_tear_out_is_load_over_net_section() -> None:
    # 90 N on two strips of 4 x 3 mm.
    assert lug_tear_out_mpa(90.0, width_mm=12.0, hole_mm=4.0, thickness_mm=3.0) == 3.75


def test_pull_out_is_shear_on_half_the_thread_cylinder() -> None:
    # 3 mm screw, 6 mm deep, 20 MPa: π · 3 · 6 · 20 / 2 = 565 N.
    assert thread_pull_out_n(screw_mm=3.0, depth_mm=6.0, shear_mpa=20.0) == pytest.approx(
        565.5, abs=0.1
    )


@pytest.mark.parametrize("patch", [3.0, 6.0, 12.0])
def test_plate_stress_equals_the_plate_equation_solved(patch: float) -> None:
    """Axisymmetric plate: slope φ with φ'' + φ'/r - φ/r² = -Q(r)/D, simply held at r = a."""
    radius, nu, load = 40.0, 0.38, 100.0

    def shear(r: np.ndarray) -> np.ndarray:
        inside = np.minimum(r, patch) ** 2 / patch**2
        return load * inside / (2 * math.pi * r)

    def equation(r: np.ndarray, y: np.ndarray) -> np.ndarray:  # y: φ, φ'; D = 1
        return np.stack([y[1], -shear(r) - y[1] / r + y[0] / r**2])

    def ends(near: np.ndarray, far: np.ndarray) -> np.ndarray:
        # At the middle φ = r φ'; at the rim no radial moment: φ' + ν φ / a = 0.
        return np.array([near[0] - start * near[1], far[1] + nu * far[0] / radius])

    start = 1e-3
    grid = np.concatenate([np.linspace(start, patch, 200), np.linspace(patch, radius, 300)[1:]])
    solved = solve_bvp(equation, ends, grid, np.zeros((2, grid.size)), tol=1e-8, max_nodes=50_000)
    assert solved.success
    phi, slope = solved.sol(start)
    moment = slope + nu * phi / start  # D = 1, sign as φ = -dw/dr
    stress = 6 * moment / 3.0**2
    ours = plate_bending_mpa(load, span_mm=2 * radius, thickness_mm=3.0, patch_mm=patch, poisson=nu)
    assert ours == pytest.approx(stress, rel=2e-3)


def test_evenly_pressed_plate_is_the_textbooks() -> None:
    # Patch over the whole plate: 3 (3 + ν) q a² / (8 t²).
    radius, nu, thickness, load = 40.0, 0.3, 3.0, 100.0
    q = load / (math.pi * radius**2)
    expected = 3 * (3 + nu) * q * radius**2 / (8 * thickness**2)
    assert plate_bending_mpa(
        load, span_mm=2 * radius, thickness_mm=thickness, patch_mm=radius, poisson=nu
    ) == pytest.approx(expected, rel=1e-12)
