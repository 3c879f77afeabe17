"""Whether all screws of a pattern go in: exact cases, an independent optimiser, the field case."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import norm

from fitkit.core.errors import FitError
from fitkit.fits import PatternFit, pattern_fit, printed_pattern_fit
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
        (
            {"screws_mm": CORNERS[:3]},
            "4 holes cannot be matched with 3 screws. Give a hole to each screw",
        ),
        ({"hole_mm": 0.0}, "Give diameters above 0"),
        ({"u_place_mm": -0.1}, "an uncertainty is below 0"),
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


PAIR = [(0.0, 0.0), (50.0, 0.0)]


def two_screws(**more: float) -> PatternFit:
    given = {"hole_mm": 3.2, "screw_mm": 3.0, "samples": 5000} | more
    return pattern_fit(PAIR, PAIR, **given)  # type: ignore[arg-type]


def test_shrinkage_that_all_spacings_share_has_a_closed_form() -> None:
    """0.4 % of 50 mm is 0.2 mm, the two radial floats: one standard deviation."""
    found = two_screws(u_scale=0.004)
    assert found.p_all == pytest.approx(2 * norm.cdf(1) - 1, abs=4 * found.u_p_all)


def test_holes_of_their_own_size_have_a_closed_form() -> None:
    """Each radius is 0.1 ± 0.1 mm over its screw: both must be over, each at one deviation."""
    found = two_screws(u_hole_mm=0.2)
    assert found.p_all == pytest.approx(norm.cdf(1) ** 2, abs=4 * found.u_p_all)


def test_the_doubt_of_a_chance_is_the_binomials() -> None:
    found = two_screws(u_scale=0.004)
    p = found.p_all
    assert found.u_p_all == pytest.approx(math.sqrt(p * (1 - p) / 5000))
    # Where all go in, it is as if one had not.
    assert two_screws(samples=100).u_p_all == pytest.approx(math.sqrt(0.01 * 0.99 / 100))
    assert two_screws(samples=1).u_p_all == pytest.approx(0.5)
    none = two_screws(screw_mm=3.3, samples=100)
    assert (none.p_all, none.u_p_all) == (0.0, pytest.approx(math.sqrt(0.01 * 0.99 / 100)))


def test_a_pattern_without_spread_repeats_its_expected_misfit() -> None:
    found = two_screws(samples=3)
    assert found.misfit_mm == pytest.approx([found.expected_misfit_mm] * 3)
    assert found.expected_misfit_mm == pytest.approx(-0.1, abs=1e-3)
    assert found.float_mm == pytest.approx(0.2)


def test_the_same_seed_draws_the_same_samples() -> None:
    drawn = [two_screws(u_place_mm=0.05, samples=50, seed=seed).misfit_mm for seed in (1, 1, 2)]
    np.testing.assert_array_equal(drawn[0], drawn[1])
    assert not np.array_equal(drawn[0], drawn[2])
    by_default = two_screws(u_place_mm=0.05, samples=50).misfit_mm
    np.testing.assert_array_equal(
        by_default, two_screws(u_place_mm=0.05, samples=50, seed=0).misfit_mm
    )


def test_a_misfit_reads_as_short_or_to_spare() -> None:
    given = {"p_all": 0.123, "u_p_all": 0.0, "misfit_mm": np.zeros(1), "float_mm": 0.2}
    assert str(PatternFit(expected_misfit_mm=0.014, **given)) == (
        "all go in with a chance of 12 %; at best values 0.01 mm short on the radius, float "
        "0.20 mm on the diameter"
    )
    assert str(PatternFit(expected_misfit_mm=-0.05, **given)) == (
        "all go in with a chance of 12 %; at best values 0.05 mm to spare on the radius, float "
        "0.20 mm on the diameter"
    )
    assert "0.00 mm to spare" in str(PatternFit(expected_misfit_mm=0.0, **given))


def test_screws_at_one_place_need_no_turn() -> None:
    """All arms nil: the plate can only be shifted, here to between two errors."""
    errors = np.array([[[0.3, 0.0], [-0.1, 0.0]]])
    found = worst_misfit(errors, np.zeros((2, 2)), np.full((1, 2), 0.1))
    assert found == pytest.approx([0.2 - 0.1], abs=0.002)


def test_a_large_error_is_found_as_well_as_a_small_one() -> None:
    """Two screws whose spacing is off by a millimetre: half of it at each, whatever the float."""
    arms = np.array([[-25.0, 0.0], [25.0, 0.0]])
    for off in (1e-4, 0.01, 1.0, 20.0):
        errors = np.array([[[off, 0.0], [0.0, 0.0]]])
        found = worst_misfit(errors, arms, np.zeros((1, 2)))
        assert -1e-9 < found[0] - off / 2 < 0.002


@pytest.fixture(scope="module")
def profile():
    from fitkit.calibration import generic_profile

    return generic_profile("PETG")


def test_holes_of_one_print_are_small_together_so_all_go_in_more_often(profile) -> None:
    """Against the same doubts taken as each hole's own."""
    from fitkit.calibration.joint import PrintedSize, joint

    spacing = joint([PrintedSize(58.02, "centres", "x")], profile).sum([1.0])
    grown = spacing.value_mm / 58.02
    drawn = [(x / grown, y / grown) for x, y in CORNERS]  # so that they come out in place
    together = printed_pattern_fit(drawn, CORNERS, drawn_mm=3.5, screw_mm=3.0, profile=profile)
    hole = joint([PrintedSize(3.5, "hole")], profile).sum([1.0])
    apart = pattern_fit(
        CORNERS, CORNERS, hole_mm=hole.value_mm, screw_mm=3.0, u_hole_mm=hole.u_mm,
        u_place_mm=0.0136, u_scale=spacing.u_mm / 58.02,
    )  # fmt: skip
    assert together.float_mm == pytest.approx(hole.value_mm - 3.0, abs=1e-6)
    assert together.p_all > apart.p_all + 0.05


def test_wider_holes_and_surer_screws_let_more_patterns_in(profile) -> None:
    chances = [
        printed_pattern_fit(
            CORNERS, CORNERS, drawn_mm=drawn, screw_mm=3.0, profile=profile, u_screws_mm=u
        ).p_all
        for drawn, u in ((3.4, 0.1), (3.4, 0.0), (3.8, 0.0))
    ]
    assert chances == sorted(chances)
    assert chances[0] < chances[2]


def test_a_pattern_that_shrinks_is_found_short_at_best_values(profile) -> None:
    far = [(0.0, 0.0), (200.0, 0.0)]
    fit = printed_pattern_fit(far, far, drawn_mm=3.2, screw_mm=3.0, profile=profile, samples=100)
    near = printed_pattern_fit(
        [(0.0, 0.0), (20.0, 0.0)], [(0.0, 0.0), (20.0, 0.0)], drawn_mm=3.2, screw_mm=3.0,
        profile=profile, samples=100,
    )  # fmt: skip
    assert fit.expected_misfit_mm > near.expected_misfit_mm


def test_lying_holes_close_as_lying_holes_do(profile) -> None:
    pair = [(0.0, 0.0), (40.0, 0.0)]
    upright, lying = (
        printed_pattern_fit(
            pair, pair, drawn_mm=10.0, screw_mm=9.5, profile=profile, lying=on, samples=100
        )
        for on in (False, True)
    )
    expected = [float(profile.predict(10.0, kind=kind)[0]) for kind in ("hole", "hole_lying")]
    found = [upright.float_mm, lying.float_mm]
    assert found == pytest.approx([mean - 9.5 for mean in expected], abs=0.002)
    assert abs(found[0] - found[1]) > 0.01
