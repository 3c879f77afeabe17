"""Sizes of other people's prints against the prior learned from the records of all others.

Source: nine open records, each a printer, named in ``fitkit/data/printed_sizes.csv``. One printer
is left out at a time, the prior is learned again from the others, and the interval of each of its
sizes is held against what its owner read.
"""

import numpy as np
import pytest

from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import learn, tail_points
from fitkit.calibration.prior import learned_prior
from studies.printer_prior import HYPER, SDS, collapsed, learn_prior, means_and_sds, records
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


def test_slots_that_no_record_shows_are_known_by_line_and_holes():
    """Thought of by themselves they would be known to 0.15 mm, beside how much printers differ."""
    assert not any(size.kind == "inside" for record in records() for size in record.sizes.asked)
    at = {name: i for i, name in enumerate(TERMS)}
    cov = learned_prior().cov
    slot, hole = (cov[at[name], at[name]] for name in ("inside_closing", "hole_closing"))
    assert np.sqrt(slot) < 0.12
    assert cov[at["inside_closing"], at["hole_closing"]] > 0.3 * np.sqrt(slot * hole)


def test_the_heavy_tail_is_that_of_printers_and_not_of_the_doubt_about_their_mean():
    """With the tail's factors a prior's variance is that between printers and that of the mean."""
    theta = np.random.default_rng(5).normal(0.0, 0.1, (400, HYPER))
    prior = collapsed(theta, 1)
    means, sds = means_and_sds(theta)
    at = list(TERMS).index("height_offset")
    which = [name for name, _, _ in SDS].index("height")
    tail = np.mean(tail_points(prior.tail_df)[0])
    assert tail > 1.2
    expected = tail * np.mean(sds[:, which] ** 2) + np.var(means[:, at], ddof=1)
    assert tail * prior.cov[at, at] == pytest.approx(expected)


def test_offsets_of_pegs_may_have_either_sign():
    peg = Sizes.of([SizeAt(kind="peg", drawn_mm=8.0)])
    found = learn(learned_prior()).predict(peg)
    low, high = found.mean_mm - found.U95_mm, found.mean_mm + found.U95_mm
    assert low[0] < 8.0 < high[0]


def test_a_material_that_shrinks_more_is_expected_smaller():
    bar = Sizes.of([SizeAt(kind="outside", axis="x", drawn_mm=80.0)])
    expected = {m: learn(learned_prior(m)).predict(bar).mean_mm[0] for m in ("PLA", "ABS", "nylon")}
    assert expected["PLA"] > expected["ABS"] > expected["nylon"]
