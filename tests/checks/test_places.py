"""Whether the place of an opening is known well enough for its gap."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy import stats

from fitkit.checks.context import CheckContext, PlaceDoubt
from fitkit.checks.places import check_places, p_beside
from fitkit.demo import demo_source
from fitkit.flow import load_sheet, prepare
from fitkit.make.checking import patterns_of, places_of
from fitkit.parts import Part

PART = Part(title="case", template="board case", bodies=())


def found(**values: float):
    place = {"off_mm": 0.0, "df": math.inf, "gap_mm": 0.24} | values
    one = PlaceDoubt(of="port 1 width", name="port 1 along", **place)
    return list(check_places(PART, CheckContext(places=(one,))))


@pytest.mark.parametrize(
    ("off", "u", "said"),
    [
        (0.0, 0.055, []),  # 0.12 mm are 2.2 u: 3 %
        (0.0, 0.095, ["warn"]),  # 1.3 u: 21 %
        (0.08, 0.04, ["warn"]),  # 1 u on the near side: 16 %
        (0.4, 0.05, ["stop"]),
    ],
)
def test_shift_and_doubt_of_a_place_are_compared_with_half_of_the_gap(off, u, said):
    """Worked by hand: a gap of 0.24 mm leaves 0.12 mm on each side."""
    assert [f.severity for f in found(off_mm=off, u_mm=u)] == said
    for finding in found(off_mm=off, u_mm=u):
        assert "port 1 along" in finding.text
        assert "0.12 mm on each side" in finding.text


def test_play_of_the_object_is_room_too():
    (tight,) = found(u_mm=0.095)
    assert "push" not in tight.text
    assert found(u_mm=0.095, play_mm=0.1) == []
    (loose,) = found(u_mm=0.2, play_mm=0.1)
    assert "push it by 0.10 mm more" in loose.text


def test_the_chance_is_that_of_students_t_beyond_both_sides():
    t = stats.t(7, loc=0.03, scale=0.06)
    assert p_beside(0.03, 0.06, 7, 0.12) == pytest.approx(t.cdf(-0.12) + t.sf(0.12), rel=1e-9)
    assert p_beside(0.0, 0.0, math.inf, 0.1) == 0


def test_no_plug_of_the_demo_case_is_doubted_whose_board_can_be_pushed_on_its_screws():
    """The board's holes of 3.21 mm hang on screws of 3 mm; the place alone is known to 0.10 mm."""
    places = places_of(prepare(load_sheet(demo_source() / "measurements" / "sound_board.toml")))
    assert {place.of for place in places} == {"port 1 width", "port 2 diameter"}
    assert list(check_places(PART, CheckContext(places=places))) == []
    assert all(place.play_mm == pytest.approx(0.105, abs=0.01) for place in places)


def test_screws_that_all_must_go_in_are_told_together():
    plan = prepare(load_sheet(demo_source() / "measurements" / "sound_board.toml"))
    (lugs,) = patterns_of(plan)
    assert (lugs.of, lugs.screws) == ("lug hole", 2 ** len(lugs.names))
    assert lugs.p_all > 0.95
    assert list(check_places(PART, CheckContext(patterns=(lugs,)))) == []
    for p_all, severity in ((0.9, "warn"), (0.4, "stop")):
        one = replace(lugs, p_all=p_all)
        # The wall's holes are marked through the ears; what stands there already must be met.
        (marked,) = check_places(PART, CheckContext(patterns=(one,)))
        assert (marked.severity, "Mark the holes" in marked.remedy) == ("note", True)
        fixed = replace(one, counterpart="fixed")
        (said,) = check_places(PART, CheckContext(patterns=(fixed,)))
        assert said.severity == severity
        assert f"not all {lugs.screws} screws go in at once" in said.text


def test_screws_are_likelier_to_go_in_the_more_room_a_hole_leaves():
    plan = prepare(load_sheet(demo_source() / "measurements" / "sound_board.toml"))
    chances = []
    for less_mm in (0.2, 0.35, 0.5):
        tight = [
            replace(row, size=replace(row.size, drawn_mm=row.size.drawn_mm - less_mm))
            if row.fit.name == "lug hole"
            else row
            for row in plan.rows
        ]
        chances.append(patterns_of(replace(plan, rows=tuple(tight)))[0].p_all)
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] < chances[0] - 0.1


@pytest.mark.parametrize(
    ("counterpart", "severities"),
    [
        ("fixed", ["warn", "stop"]),
        ("hangs there", ["warn", "warn"]),
        ("marked through", ["note", "note"]),
    ],
)
def test_the_less_of_the_counterpart_is_fixed_the_less_a_doubt_weighs(counterpart, severities):
    """A gap of 0.24 mm: 21 % beyond it at u = 0.095 mm, 69 % at u = 0.3 mm."""
    said = [found(u_mm=u, counterpart=counterpart) for u in (0.095, 0.3)]
    assert [one.severity for (one,) in said] == severities
