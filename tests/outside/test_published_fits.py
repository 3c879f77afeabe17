"""The one update of the printer model against published fits that it holds as special cases.

Without discrepancy and with one common variance, its mean and covariance are those of least squares
once what was known beforehand is taken out again; with sizes of several prints, those of a model
with random effects.

Sources: NIST Statistical Reference Datasets, set Norris (US public domain; certified values are
text in tests/data/nist_strd_certified.json). JCGM 100:2008 (GUM), annex H.3, a thermometer's
calibration line: readings of table H.6 from public copies, results from memory and recomputed in
independent arithmetic. Yields of a dyestuff in six batches, O. L. Davies (1947): data, and the fit
by restricted maximum likelihood that is quoted with them (standard deviations 42.0 and 49.5, mean
1527.5 with standard error 19.38), from memory.
"""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import fitkit.calibration.posterior as posterior
from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import Evidence, learn
from fitkit.calibration.prior import Prior

DATA = Path(__file__).parents[1] / "data"
OFFSET, SCALE = (list(TERMS).index(name) for name in ("height_offset", "scale_z"))


@pytest.fixture
def bare(monkeypatch):
    """The model without what no term holds, without slips, and without factors to learn."""
    for name in ("DISCREPANCY_MM", "BEND_MM", "PECULIAR_MM", "SCATTER_MM"):
        monkeypatch.setattr(posterior, name, 0.0)
    for name in ("PRINT_LOG_SD", "DISCREPANCY_LOG_SD"):
        monkeypatch.setattr(posterior, name, 0.0)
    monkeypatch.setattr(posterior, "NOISE_DF", 1e12)
    monkeypatch.setattr(posterior, "PRINT_SD", (0.0, 0.0, 0.0, 0.0))
    return monkeypatch


def heights(x, prints=None):
    """Sizes with an offset and a slope: heights are ``n + scale_z n + height_offset``."""
    codes = prints if prints is not None else ["one"] * len(x)
    return Sizes.of(
        SizeAt(kind="height", axis="z", drawn_mm=float(n), print_code=code, feature=f"{i}")
        for i, (n, code) in enumerate(zip(x, codes, strict=True))
    )


def fit(sizes, read, s, *, vague):
    """Mean and covariance of offset and scale, of readings with standard deviation s."""
    cov = np.zeros((len(TERMS), len(TERMS)))
    cov[OFFSET, OFFSET], cov[SCALE, SCALE] = np.square(vague)
    prior = Prior(mean=np.zeros(len(TERMS)), cov=cov, tail_df=1e12)
    count = len(sizes)
    return learn(
        prior,
        Evidence(
            sizes=sizes,
            read_mm=np.asarray(read, dtype=float),
            own=np.full(count, s**2),
            shared=np.zeros((count, count)),
            coupon=np.ones(count, dtype=bool),
        ),
    )


def without_prior(known):
    """Take the prior out of what is known of offset and scale: precisions of normals add."""
    at = [i for i in (OFFSET, SCALE) if known.prior.cov[i, i] > 0.0]
    mean, cov = known.terms()
    whole = np.linalg.inv(cov[np.ix_(at, at)])
    data = np.linalg.inv(whole - np.linalg.inv(known.prior.cov[np.ix_(at, at)]))
    return data @ whole @ mean[at], data


def test_norris_line_has_the_certified_coefficients_and_their_deviations(bare):
    certified = json.loads((DATA / "nist_strd_certified.json").read_text())
    norris = certified["linear_regression"]["Norris"]
    (a, b), (u_a, u_b) = ([float(text) for text in norris[key]] for key in ("coef", "sd"))
    y, x = pd.read_csv(DATA / "nist_norris.csv", comment="#").to_numpy(float).T
    known = fit(heights(x), y, float(norris["residual_sd"]), vague=(1.0, 0.01))
    (offset, scale), cov = without_prior(known)
    assert offset == pytest.approx(a, rel=1e-6)
    assert 1.0 + scale == pytest.approx(b, rel=1e-8)
    assert np.sqrt(np.diag(cov)) == pytest.approx([u_a, u_b], rel=1e-6)


def test_a_thermometers_line_and_its_prediction_are_those_of_the_guide(bare):
    t, correction = pd.read_csv(DATA / "gum_h3.csv", comment="#").to_numpy(float).T
    x = t - 20.0
    known = fit(heights(x), x + correction, 0.0035, vague=(0.3, 0.02))
    mean, cov = without_prior(known)
    assert mean == pytest.approx([-0.1712, 0.00218], abs=5e-5)
    u = np.sqrt(np.diag(cov))
    assert u == pytest.approx([0.0029, 0.00067], rel=0.02)
    assert cov[0, 1] / u.prod() == pytest.approx(-0.930, abs=5e-4)
    at_30 = known.predict(heights([10.0]), lasting=True)
    assert at_30.mean_mm[0] - 10.0 == pytest.approx(-0.1494, abs=5e-5)
    assert at_30.u_mm[0] == pytest.approx(0.0041, abs=5e-5)


YIELDS = {
    "A": (1545, 1440, 1440, 1520, 1580),
    "B": (1540, 1555, 1490, 1560, 1495),
    "C": (1595, 1550, 1605, 1510, 1560),
    "D": (1445, 1440, 1595, 1465, 1545),
    "E": (1595, 1630, 1515, 1635, 1625),
    "F": (1520, 1455, 1450, 1480, 1445),
}


def test_batches_of_a_dyestuff_are_prints_that_differ(bare):
    """One mean, an effect of each batch, and readings: means and standard errors as published."""
    between, within = 42.0, 49.51
    bare.setattr(posterior, "PRINT_SD", (0.0, 0.0, between, 0.0))
    codes = [batch for batch, found in YIELDS.items() for _ in found]
    read = [one for found in YIELDS.values() for one in found]
    drawn = 1500.0
    known = fit(heights([drawn] * len(read), codes), read, within, vague=(1e3, 0.0))
    (mean,), cov = without_prior(known)
    assert drawn + mean == pytest.approx(1527.5, abs=0.01)
    assert np.sqrt(cov[0, 0]) == pytest.approx(19.38, abs=0.01)
    # Of a balanced design the effect of a batch is its mean's deviation, shrunk by what batches
    # are of the variance of a mean of five.
    shrunk = between**2 / (between**2 + within**2 / 5)
    for batch, found in YIELDS.items():
        effect = known.predict(heights([drawn], [batch])).mean_mm[0] - 1527.5
        assert effect == pytest.approx(shrunk * (np.mean(found) - 1527.5), abs=0.05)
