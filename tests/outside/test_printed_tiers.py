"""Five printed tiers, measured by others, through the whole fit.

Source: the FDM assessment protocol of a public repository (kickstarter/kickstarter-autodesk-3d,
FDM-protocol/README.md, Apache-2.0): an illustrative record of target and measured X and Y, one
reading a tier. Its own mean error in X does not follow from its rows and is not used. The lines
through its rows (X: 0.9976, -0.046 mm; Y: 0.9920, -0.090 mm) were worked out apart; standard errors
by scipy.stats.linregress.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import linregress

from fitkit.calibration import fit_profile
from fitkit.calibration.compensation import compensate
from fitkit.stats.uncertainty import Estimate

TARGET, X, Y = (
    pd.read_csv(Path(__file__).parents[1] / "data" / "fff_tier_example.csv", comment="#")
    .to_numpy(float)
    .T
)


def profile(axis, measured):
    return fit_profile(
        {
            f"bar {axis} {n:g}": Estimate.of(f"bar {axis} {n:g}", m, 0.001)
            for n, m in zip(TARGET, measured, strict=True)
        }
    )


@pytest.mark.parametrize(
    ("axis", "measured", "slope", "offset"), [("x", X, 0.9976, -0.046), ("y", Y, 0.9920, -0.090)]
)
def test_the_line_through_the_tiers_lies_within_what_the_fit_allows(axis, measured, slope, offset):
    found = profile(axis, measured)
    reference = linregress(TARGET, measured)
    assert (reference.slope, reference.intercept) == (
        pytest.approx(slope, abs=5e-5),
        pytest.approx(offset, abs=5e-4),
    )
    # Five readings of hobby quality do not outweigh what is known of printers.
    for size in (8.0, 20.0):
        mean, half = (
            found.fitted(size, kind="outside", axis=axis)[0],
            found.U95(size, kind="outside", axis=axis, mean=True),
        )
        assert abs(float(mean) - (slope * size + offset)) < float(half)


def test_compensated_tiers_would_have_come_out_nearer_to_size():
    found = profile("y", Y)
    drawn = [compensate(f"{n} mm", found, kind="outside", axis="y").drawn_mm for n in TARGET]
    line = linregress(TARGET, Y)
    printed = line.intercept + line.slope * np.array(drawn)
    assert np.abs(printed - TARGET).max() < 0.05
    # Against drawing at size.
    assert np.sqrt(np.mean((printed - TARGET) ** 2)) < np.sqrt(np.mean((Y - TARGET) ** 2)) / 5
