"""How prints differ, against the mixed model of statsmodels (restricted maximum likelihood)."""

import warnings

import numpy as np
import pytest
import statsmodels.api as sm
from simulator import Truth, print_once

from fitkit.calibration.coupon import coupon_features
from fitkit.calibration.generic import generic_spread
from fitkit.calibration.layout import Layout
from fitkit.calibration.regression import regress

PRINTS = 8


@pytest.fixture(scope="module")
def both():
    rng = np.random.default_rng(5)
    truth = Truth(print_width=0.05, print_scale=0.0008, feature=0.01)
    features = [f for f in coupon_features() if f.kind in ("outside", "inside", "hole")]
    layout = Layout.of(features * PRINTS, np.repeat(np.arange(PRINTS), len(features)))
    sizes = np.concatenate([print_once(truth, features, rng) for _ in range(PRINTS)])
    ours = regress(layout, sizes, np.full(len(sizes), 1e-6))
    random = np.column_stack([layout.width, layout.scale / 100])
    used = layout.matrix.any(axis=0)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mixed = sm.MixedLM(
            sizes - layout.drawn_mm, layout.matrix[:, used], layout.prints, exog_re=random
        ).fit(reml=True, method=["bfgs"])
    return ours, mixed, used


def unpooled(sd, prior_sd):
    """Take common practice's four degrees of freedom out of a pooled standard deviation again."""
    prior = generic_spread().print_df
    return np.sqrt((sd**2 * (prior + PRINTS - 1) - prior * prior_sd**2) / (PRINTS - 1))


def test_print_to_print_spread_agrees_with_the_mixed_model(both):
    ours, mixed, _ = both
    usual = generic_spread()
    width, scale = np.sqrt(np.diag(np.asarray(mixed.cov_re)))
    found = unpooled(ours.spread.print_width_mm, usual.print_width_mm)
    assert found == pytest.approx(width, rel=0.05)
    found = unpooled(ours.spread.print_scale, usual.print_scale)
    assert found == pytest.approx(scale / 100, rel=0.05)


def test_coefficients_agree_with_the_mixed_model(both):
    ours, mixed, used = both
    # The mixed model has all terms; ours is a mean over models, hence the slack.
    u = np.sqrt(np.diag(ours.cov))
    np.testing.assert_array_less(np.abs(ours.coef[used] - mixed.fe_params), u[used] + 1e-6)
