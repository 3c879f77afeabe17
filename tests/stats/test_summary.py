"""Large tables summed up at once, pooled repeatability, and places."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import StatsError
from fitkit.readings import ReadingTable
from fitkit.stats import grubbs, pooled_repeatability, robust, summarise
from fitkit.stats.places import compare_places
from fitkit.stats.summary import mean_and_spread
from tests.strategies import repeats


def _table(**features: tuple[float, ...]) -> ReadingTable:
    return ReadingTable.of(
        [
            {"feature": name, "reading": str(one)}
            for name, readings in features.items()
            for one in readings
        ],
        unit="mm",
    )


@settings(max_examples=50, deadline=None)
@given(groups=st.lists(repeats(low=1), min_size=1, max_size=6))
def test_groups_agree_with_pandas(groups: list[list[float]]) -> None:
    values = np.concatenate(groups)
    codes = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    n, mean, s = mean_and_spread(values, codes, len(groups))
    expected = pd.Series(values).groupby(codes).agg(["count", "mean", "std"])
    assert n.tolist() == expected["count"].tolist()
    assert mean == pytest.approx(expected["mean"].to_numpy())
    assert s == pytest.approx(expected["std"].to_numpy(), nan_ok=True, abs=1e-9)


def test_groups_without_values_are_unknown_wherever_they_stand() -> None:
    n, mean, s = mean_and_spread([1.0, 3.0, 7.0], [1, 1, 3], 5)
    assert n.tolist() == [0, 2, 0, 1, 0]
    assert mean == pytest.approx([math.nan, 2.0, math.nan, 7.0, math.nan], nan_ok=True)
    assert s == pytest.approx([math.nan, math.sqrt(2), *[math.nan] * 3], nan_ok=True)


def test_large_sizes_keep_the_digits_of_small_spreads() -> None:
    values = 1e6 + np.array([0.0, 1e-6, 2e-6])
    _, _, s = mean_and_spread(values, [0, 0, 0], 1)
    assert s == pytest.approx([1e-6], rel=1e-3)


def test_only_readings_that_count_are_averaged_and_one_reading_has_no_spread() -> None:
    table = _table(a=(10.0, 10.02, 99.0), b=(5.0,)).leave_out(4, "typo")
    frame = summarise(table).frame
    assert frame.loc["a", ["n", "mean_mm"]].tolist() == pytest.approx([2, 10.01])
    assert frame.loc["a", "k95"] == pytest.approx(12.706, abs=1e-3)
    assert math.isnan(frame.loc["b", "U95_mm"])
    html = summarise(table)._repr_html_()
    assert "unknown" in html
    assert "10.01 mm" in html
    assert "b: 5.000 mm ± unknown (n = 1)" in summarise(table).summary()


def test_repeatability_is_pooled_over_features_by_degrees_of_freedom() -> None:
    pooled = pooled_repeatability(_table(a=(10.0, 10.02), b=(5.0, 5.01, 5.02), c=(7.0,)))
    assert (pooled.df, pooled.groups) == (3, 2)
    assert pooled.s_mm == pytest.approx(math.sqrt((0.0002 + 2 * 0.0001) / 3))
    with pytest.raises(StatsError, match="nothing was read twice"):
        pooled_repeatability(_table(a=(10.0,)))


def test_places_that_differ_are_told_from_places_that_do_not() -> None:
    names = ["mid"] * 3 + ["bed"] * 2
    assert compare_places([20.05, 20.06, 20.05, 20.38, 20.37], names).differ
    assert not compare_places([20.05, 20.06, 20.04, 20.05, 20.06], names).differ
    assert compare_places([20.05, 20.06], ["mid", "bed"]).within_mm is None


def test_a_mistyped_reading_is_flagged_by_both_tests_with_both_means() -> None:
    test = grubbs([17.42, 17.44, 17.43, 17.41, 17.93])
    assert (test.index, test.outlying) == (4, True)
    assert test.statistic == pytest.approx(1.787, abs=5e-4)
    assert test.critical == pytest.approx(1.715, abs=5e-4)
    assert (test.with_mm, test.without_mm) == pytest.approx((17.526, 17.425))
    assert test.median_mm == pytest.approx(17.43)
    assert "median 17.430 mm" in str(test)
    assert robust([17.42, 17.44, 17.43, 17.41, 17.93]).outlying
    # Two outliers hide each other from Grubbs; the median sees them.
    pair = [17.42, 17.44, 17.43, 17.41, 17.93, 17.94]
    assert not grubbs(pair).outlying
    assert robust(pair).outlying
    with pytest.raises(StatsError, match="cannot show an outlier"):
        grubbs([1.0, 2.0])


def test_repeats_one_step_of_the_display_apart_are_no_outliers() -> None:
    from fitkit.stats.outliers import outlier_flags

    assert outlier_flags(_table(a=(52.00, 52.01, 52.00))) == ()
    assert len(outlier_flags(_table(a=(52.00, 52.01, 52.00, 52.5)))) == 1
