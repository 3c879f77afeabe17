"""Worked examples of the GUM (JCGM 100:2008): H.1 end gauge, H.3 thermometer, table G.2.

Inputs of H.1 and H.3 as printed there; results from memory and derived again in independent
arithmetic (tests/data/gum_ea_worked.json). A second uncertainty library, metrolopy, checks H.1.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import metrolopy
import pandas as pd
import pytest
from GTC import type_a

from fitkit.stats import Estimate

DATA = Path(__file__).parents[1] / "data"
WORKED = json.loads((DATA / "gum_ea_worked.json").read_text())
H1 = WORKED["H1"]


def test_h1_end_gauge_budget_and_effective_degrees_of_freedom() -> None:
    # Linear in nm about the printed values; contributions as printed with their degrees of freedom.
    rows = H1["contributions_nm"]
    total = Estimate.of("l", H1["l_nm_minus_50mm"] * 1e-6, 0.0)
    for name, row in rows.items():
        total = total + Estimate.of(name, 0.0, row["u"] * 1e-6, df=row["nu"])
    assert total.value_mm == pytest.approx(838e-6)
    # The printed contributions are rounded: 31.7 nm, printed as 32.
    assert total.u_mm * 1e6 == pytest.approx(H1["u_c_nm_derived"], abs=0.1)
    assert round(total.u_mm * 1e6) == H1["u_c_nm"]
    assert math.floor(total.df) == H1["nu_eff"]
    assert len(total.budget) == 6
    assert total.budget[0].name == "l_S"

    second = metrolopy.gummy(0.0)
    for row in rows.values():
        second = second + metrolopy.gummy(0.0, row["u"], dof=row["nu"])
    assert total.u_mm * 1e6 == pytest.approx(float(second.u), rel=1e-9)
    assert total.df == pytest.approx(float(second.dof), rel=0.01)


def test_h3_thermometer_line_and_its_correction_at_30_degrees() -> None:
    worked = WORKED["H3"]
    frame = pd.read_csv(DATA / worked["file"], comment="#")
    fit = type_a.line_fit(list(frame["t_degC"] - worked["t0"]), list(frame["b_degC"]))
    y1 = Estimate(name="y1", uncertain=fit.a_b[0])
    y2 = Estimate(name="y2", uncertain=fit.a_b[1])
    assert y1.value_mm == pytest.approx(worked["y1"], abs=5e-5)
    assert y1.u_mm == pytest.approx(worked["u_y1"], abs=5e-5)
    assert y2.value_mm == pytest.approx(worked["y2"], abs=5e-6)
    assert y2.u_mm == pytest.approx(worked["u_y2"], abs=5e-6)
    at_30 = y1 + 10 * y2  # intercept and slope are correlated, r = -0.93
    assert at_30.value_mm == pytest.approx(worked["b_30"], abs=5e-5)
    assert at_30.u_mm == pytest.approx(worked["u_b_30"], abs=5e-5)
    assert math.hypot(y1.u_mm, 10 * y2.u_mm) > 1.5 * at_30.u_mm


def test_coverage_factors_are_those_of_table_g2() -> None:
    table = pd.read_csv(DATA / "gum_g2_t_table.csv", comment="#")
    checked = 0
    for nu, t95 in zip(table["nu"], table["p95"], strict=True):
        df = float(nu)
        assert Estimate.of("x", 1.0, 0.1, df=df).k95 == pytest.approx(t95, abs=0.0051)
        checked += 1
    assert checked > 15
    # G.4.1, note 1: between whole numbers one may interpolate.
    assert 2.11 < Estimate.of("x", 1.0, 0.1, df=16.75).k95 < 2.12
