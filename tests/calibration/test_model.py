import numpy as np
import pytest
from simulator import Truth, printed_means

from fitkit.calibration.coupon import CouponSizes, coupon_features
from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.model import KINDS, TERMS, curve, design, loads

TRUTH = Truth()
COEF = np.array(
    [
        TRUTH.scale_x,
        TRUTH.scale_y,
        TRUTH.scale_z,
        TRUTH.outside,
        TRUTH.peg,
        TRUTH.inside,
        TRUTH.hole,
        TRUTH.hole_curve,
        TRUTH.lying_width,
        TRUTH.lying_height,
        TRUTH.height,
        TRUTH.flare,
        TRUTH.skew,
        TRUTH.pocket,
        TRUTH.bow,
        TRUTH.sag,
    ]
)


def test_design_agrees_with_the_simulator_written_apart():
    features = {*coupon_features(CouponSizes.thorough()), *coupon_features()}
    expected = printed_means(TRUTH, features)
    sizes = Sizes.of(
        SizeAt(
            kind=f.kind,
            axis=f.axis,
            drawn_mm=f.drawn_mm,
            place=f.place,
            diagonal=f.diagonal,
            wall_mm=f.wall_mm,
        )
        for f in features
    )
    np.testing.assert_allclose(sizes.drawn + sizes.loads @ COEF, expected, atol=1e-12)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("axis", ["x", "y", "z", "xy"])
def test_curve_is_the_design_times_the_coefficients(kind, axis):
    sizes = np.array([0.8, 3.0, 40.0, 300.0])
    a, b, c = curve(tuple(TERMS), COEF, kind, axis)
    rows = design(tuple(TERMS), sizes, kind, axis)
    np.testing.assert_allclose(a * sizes + b + c / sizes, sizes + rows @ COEF, atol=1e-12)


def test_centres_follow_the_scale_alone():
    assert set(loads("centres", "x")) == {"scale_x"}


def test_diagonals_see_the_skew_with_opposite_signs():
    one, two = loads("outside", diagonal=1), loads("outside", diagonal=-1)
    assert one["skew"] == -two["skew"] == 0.5
    # A square sheared by g has diagonals L*sqrt(1 ± g) (geometry), which is L*(1 ± g/2) to first
    # order.
    g = 0.001
    assert np.sqrt(1 + g) - 1 == pytest.approx(0.5 * g, rel=1e-3)
