"""Edges of the fits' rules that nothing else held: each test fails for a change once unnoticed."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.fits import Trial, choose_gap, even_ladder, learn
from fitkit.fits.conformity import conformity
from fitkit.fits.fasteners import thread_through
from fitkit.fits.iso286 import PREFERRED_FITS, limits, nearest_standard_fit, standard_fit
from fitkit.fits.sampling import sample_posterior

PEG = ("peg and hole", "slides")


def trials(*found: tuple[float, str]) -> tuple[Trial, ...]:
    return tuple(
        Trial(pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=gap, verdict=verdict)
        for gap, verdict in found
    )


def beyond(notes: tuple[str, ...]) -> bool:
    return any("beyond the gaps tried" in note for note in notes)


def test_a_gap_beyond_all_that_was_tried_says_so_and_one_within_does_not():
    tight = choose_gap(*PEG, size_mm=10.0, trials=trials((0.02, "will not go"), (0.05, "tight")))
    assert tight.gap_mm > 0.05
    assert beyond(tight.notes)
    spanned = trials((0.0, "will not go"), (0.1, "tight"), (0.25, "as wanted"), (0.6, "rattles"))
    within = choose_gap(*PEG, size_mm=10.0, trials=spanned)
    assert 0.0 <= within.gap_mm <= 0.6
    assert not beyond(within.notes)


def test_an_even_ladder_of_one_is_the_middle_of_the_band():
    low, middle, high = even_ladder(*PEG, size_mm=10.0, specimens=3)
    assert even_ladder(*PEG, size_mm=10.0, specimens=1) == pytest.approx((middle,))
    assert middle == pytest.approx((low + high) / 2)
    assert low < middle < high


def test_trials_that_contradict_each_other_still_give_chances():
    model = learn(
        *PEG, size_mm=10.0, trials=trials((0.5, "will not go"), (0.0, "rattles"), (0.2, "tight"))
    )
    chance = model.p_wanted(np.linspace(-0.2, 0.8, 21))
    assert np.isfinite(chance).all()
    assert ((chance >= 0) & (chance <= 1)).all()


def test_only_gaps_outside_the_loosest_and_tightest_fit_are_told_as_outside():
    def outside(gap_mm: float) -> bool:
        near = nearest_standard_fit(f"{gap_mm:.6f} mm", "20 mm")
        return any("outside all the preferred fits" in note for note in near.notes)

    fits = [standard_fit(name, "20 mm") for name in PREFERRED_FITS]
    loosest, tightest = fits[0].greatest_clearance_mm, fits[-1].least_clearance_mm
    assert tightest < fits[-2].least_clearance_mm
    assert not outside(loosest - 0.001)
    assert outside(loosest + 0.001)
    assert not outside(tightest + 0.001)
    assert outside(tightest - 0.001)


@pytest.mark.parametrize(
    ("hole", "low_um", "high_um"),
    # ISO 286-2, holes over 18 up to 30 mm; from memory. Finer than grade 8 (K, M, N) or 7 (P to
    # ZC), the deviation takes up the step between grades; at P8 it no longer does.
    [("K7", -15, 6), ("K8", -23, 10), ("N8", -36, -3), ("P7", -35, -14), ("P8", -55, -22)],
)
def test_the_step_between_grades_ends_at_each_letters_own_grade(hole, low_um, high_um):
    found = limits(hole, "20 mm")
    assert 1000 * found.lower_mm == pytest.approx(low_um, abs=0.1)
    assert 1000 * found.upper_mm == pytest.approx(high_um, abs=0.1)


def test_weighted_draws_give_a_normal_posterior_its_mean_spread_and_count():
    """Normal prior and normal likelihood have a normal posterior (any textbook of statistics)."""
    mean, cov = np.array([0.0, 1.0]), np.array([[1.0, 0.3], [0.3, 2.0]])

    def log_likelihood(x):
        return -0.5 * ((x[:, 0] - 1.5) / 0.5) ** 2

    draws = sample_posterior(log_likelihood, mean, cov)
    gain = cov[:, 0] / (cov[0, 0] + 0.25)
    wanted = mean + gain * 1.5
    left = cov - np.outer(gain, cov[0])
    found = draws.weight @ draws.x
    spread = (draws.x - found).T @ (draws.weight[:, None] * (draws.x - found))
    np.testing.assert_allclose(found, wanted, atol=0.02)
    np.testing.assert_allclose(spread, left, atol=0.04)
    assert draws.effective == pytest.approx(1 / np.sum(draws.weight**2))
    assert draws.effective > 500


def test_limits_that_meet_and_an_exact_reading_are_no_mistake():
    # ISO 14253-1: without uncertainty what lies on a limit conforms.
    assert conformity(10.0, 0.0, 10.0, 10.0) == "conforms"
    assert conformity(10.2, 0.0, 10.0, 10.2) == "conforms"
    assert conformity(10.201, 0.0, 10.0, 10.2) == "does not conform"


def test_a_screw_passes_the_very_hole_of_the_fine_series_less_a_tenth():
    # ISO 273, fine series: 3.2 mm for M3 (table fasteners_metric).
    assert thread_through(3.2 - 0.1) == 3.0
    assert thread_through(3.2 - 0.11) == 2.5
