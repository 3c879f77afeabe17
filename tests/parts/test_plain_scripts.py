"""Each template's volume against a plain build123d script of the same part, written apart from it.

The scripts (`bench/plain_parts.py`) take a template's parameters and work its layout out again.
"""

from __future__ import annotations

import pytest

from bench.plain_parts import PLAIN, hold_equal

LONG = ("clip tray", "fit ladder", "calibration coupon")


@pytest.mark.parametrize(
    "title",
    [pytest.param(title, marks=[pytest.mark.slow] * (title in LONG)) for title in PLAIN],
)
def test_a_plain_script_encloses_the_same_volume(title: str) -> None:
    hold_equal(title)
