"""Outlier tests on repeats small enough to work out by hand, and the flags made of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitkit.readings import ReadingTable
from fitkit.stats import grubbs, robust
from fitkit.stats.outliers import grubbs_critical, outlier_flags


def table(*rows: tuple[str, str, str]) -> ReadingTable:
    return ReadingTable.of(
        [{"feature": f, "place": p, "reading": r} for f, p, r in rows], unit="mm"
    )


def bars(*readings: str) -> ReadingTable:
    return table(*(("bar", "mid", reading) for reading in readings))


def test_grubbs_statistic_by_hand() -> None:
    """1, 2, 3, 10: mean 4, spread sqrt(50/3), the last is 6 off."""
    test = grubbs([1.0, 2.0, 3.0, 10.0])
    assert (test.method, test.index, test.outlying) == ("Grubbs", 3, False)
    assert test.statistic == pytest.approx(6 / math.sqrt(50 / 3))
    assert test.critical == pytest.approx(1.481, abs=5e-4)  # n = 4, two-sided 5 % (tables)
    assert (test.with_mm, test.without_mm) == (4.0, 2.0)
    assert str(test) == (
        "Grubbs 1.470 against 1.481; mean 4.000 mm with it, 2.000 mm without it; median 2.500 mm"
    )


def test_the_critical_value_follows_its_level_and_sides() -> None:
    assert grubbs_critical(4, level=0.10) == pytest.approx(1.463, abs=5e-4)  # one-sided 5 %
    assert grubbs_critical(4, sides=1) == grubbs_critical(4, level=0.10)
    assert grubbs([1.0, 2.0, 3.0, 10.0], level=0.10).outlying  # 1.470 is over 1.463


def test_equal_readings_have_no_outlier() -> None:
    for test in (grubbs([2.0] * 4), robust([2.0] * 4)):
        assert (test.statistic, test.outlying) == (0.0, False)


def test_the_robust_statistic_by_hand() -> None:
    """1, 2, 3, 4, 10: median 3; distances 2, 1, 0, 1, 7, whose median is 1."""
    test = robust([1.0, 2.0, 3.0, 4.0, 10.0])
    assert (test.method, test.index, test.outlying) == ("median and MAD", 4, True)
    assert test.statistic == pytest.approx(7 / 1.4826)
    assert test.critical == 3.5
    assert (test.with_mm, test.without_mm) == (4.0, 2.5)
    assert str(test).startswith("median and MAD 4.721 against 3.500; mean 4.000 mm with it")


def test_where_more_than_half_agree_any_other_stands_out_unless_the_step_explains_it() -> None:
    alike = [5.00, 5.00, 5.00, 5.01]
    assert robust(alike).statistic == math.inf
    assert robust(alike).outlying
    coarse = robust(alike, step_mm=0.01)  # a quarter of a step at least: 0.01 / (1.4826 x 0.0025)
    assert coarse.statistic == pytest.approx(4 / 1.4826)
    assert not coarse.outlying


def test_a_flag_names_the_reading_its_row_and_what_to_do() -> None:
    (flag,) = outlier_flags(bars("17.42", "17.44", "17.43", "17.41", "17.93"))
    assert (flag.kind, flag.feature, flag.rows) == ("outlier", "bar", (6,))
    assert flag.text == (
        "17.930 mm stands out: Grubbs 1.787 against 1.715; mean 17.526 mm with it, 17.425 mm "
        "without it; median 17.430 mm. Read again, or leave it out with a reason"
    )


def test_features_and_places_are_judged_each_for_itself_wherever_their_rows_are() -> None:
    rows = []
    for step in ("0", "1", "2", "3"):
        rows += [
            ("a", "mid", f"10.0{step}"),
            ("a", "bed", f"20.0{step}"),
            ("b", "mid", f"30.0{step}"),
        ]
    assert outlier_flags(table(*rows)) == ()
    rows += [("b", "mid", "31.00"), ("a", "bed", "21.00")]
    flags = outlier_flags(table(*rows))
    assert [(flag.feature, flag.rows) for flag in flags] == [("a", (15,)), ("b", (14,))]


def test_three_repeats_are_enough_and_a_reading_left_out_is_not_judged() -> None:
    assert len(outlier_flags(bars("5.00", "5.00", "5.50"))) == 1
    assert outlier_flags(bars("5.00", "5.50")) == ()
    judged = bars("5.00", "5.00", "5.01", "5.50").leave_out(5, "slipped")
    assert outlier_flags(judged) == ()


def test_two_steps_of_the_display_are_no_outlier_and_more_is() -> None:
    """Off the mean of the others: 0.02 mm is two steps of 0.01 mm."""
    assert outlier_flags(bars("5.00", "5.00", "5.00", "5.02")) == ()
    assert outlier_flags(bars("46.00", "46.00", "46.02", "46.00", "46.00")) == ()
    assert len(outlier_flags(bars("5.00", "5.00", "5.00", "5.04"))) == 1
    assert len(outlier_flags(bars("5.00", "5.00", "5.00", "4.96"))) == 1


def test_the_step_widens_the_spread_by_hand() -> None:
    """11.36, 11.36, 11.40: spread 0.02309, the last 0.02667 off; a step of 0.01 adds 0.01²/12."""
    readings = [11.36, 11.36, 11.40]
    assert grubbs(readings).statistic == pytest.approx(0.026667 / 0.023094, rel=1e-4)
    assert grubbs(readings).outlying
    stepped = grubbs(readings, step_mm=0.01)
    assert stepped.statistic == pytest.approx(0.026667 / math.hypot(0.023094, 0.0028868), rel=1e-4)
    assert not stepped.outlying


@pytest.mark.parametrize("n", [3, 4, 5, 9])
@pytest.mark.parametrize("sigma_mm", [0.005, 0.015, 0.03])
def test_rounded_repeats_of_one_size_are_called_outlying_no_oftener_than_the_level_says(
    n: int, sigma_mm: float
) -> None:
    draws = np.random.default_rng(n)
    shown = (20 + draws.normal(0, sigma_mm, (4000, n)) + draws.uniform(0, 0.01, (4000, 1))).round(2)
    alarms = [grubbs(row, step_mm=0.01).outlying for row in shown]
    assert np.mean(alarms) < 0.05 + 3 * math.sqrt(0.05 * 0.95 / len(alarms))
    if (n, sigma_mm) == (3, 0.015):  # without the step, equal repeats alone raise it far above
        assert np.mean([grubbs(row).outlying for row in shown]) > 0.15


def test_the_level_decides_what_is_flagged() -> None:
    readings = bars("1", "2", "3", "10")
    assert outlier_flags(readings) == ()
    assert len(outlier_flags(readings, level=0.10)) == 1


def test_the_last_of_two_features_is_judged_as_well() -> None:
    rows = [("a", "mid", f"10.0{step}") for step in "0123"]
    rows += [("b", "mid", reading) for reading in ("5.00", "5.00", "5.00", "5.50")]
    assert [flag.feature for flag in outlier_flags(table(*rows))] == ["b"]


def test_a_table_without_places_is_judged_by_feature() -> None:
    rows = [{"feature": "a", "reading": r} for r in ("5.00", "5.00", "5.00", "5.50")]
    (flag,) = outlier_flags(ReadingTable.of(rows, unit="mm"))
    assert flag.rows == (5,)
