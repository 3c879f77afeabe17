"""Each template's volume against a plain build123d script of the same part, written apart from it.

The scripts (`bench/plain_parts.py`) take a template's parameters and work its layout out again.
"""

from __future__ import annotations

import pytest

from bench.plain_parts import PLAIN, bodies_of, hold_equal
from fitkit.parts import template

LONG = ("clip tray", "fit ladder", "calibration coupon")


@pytest.mark.parametrize(
    "title",
    [pytest.param(title, marks=[pytest.mark.slow] * (title in LONG)) for title in PLAIN],
)
def test_a_plain_script_encloses_the_same_volume(title: str) -> None:
    row, part = PLAIN[title], template(title).of(**PLAIN[title].values)
    hold_equal(title, row.close, bodies_of(part), row.script(part))
