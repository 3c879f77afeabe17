"""Critical values of Grubbs' test, a handbook example, and the chord of flat jaws.

Sources: ISO 5725-2:1994 table 5 (from memory); the same values from the t formula in independent
arithmetic, and from drawn samples; NIST/SEMATECH e-Handbook 1.3.5.17 uranium data (from memory).
Chords: derived.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.readings.corrections import chord_error
from fitkit.stats import grubbs, robust
from fitkit.stats.outliers import grubbs_critical

DATA = Path(__file__).parents[1] / "data"
TABLE = pd.read_csv(DATA / "grubbs_dixon_critical.csv", comment="#")
EXAMPLE = json.loads((DATA / "outlier_examples.json").read_text())["grubbs"]


def test_critical_values_agree_with_the_table_and_the_formula() -> None:
    assert len(TABLE) == 28
    for row in TABLE.itertuples():
        for level, printed, computed, one_sided in (
            (0.05, row.iso5725_2_grubbs_5pct, row.computed_two_sided_5pct,
             row.computed_one_sided_5pct),
            (0.01, row.iso5725_2_grubbs_1pct, row.computed_two_sided_1pct,
             row.computed_one_sided_1pct),
        ):  # fmt: skip
            found = grubbs_critical(row.n, level=level)
            assert found == pytest.approx(printed, abs=0.0012)
            assert found == pytest.approx(computed, abs=6e-5)
            assert grubbs_critical(row.n, level=level, sides=1) == pytest.approx(
                one_sided, abs=6e-5
            )


@pytest.mark.parametrize("n", [3, 5, 8])
def test_critical_values_are_those_of_drawn_samples(n: int) -> None:
    """No formula: 400,000 samples from one normal distribution, the twentieth most far-off."""
    samples = np.random.default_rng(18).normal(size=(400_000, n))
    far = np.abs(samples - samples.mean(axis=1, keepdims=True)).max(axis=1)
    statistic = far / samples.std(axis=1, ddof=1)
    assert grubbs_critical(n, level=0.05) == pytest.approx(np.quantile(statistic, 0.95), abs=0.003)


def test_the_handbooks_uranium_reading_stands_out_by_both_tests() -> None:
    data = EXAMPLE["data"]
    test = grubbs(data)
    assert data[test.index] == EXAMPLE["outlier"]
    assert test.statistic == pytest.approx(EXAMPLE["G_derived"], rel=1e-10)
    assert grubbs_critical(len(data), sides=1) == pytest.approx(
        EXAMPLE["one_sided_5pct_critical_derived"], rel=1e-9
    )
    assert test.outlying
    assert robust(data).outlying
    rest = [value for value in data if value != EXAMPLE["outlier"]]
    assert not grubbs(rest).outlying
    assert not robust(rest).outlying


def test_chords_of_flat_jaws_agree_with_the_derived_table() -> None:
    table = pd.read_csv(DATA / "inside_jaw_error.csv", comment="#")
    assert len(table) > 10
    for row in table.itertuples():
        assert chord_error(row.D_mm, face_mm=row.total_width_t_mm) == pytest.approx(
            row.error_mm, abs=6e-6
        )
