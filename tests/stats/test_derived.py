"""Sizes that no jaw reads directly."""

from __future__ import annotations

import math

import pytest

from fitkit.errors import StatsError
from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import agreement, centre_distance, estimates, port_offset, wall

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
    with pytest.raises(StatsError, match="not said over which edges 'far' was read"):
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
