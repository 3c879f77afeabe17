"""The chances that are told come true, on printers and bands that the model knows nothing of."""

from __future__ import annotations

import numpy as np
import pytest

from studies.told_chances import both, by_tenths, picture, run, told


def test_tenths_hold_means_shares_and_counts():
    pairs = [(0.11, True), (0.19, False), (0.95, True), (1.0, True)]
    assert by_tenths(pairs) == [
        pytest.approx((0.15, 0.5, 2)),
        pytest.approx((0.975, 1.0, 2)),
    ]


@pytest.fixture(scope="module")
def few():
    return both(6, calibrated=True)


def test_a_dozen_calibrated_printers_are_told_the_truth_on_average(few):
    """Standard errors over twelve printers: 0.03 of a fit, 0.07 of a whole part."""
    for pairs, within in ((few.fits, 0.07), (few.parts, 0.15)):
        mean, true = np.array(pairs, dtype=float).mean(axis=0)
        assert mean == pytest.approx(true, abs=within)


def test_a_whole_part_is_likelier_than_the_product_of_its_fits(few):
    mean, _ = np.array(few.parts, dtype=float).mean(axis=0)
    assert np.mean(few.product) < mean - 0.05


def test_the_same_seed_tells_the_same():
    first, second = (run(1, odd=True, calibrated=False) for _ in range(2))
    assert first == second


def test_a_trial_piece_of_the_doubtful_fits_makes_the_whole_part_likelier():
    """Sixty parts with a generic profile: what came true is known to 0.09."""
    found = both(6, calibrated=False, piece=True)
    assert len(found.then) == len(found.parts) == 60
    first, then = (np.array(pairs, dtype=float).mean(axis=0) for pairs in (found.parts, found.then))
    assert then[0] > first[0] + 0.05
    assert then[1] > first[1]
    assert np.mean([good for _, good in found.kept]) > 0.75


def test_the_table_and_the_picture_show_fits_and_whole_parts(few):
    text = told(few, head="few")
    assert "| all fits |" in text
    assert "| all whole parts |" in text
    figure = picture({"calibrated": few, "again": few})
    assert [axes.get_title() for axes in figure.axes] == ["calibrated", "again"]


@pytest.mark.slow
def test_chances_come_true_within_a_twentieth_by_tenths_for_calibrated_printers():
    """Where a tenth holds a hundred fits or more; a standard error is then 0.05 at most."""
    found = both(60, calibrated=True)
    for mean, true, many in by_tenths(found.fits):
        if many >= 100:
            assert mean == pytest.approx(true, abs=0.05 + 1.5 * np.sqrt(true * (1 - true) / many))
    mean, true = np.array(found.parts, dtype=float).mean(axis=0)
    assert mean == pytest.approx(true, abs=0.05)
    assert abs(mean - true) < abs(np.mean(found.product) - true)


@pytest.mark.slow
def test_a_generic_profile_promises_no_more_than_comes_true():
    """Its ± is that of open records, whose printers differ more than these virtual ones do."""
    found = both(60, calibrated=False)
    for mean, true, many in by_tenths(found.fits):
        if many >= 100:
            assert mean <= true + 0.10
    mean, true = np.array(found.fits, dtype=float).mean(axis=0)
    assert true - 0.14 < mean < true + 0.05
