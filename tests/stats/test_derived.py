"""Sizes that no jaw reads directly."""

from __future__ import annotations

import math

import pytest

from fitkit.core.errors import StatsError
from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import Estimate, agreement, centre_distance, estimates, port_offset, wall

CALIPERS = Instrument(name="c", resolution_mm=0.01, mpe_mm=0.03, zero_error_mm=0.03, zero_u_mm=0.02)


def _found(**sizes: str):  # type: ignore[no-untyped-def]
    rows = [
        {"feature": name, "reading": f"{size} mm", "instrument": "c"}
        for name, size in sizes.items()
    ]
    return estimates(ReadingTable.of(rows), instruments=[CALIPERS])


FOUND = _found(far="52.03", near="45.63", left="48.83", hole="3.23", zeroed="48.83")


def test_three_ways_to_a_centre_distance_agree() -> None:
    ways = [
        centre_distance(FOUND, "far", edges="far", holes="hole"),
        centre_distance(FOUND, "near", edges="near", holes="hole"),
        centre_distance(FOUND, "left", edges="same side", holes="hole"),
    ]
    assert [way.value_mm for way in ways] == pytest.approx([48.80, 48.80, 48.80])
    result = agreement(ways, diameter=FOUND["hole"])
    assert result.agree
    assert "within" in result.text


def test_a_centre_distance_without_its_edges_is_refused() -> None:
    with pytest.raises(StatsError, match="the edges over which 'far' was read are not given"):
        centre_distance(FOUND, "far", holes="hole")
    with pytest.raises(StatsError, match="no feature 'hat'"):
        centre_distance(FOUND, "hat", edges="far", holes="hole")


def test_the_zero_error_cancels_in_span_minus_diameter() -> None:
    way = centre_distance(FOUND, "far", edges="far", holes="hole")
    assert not any("zero error" in row.name and row.contribution_mm for row in way.budget)
    apart = math.hypot(FOUND["far"].u_mm, FOUND["hole"].u_mm)
    assert way.u_mm < 0.75 * apart
    # With a sum they add up instead.
    near = centre_distance(FOUND, "near", edges="near", holes="hole")
    assert near.u_mm > apart


def test_a_display_zeroed_on_the_hole_shows_the_distance_itself() -> None:
    row = {"feature": "z", "reading": "48.80", "instrument": "c", "zeroed": "3.20 mm"}
    found = estimates(ReadingTable.of([row], unit="mm"), instruments=[CALIPERS])
    way = centre_distance(found, "z", edges="zeroed on the hole", holes="hole")
    assert way.value_mm == pytest.approx(48.80)


def test_a_zeroed_reading_entered_as_a_plain_span_clashes_by_one_diameter() -> None:
    ways = [
        centre_distance(FOUND, "zeroed", edges="far", holes="hole"),
        centre_distance(FOUND, "near", edges="near", holes="hole"),
    ]
    result = agreement(ways, diameter=FOUND["hole"])
    assert not result.agree
    assert result.difference_mm == pytest.approx(3.20)
    assert "one hole diameter (3.20 mm): was one reading zeroed on the hole" in result.text
    assert result.text in result.best.notes


def test_walls_and_ports() -> None:
    found = _found(out="30.03", inner="25.23", near="10.03", far="19.03", port="9.03")
    assert wall(found, "out", "inner").value_mm == pytest.approx(2.4)
    assert port_offset(found, "near", "port", edge="near").value_mm == pytest.approx(14.5)
    assert port_offset(found, "far", "port", edge="far").value_mm == pytest.approx(14.5)
    with pytest.raises(StatsError, match="to which edge"):
        port_offset(found, "near", "port", edge="middle")  # type: ignore[arg-type]


EXACT = {
    name: Estimate.of(name, size, 0.0)
    for name, size in {"span": 60.0, "first": 4.0, "second": 3.0}.items()
}


@pytest.mark.parametrize(
    ("edges", "size"),
    # Centres 56.5 apart by far edges (60 - 2 - 1.5); each other way reads the same 60 differently.
    # Zeroed at 4.0, far edges 56.5 apart show 56.5 + 2 + 1.5 - 4 = 56.0, so that 60 are 60.5.
    [("far", 56.5), ("near", 63.5), ("left", 59.5), ("right", 60.5), ("zeroed on the hole", 60.5)],
)
def test_edges_decide_what_a_span_means(edges, size) -> None:
    found = centre_distance(EXACT, "span", edges=edges, holes=("first", "second"))
    assert found.value_mm == size
    assert found.name == f"centres by span ({edges})"


def test_sides_of_unequal_holes_have_to_be_said() -> None:
    with pytest.raises(StatsError, match=r"differ by 1.00 mm.*'left' or 'right'") as error:
        centre_distance(EXACT, "span", edges="same side", holes=("first", "second"))
    assert error.value.code == "stats.side-not-said"
    alike = EXACT | {"second": Estimate.of("second", 4.01, 0.02)}
    assert centre_distance(
        alike, "span", edges="same side", holes=("first", "second")
    ).value_mm == pytest.approx(60.005)


def test_derived_sizes_say_from_what() -> None:
    assert wall(EXACT, "span", "first").name == "wall of span"
    assert port_offset(EXACT, "span", "first", edge="near").name == "middle by span (near)"
    assert port_offset(EXACT, "span", "first", edge="far").name == "middle by span (far)"


def way(name: str, value: float, u: float = 0.01) -> Estimate:
    return Estimate.of(name, value, u)


def test_ways_that_agree_say_by_how_much_and_the_surest_is_best() -> None:
    ways = [way("a", 10.00), way("b", 10.02, 0.005), way("c", 10.01, 0.02)]
    found = agreement(ways)
    # Told is the pair that differs most for its uncertainty: 0.02 mm, 1.96 hypot(0.01, 0.005).
    assert found.text == "a and b differ by +0.020 mm, within ± 0.022 mm (95 %)"
    assert (found.difference_mm, found.U95_mm) == pytest.approx((0.02, 1.96 * 0.01118), abs=1e-5)
    assert found.agree
    assert found.ways == tuple(ways)
    assert found.best is ways[1]


def test_ways_that_clash_say_so_in_the_best_of_them() -> None:
    found = agreement([way("a", 10.00), way("b", 9.95, 0.005)])
    assert found.text == "a and b differ by -0.050 mm, outside ± 0.022 mm (95 %)"
    assert not found.agree
    assert (found.best.name, found.best.value_mm) == ("b", 9.95)
    assert found.best.notes == (found.text,)


@pytest.mark.parametrize(("diameter", "explained"), [(3.20, True), (3.15, True), (3.0, False)])
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_clash_by_one_diameter_is_explained(diameter, explained, sign) -> None:
    found = agreement(
        [way("a", 48.8), way("b", 48.8 + sign * 3.2)], diameter=way("d", diameter, 0.02)
    )
    hint = (
        f"; that is one hole diameter ({diameter:.2f} mm): was one reading zeroed on the hole, or "
        "taken over other edges than said?"
    )
    assert found.text.endswith(hint) is explained
    assert found.text.startswith(f"a and b differ by {sign * 3.2:+.3f} mm, outside ± 0.028 mm")


def test_ways_that_share_everything_agree_but_for_rounding() -> None:
    one = way("a", 0.1)
    found = agreement([one, (one + 0.2) - 0.2])
    assert found.agree
    exact = [Estimate.of(name, value, 0.0) for name, value in (("a", 1.0), ("b", 1.1))]
    assert not agreement(exact).agree
    assert agreement(exact[:1] * 2).agree
