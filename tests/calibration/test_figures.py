import io
import sys

import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration import fit_coupon
from fitkit.calibration.figures import deviation_figure, errors_figure, residual_figure


@pytest.fixture
def fit(coupon, settings):
    return fit_coupon(coupon(Truth()), settings=settings)


def drawn(figure):
    stream = io.BytesIO()
    figure.savefig(stream, format="png")
    assert stream.getvalue().startswith(b"\x89PNG")
    (axes,) = figure.axes
    return axes


def test_residuals_are_all_there_with_units(fit):
    axes = drawn(residual_figure(fit))
    points = np.concatenate([c.lines[0].get_ydata() for c in axes.containers]).astype(float)
    np.testing.assert_allclose(np.sort(points), np.sort(fit.table()["residual_mm"]))
    assert "mm" in axes.get_xlabel()
    assert "mm" in axes.get_ylabel()


def test_deviations_follow_the_profile(fit):
    axes = drawn(deviation_figure(fit.profile))
    line = next(one for one in axes.lines if one.get_label() == "hole")
    sizes, off = line.get_xdata(), line.get_ydata()
    printed, _ = fit.profile.predict(sizes, kind="hole")
    np.testing.assert_allclose(off, printed - sizes)


def test_errors_say_their_root_mean_square():
    axes = drawn(errors_figure({"as drawn": [0.3, -0.3], "compensated": [0.03, -0.03]}))
    labels = [text.get_text() for text in axes.get_yticklabels()]
    assert labels == ["as drawn\nrms 0.300 mm", "compensated\nrms 0.030 mm"]


def test_no_global_plotting_state_is_touched(fit):
    before = "matplotlib.pyplot" in sys.modules
    residual_figure(fit)
    assert ("matplotlib.pyplot" in sys.modules) == before
