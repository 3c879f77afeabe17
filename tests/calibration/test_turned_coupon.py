"""A coupon that lay turned or mirrored on the bed is told where the printer's axes differ.

Turned by a quarter, the coupon's x is the printer's y, and the frame is out of square the other way
round; mirrored, only the latter.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from simulator import Truth

from fitkit.calibration import CouponSizes, fit_profile
from fitkit.calibration.coupon import coupon_features
from fitkit.calibration.history import compare

# A belt of one axis a little longer than the other's, and a frame out of square.
UNEVEN = Truth(scale_x=-0.0005, scale_y=-0.0065, skew=0.0030, feature=0.015)
EVEN = Truth(scale_x=-0.0030, scale_y=-0.0030, skew=0.0)
SHORT, THOROUGH = coupon_features(), coupon_features(CouponSizes.thorough())


def turned(truth):
    return replace(truth, scale_x=truth.scale_y, scale_y=truth.scale_x, skew=-truth.skew)


def mirrored(truth):
    return replace(truth, skew=-truth.skew)


def notes_of(prints, settings):
    notes = fit_profile(prints, settings=settings).provenance.notes
    return [note for note in notes if "had lain" in note]


@pytest.mark.parametrize("features", [SHORT, THOROUGH], ids=["short", "thorough"])
def test_a_turned_print_is_told_beside_one_that_was_not(coupon, settings, features):
    for seed in range(4):
        one = coupon(UNEVEN, seed, features)
        assert notes_of([one, coupon(UNEVEN, seed + 50, features)], settings) == []
        (note,) = notes_of([one, coupon(turned(UNEVEN), seed + 50, features)], settings)
        assert "print 2 differs from print 1 as if one of them had lain turned by a" in note


def test_a_mirrored_print_is_told_beside_one_that_was_not(coupon, settings):
    for seed in range(4):
        one, other = coupon(UNEVEN, seed, THOROUGH), coupon(mirrored(UNEVEN), seed + 50, THOROUGH)
        (note,) = notes_of([one, other], settings)
        assert "mirrored" in note


@pytest.mark.parametrize("features", [SHORT, THOROUGH], ids=["short", "thorough"])
def test_a_printer_whose_axes_are_alike_shows_nothing_and_nothing_is_said(
    coupon, settings, features
):
    told = [
        notes_of([coupon(EVEN, seed, features), coupon(act(EVEN), seed + 50, features)], settings)
        for seed in range(10)
        for act in (turned, mirrored, lambda truth: truth)
    ]
    assert not any(told)


@pytest.mark.parametrize(("act", "how"), [(turned, "turned by a quarter"), (mirrored, "mirrored")])
def test_a_turned_coupon_is_told_beside_an_earlier_profile(coupon, settings, act, how):
    old = fit_profile([coupon(UNEVEN, n, THOROUGH) for n in (1, 2)], settings=settings)

    def against_it(truth):
        return compare(old, fit_profile([coupon(truth, 3, THOROUGH)], settings=settings)).text

    assert "explained if" not in against_it(UNEVEN)
    text = against_it(act(UNEVEN))
    assert text.startswith("The printer has drifted")
    assert f"one of the two coupons lay {how} on the bed" in text
