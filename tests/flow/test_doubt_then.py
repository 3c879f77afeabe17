"""How well a gap that was tried is known, and what of its error the next print has, too."""

from __future__ import annotations

import math

import pytest

from fitkit.flow.doubt import gap_doubt_then


def test_a_gap_that_nobody_measured_is_off_at_the_next_print_by_all_that_lasts():
    u_mm, lasting_mm = gap_doubt_then(0.05, 0.04, 0.04**2, 0.03)
    assert u_mm == pytest.approx(math.hypot(0.05, 0.03))
    assert lasting_mm == pytest.approx(0.05)  # 0.04 and the thing's 0.03


def test_times_what_lasts_of_the_next_gap_it_is_what_both_share():
    u_mm, lasting_mm = gap_doubt_then(0.02, 0.03, 0.0002, 0.02)
    assert lasting_mm * math.hypot(0.03, 0.02) == pytest.approx(0.0002 + 0.02**2)
    assert lasting_mm < u_mm


def test_where_nothing_lasts_nothing_is_shared_and_no_more_than_all_lasts():
    assert gap_doubt_then(0.02, 0.0, 0.0) == (0.02, 0.0)
    assert gap_doubt_then(0.01, 0.001, 0.001) == (0.01, 0.01)
