"""Snap arms against a worked example and against a beam integrated step by step.

Sources: the worked example of an arm tapering to half its thickness in a resin maker's public
design guide for snap joints (from memory; see tests/data/snap_arm.json), and Euler-Bernoulli's beam
solved here by numerical integration.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from fitkit.checks.snap import (
    deflection_force_n,
    length_for_strain_mm,
    notch_factor,
    peak_over_root,
    root_strain,
    tip_coefficient,
    wedge_force_n,
)
from fitkit.parts.arms import arc_lever, bends_as

EXAMPLE = json.loads(
    (Path(__file__).parents[1] / "data" / "snap_arm.json").read_text(encoding="utf-8")
)["cantilever_taper_half"]
GIVEN, PUBLISHED = EXAMPLE["inputs"], EXAMPLE["published"]


def thickness() -> float:
    """Thickness at which the example's arm reaches its permissible strain."""
    unit = root_strain(GIVEN["l_mm"], 1.0, GIVEN["y_mm"], 0.5)
    return GIVEN["eps"] / unit


def force() -> float:
    return deflection_force_n(
        length_mm=GIVEN["l_mm"],
        thickness_mm=thickness(),
        width_mm=GIVEN["b_mm"],
        strain=GIVEN["eps"],
        modulus_mpa=GIVEN["Es_MPa"],
    )


def test_thickness_of_the_worked_example() -> None:
    assert thickness() == pytest.approx(PUBLISHED["h_mm"], abs=0.005)


def test_deflection_force_of_the_worked_example() -> None:
    assert force() == pytest.approx(PUBLISHED["P_N"], abs=0.05)


def test_mating_force_of_the_worked_example() -> None:
    # The guide multiplies the rounded 32.5 N, hence 58.5 where the unrounded chain gives 58.6.
    assert wedge_force_n(force(), GIVEN["mu"], GIVEN["alpha_deg"]) == pytest.approx(
        PUBLISHED["W_N"], abs=0.15
    )
    assert wedge_force_n(PUBLISHED["P_N"], GIVEN["mu"], GIVEN["alpha_deg"]) == pytest.approx(
        PUBLISHED["W_N"], abs=0.06
    )


def test_length_for_the_permissible_strain_is_the_examples_own() -> None:
    length = length_for_strain_mm(thickness(), GIVEN["y_mm"], 0.5, GIVEN["eps"])
    assert length == pytest.approx(GIVEN["l_mm"], rel=1e-12)


@pytest.mark.parametrize(("taper", "handbook"), [(1.0, 0.67), (0.5, 1.09)])
def test_handbook_coefficients_of_permissible_undercut(taper: float, handbook: float) -> None:
    # y = K ε L² / h: K is twice our C.
    assert 2 * tip_coefficient(taper) == pytest.approx(handbook, abs=0.005)


@pytest.mark.parametrize("taper", [0.3, 0.5, 0.75, 0.999, 1.0])
def test_tip_deflection_equals_the_integrated_beam(taper: float) -> None:
    # E, b, root thickness, length and tip force all 1; clamped at 0.
    def beam(x: float, state: np.ndarray) -> list[float]:
        inertia = (1 - (1 - taper) * x) ** 3 / 12
        return [state[1], (1 - x) / inertia]

    solved = solve_ivp(beam, (0.0, 1.0), [0.0, 0.0], rtol=1e-10, atol=1e-12)
    assert 12 * tip_coefficient(taper) == pytest.approx(float(solved.y[0, -1]), rel=1e-7)


@pytest.mark.parametrize(("taper", "peak"), [(0.5, 1.0), (0.34, 1.11), (0.25, 1.33), (0.2, 1.56)])
def test_the_greatest_strain_of_a_tapered_arm(taper: float, peak: float) -> None:
    """Figures by somebody else's sum along the arm; and this one's, at ten thousand places."""
    along = np.linspace(0.0, 1.0, 10_001)
    strain = along / (taper + (1 - taper) * along) ** 2
    assert strain.max() / strain[-1] == pytest.approx(peak, abs=0.005)
    assert peak_over_root(taper) == pytest.approx(strain.max() / strain[-1], rel=1e-6)


@pytest.mark.parametrize(("share", "chart"), [(0.05, 2.45), (0.1, 1.95), (0.2, 1.55), (0.3, 1.35)])
def test_the_notch_factor_lies_on_the_chart(share: float, chart: float) -> None:
    """Read off Peterson's chart of a stepped flat bar in bending, steep step; from memory."""
    assert notch_factor(share * 10.0, 10.0) == pytest.approx(chart, rel=0.03)


def test_a_curved_arm_pushes_back_more_than_a_straight_one_as_long() -> None:
    """A quarter ring pushed level at its top, by Castigliano; from memory."""
    radius, thick, wide, push, modulus = 10.0, 1.6, 8.0, 5.0, 2000.0
    moment = wide * thick**3 / 12
    length = radius * math.pi / 2
    thickness, width = bends_as(
        length, lambda _: (thick / 2, moment), arc_lever(radius, math.pi / 2)
    )
    y = (3 * math.pi / 4 - 2) * push * radius**3 / (modulus * moment)
    strain = root_strain(length, thickness, y, 1.0)
    force = deflection_force_n(
        length_mm=length, thickness_mm=thickness, width_mm=width, strain=strain, modulus_mpa=modulus
    )
    assert force == pytest.approx(push, rel=1e-4)
    # At the root the lever is the radius: strain F R c / (E I).
    assert strain == pytest.approx(push * radius * thick / 2 / (modulus * moment), rel=1e-4)
