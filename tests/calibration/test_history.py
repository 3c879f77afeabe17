from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration import MeasuredSize, fit_profile, generic_profile, learn_sizes
from fitkit.calibration.compensation import compensate
from fitkit.calibration.history import aged, aged_by, compare, source_at, update
from fitkit.calibration.settings import PrintSettings
from fitkit.core.errors import CalibrationError


def prints(coupon, truth, seeds, settings, **options):
    return fit_profile([coupon(truth, seed) for seed in seeds], settings=settings, **options)


def test_the_same_printer_shows_no_drift(coupon, settings):
    one = prints(coupon, Truth(), (1, 2), settings)
    two = prints(coupon, Truth(), (3, 4), settings)
    drift = compare(one, two)
    assert drift.p > 0.05
    assert drift.text.startswith("No drift beyond chance")


def test_a_wider_line_is_told_from_chance(coupon, settings):
    one = prints(coupon, Truth(), (1, 2, 3), settings)
    two = prints(coupon, Truth(hole=0.40, hole_curve=0.6), (4, 5, 6), settings)
    drift = compare(one, two)
    assert drift.p < 0.05
    assert drift.text.startswith("The printer has drifted")
    assert "hole" in drift.text


def test_chance_alone_seldom_looks_like_drift(coupon, settings):
    """At the 5 % level, with printers that vary from print to print as commonly as assumed."""
    truth = Truth(print_width=0.025, print_scale=0.0003)
    found = [
        compare(
            prints(coupon, truth, (2 * i, 2 * i + 1), settings),
            prints(coupon, truth, (900 + 2 * i, 901 + 2 * i), settings),
        ).p
        for i in range(20)
    ]
    # Of 20 at 5 %, more than 4 by chance happens three times in a thousand (binomial).
    assert sum(p < 0.05 for p in found) <= 4


def test_drift_back_and_forth_has_opposite_signs(coupon, settings):
    one = prints(coupon, Truth(), (1,), settings)
    two = prints(coupon, Truth(hole=0.25), (3,), settings)
    there, back = compare(one, two), compare(two, one)
    at = [row[0] for row in there.rows].index("hole_closing")
    assert there.rows[at][1] * back.rows[at][1] < 0.0


def test_update_lies_between_and_is_surer(coupon, settings):
    one = prints(coupon, Truth(), (1, 2), settings)
    two = prints(coupon, Truth(), (3, 4), settings)
    both = update(one, two)
    at = both.terms.index("hole_closing")
    low, high = sorted((one.coef[at], two.coef[at]))
    assert low - 0.02 <= both.coef[at] <= high + 0.02
    assert both.value("hole_closing")[1] < min(p.value("hole_closing")[1] for p in (one, two))
    assert both.prints == 4
    assert len(both.provenance.readings) == 2
    np.testing.assert_array_less(-1e-15, np.linalg.eigvalsh(both.cov))


def test_update_comes_close_to_fitting_all_prints_at_once(coupon, settings):
    truth = Truth(print_width=0.02)
    halves = update(
        prints(coupon, truth, (1, 2), settings), prints(coupon, truth, (3, 4), settings)
    )
    whole = prints(coupon, truth, (1, 2, 3, 4), settings)
    for kind, size in (("outside", 40.0), ("hole", 4.0), ("inside", 8.0)):
        one, u = halves.fitted(size, kind=kind)
        two, _ = whole.fitted(size, kind=kind)
        assert abs(float(one - two)) < max(float(u), 0.01)


def test_generic_as_prior_hardly_moves_a_measured_profile(coupon, settings):
    measured = prints(coupon, Truth(), (1, 2), settings)
    both = update(generic_profile("PETG"), measured)
    assert not both.generic
    moved = abs(both.fitted(20.0, kind="outside")[0] - measured.fitted(20.0, kind="outside")[0])
    assert float(moved) < 0.01
    assert both.prints == measured.prints


def test_profiles_that_disagree_are_not_merged(coupon, settings):
    one = prints(coupon, Truth(), (1, 2, 3), settings)
    two = prints(coupon, Truth(hole=0.6, inside=0.4), (4, 5, 6), settings)
    with pytest.raises(CalibrationError, match="more than chance"):
        update(one, two)


def test_other_materials_and_printers_are_refused(coupon, settings):
    one = prints(coupon, Truth(), (1,), settings)
    pla = prints(coupon, Truth(), (1,), PrintSettings(printer="test printer", material="PLA"))
    other = prints(coupon, Truth(), (1,), PrintSettings(printer="B", material="PETG"))
    for change in (compare, update):
        with pytest.raises(CalibrationError, match="different materials"):
            change(one, pla)
        with pytest.raises(CalibrationError, match="different printers"):
            change(one, other)


def test_generic_profiles_cannot_drift():
    with pytest.raises(CalibrationError, match="nothing was measured"):
        compare(generic_profile("PETG"), generic_profile("PETG"))


def test_a_change_of_nozzle_or_spool_ages_a_profile(coupon, settings):
    made = prints(coupon, Truth(), (1,), settings, nozzle="brass 0.4", spool="blue 3")
    assert aged(made, nozzle="brass 0.4", spool="blue 3") is made
    assert aged(made) is made
    old = aged(made, nozzle="steel 0.4", spool="red 1")
    assert [n.split(",")[0] for n in old.provenance.notes[-2:]] == [
        "made with nozzle 'brass 0.4'",
        "made with spool 'blue 3'",
    ]
    again = aged(old, nozzle="steel 0.4", spool="red 1")
    assert (again.now, again.provenance) == (old.now, old.provenance)
    size = compensate("5 mm", old, kind="hole")
    assert any("now 'steel 0.4'" in note for note in size.notes)


def change(day, what="nozzle", was="brass 0.4", now="steel 0.4", printer="simulated"):
    made_at = datetime(2026, 3, day, 10, tzinfo=UTC)
    return SimpleNamespace(made_at=made_at, printer=printer, what=what, was=was, now=now)


@pytest.fixture
def dated(coupon, settings):
    made = prints(coupon, Truth(), (1,), settings, nozzle="brass 0.4", made_on="2026-03-05")
    return replace(made, printer="simulated")


def test_changes_after_its_day_age_a_profile_and_reach_every_size(dated):
    old = aged_by(dated, [change(9), change(7, "belt", "", "")])
    assert old.provenance.notes[-2:] == (
        "made before a change of belt on 2026-03-07: every ± is wider; print and measure a coupon "
        "again",
        "made before a change of nozzle on 2026-03-09, 'brass 0.4' to 'steel 0.4': every ± is "
        "wider; print and measure a coupon again",
    )
    size = compensate("5 mm", old, kind="hole")
    assert any("change of nozzle" in note for note in size.notes)


@pytest.mark.parametrize(
    "changes",
    [
        [],
        [change(4)],
        [change(5)],  # the coupon of that day is printed after the change
        [change(9, printer="another")],
        [change(9), change(11, was="steel 0.4", now="brass 0.4")],  # and back again
    ],
)
def test_changes_that_do_not_touch_a_profile_leave_it_as_it_is(dated, changes):
    assert aged_by(dated, changes) is dated


def test_a_profile_without_a_date_is_held_against_its_own_words(dated):
    undated = replace(dated, provenance=replace(dated.provenance, made_on=""))
    assert aged_by(undated, [change(9, "belt")]) is undated
    assert "change of nozzle" in aged_by(undated, [change(1)]).provenance.notes[-1]
    assert aged_by(generic_profile("PETG"), [change(9)]).generic


def test_another_nozzle_or_spool_widens_every_interval_and_a_new_coupon_narrows_them_again(
    coupon, settings
):
    made = prints(coupon, Truth(), (1,), settings, nozzle="brass 0.4", spool="blue 3")
    nozzle = aged(made, nozzle="steel 0.4", spool="blue 3")
    spool = aged(made, nozzle="brass 0.4", spool="red 1")
    bare = generic_profile("PETG")
    for kind, n in (("hole", 5.0), ("outside", 40.0), ("pocket", 30.0)):
        U = [float(p.U95(n, kind=kind)) for p in (made, spool, nozzle, bare)]
        assert sorted(U) == U
        assert U[1] > 1.03 * U[0]


def test_readings_of_both_profiles_make_the_merged_one(coupon, settings):
    one = prints(coupon, Truth(), (1,), settings)
    two = prints(coupon, Truth(), (2,), settings)
    both = update(one, two)
    whole = prints(coupon, Truth(), (1, 2), settings)
    assert len(both.evidence.sizes) == len(one.evidence.sizes) + len(two.evidence.sizes)
    for kind, n in (("hole", 5.0), ("outside", 40.0)):
        found, expected = (float(p.U95(n, kind=kind)) for p in (both, whole))
        assert found == pytest.approx(expected, rel=0.02)


def test_a_coupon_of_years_ago_tells_less_than_one_of_the_same_day(coupon, settings):
    then = prints(coupon, Truth(), (1,), settings, made_on="2020-01-05")
    later = prints(coupon, Truth(), (2,), settings, made_on="2026-01-05")
    same = prints(coupon, Truth(), (2,), settings, made_on="2020-01-05")
    apart, together = update(then, later), update(then, same)
    at = apart.terms.index("hole_closing")
    assert apart.cov[at, at] > together.cov[at, at]


def test_a_print_before_a_change_teaches_less_and_not_nothing(coupon, settings):
    """The same measured size counts less with each thing that was changed after it."""
    made = replace(
        prints(coupon, Truth(), (1,), settings, made_on="2026-03-01"), printer="simulated"
    )
    changes = [change(9), change(11, "spool", "blue 3", "red 1")]
    old = aged_by(made, changes)

    def taught(day):
        """How much sizes measured on a print of that day move another size of the same kind."""
        when = datetime(2026, 3, day, 12, tzinfo=UTC)
        expected = float(old.predict(30.0, kind="pocket")[0])
        sizes = [
            MeasuredSize(
                kind="pocket",
                axis="xy",
                drawn_mm=30.0,
                measured_mm=expected - 0.1,
                u_measured_mm=0.02,
                print_code=f"K7M3PX{n}",
                feature=f"cut-out {n}",
                source=source_at(old, changes, when),
            )
            for n in "ABC"
        ]
        return -learn_sizes(old, sizes).bias(28.0, kind="pocket").mean_mm

    before_both, before_spool, after = taught(8), taught(10), taught(12)
    assert 0.02 < before_both < before_spool < after < 0.1


def test_what_a_print_was_made_with_is_told_by_the_changes_about_it(dated):
    changes = [change(1, was="old", now="brass 0.4"), change(9), change(11, "belt", "", "new")]

    def at(day):
        return source_at(dated, changes, datetime(2026, 3, day, 12, tzinfo=UTC))

    assert at(3).nozzle == at(6).nozzle == ""  # on the nozzle that the profile was made with
    assert at(10).nozzle == "steel 0.4 since 2026-03-09"
    assert at(12).nozzle == "new since 2026-03-11; steel 0.4 since 2026-03-09"
    assert (
        source_at(
            dated, [change(3, was="old", now="brass 0.4")], datetime(2026, 3, 2, tzinfo=UTC)
        ).nozzle
        == "old before 2026-03-03"
    )
    assert at(12).nozzle == aged_by(dated, changes).now.nozzle
    assert at(12).day - at(3).day == 9.0
    assert source_at(generic_profile("PETG"), changes) == generic_profile("PETG").now
