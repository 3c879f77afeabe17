"""What a part's list names to buy is what its printed holes ask for, counted in its mesh."""

import math

import pytest
import shapely

from fitkit.parts.registry import template
from tests.parts import jobs


def round_holes(part, z, wide):
    """Round holes in the slice of the first body at a height, no wider than a screw's head, mm."""
    body = jobs.mesh(part.bodies[0].solid)
    (flat,) = jobs.slices(body, [body.bounds[0][2] + z])
    rings = [
        shapely.Polygon(ring) for one in getattr(flat, "geoms", [flat]) for ring in one.interiors
    ]
    # A circle has the greatest area of all outlines of its length.
    round_ones = [r for r in rings if 4 * math.pi * r.area / r.length**2 > 0.98]
    widths = [2 * math.sqrt(r.area / math.pi) for r in round_ones]
    return sum(0.98 * wide < one < 2.4 * wide for one in widths)


@pytest.mark.parametrize(
    ("title", "values", "size", "z"),
    [
        ("clip tray", {}, "screw hole", 1.0),
        ("clip tray", {"fixing": "floor"}, "screw hole", 1.0),
        ("ball seat", {"screws": 3}, "screw hole", 1.0),
        ("panel", {}, "screw hole", 0.5),
        ("hanger plate", {"count": 1}, "fixing hole", 1.0),
    ],
)
def test_countersunk_screws_are_as_many_as_holes_for_them(title, values, size, z):
    part = template(title).of(**values).build()
    (wide,) = (d.value_mm for d in part.dimensions if d.name == size)
    (buy,) = part.buys
    assert buy.what.startswith("countersunk screw M3")
    assert buy.count == round_holes(part, z, wide) > 0


def test_what_needs_no_screw_asks_for_none():
    for title, values in (
        ("clip tray", {"fixing": "none"}),
        ("ball seat", {"screws": 0}),
        ("panel", {"screws": False}),
        ("cradle", {"lugs": False}),
        ("sleeve", {}),
        ("knob", {}),
        ("spacer", {}),
        ("board case", {"standoff": "edge rails", "lugs": 0}),
    ):
        assert template(title).of(**values).build().buys == (), title


def test_a_clamped_sleeve_asks_for_a_screw_longer_than_what_it_draws_together_and_a_nut():
    sleeve = template("sleeve").of(clamp=True)
    screw, nut = sleeve.build().buys
    assert nut.what == "hexagon nut M3"
    # Two ears of 6 mm, the slit, and a nut of 2.4 mm (ISO 4032: M3, m max) must find room.
    length = float(screw.what.rsplit(", ", 1)[1].split()[0])
    assert length >= 2 * 4 + sleeve.slit + 2.4


def test_a_board_case_asks_for_a_screw_for_each_hole_of_the_board_the_lid_and_the_ears():
    case = template("board case").of(lid_fixing="screws", lugs=2, standoff="heat-set")
    counts = {(buy.why, buy.what.split()[0]): buy.count for buy in case.build().buys}
    assert counts[("board", "heat-set")] == counts[("board", "screw")] == 4
    assert counts[("lid", "screw")] == 4
    assert counts[("ears", "screw")] == 2
