"""Sizes of other people's prints against the prior learned from the records of all others.

Source: nine open records, each a printer, named in ``fitkit/data/printed_sizes.csv``. One printer
is left out at a time, the prior is learned again from the others, and the interval of each of its
sizes is held against what its owner read.
"""

import numpy as np
import pytest

from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.posterior import learn
from fitkit.calibration.prior import learned_prior
from studies.printer_prior import learn_prior, records
from studies.records_left_out import printers_left_out, priors, sizes_left_out


@pytest.fixture(scope="module")
def without_each():
    return priors()


@pytest.fixture(scope="module")
def left_out(without_each):
    return printers_left_out(without_each)


@pytest.fixture(scope="module")
def own(without_each):
    """Sizes predicted from the others of the same printer, as one's own coupon would do it."""
    return sizes_left_out(without_each)


def no_kind_is_held_too_seldom(rows):
    from scipy.stats import binom

    for kind in sorted({row.kind for row in rows}):
        held = [row.held for row in rows if row.kind == kind]
        assert binom.cdf(sum(held), len(held), 0.95) > 0.01, kind


def test_intervals_hold_on_printers_that_the_prior_has_not_seen(left_out):
    assert len(left_out) == 54
    assert np.mean([row.held for row in left_out]) >= 0.90


def test_no_kind_is_held_less_often_than_chance_allows(left_out):
    no_kind_is_held_too_seldom(left_out)


def test_intervals_are_neither_wishful_nor_useless(left_out):
    small = [(row.error_mm / row.u_mm, row.U95_mm) for row in left_out if row.drawn_mm <= 60]
    errors, widths = np.array(small).T
    assert 0.7 <= np.sqrt(np.mean(errors**2)) <= 1.2
    assert widths.mean() <= 0.40


def test_intervals_hold_on_a_size_that_the_printers_own_others_predict(own):
    """Readings of one's own printer, as a coupon gives them."""
    assert len(own) == 50  # of printers with three sizes or more
    assert 0.90 <= np.mean([row.held for row in own]) <= 1.0
    no_kind_is_held_too_seldom(own)


def test_own_readings_make_the_interval_much_narrower(own, left_out):
    kept = {row.record for row in own}
    before = np.mean([row.U95_mm for row in left_out if row.record in kept])
    assert np.mean([row.U95_mm for row in own]) < 0.5 * before


def test_the_shipped_table_is_what_the_records_teach():
    shipped, again = learned_prior(), learn_prior(records(), steps=240)
    sd = np.sqrt(np.diag(shipped.cov))
    assert np.all(np.abs(again.mean - shipped.mean) < 0.35 * sd)
    assert np.sqrt(np.diag(again.cov)) == pytest.approx(sd, rel=0.25)


def test_offsets_of_pegs_may_have_either_sign():
    peg = Sizes.of([SizeAt(kind="peg", drawn_mm=8.0)])
    found = learn(learned_prior()).predict(peg)
    low, high = found.mean_mm - found.U95_mm, found.mean_mm + found.U95_mm
    assert low[0] < 8.0 < high[0]


def test_a_material_that_shrinks_more_is_expected_smaller():
    bar = Sizes.of([SizeAt(kind="outside", axis="x", drawn_mm=80.0)])
    expected = {m: learn(learned_prior(m)).predict(bar).mean_mm[0] for m in ("PLA", "ABS", "nylon")}
    assert expected["PLA"] > expected["ABS"] > expected["nylon"]
