"""The same shortfall is a note, a warning or a stop by what the part is for."""

from __future__ import annotations

import pytest

from fitkit.checks import Use, published_material
from fitkit.checks.strength import check_strength
from fitkit.parts.contract import Boss, Flat, Lug, Wall
from tests.checks.gallery import box, context, part

PETG = published_material("PETG")
HERE = (0.0, 0.0, 0.0)


def ear(thickness: float) -> dict:
    """12 mm wide, 8 mm out: of 4 mm it bears 140 N at its root, and with the square of that."""
    one = Lug(
        name="ear", body="case", reach_mm=8, width_mm=12, thickness_mm=thickness, hole_mm=4, at=HERE
    )
    return {"lugs": (one,)}


def lid(thickness: float) -> dict:
    flat = Flat(along_mm=65.0, across_mm=47.0, held=("simple",) * 4)
    return {"walls": (Wall(name="lid", body="lid", thickness_mm=thickness, at=HERE, flat=flat),)}


def found(features: dict, words: str, **use: object):
    setting = context(box(90, 60, 40), material=PETG, use=Use(**use))
    return [f for f in check_strength(part(**features), setting) if words in f.text]


@pytest.mark.parametrize(
    ("use", "severity"),
    [
        ({"handling": "touched"}, "warn"),  # 20 N of 30: nobody pulls at its ears
        ({"handling": "handled"}, "stop"),  # 20 N of 100, and it is taken up every day
        ({"handling": "touched", "overhead": True}, "stop"),
        ({"handling": "touched", "load_bearing": True}, "stop"),
    ],
)
def test_an_ear_that_breaks(use, severity):
    (one,) = found(ear(1.5), "at its root", **use)
    assert one.value == pytest.approx(140 * (1.5 / 4) ** 2, rel=0.01)
    assert one.severity == severity


@pytest.mark.parametrize(
    ("use", "severity"),
    [
        ({"handling": "touched"}, "warn"),
        ({"handling": "touched", "overhead": True}, "stop"),
    ],
)
def test_an_ear_that_bears_the_load_without_its_safety(use, severity):
    """At 2.2 mm it bears 42 N: more than 30, less than twice that."""
    (one,) = found(ear(2.2), "at its root", **use)
    assert one.severity == severity
    assert one.limit == 60


def test_a_wall_that_a_finger_breaks_is_a_stop_wherever_fingers_are():
    (broken,) = found(lid(0.8), "pressed", handling="touched")
    assert broken.severity == "stop"
    # At 1.0 mm it breaks at the low end of the strength (35 MPa), and bears at the high one (50).
    (doubtful,) = found(lid(1.0), "pressed", handling="touched")
    assert doubtful.value < 30 < 50 / 35 * doubtful.value
    assert doubtful.severity == "warn"


def test_a_mass_is_carried_for_years():
    """2 kg are 19.6 N, twice that 39.2 N; of an ear's 140 N a fifth is left for years: 28 N."""
    (one,) = found(ear(4.0), "years (bending", handling="touched", carries_kg=2.0)
    assert (one.value, one.limit) == (pytest.approx(28.0, rel=0.01), pytest.approx(39.2, rel=0.01))
    assert one.severity == "warn"
    assert "1.4 times as much" in one.remedy
    # What bears 1.4 times as much passes: thickness goes in with its square.
    assert (
        found(ear(4.0 * 1.41**0.5), "years (bending", handling="touched", carries_kg=2.0)[
            0
        ].severity
        == "note"
    )


def test_over_people_a_mass_asks_for_more_and_stops():
    (one,) = found(ear(5.0), "years (bending", overhead=True, carries_kg=2.0)
    assert one.limit == pytest.approx(5 * 2 * 9.80665)
    assert one.severity == "stop"
    assert found(ear(9.0), "years (bending", overhead=True, carries_kg=2.0)[0].severity == "note"


def test_over_people_the_mass_must_be_declared():
    (one,) = found(ear(9.0), "not declared", overhead=True)
    assert one.severity == "warn"
    assert found(lid(3.0), "not declared", overhead=True) == []


def test_screws_carry_too():
    post = Boss(name="post", body="case", outer_mm=9, hole_mm=2.6, depth_mm=6, screw_mm=3, at=HERE)
    texts = [f.text for f in found({"bosses": (post,)}, "for years", carries_kg=1.0)]
    assert len(texts) == 1
    assert "thread pulled out" in texts[0]
