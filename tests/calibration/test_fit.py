import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration import PrintSettings, fit_coupon, fit_profile, generic_profile
from fitkit.calibration.compensation import compensate
from fitkit.calibration.model import TERMS
from fitkit.core.errors import CalibrationError, FaultList
from fitkit.stats.uncertainty import Estimate

EXACT = Truth(feature=0.0, reading=0.0, resolution=1e-9)


def estimates(sizes, u=0.01):
    return {name: Estimate.of(name, value, u) for name, value in sizes.items()}


def test_a_coupon_in_inch_is_refused(coupon):
    inch = {
        name: Estimate.of(name, one.value_mm / 25.4, 0.001) for name, one in coupon(EXACT).items()
    }
    with pytest.raises(FaultList, match="inch readings entered as mm"):
        fit_profile(inch)


def test_one_reading_in_inch_is_named(coupon):
    mixed = coupon(EXACT)
    mixed["bar x 50"] = Estimate.of("bar x 60", 49.9 / 25.4, 0.01)
    with pytest.raises(FaultList, match=r"bar x 50: it reads 1\.96 mm and was drawn 50\.00 mm"):
        fit_profile(mixed)


def test_a_feature_that_is_not_on_coupons_is_refused():
    with pytest.raises(FaultList, match="'board length' is not the name of a coupon feature"):
        fit_profile(estimates({"board length": 60.0, "hole 3": 2.8}))


def test_nothing_to_fit_is_refused():
    with pytest.raises(CalibrationError, match="no coupon readings"):
        fit_profile({})


def test_flare_is_reported_apart_and_the_offset_comes_from_mid_height(coupon):
    sizes = coupon(Truth(feature=0.0, reading=0.001, flare=0.33))
    profile = fit_profile(sizes)
    flare, _ = profile.value("bed_flare")
    offset, _ = profile.value("outside_offset")
    # One feature shows the flare, and it has its own scatter; the prior pulls a little.
    assert flare == pytest.approx(0.33, abs=0.05)
    assert offset == pytest.approx(Truth().outside, abs=0.05)
    assert any("a side: chamfer the bed edges" in n for n in profile.provenance.notes)


def test_fattening_both_ways_points_at_the_line_width(coupon):
    notes = fit_profile(coupon(Truth())).provenance.notes
    assert any("line width or flow is the likelier cause" in note for note in notes)


def test_lying_holes_have_a_width_and_a_height(coupon):
    profile = fit_profile(coupon(Truth(feature=0.0, reading=0.001)))
    width = profile.predict(5.0, kind="hole_lying", axis="x")[0]
    height = profile.predict(5.0, kind="hole_lying", axis="z")[0]
    assert float(width - height) == pytest.approx(0.31 - 0.12, abs=0.04)


def test_a_warm_coupon_is_brought_to_20_degrees(coupon):
    sizes = coupon(EXACT)
    warm = fit_profile(sizes, coupon_at="45 °C", settings=PrintSettings(material="PETG"))
    cold = fit_profile(sizes, settings=PrintSettings(material="PETG"))
    shift = warm.coef[0] - cold.coef[0]
    # Nearly all of it: the prior and what no term holds take a little.
    assert shift == pytest.approx(-25 * 6.5e-5, rel=0.15)
    u = [p.value("scale_x")[1] for p in (warm, cold)]
    assert u[0] > u[1]
    assert any("to 20 °C" in note for note in warm.provenance.notes)
    assert any("let it cool" in note for note in cold.provenance.notes)


def test_a_wild_reading_is_named(coupon):
    sizes = coupon(Truth())
    sizes["slot 3"] = Estimate.of("slot 3", sizes["slot 3"].value_mm + 0.4, 0.01)
    fit = fit_coupon(sizes)
    assert any(note.startswith("slot 3, print 1: +0.") for note in fit.profile.provenance.notes)
    assert fit.again[0] == "slot 3"


def test_the_table_of_residuals_adds_up(coupon):
    fit = fit_coupon(coupon(Truth()))
    table = fit.table()
    np.testing.assert_allclose(
        table["printed_mm"] - table["fitted_mm"], table["residual_mm"], atol=1e-12
    )
    assert 0 < fit.loo_rms_mm < 0.1


def test_order_of_features_does_not_matter(coupon):
    sizes = coupon(Truth())
    back = dict(reversed(sizes.items()))
    one, two = fit_profile(sizes), fit_profile(back)
    np.testing.assert_allclose(one.coef, two.coef, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(one.cov, two.cov, rtol=1e-6, atol=1e-14)


def test_shared_zero_error_does_not_average_away():
    """Twenty bars read with one unsure zero are no better known than that zero allows."""
    from dataclasses import replace

    shared = Estimate.of("zero of caliper", 0.0, 0.03)
    free, tied = {}, {}
    for axis in "xy":
        for n in range(10, 60, 5):
            name = f"bar {axis} {n}"
            own = Estimate.of(name, 0.997 * n + 0.1, 0.002)
            free[name] = own
            tied[name] = replace(own + shared, name=name)
    u_free, u_tied = (fit_profile(s).cov[3, 3] ** 0.5 for s in (free, tied))
    assert u_tied > u_free
    assert u_tied**2 - u_free**2 > 0.5 * 0.03**2


def test_all_terms_are_there_whatever_was_measured(coupon):
    assert fit_profile(coupon(Truth())).terms == tuple(TERMS)


def test_a_coupon_without_noise_gives_back_the_printer_within_its_own_doubt(coupon, settings):
    profile = fit_profile(coupon(EXACT), settings=settings)
    truths = {
        "scale_x": EXACT.scale_x,
        "outside_offset": EXACT.outside,
        "peg_offset": EXACT.peg,
        "inside_closing": EXACT.inside,
        "hole_closing": EXACT.hole,
        "hole_curvature": EXACT.hole_curve,
        "lying_height_closing": EXACT.lying_height,
        "height_offset": EXACT.height,
        "bed_flare": EXACT.flare,
        "pocket_closing": EXACT.pocket,
        "roof_sag": EXACT.sag,
    }
    for term, truth in truths.items():
        value, u = profile.value(term)
        assert abs(value - truth) < 2 * u, term


def test_sizes_read_come_out_as_read(coupon, settings):
    truth = Truth(feature=0.0, reading=0.003)
    fit = fit_coupon(coupon(truth), settings=settings)
    table = fit.table()
    assert np.abs(table["residual_mm"]).max() < 0.05
    assert np.sqrt(np.mean(table["residual_mm"] ** 2)) < 0.02


@pytest.mark.parametrize("sizes", [{"hole 3": 2.78}, {"hole 10": 9.7, "peg 10": 10.1}])
def test_a_few_readings_are_fitted_with_what_other_printers_teach(sizes):
    profile = fit_profile(estimates(sizes), settings=PrintSettings(material="PETG"))
    assert "scale_z" in profile.provenance.borrowed
    bare = generic_profile("PETG")
    for name in sizes:
        kind, n = name.split()
        assert profile.U95(float(n), kind=kind) < bare.U95(float(n), kind=kind)
    # Holes tell little of outsides: nobody is given a scale by holes alone.
    before, after = (p.U95(80.0, kind="outside") for p in (bare, profile))
    assert after > 0.85 * before


def test_terms_that_nothing_read_acts_on_are_said(coupon):
    some = {n: e for n, e in coupon(Truth()).items() if n.startswith(("bar", "hole"))}
    profile = fit_profile(some)
    assert {"inside_closing", "peg_offset", "scale_z"} <= set(profile.provenance.borrowed)
    slot = compensate("6 mm", profile, kind="inside")
    assert any("as other printers have it: inside closing" in note for note in slot.notes)
    lying = compensate("6 mm", profile, kind="hole_lying")
    assert any("no lying holes were measured" in note for note in lying.notes)


def test_slicer_compensation_is_fitted_and_hinted_at_never_refused(coupon):
    """Holes drawn larger by the slicer: outsides +0.12, insides +0.06 mm."""
    truth = Truth(outside=0.12, peg=0.12, inside=-0.06, hole=-0.06, hole_curve=0.0)
    profile = fit_profile(coupon(truth))
    notes = " ".join(profile.provenance.notes)
    assert "hole compensation on?" in notes
    expected = float(profile.predict(10.0, kind="hole")[0])
    assert expected == pytest.approx(truth.mean(10.0, "hole"), abs=0.06)


def test_a_coupon_printed_at_103_percent_is_told(coupon):
    sizes = {
        name: Estimate.of(name, 1.03 * one.value_mm, 0.01) for name, one in coupon(Truth()).items()
    }
    notes = fit_profile(sizes).provenance.notes
    assert any("printed at 103 % in the slicer?" in note for note in notes)


@pytest.mark.parametrize("zero_mm", [0.3, -0.3])
def test_a_zero_error_of_0_3_mm_is_told(coupon, zero_mm):
    sizes = {
        name: Estimate.of(name, one.value_mm + zero_mm, 0.01)
        for name, one in coupon(Truth()).items()
    }
    notes = fit_profile(sizes).provenance.notes
    assert any("did the calipers show zero" in note for note in notes)
    assert not any("show zero" in n for n in fit_profile(coupon(Truth())).provenance.notes)


def test_a_second_coupon_makes_it_surer_and_the_notes_say_what_one_cannot(coupon):
    truth = Truth(print_width=0.03, print_scale=0.0003)
    one = fit_profile(coupon(truth, 1))
    four = fit_profile([coupon(truth, seed) for seed in range(1, 5)])
    assert (one.prints, four.prints) == (1, 4)
    assert four.value("outside_offset")[1] < one.value("outside_offset")[1]
    assert any("common practice, not measured" in note for note in one.provenance.notes)


def test_prints_that_differ_much_are_seen_to(coupon):
    calm, wild = (
        fit_profile([coupon(Truth(print_width=sd), seed) for seed in range(1, 7)]).spread
        for sd in (0.004, 0.06)
    )
    assert wild.print_width_mm > 1.3 * calm.print_width_mm


def test_pockets_are_vouched_for_as_far_as_they_were_read(coupon):
    profile = fit_profile(coupon(Truth()))
    assert profile.valid_mm["inside"] == (3.0, 30.0)
    assert profile.valid_mm["pocket"] == (14.0, 50.0)
    assert profile.valid_mm["hole"] == (3.0, 16.0)
    assert not compensate("40 mm", profile, kind="pocket").extrapolated
    assert compensate("60 mm", profile, kind="pocket").extrapolated
    slots = {f"slot {n}": Estimate.of(f"slot {n}", n - 0.1, 0.01) for n in (2, 3, 5, 8, 12)}
    assert compensate("70 mm", fit_profile(slots), kind="pocket").extrapolated
