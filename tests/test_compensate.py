from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fitkit.calibration import generic_profile
from fitkit.calibration.facets import chord_for_share, sagitta_mm, sides_for
from fitkit.calibration.model import KINDS, TERMS
from fitkit.compensate import compensate, reachable_heights
from fitkit.errors import CalibrationError, UnitError
from fitkit.stats.estimate import Estimate
from fitkit.units import ureg

PETG = generic_profile("PETG")
FLAT_KINDS = [kind for kind in KINDS if kind != "height"]
LOW = {"scale": -0.03, "skew": 0.0, "hole_curvature": -0.1}
HIGH = {"scale": 0.03, "skew": 0.0, "hole_curvature": 0.6}


@st.composite
def profiles(draw):
    """Any printer whose terms are within a wide reason."""
    coef = []
    for term in TERMS:
        key = "scale" if term.startswith("scale") else term
        coef.append(draw(st.floats(LOW.get(key, -0.3), HIGH.get(key, 0.5))))
    return replace(PETG, coef=np.array(coef), generic=False)


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
    plain = replace(
        PETG, layer_height_mm=0.2, first_layer_mm=0.3, coef=np.zeros(len(TERMS)), generic=False
    )
    size = compensate("2.00 mm", plain, kind="height")
    assert size.drawn_mm == pytest.approx(2.1)
    assert any("1.90 mm or 2.10 mm" in note and "0.10 mm over" in note for note in size.notes)


def test_the_kinds_err_each_its_own_way():
    drawn = {k: compensate("10 mm", PETG, kind=k).drawn_mm for k in ("outside", "hole", "centres")}
    assert drawn["hole"] > drawn["centres"] > 10.0
    assert drawn["centres"] == pytest.approx(10 / 0.996)
    assert drawn["outside"] < drawn["centres"]


def test_a_coat_is_taken_off_outsides_and_added_to_holes():
    coat = Estimate.of("coat", 0.15, 0.03)
    for kind, sign in (("outside", 1), ("peg", 1), ("hole", -1), ("inside", -1)):
        bare = compensate("20 mm", PETG, kind=kind)
        coated = compensate("20 mm", PETG, kind=kind, coated_faces=2, coat=coat)
        assert coated.expected_mm == pytest.approx(20.0, abs=1e-9)
        made, _ = PETG.predict(coated.drawn_mm, kind=kind)
        assert float(made) == pytest.approx(20.0 - sign * 0.30, abs=1e-9)
        assert coated.u_print_mm == pytest.approx(np.hypot(bare.u_print_mm, 0.06), rel=0.01)
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
    fat = replace(PETG, coef=np.where(np.array(list(TERMS)) == "outside_offset", 0.9, PETG.coef))
    with pytest.raises(CalibrationError, match="smaller than this printer's curve goes"):
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
    assert any("16 sides" in note for note in flat.notes)


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
    bench = replace(PETG, coef=coef, generic=False)
    peg, hole = (float(bench.predict(8.0, kind=k)[0]) for k in ("peg", "hole"))
    assert peg - hole == pytest.approx(0.26)
    wanted = {k: compensate(t, bench, kind=k) for k, t in (("peg", "8 mm"), ("hole", "8.2 mm"))}
    assert wanted["hole"].expected_mm - wanted["peg"].expected_mm == pytest.approx(0.2)
