import math
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import assume, given, strategies as st

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.compensation import CompensatedSize, compensate, reachable_heights
from fitkit.calibration.facets import chord_for_share, sagitta_mm, sides_for
from fitkit.calibration.model import KINDS, TERMS
from fitkit.calibration.prior import Prior
from fitkit.calibration.profile import Provenance
from fitkit.core.errors import CalibrationError, UnitError
from fitkit.core.units import ureg
from fitkit.stats.uncertainty import Estimate

PETG = generic_profile("PETG")
FLAT_KINDS = [kind for kind in KINDS if kind != "height"]
LOW = {"scale": -0.03, "skew": 0.0, "hole_curvature": -0.1, "pocket_closing": -0.1}
HIGH = {"scale": 0.03, "skew": 0.0, "hole_curvature": 0.6, "pocket_closing": 0.1, "wall_bow": 0.1}


def with_terms(coef, **rest):
    """A printer whose terms are known exactly."""
    coef = np.array(coef, dtype=float)
    prior = Prior(mean=coef, cov=np.zeros((len(coef), len(coef))), tail_df=1e9)
    return replace(PETG, prior=prior, generic=False, **rest)


@st.composite
def profiles(draw):
    """Any printer whose terms are within a wide reason."""
    coef = []
    for term in TERMS:
        key = "scale" if term.startswith("scale") else term
        coef.append(draw(st.floats(LOW.get(key, -0.3), HIGH.get(key, 0.5))))
    return with_terms(coef)


def printed(profile, drawn_mm, kind, axis):
    return float(profile.predict(drawn_mm, kind=kind, axis=axis)[0])


@given(
    profile=profiles(),
    target=st.floats(0.8, 300.0),
    kind=st.sampled_from(FLAT_KINDS),
    axis=st.sampled_from(["x", "y", "xy"]),
)
def test_printing_what_was_drawn_gives_the_target(profile, target, kind, axis):
    wanted = Estimate.of("wanted", target, 0.0)
    try:
        size = compensate(wanted, profile, kind=kind, axis=axis)
    except CalibrationError:
        # Only a size below where the curve turns back, or eaten by the offset, may be refused.
        a, b, c = profile.curve(kind, axis)
        b += 0.25 * (kind == "pocket")  # walls that bow may eat up a little more
        assert target < b + 2 * np.sqrt(max(a * c, 0.0)) + 1e-9 or target <= b + 1e-9
        return
    assert printed(profile, size.drawn_mm, kind, axis) == pytest.approx(target, abs=1e-9)
    assert size.expected_mm == pytest.approx(target, abs=1e-9)


@given(profile=profiles(), layers=st.integers(0, 400))
def test_heights_of_whole_layers_come_back(profile, layers):
    drawn = profile.first_layer_mm + layers * profile.layer_height_mm
    target = printed(profile, drawn, "height", "z")
    assume(0.8 <= target <= 300)
    size = compensate(Estimate.of("h", target, 0.0), profile, kind="height")
    assert size.drawn_mm == pytest.approx(drawn, abs=1e-9)
    assert printed(profile, size.drawn_mm, "height", "z") == pytest.approx(target, abs=1e-9)


@given(target=st.floats(0.8, 300.0))
def test_heights_are_within_half_a_layer(target):
    size = compensate(Estimate.of("h", target, 0.0), PETG, kind="height")
    assert abs(size.expected_mm - target) <= 0.5 * PETG.layer_height_mm + 1e-6
    assert size.drawn_mm in reachable_heights(PETG, size.drawn_mm)


@given(
    profile=profiles(),
    first=st.floats(2.0, 100.0),
    more=st.floats(0.01, 50.0),
    kind=st.sampled_from(FLAT_KINDS),
)
def test_a_larger_target_is_drawn_larger(profile, first, more, kind):
    one, two = (
        compensate(Estimate.of("t", t, 0.0), profile, kind=kind) for t in (first, first + more)
    )
    assert two.drawn_mm > one.drawn_mm


def test_a_plate_of_ten_layers_with_a_thick_first_one():
    plain = with_terms(np.zeros(len(TERMS)), layer_height_mm=0.2, first_layer_mm=0.3)
    size = compensate("2.00 mm", plain, kind="height")
    assert size.drawn_mm == pytest.approx(2.1)
    assert any("1.90 mm or 2.10 mm" in note and "0.10 mm over" in note for note in size.notes)


def test_the_kinds_err_each_its_own_way():
    drawn = {k: compensate("10 mm", PETG, kind=k).drawn_mm for k in ("outside", "hole", "centres")}
    assert drawn["hole"] > drawn["centres"] > 10.0
    assert drawn["centres"] == pytest.approx(10 / (1 + PETG.value("scale_x")[0]))
    # Records show outsides a little small, so they are drawn larger; it may be otherwise.
    assert drawn["outside"] == pytest.approx(drawn["centres"], abs=0.15)


def test_a_coat_is_taken_off_outsides_and_added_to_holes():
    coat = Estimate.of("coat", 0.15, 0.03)
    for kind, sign in (("outside", 1), ("peg", 1), ("hole", -1), ("inside", -1)):
        bare = compensate("20 mm", PETG, kind=kind)
        coated = compensate("20 mm", PETG, kind=kind, coated_faces=2, coat=coat)
        assert coated.expected_mm == pytest.approx(20.0, abs=1e-9)
        made, _ = PETG.predict(coated.drawn_mm, kind=kind)
        assert float(made) == pytest.approx(20.0 - sign * 0.30, abs=1e-9)
        assert coated.u_print_mm == pytest.approx(np.hypot(bare.u_print_mm, 0.06), rel=0.02)
        assert any("0.30 mm on 2 faces" in note for note in coated.notes)


def test_a_coat_leaves_centre_distances_alone():
    coat = "0.2 mm"
    size = compensate("30 mm", PETG, kind="centres", coated_faces=2, coat=coat)
    assert size.drawn_mm == compensate("30 mm", PETG, kind="centres").drawn_mm


def test_the_targets_uncertainty_is_carried_and_kept_apart():
    size = compensate(Estimate.of("board", 60.1, 0.04), PETG, kind="inside", name="tray length")
    assert (size.u_target_mm, size.name) == (0.04, "tray length")
    assert size.u_print_mm == compensate("60.1 mm", PETG, kind="inside").u_print_mm


def test_pint_and_inch_are_taken_and_bare_numbers_refused():
    assert compensate(ureg.Quantity(1, "inch"), PETG, kind="inside").target_mm == 25.4
    assert compensate("1 in", PETG, kind="inside").target_mm == 25.4
    with pytest.raises(UnitError, match="no unit"):
        compensate(25.4, PETG, kind="inside")


@pytest.mark.parametrize("faces", [-1, 3])
def test_a_size_has_two_faces(faces):
    with pytest.raises(CalibrationError, match="0, 1 or 2"):
        compensate("5 mm", PETG, kind="outside", coated_faces=faces, coat="0.1 mm")


def test_a_size_all_of_coat_is_refused():
    with pytest.raises(CalibrationError, match="lid: nothing is left to print"):
        compensate("0.5 mm", PETG, kind="outside", coated_faces=2, coat="0.3 mm", name="lid")


def test_a_size_below_the_curve_is_refused():
    fat = with_terms([0.9 * (name == "outside_offset") for name in TERMS])
    with pytest.raises(CalibrationError, match="smaller than the smallest size"):
        compensate("0.8 mm", fat, kind="outside")


def test_generic_is_said_everywhere():
    size = compensate("5 mm", PETG, kind="hole")
    assert "generic" in size.basis
    assert any("generic" in note for note in size.notes)
    assert PETG.generic


def test_extrapolation_is_said_with_the_range():
    size = compensate("250 mm", PETG, kind="outside")
    assert size.extrapolated
    assert any("from 2.00 mm to 100.00 mm" in note for note in size.notes)
    assert not compensate("25 mm", PETG, kind="outside").extrapolated


def test_a_polygon_hole_is_drawn_larger_by_its_flats():
    round_, flat = (compensate("3 mm", PETG, kind="hole", sides=s) for s in (None, 16))
    assert flat.drawn_mm * np.cos(np.pi / 16) == pytest.approx(round_.drawn_mm)
    assert any("16 flat sides" in note for note in flat.notes)


def test_mesh_tolerance_keeps_the_loss_under_its_share():
    tolerance = chord_for_share(0.1, share=0.1)
    diameters = np.geomspace(0.8, 300, 50)
    lost = 2 * sagitta_mm(diameters, sides_for(diameters, tolerance_mm=tolerance))
    assert (lost <= 0.01 + 1e-12).all()
    fewer = 2 * sagitta_mm(diameters, sides_for(diameters, tolerance_mm=tolerance) - 1)
    assert (fewer[diameters > 1] > 0.01).all()


def test_a_drawn_pair_at_size_would_not_go_in():
    """Peg 8.00 prints 8.08 and hole 8.00 prints 7.82: 0.26 mm of interference is foretold."""
    names = list(TERMS)
    coef = np.zeros(len(names))
    coef[names.index("peg_offset")], coef[names.index("hole_closing")] = 0.08, 0.18
    bench = with_terms(coef)
    peg, hole = (float(bench.predict(8.0, kind=k)[0]) for k in ("peg", "hole"))
    assert peg - hole == pytest.approx(0.26)
    wanted = {k: compensate(t, bench, kind=k) for k, t in (("peg", "8 mm"), ("hole", "8.2 mm"))}
    assert wanted["hole"].expected_mm - wanted["peg"].expected_mm == pytest.approx(0.2)


def bench(valid=("outside", "inside", "hole", "peg", "height"), provenance=None, **terms):
    """A measured printer of exact terms, of two prints."""
    return with_terms(
        [terms.get(name, 0.0) for name in TERMS],
        name="bench",
        prints=2,
        valid_mm=MappingProxyType(dict.fromkeys(valid, (5.0, 50.0))),
        provenance=provenance or Provenance(),
        layer_height_mm=0.2,
        first_layer_mm=0.3,
    )


def refused(target, profile=PETG, **how):
    with pytest.raises(CalibrationError) as error:
        compensate(target, profile, **how)
    return str(error.value)


@pytest.mark.parametrize(
    ("message", "target", "profile", "how"),
    [
        ("lid: nothing is left to print: 0.50 mm is wanted, and 0.60 mm of it is coat. Thin the "
         "coat, leave faces uncoated, or make the size larger.",
         "0.5 mm", PETG,
         {"kind": "outside", "coated_faces": 2, "coat": "0.3 mm", "name": "lid"}),
        ("peg: nothing is left to print: 0.60 mm is wanted, and 0.60 mm of it is coat. Thin the "
         "coat, leave faces uncoated, or make the size larger.",
         "0.6 mm", PETG, {"kind": "peg", "coated_faces": 2, "coat": "0.3 mm"}),
        ("hole: a size of -5.00 mm cannot be printed. Give a size above 0 mm.",
         "-5 mm", PETG, {"kind": "hole"}),
        ("3 faces are to be coated, but a size lies between two faces. Give 0, 1 or 2.",
         "5 mm", PETG, {"kind": "outside", "coated_faces": 3, "coat": "0.1 mm"}),
        ("the coat's thickness of -0.10 mm is less than zero. Give 0 mm or more.",
         "5 mm", PETG, {"kind": "outside", "coated_faces": 1, "coat": "-0.1 mm"}),
        ("outside: by this profile the printed size does not grow with the drawn size. Fit the "
         "coupon again; its readings cannot be right.",
         "5 mm", bench(scale_x=-1.0, scale_y=-1.0), {"kind": "outside"}),
        # A hole that closes by 0.2 mm and by 0.04 mm² over its size opens too far below 0.2 mm.
        ("bore: 0.10 mm is smaller than the smallest size that this printer makes, 0.20 mm. Make "
         "it larger, or drill it after printing.",
         "0.1 mm", bench(hole_closing=0.2, hole_curvature=-0.04), {"kind": "hole", "name": "bore"}),
        ("outside: 0.30 mm is smaller than the smallest size that this printer makes, 0.30 mm. "
         "Make it larger, or drill it after printing.",
         "0.3 mm", bench(outside_offset=0.3), {"kind": "outside"}),
    ],
)  # fmt: skip
def test_a_refusal_reads(message, target, profile, how):
    assert refused(target, profile, **how) == message


def test_the_least_size_is_where_the_curve_turns():
    """n - 0.2 + 0.04/n has its least, 0.2 mm, at n = 0.2 (of a sum of n and c/n: 2 sqrt c)."""
    closing = bench(hole_closing=0.2, hole_curvature=-0.04)
    size = compensate("0.2001 mm", closing, kind="hole")
    assert size.drawn_mm == pytest.approx(0.2, abs=0.01)
    assert size.drawn_mm > 0.2
    assert "makes, 0.20 mm" in refused("0.1999 mm", closing, kind="hole")


@pytest.mark.parametrize("target", ["300 mm", "1 mm", "0.1 mm", "0.01 mm"])
def test_a_hole_that_closes_more_the_smaller_it_is_has_its_positive_root(target):
    n = compensate(target, bench(hole_closing=0.2, hole_curvature=0.13), kind="hole").drawn_mm
    assert n > 0
    assert n - 0.13 / n - 0.2 == pytest.approx(float(target.split()[0]), abs=1e-12)


def test_a_wanted_size_below_the_offset_is_still_drawn_where_the_curve_falls_to_nought():
    """n + 0.5 - 0.3/n = 0.2: the half sum is negative, the root positive."""
    n = compensate("0.2 mm", bench(hole_closing=-0.5, hole_curvature=0.3), kind="hole").drawn_mm
    assert n == pytest.approx((-0.3 + math.sqrt(0.09 + 1.2)) / 2)


def test_a_size_in_one_line():
    size = compensate("20 mm", bench(outside_offset=0.1), kind="outside", name="lid")
    assert str(size) == (
        "lid: wanted 20.000 mm, draw 19.900 mm, expect 20.00 mm ± 0.11 mm (95 %), by profile "
        "bench, 2 prints"
    )
    assert str(compensate("20 mm", bench(), kind="outside")).startswith("outside: wanted 20.000 mm")
    assert str(compensate("4 mm", bench(), kind="hole_lying")).startswith("hole lying: wanted")


def test_a_line_says_that_it_goes_beyond_what_was_measured():
    beyond = compensate("60 mm", bench(), kind="outside")
    assert beyond.extrapolated
    assert str(beyond).endswith(", beyond the coupon's sizes")
    assert "beyond" not in str(compensate("50 mm", bench(), kind="outside"))


def test_the_interval_owns_what_no_term_holds_and_how_prints_differ():
    """Of terms known exactly: discrepancy 0.02, peculiarity 0.012, scatter 0.015, width 0.02 mm."""
    bare = compensate("20 mm", bench(), kind="outside")
    known = bench().known
    factors = [known.weights @ of for of in (known.discrepancy, known.between, known.scatter)]
    # The factors are not known, so the means of their squares are above 1.
    assert min(factors) > 1.0
    # Bend at 20 mm is 0.03 mm x 0.2² = 0.0012 mm, the print's own scale 0.0003 x 20 mm.
    parts = (0.02**2 + 0.0012**2, 0.02**2 + 0.006**2, 0.012**2 + 0.015**2)
    whole = sum(factor * part for factor, part in zip(factors, parts, strict=True))
    assert bare.u_print_mm == pytest.approx(math.sqrt(whole), rel=2e-3)
    assert 1.9 < bare.U95_mm / bare.u_print_mm < 2.1


@pytest.mark.parametrize(
    ("kind", "faces", "coat", "note"),
    [
        ("outside", 1, Estimate.of("c", 0.1, 0.02), "coat adds 0.10 mm on 1 face"),
        ("peg", 2, Estimate.of("c", 0.1, 0.02), "coat adds 0.20 mm on 2 faces"),
        ("hole", 2, "0.1 mm",
         "coat takes 0.20 mm on 2 faces; its spread was not given and counts as zero"),
    ],
)  # fmt: skip
def test_a_coat_says_what_it_adds_or_takes(kind, faces, coat, note):
    size = compensate("20 mm", bench(), kind=kind, coated_faces=faces, coat=coat)
    assert size.notes == (note,)
    sign = -1 if kind == "hole" else 1
    assert size.drawn_mm == pytest.approx(20 - sign * faces * 0.1)
    assert size.expected_mm == pytest.approx(20.0)


def test_a_coat_of_no_thickness_or_on_no_face_changes_nothing():
    bare = compensate("20 mm", bench(), kind="outside")
    for how in ({"coated_faces": 0, "coat": "0.1 mm"}, {"coated_faces": 2}):
        assert compensate("20 mm", bench(), kind="outside", **how) == bare
    nil = compensate("20 mm", bench(), kind="outside", coated_faces=1, coat="0 mm")
    assert nil.drawn_mm == bare.drawn_mm


@pytest.mark.parametrize("kind", ["hole", "hole_lying", "peg"])
def test_what_is_drawn_as_a_polygon_is_drawn_over_its_corners(kind):
    """A hexagon of 10 mm over the flats is 11.55 mm over the corners."""
    size = compensate("10 mm", bench(valid=KINDS), kind=kind, axis="z", sides=6)
    assert size.drawn_mm == pytest.approx(20 / math.sqrt(3))
    assert size.expected_mm == pytest.approx(10.0)
    assert (
        size.notes[0]
        == "drawn with 6 flat sides: 1.55 mm smaller across the flats than across the corners"
    )


def test_sizes_that_are_no_circles_have_no_corners():
    size = compensate("10 mm", bench(), kind="outside", sides=6)
    assert (size.drawn_mm, size.notes) == (pytest.approx(10.0), ())


@pytest.mark.parametrize("how", [{"kind": "height", "axis": "x"}, {"kind": "outside", "axis": "z"}])
@pytest.mark.parametrize(
    ("target", "drawn", "note"),
    [
        ("2.1 mm", 2.1, None),
        ("2.15 mm", 2.1, "whole layers reach 2.10 mm or 2.30 mm; 2.10 mm drawn, which should come "
         "out 0.05 mm under the wanted 2.15 mm"),
        ("2.25 mm", 2.3, "whole layers reach 2.10 mm or 2.30 mm; 2.30 mm drawn, which should come "
         "out 0.05 mm over the wanted 2.25 mm"),
        ("2.2 mm", 2.3, "whole layers reach 2.10 mm or 2.30 mm; 2.30 mm drawn, which should come "
         "out 0.10 mm over the wanted 2.20 mm"),
        ("0.1 mm", 0.3, "whole layers reach 0.30 mm or 0.50 mm; 0.30 mm drawn, which should come "
         "out 0.20 mm over the wanted 0.10 mm"),
    ],
)  # fmt: skip
def test_heights_are_whole_layers_over_a_thicker_first(how, target, drawn, note):
    size = compensate(target, bench(), **how)
    assert (size.axis, size.drawn_mm) == ("z", pytest.approx(drawn))
    assert [text for text in size.notes if "layers" in text] == ([note] if note else [])


def test_heights_reached_but_for_rounding_count_as_reached():
    assert reachable_heights(bench(), 0.3 + 7 * 0.2) == pytest.approx((1.7, 1.9))
    assert reachable_heights(bench(), 1.6999999999999) == pytest.approx((1.7, 1.9))
    assert reachable_heights(bench(), 1.69999) == pytest.approx((1.5, 1.7))
    assert reachable_heights(bench(), 0.0) == pytest.approx((0.3, 0.5))


def test_the_axis_decides_which_growth_counts():
    grows = bench(scale_x=0.01, scale_y=0.03, scale_z=0.05)
    sizes = {axis: compensate("10 mm", grows, kind="inside", axis=axis) for axis in "xy"}
    sizes["xy"] = compensate("10 mm", grows, kind="inside")
    for axis, growth in (("x", 1.01), ("y", 1.03), ("xy", 1.02)):
        assert sizes[axis].drawn_mm == pytest.approx(10 / growth)
        assert sizes[axis].axis == axis


@pytest.mark.parametrize(
    ("target", "note"),
    [
        ("5 mm", None),
        ("50 mm", None),
        ("4.99 mm", "extrapolated: the coupon had outside sizes from 5.00 mm to 50.00 mm"),
        ("50.01 mm", "extrapolated: the coupon had outside sizes from 5.00 mm to 50.00 mm"),
    ],
)
def test_sizes_beyond_the_coupon_are_extrapolated(target, note):
    size = compensate(target, bench(), kind="outside")
    assert size.extrapolated is (note is not None)
    assert size.notes == ((note,) if note else ())


def test_a_kind_that_the_coupon_had_not_is_extrapolated():
    size = compensate("20 mm", bench(valid=("outside",)), kind="peg")
    assert size.extrapolated
    assert size.notes == ("extrapolated: the coupon had no peg sizes",)
    # Distances of centres hang on the scale alone, which the bars show.
    assert not compensate("20 mm", bench(valid=("outside",)), kind="centres").extrapolated


def test_lying_holes_that_nobody_measured_are_expected_as_other_printers_make_them():
    size = compensate("20 mm", bench(lying_width_closing=0.2), kind="hole_lying")
    assert size.drawn_mm == pytest.approx(20.2)
    assert size.extrapolated
    assert size.notes[0] == (
        "no lying holes were measured on this printer: expected is what others do; a lying hole "
        "sags at its top, so draw a teardrop or a flat top"
    )


def test_the_width_of_a_lying_hole_tells_its_height():
    lying = bench(valid=("hole_lying",), lying_width_closing=0.1, lying_height_closing=0.4)
    size = compensate("20 mm", lying, kind="hole_lying")
    assert size.drawn_mm == pytest.approx(20.1)
    assert size.notes == (
        "width of a lying hole; its height should come out 19.70 mm: draw a teardrop or a flat "
        "top, or compensate along z",
    )
    assert compensate("20 mm", lying, kind="hole_lying", axis="z").notes == ()
    assert compensate("20 mm", lying, kind="hole_lying", axis="z").drawn_mm == pytest.approx(20.4)


def test_an_aged_or_borrowed_profile_is_told_for_the_terms_that_act():
    aged = bench(
        provenance=Provenance(
            borrowed=("scale_z", "outside_offset", "peg_offset"),
            notes=("made with another nozzle: 0.6 mm", "two prints were left out"),
            aged=("made with another nozzle: 0.6 mm",),
        )
    )
    assert compensate("20 mm", aged, kind="outside").notes == (
        "made with another nozzle: 0.6 mm",
        "not measured on this printer, taken as other printers have it: outside offset",
    )
    assert compensate("20 mm", aged, kind="hole").notes == ("made with another nozzle: 0.6 mm",)


def test_a_generic_profile_says_so_once():
    size = compensate("20 mm", PETG, kind="outside")
    assert size.notes == ("generic profile for PETG: print and measure a coupon",)


def test_a_generic_profile_too_tells_that_lying_holes_sag():
    """Most lying holes are drawn before any coupon is."""
    size = compensate("5 mm", PETG, kind="hole_lying")
    assert size.notes[0].startswith("generic profile for PETG")
    assert size.notes[1].startswith("width of a lying hole; its height should come out 4.8")
    assert len(compensate("5 mm", PETG, kind="hole_lying", axis="z").notes) == 1


def test_the_parts_of_a_result():
    target = Estimate.of("board", 20.0, 0.04)
    size = compensate(target, bench(inside_closing=0.1), kind="inside", axis="x", name="tray")
    assert size == CompensatedSize(
        name="tray", kind="inside", axis="x", target_mm=20.0, u_target_mm=0.04,
        drawn_mm=size.drawn_mm, expected_mm=size.expected_mm, u_print_mm=size.u_print_mm,
        df=size.df, U95_mm=size.U95_mm, extrapolated=False, basis="profile bench, 2 prints",
        notes=(),
    )  # fmt: skip
    assert (size.drawn_mm, size.expected_mm) == pytest.approx((20.1, 20.0))
    assert compensate("20 mm", bench(), kind="inside").u_target_mm == 0.0


@pytest.mark.parametrize(
    ("kind", "axis", "drawn"),
    [("inside", "x", 30.0), ("hole", "xy", 3.0), ("outside", "y", 60.0), ("hole_lying", "x", 8.0)],
)
def test_the_drawn_size_is_expected_to_come_out_as_wanted_with_what_was_learned(kind, axis, drawn):
    expected = float(PETG.predict(drawn, kind=kind, axis=axis)[0])
    found = MeasuredSize(
        kind=kind,
        axis=axis,
        drawn_mm=drawn,
        measured_mm=expected + 0.09,
        u_measured_mm=0.02,
        print_code="K7M3PXA",
        feature="this one",
    )
    learned = learn_sizes(PETG, [found])
    plain = compensate(f"{drawn} mm", PETG, kind=kind, axis=axis)
    size = compensate(
        f"{drawn} mm", PETG, kind=kind, axis=axis, learned=learned, feature="this one"
    )
    assert size.expected_mm == pytest.approx(drawn, abs=1e-8)
    assert -0.1 < size.drawn_mm - plain.drawn_mm < -0.04
    assert "K7M3PXA" in " ".join(size.notes)
    coated = compensate(
        f"{drawn} mm", PETG, kind=kind, axis=axis, learned=learned, coat="0.1 mm", coated_faces=2
    )
    assert coated.expected_mm == pytest.approx(drawn, abs=1e-8)


def test_heights_choose_the_layer_with_what_was_learned():
    found = MeasuredSize(
        kind="height",
        axis="z",
        drawn_mm=10.0,
        measured_mm=float(PETG.predict(10.0, kind="height")[0]) + 0.19,
        u_measured_mm=0.02,
        print_code="K7M3PXA",
    )
    plain = compensate("9.97 mm", PETG, kind="height")
    size = compensate("9.97 mm", PETG, kind="height", learned=learn_sizes(PETG, [found]))
    assert size.drawn_mm == pytest.approx(plain.drawn_mm - PETG.layer_height_mm)
    assert size.expected_mm > plain.expected_mm - PETG.layer_height_mm


def test_a_size_kept_is_drawn_as_told_and_expected_by_the_profile():
    size = compensate("30 mm", PETG, kind="inside", drawn_mm=30.4)
    assert size.drawn_mm == 30.4
    assert size.expected_mm == pytest.approx(float(PETG.predict(30.4, kind="inside")[0]))
    assert size.target_mm == 30.0


def test_an_opening_in_a_wall_is_whole_layers_high_and_owns_a_layer_where_its_floor_is_not():
    printer = bench(roof_sag=0.1)  # first layer 0.3 mm, layers of 0.2 mm
    on = compensate("4.02 mm", printer, kind="pocket", axis="z", floor_mm=2.3)
    assert on.drawn_mm == pytest.approx(4.2)
    assert on.expected_mm == pytest.approx(4.1)
    assert any("whole layers reach 4.00 mm or 4.20 mm" in note for note in on.notes)
    between = compensate("4.02 mm", printer, kind="pocket", axis="z", floor_mm=2.4)
    unknown = compensate("4.02 mm", printer, kind="pocket", axis="z")
    step = 0.2 * math.sqrt(1.3 / 12.0)
    for free in (between, unknown):
        assert free.u_print_mm == pytest.approx(math.hypot(on.u_print_mm, step), rel=1e-6)
        assert any("between layers" in note for note in free.notes)


def test_the_flat_of_a_d_shaped_bore_is_half_round_and_half_flat():
    half = bench(hole_closing=0.3, hole_curvature=0.6, inside_closing=0.1)
    size = compensate("5 mm", half, kind="d_bore")
    n = size.drawn_mm
    assert n - 0.5 * (0.3 + 0.6 / n) - 0.5 * 0.1 == pytest.approx(5.0)


def test_longer_walls_bow_more_and_the_pocket_is_drawn_for_it():
    bows = bench(wall_bow=0.1)
    short, long = (
        compensate("20 mm", bows, kind="pocket", wall_mm=wall).drawn_mm for wall in (10.0, 50.0)
    )
    assert short == pytest.approx(20.0 + 0.1 * 0.04)
    assert long == pytest.approx(20.1)
