"""The verdict model against statsmodels' OrderedModel (probit) on well-behaved data, n = 500.

Source: statsmodels 0.14 or later, `statsmodels.miscmodels.ordinal_model.OrderedModel`, a general
statistics library: maximum likelihood of the same likelihood without a prior. Agreement is asked of
thresholds and scatter within the standard errors that statsmodels itself gives.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.fits import VERDICTS, Trial, learn

_TRUE = np.array([0.05, 0.16, 0.34, 0.47])


@pytest.mark.parametrize("seed", [1, 2])
def test_thresholds_agree_with_ordered_model(seed: int) -> None:
    from statsmodels.miscmodels.ordinal_model import OrderedModel

    rng = np.random.default_rng(seed)
    gaps = rng.uniform(-0.1, 0.6, 500).round(2)
    verdict = np.searchsorted(_TRUE, gaps + 0.06 * rng.standard_normal(500))
    assert set(verdict) == {0, 1, 2, 3, 4}
    model = OrderedModel(verdict, gaps[:, None], distr="probit")
    fit = model.fit(method="bfgs", disp=False)
    slope = fit.params[0]
    limits = model.transform_threshold_params(fit.params[1:])[1:-1] / slope
    scatter = 1.0 / slope

    trials = [
        Trial(pair="peg and hole", behaviour="slides", size_mm=10.0, gap_mm=float(gap),
              u_gap_mm=0.0, verdict=VERDICTS[v])
        for gap, v in zip(gaps, verdict, strict=True)
    ]  # fmt: skip
    ours = learn("peg and hole", "slides", size_mm=10.0, trials=trials)
    ours_limits = ours.weight @ ours.thresholds_mm
    ours_sd = np.sqrt(ours.weight @ np.square(ours.thresholds_mm - ours_limits))
    assert ours.effective > 500
    # A threshold is known to about 0.007 mm here; the weak prior may pull it by half of that.
    assert ours_sd.max() < 0.015
    np.testing.assert_allclose(ours_limits, limits, atol=0.006)
    assert ours.weight @ ours.scatter_mm == pytest.approx(scatter, rel=0.08)
    # The spread of the thresholds is the likelihood's own: the delta method on statsmodels' fit.
    sd = _threshold_sd(model, fit)
    np.testing.assert_allclose(ours_sd, sd, rtol=0.25)


def _threshold_sd(model: object, fit: object) -> np.ndarray:
    """Standard errors of thresholds over slope, by the delta method with numeric slopes."""

    def scaled(params: np.ndarray) -> np.ndarray:
        return np.asarray(model.transform_threshold_params(params[1:])[1:-1] / params[0])  # type: ignore[attr-defined]

    at = np.asarray(fit.params)  # type: ignore[attr-defined]
    jacobian = np.column_stack(
        [(scaled(at + step) - scaled(at - step)) / 2e-5 for step in 1e-5 * np.eye(len(at))]
    )
    covariance = np.asarray(fit.cov_params())  # type: ignore[attr-defined]
    return np.sqrt(np.diag(jacobian @ covariance @ jacobian.T))
