"""What is said of a feature that broke before: the figures keep what they promise."""

import math
import re
from dataclasses import replace

import pytest

from fitkit.checks import Broken, CheckContext, published_material, run_checks
from fitkit.checks.broken import check_broken, features_called
from fitkit.checks.snap import greatest_strain
from fitkit.parts import Body, Boss, Lug, Part, SnapArm, Wall

ARM = SnapArm(
    name="left arm 1", body="tray", length_mm=9.0, thickness_mm=1.6, width_mm=6.0,
    deflection_mm=0.8, at=(0.0, 0.0, 0.0), along=(0.0, 0.0, 1.0), layers_across=True,
)  # fmt: skip
LUG = Lug(
    name="lug 2", body="tray", reach_mm=8.0, width_mm=12.0, thickness_mm=3.0, hole_mm=3.4,
    at=(0.0, 0.0, 0.0),
)  # fmt: skip
BOSS = Boss(
    name="standoff 3", body="tray", outer_mm=7.0, hole_mm=2.5, depth_mm=6.0, screw_mm=3.0,
    at=(0.0, 0.0, 0.0),
)  # fmt: skip
WALL = Wall(name="cup", body="tray", thickness_mm=2.0, at=(0.0, 0.0, 0.0))


def part(**numbers):
    return Part(title="t", template="t", bodies=(), **numbers)


def told(now, *, feature, then=None, material="PETG"):
    one = Broken(feature=feature, stories=("96KPEX9, pulled",), then=(then,) if then else ())
    context = CheckContext(broken=(one,), material=published_material(material))
    (finding,) = check_broken(now, context)
    return finding


def numbers(text):
    return [float(word) for word in re.findall(r"\d+\.\d+", text)]


def test_an_arm_made_as_long_as_told_bends_to_half_the_strain():
    finding = told(part(arms=(ARM,)), feature="left arm 1", then=ARM)
    assert finding.severity == "warn"
    long, was, less, bent, thick, _, kept = numbers(finding.remedy)[:7]
    assert (was, bent) == (9.0, 0.8)
    strain = greatest_strain(9.0, 1.6, 0.8, 1.0)
    assert greatest_strain(long, 1.6, 0.8, 1.0) == pytest.approx(strain / 2, rel=0.02)
    assert greatest_strain(9.0, 1.6, less, 1.0) == pytest.approx(strain / 2)
    # A cantilever's tip force at a stress goes with b h² (Roark, Formulas for Stress and Strain).
    assert (thick / 1.6) ** 2 == pytest.approx(2.0, rel=0.06)
    assert greatest_strain(kept, thick, 0.8, 1.0) == pytest.approx(strain, rel=0.03)


def test_layers_across_an_arm_are_told_with_what_laying_it_down_gives():
    finding = told(part(arms=(ARM,)), feature="left arm 1", then=ARM)
    factor = published_material("PETG").get("layer_factor").low
    assert f"it bears about {1 / factor:.1f} times as much" in finding.remedy
    assert (
        "layers"
        not in told(part(arms=(replace(ARM, layers_across=False),)), feature="left arm 1").remedy
    )


@pytest.mark.parametrize(
    ("kind", "feature", "change"),
    [
        ("arms", ARM, {"length_mm": 13.0}),
        ("arms", ARM, {"layers_across": False}),
        ("lugs", LUG, {"thickness_mm": 4.3}),
        ("bosses", BOSS, {"outer_mm": 9.6, "depth_mm": 12.0}),
        ("walls", WALL, {"thickness_mm": 2.9}),
    ],
)
def test_what_has_been_changed_as_told_is_not_warned_of_again(kind, feature, change):
    same = told(part(**{kind: (feature,)}), feature=feature.name, then=feature)
    assert same.severity == "warn"
    assert "drawn as the one that broke" in same.text
    now = replace(feature, **change)
    changed = told(part(**{kind: (now,)}), feature=feature.name, then=feature)
    assert changed.severity == "note"
    assert changed.value >= 1.35


def test_a_lugs_and_a_walls_thickness_give_twice_the_bending_load():
    for kind, feature in (("lugs", LUG), ("walls", WALL)):
        finding = told(part(**{kind: (feature,)}), feature=feature.name)
        thick, was = numbers(finding.remedy)[:2]
        assert was == feature.thickness_mm
        # Stress in a bent plate goes with 1 / t².
        assert (thick / was) ** 2 == pytest.approx(2.0, rel=0.06)


def test_a_bosss_ring_gets_twice_its_area():
    outer, was, deep, _ = numbers(told(part(bosses=(BOSS,)), feature="standoff 3").remedy)[:4]
    ring = [math.pi / 4 * (d**2 - 2.5**2) for d in (outer, was)]
    assert ring[0] / ring[1] == pytest.approx(2.0, rel=0.05)
    assert deep == 12.0


def test_a_feature_is_known_by_its_name_or_by_words_of_it():
    tray = part(arms=(ARM, replace(ARM, name="board: right arm 1")), lugs=(LUG,))
    assert features_called(tray, "LEFT ARM 1") == (ARM,)
    assert features_called(tray, "left arm") == (ARM,)
    assert [one.name for one in features_called(tray, "arm")] == [
        "left arm 1",
        "board: right arm 1",
    ]
    assert features_called(tray, "handle") == ()


def test_what_no_check_knows_is_said_and_not_guessed():
    finding = told(part(arms=(ARM,)), feature="handle")
    assert finding.severity == "note"
    assert "no check could say what to change" in finding.text
    assert "left arm 1" in finding.text


def test_a_part_of_which_nothing_broke_says_nothing():
    assert not [f for f in run_checks(part(arms=(ARM,)), CheckContext()) if "broke" in f.text]


def test_the_way_to_lay_it_is_found_on_the_mesh():
    """A post that stands with its arm upright: laid on its side the layers run along the arm."""
    from build123d import Box

    from fitkit.flow.built import mesh_part

    body = Body(name="tray", solid=Box(8, 8, 30).solid())
    whole = Part(title="t", template="t", bodies=(body,), arms=(ARM,))
    built = mesh_part(whole)
    one = Broken(feature="left arm", stories=("96KPEX9",), then=(ARM,))
    context = CheckContext(broken=(one,), material=published_material("PETG"), meshes=built.laid)
    (finding,) = check_broken(whole, context)
    assert re.search(r"the side up that now faces [+-][xy]", finding.remedy)
