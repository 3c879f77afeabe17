from simulator import Truth

from fitkit.calibration import CouponSizes, coupon_features, fit_profile, generic_profile
from fitkit.calibration.history import compare
from fitkit.calibration.next_reading import proposals, rests_on, usual_U95_mm


def test_a_coupon_is_the_first_proposal_to_who_has_read_nothing():
    first = proposals(generic_profile("PETG"))[0]
    assert first.says == "Print and read a coupon"
    assert first.after_mm < 0.5 * first.before_mm
    assert str(first).endswith(f"to about {first.after_mm:.3f} mm.")


def test_what_was_not_read_is_proposed_and_what_it_gains_is_true(coupon, settings):
    read = coupon(Truth(), 1)
    some = {name: one for name, one in read.items() if not name.startswith("pocket")}
    profile = fit_profile(some, settings=settings)
    found = {one.says: one for one in proposals(profile)}
    pocket = found["Read a pocket with walls all round"]
    whole = fit_profile(read, settings=settings)
    after = sum(usual_U95_mm(whole).values()) / len(usual_U95_mm(whole))
    assert pocket.after_mm < pocket.before_mm
    assert abs(pocket.after_mm - after) < 0.015


def test_a_profile_says_what_it_rests_on(coupon, settings):
    assert "nothing was read" in rests_on(generic_profile("PLA"))
    said = rests_on(fit_profile([coupon(Truth(), 1), coupon(Truth(), 2)], settings=settings))
    assert said.startswith(f"Rests on {2 * len(coupon_features())} coupon readings of 2 prints")
    assert "skew" in said


def test_five_features_tell_a_printer_that_changed_from_one_that_has_not(coupon, settings):
    features = coupon_features(CouponSizes.check_piece())
    assert len(features) == 5
    profile = fit_profile(coupon(Truth(), 1), settings=settings)
    same, other = (
        fit_profile(coupon(truth, 7, features), settings=settings)
        for truth in (Truth(), Truth(outside=0.35, peg=0.4, hole=0.45))
    )
    assert compare(profile, same).p > 0.05
    assert compare(profile, other).p < 0.05
