"""Heat: the laws that the balance must keep, and what the check says."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings, strategies as st

from fitkit.checks import Use, published_material
from fitkit.checks.heat import check_heat
from fitkit.checks.warmth import (
    Case,
    steady_state,
    vent_area_for_mm2,
    vent_heat_w,
    wall_heat_w,
)
from fitkit.parts.contract import Body, Vent, Wall, Warm
from tests.checks.gallery import box, context, part

PALM = Case(area_m2=0.0198, height_m=0.03, wall_m=0.0024, conductivity=0.15, emissivity=0.85)
WALLS = (Wall(name="side", body="case", thickness_mm=2.4, at=(0.0, 0.0, 0.0)),)
PETG = published_material("PETG")


def heat(use: Use, *vents: Vent, mesh=None, material=PETG, **features: object):
    features = {"walls": WALLS, "vents": vents} | features
    mesh = box(90, 60, 30) if mesh is None else mesh
    return list(check_heat(part(**features), context(mesh, material=material, use=use)))


def vent(area: float, height: float) -> Vent:
    return Vent(name="vent", body="case", free_area_mm2=area, height_mm=height, at=(0, 0, height))


@settings(max_examples=30, deadline=None)
@given(st.floats(0.01, 20.0), st.floats(-20.0, 45.0), st.floats(0.0, 2e-3))
def test_what_is_made_leaves(watts: float, ambient: float, vents: float) -> None:
    case = replace(PALM, vent_area_m2=vents, stack_m=0.02)
    warmth = steady_state(watts, ambient, case)
    through, surface = wall_heat_w(warmth.inside_c, ambient, case)
    aired = vent_heat_w(warmth.inside_c, ambient, area_m2=vents, stack_m=0.02)
    assert through + aired == pytest.approx(watts, rel=1e-3, abs=1e-4)
    assert aired == pytest.approx(warmth.vented * watts, abs=1e-9)
    assert ambient < surface < warmth.inside_c


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 10.0), st.floats(1.1, 3.0))
def test_more_watts_are_warmer_and_more_vent_is_cooler(watts: float, more: float) -> None:
    inside = steady_state(watts, 25.0, PALM).inside_c
    assert steady_state(more * watts, 25.0, PALM).inside_c > inside
    vented = replace(PALM, vent_area_m2=2e-4 * more, stack_m=0.02)
    assert steady_state(watts, 25.0, vented).inside_c < inside


def test_the_proposed_vent_holds_the_limit() -> None:
    area = vent_area_for_mm2(5.0, 25.0, 50.0, PALM, stack_m=0.02)
    assert area > 0
    case = replace(PALM, vent_area_m2=area / 2 * 1e-6, stack_m=0.02)
    assert steady_state(5.0, 25.0, case).inside_c == pytest.approx(50.0, abs=0.05)


def test_a_cool_case_needs_no_vent() -> None:
    assert vent_area_for_mm2(0.2, 25.0, 50.0, PALM, stack_m=0.02) == 0.0


def test_no_vent_cools_below_the_room() -> None:
    with pytest.raises(ValueError, match="not above the air around"):
        vent_area_for_mm2(5.0, 25.0, 25.0, PALM, stack_m=0.02)


def test_the_advice_is_a_vent_that_would_do() -> None:
    found = heat(Use(watts=4, device_limit_c=60))[0]
    assert found.severity == "stop"
    assert "mm² of free vent in all, half low and half high" in found.remedy
    area = float(found.remedy.split("about ")[1].split(" mm²")[0])
    stack = float(found.remedy.split("high, ")[1].split(" mm apart")[0])
    again = heat(Use(watts=4, device_limit_c=60), vent(area / 2, 4), vent(area / 2, 4 + stack))[0]
    assert again.severity != "stop"
    assert again.value is not None
    assert again.value == pytest.approx(55, abs=1.0)  # PETG softens from 65 °C, less 10


def test_the_devices_limit_counts_if_it_is_lower() -> None:
    (found,) = heat(Use(watts=1, device_limit_c=35))
    assert found.severity == "stop"
    assert found.limit == 35
    assert "the device's limit" in found.text


def test_vents_of_one_height_breathe_less_than_a_low_and_a_high_one() -> None:
    use = Use(watts=3, device_limit_c=60)
    level = heat(use, vent(400, 15), vent(400, 15))[0].value
    stacked = heat(use, vent(400, 4), vent(400, 26))[0].value
    closed = heat(use)[0].value
    assert closed > level > stacked


def test_a_room_over_the_limit_is_said() -> None:
    (found,) = heat(Use(watts=1, device_limit_c=30, ambient_c=35))
    assert "The room itself is over the limit" in found.remedy


def test_a_hot_outside_is_a_warning_of_its_own() -> None:
    found = heat(Use(watts=12, device_limit_c=60))
    (touch,) = [item for item in found if "ISO 13732-1" in item.basis]
    assert touch.severity == "warn"
    assert touch.value > 60


GHOST = (Body(name="board", solid=None),)


@pytest.mark.parametrize(
    ("use", "features", "values", "why"),
    [
        (Use(), {"ghosts": GHOST}, {}, "does not declare the watts"),
        (Use(watts=3), {"walls": ()}, {}, "names no wall"),
        (Use(watts=3), {}, {"material": None}, "no material is named"),
        (
            Use(watts=3),
            {},
            {"material": PETG.model_copy(update={"properties": {}})},
            "PETG has no softening, conductivity, emissivity",
        ),
    ],
)
def test_what_is_missing_is_said(use: Use, features, values, why: str) -> None:
    (found,) = heat(use, **features, **values)
    assert found.severity == "note"
    assert found.text.startswith("not run, because ")
    assert why in found.text


def test_no_device_no_heat() -> None:
    assert heat(Use()) == []
    assert heat(Use(watts=0), ghosts=GHOST) == []


def test_an_undeclared_device_limit_is_said() -> None:
    assert "what the device itself stands" in heat(Use(watts=1))[1].text


def test_air_and_device_are_told_each_with_its_range() -> None:
    found = heat(Use(watts=1, device_limit_c=60))[0]
    assert re.search(r"about \d+ °C \(\d+ to \d+ °C\)", found.text)
    low, high = map(
        float, re.search(r"the device itself to (\d+) to (\d+) °C", found.text).groups()
    )
    assert found.value < low < high


def test_an_upper_end_over_the_limit_is_a_warning() -> None:
    air = heat(Use(watts=1, device_limit_c=90))[0].value
    rise = air - 25
    for share, severity in ((1.3, "note"), (1.1, "warn"), (0.95, "stop")):
        found = heat(Use(watts=1, device_limit_c=25 + share * rise))[0]
        assert found.severity == severity


def _at(area: float, x: float, y: float, z: float) -> Vent:
    return Vent(name="vent", body="case", free_area_mm2=area, height_mm=z, at=(x, y, z))


BOARD = Warm(at=(0.0, 0.0, 10.0), half_x_mm=35.0, half_y_mm=20.0)


def _inside(*vents: Vent, warm: Warm | None = BOARD) -> float:
    return heat(Use(watts=4, device_limit_c=200), *vents, warm=warm)[0].value


def test_outlets_count_from_the_device_up_and_not_from_inlets_below_it() -> None:
    low, high = _at(300, 0, -30, 4), _at(300, 0, 0, 30)
    # Under the device the column is cold: 20 mm of it drive, not 26, as for inlets at its height.
    assert _inside(low, high) == pytest.approx(_inside(_at(300, 0, -30, 10), high), abs=1e-6)
    assert _inside(low, high) > _inside(low, high, warm=None)
    # Inlets above the device begin the column themselves.
    above = _at(300, 0, -30, 16)
    assert _inside(above, high) == pytest.approx(_inside(above, high, warm=None), abs=1e-6)
    # Outlets below it carry nothing.
    under = (_at(300, 0, -30, 2), _at(300, 0, 30, 8))
    assert _inside(*under) == pytest.approx(_inside(), abs=1e-6)


def test_air_that_passes_beside_the_device_carries_less() -> None:
    over = _inside(_at(300, -40, 0, 10), _at(300, 40, 0, 30))
    beside = _inside(_at(300, -40, 60, 10), _at(300, 40, 60, 30))
    closed = _inside()
    assert over < beside < closed
    # Half of a width of 40 mm over 60 mm: a third of the opening.
    third = _inside(_at(100, -40, 0, 10), _at(100, 40, 0, 30))
    assert beside == pytest.approx(third, abs=1e-6)
    # Inlets on both sides meet in the middle.
    around = _inside(_at(150, 0, -60, 10), _at(150, 0, 60, 10), _at(300, 0, 0, 30))
    assert around == pytest.approx(over, abs=1e-6)


def test_a_case_tells_where_its_vents_and_what_is_warm_are() -> None:
    from fitkit.parts.registry import template

    kind = template("board case").of(vent_area="600 mm2", warm_at={"x": "10 mm", "y": "10 mm"})
    made = kind.build()
    assert made.warm is not None
    assert made.warm.at[0] == pytest.approx(10 - kind.board_length / 2)
    assert made.warm.at[1] == pytest.approx(10 - kind.board_width / 2)
    walls = [one for one in made.vents if one.body == "tray"]
    assert len(walls) >= 2
    assert {one.name for one in walls} <= {"front vents", "back vents", "left vents", "right vents"}
    far = made.body("tray").solid.bounding_box().max
    for one in walls:  # each in its wall's outer face
        out = abs(one.at[0]) / far.X, abs(one.at[1]) / far.Y
        assert max(out) == pytest.approx(1.0, abs=0.01)
