"""A calibration line with its covariance and a prediction: GUM example H.3, a thermometer.

Source: JCGM 100:2008 (GUM), annex H.3; readings of table H.6 from public copies, results from
memory and recomputed in independent arithmetic: intercept -0.1712(29) °C, slope 0.00218(67),
correlation -0.930, residual standard deviation 0.0035 °C, correction at 30 °C -0.1494(41) °C.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.calibration.least_squares import solve

DATA = Path(__file__).parents[1] / "data" / "gum_h3.csv"
REFERENCE_C = 20.0


def line():
    t, b = pd.read_csv(DATA, comment="#").to_numpy(float).T
    found = solve(np.column_stack([np.ones_like(t), t - REFERENCE_C]), b)
    variance = found.rss / (len(t) - 2)
    return found.coef, variance * found.cov, np.sqrt(variance)


def test_intercept_slope_and_their_uncertainties():
    coef, cov, s = line()
    assert coef == pytest.approx([-0.1712, 0.00218], abs=5e-5)
    assert coef[1] == pytest.approx(0.00218, abs=5e-6)
    assert np.sqrt(np.diag(cov)) == pytest.approx([0.0029, 0.00067], rel=0.02)
    assert cov[0, 1] / np.sqrt(cov[0, 0] * cov[1, 1]) == pytest.approx(-0.930, abs=5e-4)
    assert s == pytest.approx(0.0035, abs=5e-5)


def test_the_correction_foretold_at_30_degrees_beyond_the_data():
    coef, cov, _ = line()
    row = np.array([1.0, 30.0 - REFERENCE_C])
    assert row @ coef == pytest.approx(-0.1494, abs=5e-5)
    assert np.sqrt(row @ cov @ row) == pytest.approx(0.0041, abs=5e-5)
