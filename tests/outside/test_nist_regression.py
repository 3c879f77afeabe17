"""The least-squares engine against NIST Statistical Reference Datasets, linear regression.

Source: NIST StRD (https://www.itl.nist.gov/div898/strd/, public domain), sets Norris, Pontius,
Wampler1 and Longley with certified coefficients, standard deviations of the coefficients and
residual standard deviations. Norris as shipped with SciPy 1.17; data of Pontius and Wampler1 from
public copies; Longley from statsmodels, its certificate from memory and recomputed.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.calibration.least_squares import solve

DATA = Path(__file__).parents[1] / "data"
NORRIS = (
    [-0.262323073774029, 1.00211681802045],
    [0.232818234301152, 0.429796848199937e-03],
    0.884796396144373,
)
PONTIUS = (
    [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14],
    [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16],
    0.205177424076185e-03,
)
LONGLEY = (
    [
        -3482258.63459582,
        15.0618722713733,
        -0.358191792925910e-01,
        -2.02022980381683,
        -1.03322686717359,
        -0.511041056535807e-01,
        1829.15146461355,
    ],
    [
        890420.383607373,
        84.9149257747669,
        0.334910077722432e-01,
        0.488399681651699,
        0.214274163161675,
        0.226073200069370,
        455.478499142212,
    ],
    304.854073561965,
)


def fit(columns, y):
    found = solve(columns, y)
    residual_sd = np.sqrt(found.rss / (len(y) - columns.shape[1]))
    return found.coef, residual_sd * np.sqrt(np.diag(found.cov)), residual_sd


def table(name):
    return pd.read_csv(DATA / f"nist_{name}.csv", comment="#").to_numpy(float)


@pytest.mark.parametrize(
    ("name", "powers", "certified", "rtol"),
    [("norris", 1, NORRIS, 1e-10), ("pontius", 2, PONTIUS, 1e-9)],
)
def test_lines_and_parabolas(name, powers, certified, rtol):
    y, x = table(name).T
    columns = np.vander(x, powers + 1, increasing=True)
    for found, known in zip(fit(columns, y), certified, strict=True):
        np.testing.assert_allclose(found, known, rtol=rtol)


def test_longley_many_collinear_predictors():
    data = table("longley")
    columns = np.column_stack([np.ones(len(data)), data[:, 1:]])
    for found, known in zip(fit(columns, data[:, 0]), LONGLEY, strict=True):
        np.testing.assert_allclose(found, known, rtol=1e-7)


def test_wampler1_ill_conditioned_fifth_power():
    """All coefficients are 1 and the fit is exact; double precision leaves about 7 digits."""
    y, x = table("wampler1").T
    coef, sd, residual_sd = fit(np.vander(x, 6, increasing=True), y)
    np.testing.assert_allclose(coef, 1.0, rtol=1e-7)
    np.testing.assert_allclose(sd, 0.0, atol=1e-6)
    assert residual_sd < 1e-6
