"""The automotive measurement-systems manual's example: ten parts, three appraisers, three trials.

Data and results from memory; sums of squares and components derived again to the printed digits
(tests/data/gauge_rr.json). statsmodels checks the analysis of variance.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.errors import StatsError
from fitkit.stats import crossed_study, one_way_study, repeats_needed

DATA = Path(__file__).parents[1] / "data"
PUBLISHED = json.loads((DATA / "gauge_rr.json").read_text())
FRAME = pd.read_csv(DATA / PUBLISHED["file"], comment="#")
STUDY = crossed_study(FRAME, part="part", appraiser="appraiser", value="value")


def test_sums_of_squares_are_the_published_ones() -> None:
    published = PUBLISHED["SS"]
    for ours, theirs in [
        ("part", "part"),
        ("appraiser", "appraiser"),
        ("interaction", "interaction"),
        ("repeats", "equipment"),
    ]:
        assert STUDY.anova[ours].ss == pytest.approx(published[theirs], abs=6e-5)


def test_components_are_the_published_ones() -> None:
    assert STUDY.pooled is PUBLISHED["pooled_interaction"]
    assert STUDY.repeatability_mm == pytest.approx(PUBLISHED["EV"], abs=1e-6)
    assert STUDY.reproducibility_mm == pytest.approx(PUBLISHED["AV"], abs=1e-6)
    assert STUDY.gauge_mm == pytest.approx(PUBLISHED["GRR"], abs=2e-6)
    assert STUDY.part_mm == pytest.approx(PUBLISHED["PV"], abs=1e-6)
    assert 100 * STUDY.gauge_share == pytest.approx(PUBLISHED["pct_GRR"], abs=0.05)
    assert int(STUDY.distinct_categories) == PUBLISHED["ndc"]


def test_the_limit_of_repeatability_is_that_of_chi_squared() -> None:
    from scipy.stats import chi2

    low, high = STUDY.limits["repeatability"]
    exact = STUDY.repeatability_mm * np.sqrt(STUDY.df / chi2.ppf([0.975, 0.025], STUDY.df))
    assert (low, high) == pytest.approx(tuple(exact), rel=0.01)


def test_limits_hold_the_truth_about_as_often_as_they_say() -> None:
    rng, held, runs = np.random.default_rng(95), 0, 120
    for _ in range(runs):
        sizes = rng.normal(0, 0.05, 8)[:, None] + rng.normal(0, 0.02, (8, 3))
        frame = pd.DataFrame({"part": np.repeat(np.arange(8), 3), "value": sizes.ravel()})
        low, high = one_way_study(frame, part="part", value="value", rng=rng).limits["parts"]
        held += low <= 0.05 <= high
    assert 0.89 <= held / runs <= 0.99  # 95 % within three of its own standard deviations


def test_repeats_for_a_wanted_uncertainty_are_the_fewest_that_do() -> None:
    n = STUDY.repeats_needed(0.1)
    from scipy.stats import t

    def U(count: int) -> float:
        return float(t.ppf(0.975, STUDY.df)) * STUDY.repeatability_mm / count**0.5

    assert U(n) <= 0.1 < U(n - 1)
    with pytest.raises(StatsError, match="stays however often you read"):
        repeats_needed(0.02, 40, wanted_U_mm=0.02, other_u_mm=0.018)


def test_unbalanced_studies_are_refused() -> None:
    with pytest.raises(StatsError, match="unequal numbers"):
        crossed_study(FRAME.iloc[1:], part="part", appraiser="appraiser", value="value")
