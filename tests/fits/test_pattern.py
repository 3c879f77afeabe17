"""Whether all screws of a pattern go in: exact cases, an independent optimiser, the field case."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import norm

from fitkit.errors import FitError
from fitkit.fits import pattern_fit
from fitkit.fits.pattern import worst_misfit

CORNERS = [(0.0, 0.0), (58.02, 0.0), (58.02, 49.01), (0.0, 49.01)]


def shrunk(by: float) -> list[tuple[float, float]]:
    return [(x * (1 - by), y * (1 - by)) for x, y in CORNERS]


def test_a_shifted_and_turned_pattern_still_goes_in() -> None:
    angle = math.radians(0.2)
    c, s = math.cos(angle), math.sin(angle)
    moved = [(5 + x * c - y * s, 3 + x * s + y * c) for x, y in CORNERS]
    found = pattern_fit(moved, CORNERS, hole_mm=3.1, screw_mm=3.0, samples=100)
    assert found.p_all == 1.0
    # Only the cosine of the turn is left: 38 mm * 0.2°² / 2.
    assert found.expected_misfit_mm == pytest.approx(-0.05, abs=0.002)


def test_two_screws_have_a_closed_form() -> None:
    """Along their line the plate is held only by its spacing: P(|error| <= float), exactly."""
    u = 0.08
    found = pattern_fit(
        [(0, 0), (50, 0)], [(0, 0), (50, 0)], hole_mm=3.2, screw_mm=3.0,
        u_place_mm=u, samples=40_000, seed=1,
    )  # fmt: skip
    # Each hole moves by u; their distance by sqrt(2) u; both radial floats together are 0.2 mm.
    exact = 2 * norm.cdf(0.2 / (math.sqrt(2) * u)) - 1
    assert found.p_all == pytest.approx(exact, abs=4 * found.u_p_all)


def test_misfit_agrees_with_a_constrained_optimiser() -> None:
    """Source: SciPy's SLSQP on the same convex problem in its epigraph form."""
    rng = np.random.default_rng(3)
    arms = np.array(CORNERS) - np.mean(CORNERS, axis=0)
    errors = rng.normal(0, 0.08, (30, 4, 2))
    floats = 0.1 + rng.normal(0, 0.03, (30, 4))
    ours = worst_misfit(errors, arms, floats)
    turn = np.column_stack([-arms[:, 1], arms[:, 0]]) / 38.0
    for error, room, found in zip(errors, floats, ours, strict=True):

        def spare(z: np.ndarray, error: np.ndarray = error, room: np.ndarray = room) -> np.ndarray:
            return np.asarray(z[3] - (np.hypot(*(error - z[:2] - z[2] * turn).T) - room))

        best = min(
            minimize(lambda z: z[3], start, constraints=[{"type": "ineq", "fun": spare}],
                     method="SLSQP", options={"ftol": 1e-12, "maxiter": 500}).fun
            for start in ([0, 0, 0, 1.0], [0.01, -0.02, 0.01, 1.0])
        )  # fmt: skip
        assert -1e-6 < found - best < 0.002


def test_a_shrunk_print_keeps_the_fourth_screw_out_and_compensation_lets_it_in() -> None:
    """Field case: 58.02 x 49.01, shrinks 0.3 %, hole 3.2, screw 3.0."""
    as_drawn = pattern_fit(
        shrunk(0.003), CORNERS, hole_mm=3.2, screw_mm=3.0, u_place_mm=0.03, u_hole_mm=0.03
    )
    # Half diagonal 37.97 mm: 0.114 mm short at each corner, against 0.1 mm of float.
    assert as_drawn.expected_misfit_mm == pytest.approx(0.003 * 37.974 - 0.1, abs=0.001)
    assert as_drawn.p_all < 0.2
    assert "short on the radius" in str(as_drawn)
    compensated = pattern_fit(
        CORNERS, CORNERS, hole_mm=3.2, screw_mm=3.0, u_place_mm=0.03, u_hole_mm=0.03, u_scale=0.0005
    )
    assert compensated.p_all > 0.95
    assert "to spare" in str(compensated)


def test_more_float_never_hurts() -> None:
    chances = [
        pattern_fit(
            CORNERS, CORNERS, hole_mm=hole, screw_mm=3.0, u_place_mm=0.08, samples=2000
        ).p_all
        for hole in (3.05, 3.2, 3.4, 3.6)
    ]
    assert chances == sorted(chances)
    assert chances[0] < 0.2 < 0.9 < chances[-1]


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"screws_mm": CORNERS[:3]}, "4 holes for 3 screws. Give a hole to each screw"),
        ({"hole_mm": 0.0}, "Give diameters above 0"),
        ({"u_place_mm": -0.1}, "an uncertainty below 0"),
        ({"samples": 0}, "at least one sample"),
    ],
)
def test_bad_patterns_are_refused(changes: dict[str, object], text: str) -> None:
    asked: dict[str, object] = {
        "holes_mm": CORNERS, "screws_mm": CORNERS, "hole_mm": 3.2, "screw_mm": 3.0,
    }  # fmt: skip
    with pytest.raises(FitError) as error:
        pattern_fit(**(asked | changes))  # type: ignore[arg-type]
    assert text in str(error.value)
