"""Prints until a fit is as wanted, on printers and bands that the model knows nothing of."""

from __future__ import annotations

import numpy as np
import pytest

from studies.learning import FITS, run
from studies.told_chances import Habits


def test_a_few_printers_need_few_prints_measured_or_not():
    plain, measured = (run(2, calibrated=True, measuring=on) for on in (False, True))
    assert plain.fits == measured.fits == 4 * len(FITS)
    for one in (plain, measured):
        # Of 48 fits the mean is known to 0.13, a share to 0.05.
        assert 1.0 <= one.prints <= 1.8
        assert one.over_five <= 0.05
        assert one.again >= 0.7


def test_a_printer_known_without_error_needs_few_prints():
    known = run(3, known=True)
    assert known.fits == 6 * len(FITS)
    assert 1.0 <= known.prints <= 1.45


def test_bands_do_not_hang_on_how_often_somebody_judged():
    once, often = (Habits(np.random.default_rng(3)) for _ in range(2))
    for fit in FITS:
        once.verdict(fit, 0.2)
        for _ in range(3):
            often.verdict(fit, 0.2)
    assert once.known == often.known


@pytest.mark.slow
@pytest.mark.parametrize(("calibrated", "most"), [(True, 1.4), (False, 1.6)])
def test_measuring_costs_no_prints_and_what_fitted_fits_again(calibrated, most):
    """480 fits: the mean is known to 0.04, a share to 0.02."""
    plain, measured = (run(20, calibrated=calibrated, measuring=on) for on in (False, True))
    for one in (plain, measured):
        assert one.prints <= most
        assert one.over_five <= 0.02
        assert one.again >= 0.80
    assert measured.prints <= plain.prints + 0.12
