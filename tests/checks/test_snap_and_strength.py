"""Arms, lugs, bosses and walls beyond their stops."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings, strategies as st

from fitkit.checks import HANDLING, Use, published_material
from fitkit.checks.snap import check_snap, root_strain, tip_coefficient, wedge_force_n
from fitkit.checks.strength import check_strength, handling_load
from fitkit.parts.contract import Boss, Flat, Lug, SnapArm, Wall
from tests.checks.gallery import box, context, part

PETG = published_material("PETG")


def snap(**values: object):
    sizes = {"length_mm": 20.0, "thickness_mm": 2.0, "width_mm": 5.0, "deflection_mm": 1.0}
    made = SnapArm(name="arm", body="case", at=(0.0, 0.0, 0.0), **(sizes | values))
    return list(check_snap(part(arms=(made,)), context(material=PETG)))


def test_field_case_f2_in_numbers() -> None:
    assert root_strain(6.0, 2.0, 1.0, 1.0) == pytest.approx(0.0833, abs=5e-5)
    assert root_strain(14.0, 2.0, 1.0, 1.0) == pytest.approx(0.0153, abs=5e-5)
    strain = snap(length_mm=6.0, repeated=False)[0]
    assert strain.value == pytest.approx(8.33, abs=0.01)
    assert strain.limit == 2.3
    assert "strength over modulus" in strain.basis
    assert "12.0 mm long" in strain.remedy  # 1.5 h y / 2.1 % = 142.9 mm², 11.95 mm


@pytest.mark.parametrize(
    ("values", "limit"),
    [
        ({"repeated": False}, 2.3),
        ({"repeated": True}, 2.3 * 0.8),
        ({"repeated": False, "layers_across": True}, 2.3 * 0.7),
        ({"repeated": True, "layers_across": True}, 2.3 * 0.8 * 0.7),
    ],
)
def test_permissible_strain_is_knocked_down(values, limit: float) -> None:
    strain = snap(length_mm=6.0, **values)[0]
    assert strain.limit == pytest.approx(limit)
    assert ("lying down, or as a piece of its own" in strain.remedy) == values.get(
        "layers_across", False
    )


def test_a_sharp_tapered_arm_is_judged_where_it_bends_most() -> None:
    """Integrated apart from this code: 1.33 times the root's strain at a taper of 1/4."""
    even, slim = snap(taper=0.5)[0], snap(taper=0.25)[0]
    root = 100 * root_strain(20.0, 2.0, 1.0, 0.25)
    assert even.value == pytest.approx(100 * root_strain(20.0, 2.0, 1.0, 0.5))
    assert slim.value == pytest.approx(1.333 * root, rel=1e-3)
    assert "6.7 mm from its tip" in slim.text


def test_a_sharp_root_counts_and_its_remedy_passes() -> None:
    smooth, sharp = snap(length_mm=12.0)[0], snap(length_mm=12.0, root_radius_mm=0.0)[0]
    assert sharp.value > 1.8 * smooth.value
    assert "in the corner at its root" in sharp.text
    assert "Round the corner" in sharp.remedy
    longer = float(re.search(r"Make it ([\d.]+) mm long", sharp.remedy)[1])
    thinner = float(re.search(r"or ([\d.]+) mm thick", sharp.remedy)[1])
    assert snap(length_mm=longer, root_radius_mm=0.0)[0].severity == "note"
    assert snap(length_mm=12.0, thickness_mm=thinner, root_radius_mm=0.0)[0].severity == "note"


@given(st.floats(3, 30), st.floats(0.8, 4), st.floats(0.2, 1.5), st.floats(0.1, 1.0))
def test_what_an_arm_is_advised_passes(length, thickness, deflection, taper) -> None:
    values = {"thickness_mm": thickness, "deflection_mm": deflection, "taper": taper}
    found = snap(length_mm=length, **values)[0]
    if found.severity == "note":
        return
    longer = float(re.search(r"Make it ([\d.]+) mm long", found.remedy)[1])
    thinner = float(re.search(r"or ([\d.]+) mm thick", found.remedy)[1])
    assert snap(length_mm=longer, **values)[0].severity == "note"
    assert snap(length_mm=length, **(values | {"thickness_mm": thinner}))[0].severity == "note"


def test_how_long_an_arm_lasts_is_said_to_be_unknown() -> None:
    assert "How many closings it lasts is not known" in snap()[0].text
    assert "closings" not in snap(repeated=False)[0].text


def test_forces_come_as_a_range_and_a_locking_ramp_is_said() -> None:
    strain, forces = snap(release_angle_deg=90.0)
    assert strain.severity == "note"
    assert strain.value == pytest.approx(0.75)
    assert forces.text.startswith("estimate for arm: to close ")
    assert "it locks until the arm is lifted" in forces.text


def test_an_arm_of_another_section_is_judged_by_the_rectangle_that_bends_alike() -> None:
    plain = snap(thickness_mm=4.0, width_mm=3.0)
    alike = {"bending_thickness_mm": 4.0, "bending_width_mm": 3.0}
    curved = snap(thickness_mm=1.5, width_mm=9.0, **alike)
    assert curved[0].value == pytest.approx(1.5)  # 1.5 h y / L² = 1.5 * 4 / 400
    assert "strain where it bends most" in curved[0].text
    assert curved[1] == plain[1]
    # What to change is told of the arm itself, not of its rectangle.
    hard = snap(length_mm=6.0, thickness_mm=1.5, **alike)[0]
    assert hard.remedy == "Make it longer, thinner or narrower, or let it bend less."


def test_a_short_arm_is_said_to_read_high() -> None:
    assert (
        "reads high" in snap(length_mm=9.0)[-1].text or "read high" in snap(length_mm=9.0)[-1].text
    )
    assert "read high" not in snap(length_mm=20.0)[-1].text


def test_without_material_it_says_so() -> None:
    arm = SnapArm(
        name="arm",
        body="case",
        length_mm=9,
        thickness_mm=1,
        width_mm=5,
        deflection_mm=1,
        at=(0, 0, 0),
    )
    for check, features in (
        (check_snap, {"arms": (arm,)}),
        (check_strength, {"walls": (Wall(name="w", body="case", thickness_mm=2, at=(0, 0, 0)),)}),
    ):
        (found,) = check(part(**features), context(box(9, 9, 9)))
        assert found.severity == "note"
        assert found.text == "not run, because no material is named."


@given(st.floats(0.05, 1.0), st.floats(0.05, 1.0))
def test_a_more_tapered_arm_is_less_strained(first: float, second: float) -> None:
    slim, stout = sorted((first, second))
    assert tip_coefficient(slim) >= tip_coefficient(stout)
    assert root_strain(10, 2, 1, slim) <= root_strain(10, 2, 1, stout)


@given(st.floats(0.0, 1.0), st.floats(0.0, 89.0))
def test_pushing_over_a_ramp_is_never_easier_than_sliding(friction: float, angle: float) -> None:
    assert wedge_force_n(10.0, friction, angle) >= 10.0 * friction


def test_taper_out_of_range_is_refused() -> None:
    with pytest.raises(ValueError, match="taper 0 is not above 0"):
        tip_coefficient(0.0)


def test_handling_classes_rise() -> None:
    loads = [handling_load(name).load_n * handling_load(name).safety for name in HANDLING]
    assert loads == sorted(loads)
    assert len(set(loads)) == 4


def lug_finding(handling: str, **values: object):
    ear = Lug(
        name="ear",
        body="case",
        reach_mm=8,
        width_mm=12,
        thickness_mm=4,
        hole_mm=4,
        at=(0, 0, 0),
        **values,
    )
    setting = context(box(30, 30, 20), material=PETG, use=Use(handling=handling))
    return next(f for f in check_strength(part(lugs=(ear,)), setting) if "root" in f.text)


def test_a_lug_across_the_layers_bears_the_knocked_down_load() -> None:
    along, across = lug_finding("rough hands"), lug_finding("rough hands", layers_across=True)
    assert across.value == pytest.approx(0.4 * along.value)
    # 35 MPa, 12 x 4² / 6 = 32 mm³, 8 mm: 140 N.
    assert along.value == pytest.approx(140.0)
    assert along.text.startswith("estimate: ")


def test_the_weakest_feature_is_named_even_if_all_hold() -> None:
    found = lug_finding("decor only")
    assert found.severity == "note"
    assert found.value == pytest.approx(140.0)


@pytest.mark.parametrize(("handling", "severity"), [("touched", "note"), ("rough hands", "warn")])
def test_the_public_should_not_pull_at_it(handling: str, severity: str) -> None:
    wall = Wall(name="side", body="case", thickness_mm=9, span_mm=26, at=(0, 0, 0))
    setting = context(box(30, 30, 20), material=PETG, use=Use(handling=handling))
    found = [f for f in check_strength(part(walls=(wall,)), setting) if "public" in f.text]
    assert [f.severity for f in found] == [severity]


def test_infinity_is_never_printed() -> None:
    for friction_angle in (20.0, 45.0, 60.0, 75.0, 90.0):
        for item in snap(release_angle_deg=friction_angle, lead_angle_deg=friction_angle):
            assert "inf" not in item.text
            assert item.value is None or not math.isnan(item.value)


def test_a_wall_that_nothing_is_said_of_is_said_to_be_left_out() -> None:
    rim = Wall(name="rim", body="case", thickness_mm=0.9, at=(0, 0, 0))
    found = list(check_strength(part(walls=(rim,)), context(box(30, 30, 20), material=PETG)))
    assert [f.severity for f in found if "rim" in f.text] == ["note"]
    assert any(f.text.startswith("not run for rim, because the part says of none") for f in found)


HELD = ("joined", "joined", "joined", "simple")
OPEN = ("joined", "joined", "joined", "free")


def wall_findings(thickness: float, flat: Flat, handling: str = "touched"):
    wall = Wall(name="side", body="case", thickness_mm=thickness, at=(0, 0, 0), flat=flat)
    setting = context(box(30, 30, 20), material=PETG, use=Use(handling=handling))
    return [f for f in check_strength(part(walls=(wall,)), setting) if f.unit == "N"]


def test_a_tray_is_judged_with_its_lid_off_as_well() -> None:
    """Plate elements gave 35 N at the foot with the lid off, where three edges are clamped."""
    tall = Flat(along_mm=68.8, across_mm=17.2, held=HELD, layers="across it", open_held=OPEN)
    off, on = wall_findings(2.4, tall)
    assert (off.severity, on.severity) == ("warn", "note")
    assert off.value == pytest.approx(35.0, abs=1.0)
    assert "with its lid off" in off.text
    assert "bending across its layers" in off.text
    assert on.value > 60


def test_a_lid_off_never_stops_but_a_closed_wall_does() -> None:
    thin = Flat(along_mm=68.8, across_mm=17.2, held=HELD, layers="across it", open_held=OPEN)
    on, off = sorted(wall_findings(0.9, thin), key=lambda f: "off" in f.text)
    assert (on.severity, off.severity) == ("stop", "warn")


def test_a_lying_plate_bends_along_its_layers() -> None:
    """A lid of 69 x 47 x 2 mm: plate elements gave a moment of 0.24, so 35 MPa at 98 N."""
    simple = ("simple", "simple", "simple", "simple")
    (lies,) = wall_findings(2.0, Flat(along_mm=65.0, across_mm=47.0, held=simple))
    assert lies.severity == "note"
    assert lies.value == pytest.approx(35 * 4 / 6 / 0.2393, rel=0.03)
    (stands,) = wall_findings(
        2.0, Flat(along_mm=65.0, across_mm=47.0, held=simple, layers="across it")
    )
    assert stands.value == pytest.approx(0.4 * lies.value, rel=0.02)


def test_a_floor_that_stands_on_something_is_not_poked() -> None:
    simple = ("simple", "simple", "simple", "simple")
    assert wall_findings(0.9, Flat(along_mm=160, across_mm=100, held=simple, backed=True)) == []


@given(st.floats(0.8, 3.0), st.floats(15, 200), st.floats(13, 120), st.booleans(), st.booleans())
@settings(max_examples=12, deadline=None)
def test_what_a_wall_is_advised_passes(thickness, along, across, stands, lid) -> None:
    """Read the thickness out of the remedy, build it so, and it holds."""
    flat = Flat(
        along_mm=along,
        across_mm=across,
        held=HELD,
        layers="across it" if stands else "in its plane",
        open_held=OPEN if lid else None,
    )
    bad = [f for f in wall_findings(thickness, flat) if f.severity != "note"]
    for advice in (re.search(r"Make it ([\d.]+) mm thick", f.remedy) for f in bad):
        assert advice is not None
    if bad:
        thicker = max(float(re.search(r"Make it ([\d.]+)", f.remedy)[1]) for f in bad)
        assert all(f.severity == "note" for f in wall_findings(thicker, flat))


def rib_numbers(remedy: str) -> tuple[float, float]:
    wide, out = re.search(r"([\d.]+) mm wide and standing out ([\d.]+) mm", remedy).groups()
    return float(wide), float(out)


def test_ribs_and_ledges_are_offered_where_they_take_less_plastic() -> None:
    tall = Flat(along_mm=60, across_mm=40, held=HELD, layers="across it")
    (found,) = wall_findings(1.6, tall)
    wide, out = rib_numbers(found.remedy)
    count = int(re.search(r"give it (\d+) ribs", found.remedy)[1])
    thick = float(re.search(r"Make it ([\d.]+)", found.remedy)[1])
    assert count * wide * out * 40 < (thick - 1.6) * 60 * 40
    # An upright rib over 40 mm under 60 N: its stress by hand, against 14 MPa across the layers.
    assert 60 * 40 / 4 / (wide * (1.6 + out) ** 2 / 6) <= 14.0
    between = replace(tall, along_mm=60 / (count + 1), held=("simple",) * 4)
    assert wall_findings(1.6, between)[0].severity == "note"

    low = Flat(along_mm=68, across_mm=30, held=HELD, layers="across it", open_held=OPEN)
    off = next(f for f in wall_findings(2.4, low) if "lid off" in f.text)
    wide, out = rib_numbers(off.remedy)
    assert "a ledge" in off.remedy
    assert 60 * 68 / 4 / (wide * (2.4 + out) ** 2 / 6) <= 35.0


def test_a_rib_that_takes_more_plastic_than_thickness_is_not_offered() -> None:
    simple = ("simple", "simple", "simple", "simple")
    (found,) = wall_findings(2.4, Flat(along_mm=150, across_mm=40, held=simple), "handled")
    assert found.remedy == "Make it 3.2 mm thick."


def boss_finding(word: str, **values: object):
    sizes = {"outer_mm": 9.0, "hole_mm": 2.6, "depth_mm": 8.0, "screw_mm": 3.0}
    post = Boss(name="post", body="case", at=(0, 0, 0), **(sizes | values))
    setting = context(box(30, 30, 20), material=PETG, use=Use(handling="rough hands"))
    return next(f for f in check_strength(part(bosses=(post,)), setting) if word in f.text)


def test_threads_and_inserts_pull_out_by_the_weaker_direction() -> None:
    """Shear on an upright cylinder slides layers on each other: 0.4 of 35 MPa over root three."""
    thread = boss_finding("thread")
    assert thread.value == pytest.approx(math.pi * 3 * 8 / 2 * 14 / math.sqrt(3), rel=1e-6)
    insert = boss_finding("insert", insert_mm=4.0)
    assert insert.value == pytest.approx(thread.value * 4 / 3)
    deep = float(re.search(r"hold ([\d.]+) mm deep", thread.remedy)[1])
    assert boss_finding("thread", depth_mm=deep).severity == "note"


def test_arms_that_are_alike_are_told_once_at_all_their_places():
    from fitkit.checks import CheckContext, published_material
    from fitkit.checks.snap import check_snap
    from fitkit.parts.contract import Part, SnapArm

    arm = SnapArm(
        name="arm 1", body="tray", length_mm=14.0, thickness_mm=1.6, width_mm=5.0,
        deflection_mm=0.8, at=(1.0, 0.0, 0.0),
    )  # fmt: skip
    twin = replace(arm, name="arm 2", at=(2.0, 0.0, 0.0))
    other = replace(arm, name="arm 3", length_mm=9.0)
    part = Part(title="tray", template="t", bodies=(), arms=(arm, twin, other))
    findings = list(check_snap(part, CheckContext(material=published_material("PETG"))))
    told = [f for f in findings if "strain at its root" in f.text]
    assert [f.text.split(" bends")[0] for f in told] == ["arm 1 (and 1 like it)", "arm 3"]
    assert told[0].at == ((1.0, 0.0, 0.0), (2.0, 0.0, 0.0))
