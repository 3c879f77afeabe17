"""How many specimens a ladder needs, on 500 simulated printers; a quick part always runs.

Success is the share of printers for which the chosen gap lies in the band that truly behaves as
wanted. The fit is a hard one (snug by hand, 10 mm peg: the band is 0.12 mm wide, a specimen's gap
and judgement scatter by 0.064 mm). The adaptive ladder prints two specimens at a time.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.fits.simulate import adaptive_success, even_success, simulated_printers

FIT = ("peg and hole", "snug by hand")


def printers(count: int, seed: int = 5) -> list:
    return simulated_printers(count, *FIT, size_mm=10.0, seed=seed)


def specimens_for(share: float, counts: list[int], success: list[float]) -> float:
    """Where success first reaches a share, between the counts that bracket it."""
    for i in range(1, len(counts)):
        if success[i] >= share:
            (a, b), (p, q) = counts[i - 1 : i + 1], success[i - 1 : i + 1]
            return a + (b - a) * (share - p) / (q - p)
    return float("inf")


def test_interpolation_of_the_count() -> None:
    assert specimens_for(0.9, [2, 4, 6], [0.7, 0.8, 1.0]) == pytest.approx(5.0)
    assert specimens_for(0.9, [2, 4], [0.7, 0.8]) == float("inf")


def test_a_simulated_printer_judges_by_its_thresholds() -> None:
    printer = printers(1)[0]
    low, high = printer.thresholds_mm[[1, 2]]
    assert printer.wants(0.5 * (low + high))
    assert not printer.wants(high + 0.01)
    words = [printer.trial(gap, u_gap_mm=0.0).verdict for gap in (low - 1.0, high + 1.0)]
    assert words == ["will not go", "rattles"]


def test_simulated_printers_are_the_prior() -> None:
    """The middle of their bands has the prior's mean and spread, so the figures are the model's."""
    middles = np.array([p.thresholds_mm[1:3].mean() for p in printers(400)])
    assert middles.mean() == pytest.approx(0.11, abs=4 * 0.107 / 20)
    assert middles.std() == pytest.approx(0.107, rel=0.12)


def test_a_few_printers_already_gain_from_adaptive_ladders() -> None:
    adaptive = adaptive_success(printers(24), specimens=2, prints=3)
    assert adaptive[3] > adaptive[0] + 0.25
    assert adaptive[3] >= even_success(printers(24), specimens=4)
    assert adaptive[3] > even_success(printers(24), specimens=6, by_eye=True)


@pytest.mark.slow
def test_five_hundred_printers_need_fewer_specimens() -> None:
    counts = [0, 2, 4, 6, 8]
    adaptive = specimens_for(0.9, counts, adaptive_success(printers(500), specimens=2, prints=4))
    evens = [4, 6, 7, 8, 9, 10, 12]
    same_model = specimens_for(
        0.9, evens, [even_success(printers(500), specimens=k) for k in evens]
    )
    # Without the model more specimens hardly help: the scatter of the verdicts stays in the pick.
    by_eye = even_success(printers(500), specimens=16, by_eye=True)
    print(
        f"specimens to 90 %: adaptive {adaptive:.1f}; "
        f"evenly spaced {same_model:.1f} with the model; 16 by eye reach {by_eye:.0%}"
    )
    # Against even ladders as they are read without a model, which 16 specimens do not bring to
    # 90 %: at least 30 % fewer. Against even ladders read by this very model the gain is smaller,
    # about a fifth at two specimens a print (6.2 against 7.8 when this was written). It stays under
    # 30 % whatever is tried: one specimen a print needs 6.0, and choosing by expected success 5.8.
    assert by_eye < 0.9
    assert adaptive <= 0.7 * 16
    assert adaptive <= 0.85 * same_model
