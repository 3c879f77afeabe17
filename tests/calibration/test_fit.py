import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration import PrintSettings, fit_coupon, fit_profile
from fitkit.calibration.compensation import compensate
from fitkit.calibration.model import TERMS
from fitkit.core.errors import CalibrationError, FaultList
from fitkit.stats.uncertainty import Estimate

EXACT = Truth(feature=0.0, reading=0.0, resolution=1e-9)
SIX_HOLES = {3: 2.78, 4: 3.79, 5: 4.80, 6: 5.81, 8: 7.82, 10: 9.84}


def estimates(sizes, u=0.01):
    return {name: Estimate.of(name, value, u) for name, value in sizes.items()}


def test_a_noiseless_coupon_gives_back_the_printer(coupon, settings):
    profile = fit_profile(coupon(EXACT), settings=settings)
    found = dict(zip(profile.terms, profile.coef, strict=True))
    assert found["scale_x"] == pytest.approx(EXACT.scale_x, abs=1e-7)
    assert found["outside_offset"] == pytest.approx(EXACT.outside, abs=1e-5)
    assert found["hole_curvature"] == pytest.approx(EXACT.hole_curve, abs=1e-4)
    assert found["lying_height_closing"] == pytest.approx(EXACT.lying_height, abs=1e-5)
    assert found["bed_flare"] == pytest.approx(EXACT.flare, abs=1e-5)
    assert found["skew"] == pytest.approx(EXACT.skew, abs=1e-6)


def test_six_holes_make_the_line_that_arithmetic_gives(settings):
    holes = estimates({f"hole {n}": v for n, v in SIX_HOLES.items()})
    profile = fit_profile(holes, settings=settings)
    drawn = np.array(list(SIX_HOLES), float)
    slope, intercept = np.polyfit(drawn, np.array(list(SIX_HOLES.values())), 1)
    assert (slope, intercept) == (pytest.approx(1.0082, abs=1e-4), pytest.approx(-0.243, abs=1e-3))
    printed, _ = profile.predict(drawn, kind="hole")
    np.testing.assert_allclose(printed, slope * drawn + intercept, atol=0.003)
    size = compensate("4.50 mm", profile, kind="hole")
    assert size.drawn_mm == pytest.approx(4.704, abs=0.003)
    assert not size.extrapolated
    far = compensate("20 mm", profile, kind="hole")
    assert far.extrapolated
    assert any("3.00 mm to 10.00 mm" in note for note in far.notes)


@pytest.mark.parametrize(
    "sizes",
    [{"hole 3": 2.78}, {"hole 10": 9.7, "slot 10": 9.8, "peg 10": 10.1, "bar x 10": 10.1}],
)
def test_one_size_cannot_tell_scale_from_offset(sizes):
    with pytest.raises(CalibrationError, match="cannot tell scale from offset"):
        fit_profile(estimates(sizes))


def test_fewer_features_than_terms_are_refused():
    sizes = {"bar x 10": 10.1, "bar x 50": 49.9, "hole 3": 2.7, "hole 8": 7.8}
    with pytest.raises(CalibrationError, match=r"4 features are too few for \d+ terms"):
        fit_profile(estimates(sizes))


def test_a_coupon_in_inch_is_refused(coupon):
    inch = {
        name: Estimate.of(name, one.value_mm / 25.4, 0.001) for name, one in coupon(EXACT).items()
    }
    with pytest.raises(FaultList, match="inch readings entered as mm"):
        fit_profile(inch)


def test_one_reading_in_inch_is_named(coupon):
    mixed = coupon(EXACT)
    mixed["bar x 50"] = Estimate.of("bar x 60", 49.9 / 25.4, 0.01)
    with pytest.raises(FaultList, match=r"bar x 50: reads 1\.96 mm, drawn 50\.00 mm"):
        fit_profile(mixed)


def test_inside_readings_entered_as_outside_are_flagged_by_their_signs(coupon):
    sizes = coupon(Truth())
    for name in list(sizes):
        if name.startswith(("tab", "peg")) or name in ("bar x 10", "bar y 10", "bar x 30"):
            drawn = float(name.split()[-1])
            sizes[name] = Estimate.of(name, 0.997 * drawn - 0.15, 0.01)
    with pytest.raises(FaultList, match=r"outside sizes are smaller than drawn \(sign test"):
        fit_profile(sizes)


def test_a_feature_that_is_not_on_coupons_is_refused():
    with pytest.raises(FaultList, match="'board length' is no coupon feature"):
        fit_profile(estimates({"board length": 60.0, "hole 3": 2.8}))


def test_nothing_to_fit_is_refused():
    with pytest.raises(CalibrationError, match="no coupon readings"):
        fit_profile({})


def test_flare_is_reported_apart_and_the_offset_comes_from_mid_height(coupon):
    sizes = coupon(Truth(feature=0.0, reading=0.001, flare=0.33))
    profile = fit_profile(sizes)
    flare, _ = profile.value("bed_flare")
    offset, _ = profile.value("outside_offset")
    assert flare == pytest.approx(0.33, abs=0.02)
    assert offset == pytest.approx(Truth().outside, abs=0.02)
    assert any("0.16" in n and "chamfer the bed edges" in n for n in profile.provenance.notes)


def test_fattening_both_ways_points_at_the_line_width(coupon):
    notes = fit_profile(coupon(Truth())).provenance.notes
    assert any("line width or flow is the likelier cause" in note for note in notes)


def test_lying_holes_have_a_width_and_a_height(coupon):
    profile = fit_profile(coupon(Truth(feature=0.0, reading=0.001)))
    width = profile.predict(5.0, kind="hole_lying", axis="x")[0]
    height = profile.predict(5.0, kind="hole_lying", axis="z")[0]
    assert float(width - height) == pytest.approx(0.31 - 0.12, abs=0.02)


def test_unmeasured_terms_are_borrowed_and_said(coupon):
    some = {n: e for n, e in coupon(Truth()).items() if n.startswith(("bar", "hole"))}
    profile = fit_profile(some)
    assert {"inside_closing", "peg_offset", "scale_z"} <= set(profile.provenance.borrowed)
    slot = compensate("6 mm", profile, kind="inside")
    assert any("generic instead: inside_closing" in note for note in slot.notes)
    lying = compensate("6 mm", profile, kind="hole_lying")
    assert any("values of upright holes are used" in note for note in lying.notes)


def test_a_warm_coupon_is_brought_to_20_degrees(coupon):
    sizes = coupon(EXACT)
    warm = fit_profile(sizes, coupon_at="45 °C", settings=PrintSettings(material="PETG"))
    cold = fit_profile(sizes, settings=PrintSettings(material="PETG"))
    shift = warm.coef[0] - cold.coef[0]
    assert shift == pytest.approx(-25 * 6.5e-5, abs=2e-5)
    u = [p.value("scale_x")[1] for p in (warm, cold)]
    assert u[0] > u[1]
    assert any("to 20 °C" in note for note in warm.provenance.notes)
    assert any("let it cool" in note for note in cold.provenance.notes)


def test_a_wild_reading_is_named(coupon):
    sizes = coupon(Truth())
    sizes["slot 6"] = Estimate.of("slot 6", sizes["slot 6"].value_mm + 0.4, 0.01)
    notes = fit_profile(sizes).provenance.notes
    assert any(note.startswith("slot 6, print 1: +0.") for note in notes)


def test_leaving_one_out_agrees_with_doing_so(coupon):
    """The formula r / (1 - h) holds for the best model: refit without each row to see."""
    from fitkit.calibration.least_squares import solve

    rng = np.random.default_rng(0)
    x = np.column_stack([np.ones(9), rng.uniform(1, 9, 9)])
    y = rng.normal(size=9)
    whole = solve(x, y)
    for row in range(9):
        kept = np.arange(9) != row
        error = y[row] - x[row] @ solve(x[kept], y[kept]).coef
        assert whole.residual[row] / (1 - whole.leverage[row]) == pytest.approx(error)


def test_two_prints_measure_how_prints_differ(coupon):
    truth = Truth(print_width=0.05, print_scale=0.0005)
    one = fit_profile(coupon(truth, 1))
    four = fit_profile([coupon(truth, seed) for seed in range(1, 5)])
    assert one.spread.prints == 1
    assert four.spread.prints == 4
    assert four.spread.print_df == one.spread.print_df + 3
    assert four.value("outside_offset")[1] < one.value("outside_offset")[1]
    assert any("common practice, not measured" in note for note in one.provenance.notes)


def test_features_off_in_every_print_count_as_lack_of_fit(coupon, settings):
    truth = Truth(feature=0.005)
    prints = [coupon(truth, seed) for seed in (1, 2, 3)]
    fine = fit_coupon(prints, settings=settings)
    for sizes in prints:
        for name in ("hole 4", "slot 6", "peg 8", "bar x 30"):
            sizes[name] = Estimate.of(name, sizes[name].value_mm + 0.06, 0.01)
    bent = fit_coupon(prints, settings=settings)
    assert fine.regression.lack_of_fit_p > 0.01 > bent.regression.lack_of_fit_p
    assert bent.profile.spread.feature_mm > fine.profile.spread.feature_mm


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
    assert u_tied > 0.029
    assert u_free < 0.01


def test_all_terms_are_there_whatever_was_measured(coupon):
    assert fit_profile(coupon(Truth())).terms == tuple(TERMS)


def test_pockets_are_vouched_for_as_far_as_insides_were_read(coupon):
    profile = fit_profile(coupon(Truth()))
    assert profile.valid_mm["inside"] == (3.0, 75.0)
    assert profile.valid_mm["hole"] == (2.5, 16.0)
    assert not compensate("70 mm", profile, kind="inside").extrapolated
    assert compensate("80 mm", profile, kind="inside").extrapolated
    assert compensate("70 mm", profile, kind="hole").extrapolated
    slots = {f"slot {n}": Estimate.of(f"slot {n}", n - 0.1, 0.01) for n in (2, 3, 5, 8, 12)}
    assert compensate("70 mm", fit_profile(slots), kind="inside").extrapolated
