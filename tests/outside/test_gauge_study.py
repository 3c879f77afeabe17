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

from fitkit.core.errors import StatsError
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


def simulated(rng, *, complete: bool, p: int = 10, a: int = 4, r: int = 3) -> pd.DataFrame:
    """Readings of a crossed study; if not complete, two of five repeats were not taken."""
    size = TRUE["part"] * rng.normal(size=(p, 1, 1)) + TRUE["reader"] * rng.normal(size=(1, a, 1))
    size = size + TRUE["mixed"] * rng.normal(size=(p, a, 1))
    size = size + TRUE["repeat"] * rng.normal(size=(p, a, r))
    part, who, repeat = np.indices(size.shape).reshape(3, -1)
    frame = pd.DataFrame({"part": part, "who": who, "repeat": repeat, "value": size.ravel()})
    return frame if complete else frame[(repeat == 0) | (rng.random(len(frame)) < 0.6)]


TRUE = {"part": 0.05, "reader": 0.02, "mixed": 0.01, "repeat": 0.015}
READERS = float(np.hypot(TRUE["reader"], TRUE["mixed"]))


@pytest.mark.parametrize("complete", [True, False])
def test_limits_of_a_crossed_study_hold_the_truth_as_often_as_they_say(complete) -> None:
    """200 studies each way: the binomial standard deviation of a coverage of 95 % is 1.5 %."""
    rng, runs = np.random.default_rng(3), 200
    true = {
        "repeatability": TRUE["repeat"],
        "reproducibility": READERS,
        "gauge": float(np.hypot(TRUE["repeat"], READERS)),
        "parts": TRUE["part"],
    }
    held = dict.fromkeys(true, 0)
    for _ in range(runs):
        frame = simulated(rng, complete=complete)
        study = crossed_study(frame, part="part", appraiser="who", value="value", rng=rng)
        for name, value in true.items():
            low, high = study.limits[name]
            held[name] += bool(low <= value <= high)
    assert all(0.90 <= count / runs <= 0.99 for count in held.values()), held


def restricted_likelihood(frame: pd.DataFrame) -> np.ndarray:
    """Standard deviations of part, reader, both, repeat by REML, written out with scipy."""
    from scipy.optimize import minimize

    cell = frame["part"] * 1000 + frame["who"]
    same = [np.equal.outer(k.to_numpy(), k.to_numpy()) for k in (frame["part"], frame["who"], cell)]
    blocks = [block.astype(float) for block in (*same, np.eye(len(frame)))]
    y, ones = frame["value"].to_numpy(), np.ones(len(frame))

    def minus_twice(log_sd: np.ndarray) -> float:
        cov = sum(np.exp(2 * s) * block for s, block in zip(log_sd, blocks, strict=True))
        inverse, (_, size) = np.linalg.inv(cov), np.linalg.slogdet(cov)
        weight = ones @ inverse @ ones
        off = y - ones @ inverse @ y / weight
        return float(size + np.log(weight) + off @ inverse @ off)

    start = np.log([0.04, 0.02, 0.01, 0.02])
    found = minimize(minus_twice, start, method="BFGS", options={"gtol": 1e-4})
    return np.exp(found.x)


@pytest.mark.parametrize(("complete", "within"), [(True, 1e-3), (False, 0.12)])
def test_components_are_those_of_restricted_likelihood(complete, within) -> None:
    """Equal for balanced data with no component nil (textbook); close where repeats are missing."""
    frame = simulated(np.random.default_rng(12), complete=complete)
    study = crossed_study(frame, part="part", appraiser="who", value="value")
    part, reader, mixed, repeat = restricted_likelihood(frame)
    assert not study.pooled
    assert study.repeatability_mm == pytest.approx(repeat, rel=within)
    assert study.reproducibility_mm == pytest.approx(np.hypot(reader, mixed), rel=within)
    assert study.part_mm == pytest.approx(part, rel=within)


def test_a_study_with_unequal_repeats_says_so() -> None:
    study = crossed_study(FRAME.iloc[1:], part="part", appraiser="appraiser", value="value")
    assert study.repeatability_mm == pytest.approx(STUDY.repeatability_mm, rel=0.05)
    assert study.anova["repeats"].df == STUDY.anova["repeats"].df - 1
    assert study.notes[0] == (
        "2 to 3 readings a cell: unweighted means, as if of 2.95 readings each"
    )


def test_who_has_not_read_what_is_named() -> None:
    gap = FRAME[~((FRAME["part"] == 2) & (FRAME["appraiser"] == "B"))]
    with pytest.raises(StatsError, match=r"B has not read 2\. Let everyone read every part"):
        crossed_study(gap, part="part", appraiser="appraiser", value="value")
    single = FRAME.drop_duplicates(["part", "appraiser"])
    with pytest.raises(StatsError, match="nothing was read twice"):
        crossed_study(single, part="part", appraiser="appraiser", value="value")


def test_parts_read_unequally_often_make_a_one_way_study() -> None:
    rng = np.random.default_rng(4)
    parts = np.repeat(np.arange(40), rng.integers(1, 5, 40))
    sizes = rng.normal(0, 0.05, 40)[parts] + rng.normal(0, 0.01, len(parts))
    study = one_way_study(pd.DataFrame({"p": parts, "v": sizes}), part="p", value="v")
    assert study.limits["parts"][0] < 0.05 < study.limits["parts"][1]
    assert study.limits["repeatability"][0] < 0.01 < study.limits["repeatability"][1]
    assert study.anova["repeats"].df == len(parts) - 40
