"""What several calibration tests share: a simulated coupon as estimates, and the coverage run."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from simulator import print_once, read

from fitkit.calibration import PrintSettings, coupon_features
from fitkit.stats.uncertainty import Estimate

SETTINGS = PrintSettings(printer="test printer", material="PETG", first_layer_mm=0.24)


@pytest.fixture
def settings():
    return SETTINGS


@pytest.fixture
def coupon():
    """Make the estimates of one print of a truth's coupon."""

    def make(truth, seed=1, features=None):
        rng = np.random.default_rng(seed)
        found = features or coupon_features()
        readings = read(truth, print_once(truth, found, rng), rng)
        u = float(np.hypot(truth.reading, truth.resolution / np.sqrt(12)) / np.sqrt(3))
        return {
            f.name: Estimate.of(f.name, float(row.mean()), max(u, 1e-6))
            for f, row in zip(found, readings, strict=True)
        }

    return make
