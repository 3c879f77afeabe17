"""What calibration gains on simulated printers, held against what no drawing can take away."""

from __future__ import annotations

import numpy as np

from studies.compensation import SCATTER_MM, errors_by_way


def _rms(errors):
    return float(np.sqrt(np.mean(np.square(errors))))


def test_compensated_parts_err_by_little_more_than_the_printers_own_scatter():
    errors = errors_by_way(printers=4, parts=80, seed=11)
    assert 0.8 * SCATTER_MM < _rms(errors["compensated"]) < 2.0 * SCATTER_MM
    assert _rms(errors["as drawn"]) > 3 * _rms(errors["compensated"])
    assert _rms(errors["one scale"]) > 2 * _rms(errors["compensated"])


def test_the_same_seed_prints_the_same_parts():
    first, again = (errors_by_way(printers=1, parts=5, seed=3) for _ in range(2))
    assert all(np.array_equal(first[way], again[way]) for way in first)
