"""Edges of the statistics that nothing else held: each test fails for a change once unnoticed."""

from __future__ import annotations

import pytest

from fitkit.core.html import html_table
from fitkit.stats import Estimate
from fitkit.stats.derived import centre_distance


def test_a_table_has_its_caption_and_its_heads():
    text = html_table("sizes <1>", ("what", "mm"), [("gap", "0.3")])
    assert "sizes &lt;1&gt;" in text
    assert '<th scope="col" style="text-align:left">what</th><th scope="col">mm</th>' in text
    assert "0.3" in text


def test_short_texts_beside_a_long_one_stay_in_one_line():
    rows = [("2026-03-02", "x" * 61), ("2026-03-11", "short")]
    text = html_table("prints", ("printed", "what changed"), rows)
    assert text.count("white-space:nowrap") == 3  # the short column: its head and two cells
    assert "white-space" not in html_table("prints", ("printed", "what"), [("2026-03-02", "x")])


def test_same_sides_of_unequal_holes_lie_half_their_difference_off_the_centres():
    sizes = {"span": 50.0, "first": 4.0, "second": 3.0}
    found = {name: Estimate.of(name, size, 0.02) for name, size in sizes.items()}
    # Left edges: the first centre lies at 2, the second left edge at 50, its centre at 51.5.
    distance = centre_distance(found, "span", edges="left", holes=("first", "second"))
    assert distance.value_mm == pytest.approx(49.5)
    # Right edges: the first centre lies 2 before the first edge, the second 1.5 before the second.
    distance = centre_distance(found, "span", edges="right", holes=("first", "second"))
    assert distance.value_mm == pytest.approx(50.5)
    far = centre_distance(found, "span", edges="far", holes=("first", "second"))
    assert far.value_mm == pytest.approx(46.5)
