"""NIST Statistical Reference Datasets: certified means, standard deviations, one-way ANOVA.

Source: NIST StRD, univariate sets Michelso, Mavro, NumAcc3, Lottery and ANOVA set SiRstv
(US public domain). Certified values are text in tests/data/nist_strd_certified.json.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.readings import ReadingTable
from fitkit.stats import one_way_study, summarise
from fitkit.stats.summary import mean_and_spread

DATA = Path(__file__).parents[1] / "data"
CERTIFIED = json.loads((DATA / "nist_strd_certified.json").read_text())


def _digits(found: float, certified: float) -> float:
    """Log relative error: digits that agree, 15 if all do."""
    return 15.0 if found == certified else -math.log10(abs(found - certified) / abs(certified))


def _values(name: str) -> np.ndarray:  # type: ignore[type-arg]
    return pd.read_csv(DATA / CERTIFIED["univariate"][name]["file"], comment="#")["y"].to_numpy(
        float
    )


# NumAcc3: values near 1e6 differing by 0.1 are stored to 1e-10 only, which leaves 9 digits of s.
@pytest.mark.parametrize(
    ("name", "digits"), [("Michelso", 13), ("Mavro", 12.5), ("NumAcc3", 9), ("Lottery", 13)]
)
def test_mean_and_standard_deviation_have_the_certified_digits(name: str, digits: float) -> None:
    values, certified = _values(name), CERTIFIED["univariate"][name]
    _, mean, spread = mean_and_spread(values, np.zeros(len(values), dtype=int), 1)
    assert _digits(mean[0], float(certified["mean"])) >= 13
    assert _digits(spread[0], float(certified["sd_n_minus_1"])) >= digits


def test_the_whole_way_from_text_keeps_the_certified_digits() -> None:
    certified = CERTIFIED["univariate"]["Michelso"]
    rows = [{"feature": "c", "reading": f"{v:.2f} mm"} for v in _values("Michelso")]
    row = summarise(ReadingTable.of(rows)).frame.loc["c"]
    assert _digits(row["mean_mm"], float(certified["mean"])) >= 13
    assert _digits(row["s_mm"], float(certified["sd_n_minus_1"])) >= 13


def test_one_way_analysis_of_variance_has_the_certified_digits() -> None:
    certified = CERTIFIED["one_way_anova"]["SiRstv"]
    frame = pd.read_csv(DATA / certified["file"], comment="#")
    study = one_way_study(frame, part="instrument", value="resistivity")
    part, repeats = study.anova["part"], study.anova["repeats"]
    assert (part.df, repeats.df) == (4, 20)
    assert _digits(part.ss, float(certified["ss_between"])) >= 9
    assert _digits(repeats.ss, float(certified["ss_within"])) >= 9
    ratio = part.mean_square / repeats.mean_square
    assert _digits(ratio, float(certified["F"])) >= 9
    assert _digits(study.repeatability_mm, float(certified["residual_sd"])) >= 9
    assert study.part_mm**2 == pytest.approx(
        float(certified["between_variance_component_derived"]), rel=1e-6
    )
