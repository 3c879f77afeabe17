"""Formulas of the test strips, each worked out another way.

The sag of a beam in the middle from its differential equation; the strip between two jaws as an
elastica (Matthewson, Kurkjian and Gulati 1986 give 1.198, from memory); the uncertainties by drawn
readings (JCGM 101:2008).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_bvp, solve_ivp
from scipy.optimize import brentq

from fitkit.checks.strips import bending_modulus, borne_strain, two_point_strain

SPAN, WIDTH, THICK = 80.0, 12.0, 2.4


def sag(mass_g: float, modulus: float) -> float:
    """Of a beam on two edges: the line of no fourth derivative over half of it."""
    force, stiff = 1e-3 * 9.80665 * mass_g, modulus * WIDTH * THICK**3 / 12

    def line(_: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.stack([y[1], y[2], y[3], np.zeros_like(y[0])])

    def ends(edge: np.ndarray, middle: np.ndarray) -> np.ndarray:
        # No sag and no moment at the edge; no slope in the middle, and half the force there.
        return np.array([edge[0], edge[2], middle[1], stiff * middle[3] + force / 2])

    grid = np.linspace(0, SPAN / 2, 20)
    solved = solve_bvp(line, ends, grid, np.zeros((4, 20)), tol=1e-10)
    assert solved.success
    return float(abs(solved.sol(SPAN / 2)[0]))


def test_the_modulus_is_that_of_the_bent_line():
    masses = [0.0, 250.0, 500.0]
    found = bending_modulus(
        masses,
        [5.0 + sag(mass, 1830.0) for mass in masses],
        span_mm=SPAN,
        width_mm=[WIDTH],
        thickness_mm=[THICK],
    )
    assert found.value == pytest.approx(1830.0, rel=1e-6)
    # 3 x 0.02 / 2.4, 3 x 0.5 / 80, 0.01 and the calipers' 0.02 mm over 1.7 mm: 3.4 %.
    assert found.u / found.value == pytest.approx(0.0352, abs=0.002)


def test_its_doubt_holds_drawn_readings():
    rng = np.random.default_rng(20261127)
    masses, truth, held, count = [0.0, 200.0, 400.0, 600.0], 1830.0, 0, 2000
    clean = np.array([sag(mass, truth) for mass in masses])
    for _ in range(count):
        thick = rng.normal(0, 0.02)  # the mean of readings that all share one zero
        found = bending_modulus(
            [mass * rng.normal(1, 0.01) for mass in masses[:1]]
            + list(np.array(masses[1:]) * rng.normal(1, 0.01)),
            list(clean + rng.normal(0, 0.02, len(masses))),
            span_mm=SPAN + rng.normal(0, 0.5),
            width_mm=[WIDTH + rng.normal(0, 0.02)],
            thickness_mm=[THICK + thick],
        )
        held += abs(found.value - truth) <= found.U95
    assert held / count == pytest.approx(0.95, abs=0.03)


def test_a_strip_between_jaws_is_an_elastica():
    """The curve whose curvature goes with the lever of the jaws' push, integrated step by step."""
    thick, distance = 0.6, 24.0

    def half_width(curvature: float) -> float:
        # From the middle of the bow, where it is straight across, to where it lies on the jaw:
        # angle, and how far across. The push k² / 2 makes the curvature end at the jaw.
        def step(_: float, y: np.ndarray) -> list[float]:
            angle = min(y[0], np.pi / 2)
            bent = curvature * np.sqrt(max(np.cos(angle), 0.0))
            return [bent, np.cos(angle)]

        arrived = lambda _, y: y[0] - (np.pi / 2 - 1e-3)  # noqa: E731
        arrived.terminal = True
        solved = solve_ivp(step, (0, 400), [0.0, 0.0], events=arrived, rtol=1e-9, atol=1e-12)
        return float(solved.y[1, -1])

    most = brentq(lambda k: half_width(k) - (distance - thick) / 2, 0.01, 1.0)
    assert two_point_strain(thick, distance) == pytest.approx(most * thick / 2, rel=2e-4)


def test_its_factor_is_the_published_one():
    whole, _ = quad(lambda angle: np.sqrt(np.cos(angle)), -np.pi / 2, np.pi / 2)
    assert whole / 2 == pytest.approx(1.198, abs=5e-4)
    assert two_point_strain(0.1, 10.1) == pytest.approx(0.01 * whole / 2, rel=1e-5)


def test_nineteen_of_twenty_further_strips_bear_the_low_end():
    rng = np.random.default_rng(7)
    held, count = 0, 3000
    for _ in range(count):
        breaks = rng.normal(0.045, 0.004, 5)
        thick = 0.6 + rng.normal(0, 0.02)
        found = borne_strain([1.19814 * 0.6 / e + 0.6 for e in breaks[:4]], [thick])
        held += abs(breaks[4] - found.value) <= found.U95
    assert held / count == pytest.approx(0.95, abs=0.03)
