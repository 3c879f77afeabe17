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
from fitkit.data import load_table
from studies.printer_prior import learn_prior, records


@pytest.fixture(scope="module")
def left_out():
    """A row a size: drawn, as read less expected, u, U95, kind."""
    rows = []
    kinds = dict(iter(load_table("printed_sizes").frame.groupby("record")))
    for record in records():
        prior = learn_prior(records(without=record.name), steps=240)
        found = learn(prior).predict(record.sizes)
        error = record.sizes.drawn + record.residual_mm - found.mean_mm
        rows += zip(
            record.sizes.drawn,
            error,
            found.u_mm,
            found.U95_mm,
            kinds[record.name]["kind"],
            strict=True,
        )
    return rows


def test_intervals_hold_on_printers_that_the_prior_has_not_seen(left_out):
    held = np.array([abs(error) <= wide for _, error, _, wide, _ in left_out])
    assert len(held) == 54
    assert held.mean() >= 0.90


def test_no_kind_is_held_less_often_than_chance_allows(left_out):
    from scipy.stats import binom

    for kind in {row[4] for row in left_out}:
        held = [abs(error) <= wide for _, error, _, wide, k in left_out if k == kind]
        assert binom.cdf(sum(held), len(held), 0.95) > 0.01, kind


def test_intervals_are_neither_wishful_nor_useless(left_out):
    small = [(error / u, wide) for n, error, u, wide, _ in left_out if n <= 60]
    errors, widths = np.array(small).T
    assert 0.7 <= np.sqrt(np.mean(errors**2)) <= 1.2
    assert widths.mean() <= 0.40


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
