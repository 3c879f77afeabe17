"""EA-4/02 M:2022, supplement 2, S10: calibration of a vernier caliper at 150 mm.

Inputs and results from memory, derived again in independent arithmetic: u 33 µm, k 1.83 from a
trapezoid of two dominant rectangles, U 0.06 mm (tests/data/gum_ea_worked.json).
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from fitkit.stats import Estimate, Source, propagate
from fitkit.stats.montecarlo import disagreement

EA = json.loads((Path(__file__).parents[1] / "data/gum_ea_worked.json").read_text())["EA_4_02_S10"]
LIMIT = Source(type="B", distribution="rectangular")


def _error() -> Estimate:
    half = EA["halfwidths"]
    shown = Estimate.of("l_iX", EA["l_iX_mm"], 0.0)
    standard = Estimate.of("l_S", EA["l_S_mm"], half["l_S_um"] * 1e-3 / math.sqrt(3), source=LIMIT)
    warm = Estimate.of("dt", 0.0, EA["contributions_um"]["dt"] * 1e-3, source=LIMIT)
    step = Estimate.of("dl_iX", 0.0, half["dl_iX_um"] * 1e-3 / math.sqrt(3), source=LIMIT)
    jaws = Estimate.of("dl_M", 0.0, half["dl_M_um"] * 1e-3 / math.sqrt(3), source=LIMIT)
    return shown - standard + warm + step + jaws


def test_the_error_of_indication_and_its_budget() -> None:
    error = _error()
    assert error.value_mm == pytest.approx(EA["E_X_mm"])
    # Printed 33 µm: it combines contributions rounded to whole µm (32.7); unrounded it is 32.3.
    printed = math.sqrt(sum(u**2 for u in EA["contributions_um"].values()))
    assert round(printed) == EA["u_E_um"]
    assert error.u_mm * 1e3 == pytest.approx(printed, abs=0.5)
    rows = {row.name: abs(row.contribution_mm) * 1e3 for row in error.budget}
    assert rows["dl_M"] == pytest.approx(EA["contributions_um"]["dl_M_mechanical"], abs=0.5)
    assert rows["dl_iX"] == pytest.approx(15, abs=0.75)  # printed as 15, is 14.4
    assert [row.name for row in error.budget][:2] == ["dl_M", "dl_iX"]


def test_draws_find_the_trapezoids_coverage_factor_where_students_t_is_too_wide() -> None:
    error = _error()
    drawn = propagate(lambda e: e, {"e": error}, rng=np.random.default_rng(402))
    k = (drawn.high95 - drawn.low95) / 2 / drawn.u
    assert k == pytest.approx(EA["k"], abs=0.02)
    assert round(k * error.u_mm, 2) == EA["U_mm"]
    assert error.k95 == pytest.approx(1.96, abs=0.001)
    assert disagreement(error, drawn, digits=2) is not None
