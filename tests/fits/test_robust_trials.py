"""Trials find the gap of printers that are far from common practice, and do not claim too much.

Printers are drawn with shifts of up to 0.4 mm either way and twice the usual scatter; the model's
prior knows neither. A print of two specimens at a time.
"""

from __future__ import annotations

import pytest

from studies.ladders import adaptive_outcomes, shifted_printers, thirds_success

FIT = ("peg and hole", "slides")


def outcomes(count: int):
    """Share found, and share claimed, after 2, 4 and 6 specimens."""
    printers = shifted_printers(count, *FIT, size_mm=10.0, shift_mm=0.4, scatter_times=2.0, seed=3)
    found = adaptive_outcomes(printers, specimens=2, prints=3)
    return found[:, 1:, 0].mean(axis=0), found[:, 1:, 1].mean(axis=0)


def test_a_shifted_and_scattered_printer_is_found_and_claims_stay_near_the_truth() -> None:
    found, claimed = outcomes(60)
    assert found[0] >= 0.40
    assert found[2] >= 0.68
    # Of sixty printers a share is known to some 0.06.
    assert (claimed - found).max() <= 0.08 + 0.06


@pytest.mark.slow
def test_a_thousand_printers_are_found_better_than_by_thirds() -> None:
    found, claimed = outcomes(1000)
    assert found[0] >= 0.50
    assert found[2] >= 0.75
    assert (claimed - found).max() <= 0.08
    printers = shifted_printers(1000, *FIT, size_mm=10.0, shift_mm=0.4, scatter_times=2.0, seed=3)
    assert found[2] > thirds_success(printers, specimens=6)
