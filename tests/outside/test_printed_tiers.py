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
from fitkit.calibration.least_squares import solve
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
def test_the_line_through_the_tiers(axis, measured, slope, offset):
    found = profile(axis, measured)
    a, b, c = found.curve("outside", axis)
    assert (a, b, c) == (
        pytest.approx(slope, abs=5e-5),
        pytest.approx(offset, abs=5e-4),
        0.0,
    )
    reference = linregress(TARGET, measured)
    scale, width = found.terms.index(f"scale_{axis}"), found.terms.index("outside_offset")
    u = np.sqrt(np.diag(found.cov))
    assert u[scale] == pytest.approx(reference.stderr, rel=1e-3)
    assert u[width] == pytest.approx(reference.intercept_stderr, rel=1e-3)


def test_compensated_tiers_would_have_come_out_at_size():
    found = profile("y", Y)
    drawn = [compensate(f"{n} mm", found, kind="outside", axis="y").drawn_mm for n in TARGET]
    line = solve(np.column_stack([np.ones(5), TARGET]), Y)
    np.testing.assert_allclose(line.coef[0] + line.coef[1] * np.array(drawn), TARGET, atol=1e-3)
    # Against drawing at size, the error left is that of the tiers about their line.
    left = np.sqrt(np.mean(line.residual**2))
    assert left < np.sqrt(np.mean((Y - TARGET) ** 2)) / 3
