"""Screws that go into given holes, and standoffs, stand where this printer brings them right."""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from fitkit.flow import build, load_sheet, prepare
from fitkit.make.checking import patterns_of
from fitkit.parts.registry import template

# Template, values, the size, and the height at which a level cut meets the holes.
SPACED = [
    ("board case", {"lugs": 2}, "lug spacing", "tray", 1.5),
    ("board case", {"lugs": 4}, "lug spacing", "tray", 1.5),
    ("board case", {"lugs": 4}, "lug spacing along", "tray", 1.5),
    ("clip tray", {}, "screw spacing x", "tray", 0.8),
    ("clip tray", {}, "screw spacing y", "tray", 0.8),
    ("ball seat", {}, "screw spacing", "seat", 1.0),
    ("ball seat", {"screws": 3}, "screw spacing", "seat", 1.0),
    ("ball seat", {"screws": 4}, "screw spacing", "seat", 1.0),
]


@pytest.mark.parametrize(("title", "values", "name", "body", "z"), SPACED)
def test_screws_are_as_far_apart_as_they_are_drawn(title, values, name, body, z, section):
    kind = template(title).of(**values)
    fits = {fit.name: fit for fit in kind.fit_sizes()}
    drawn = 1.006 * fits[name].nominal_mm  # far more than the holes are widened
    part = kind.build({name: drawn})
    (row,) = [row for row in part.dimensions if row.name == name]
    assert row.value_mm == pytest.approx(drawn)
    cut = section(part.body(body).solid, (0, 0, z), (0, 0, 1))
    holes = [cut.hole_at(end[:2]).centroid for end in (row.start, row.end)]
    assert holes[0].distance(holes[1]) == pytest.approx(drawn, abs=0.02)
    # All of them stand alike: as many pairs are so far apart as at nominal sizes.
    pairs = [math.dist(a.at, b.at) for a, b in combinations(part.lugs, 2)]
    if title == "ball seat":
        assert sum(abs(pair - drawn) < 0.01 for pair in pairs) >= len(part.lugs) - 1


@pytest.mark.parametrize("hold", ["arms", "strap"])
def test_a_cradles_screws_are_as_far_apart_as_they_are_drawn(hold, section):
    kind = template("cradle").of(hold=hold)
    part = kind.build({"screw spacing": 59.0})
    places = [lug.at for lug in part.lugs]
    assert places[1][1] - places[0][1] == pytest.approx(59.0)
    for x, y, _ in places:
        hole = section(part.bodies[0].solid, (0, 0, 1.0), (0, 0, 1)).hole_at((x, y))
        left, _, right, _ = hole.bounds
        low, high = hole.bounds[1], hole.bounds[3]
        assert (low + high) / 2 == pytest.approx(y, abs=0.02)
        assert left < x < right


def _sheet(folder, text):
    path = folder / "part.toml"
    path.write_text('schema = 1\ntitle = "part"\n' + text, encoding="utf-8")
    return prepare(load_sheet(path))


def test_a_long_cases_ears_are_drawn_larger_for_a_plastic_that_shrinks(tmp_path):
    plan = _sheet(
        tmp_path,
        'template = "board case"\n[printer]\ngeneric = "ABS"\n[values]\nlugs = 2\n'
        'board_length = "180 mm"\nhole_spacing_x = "170 mm"\n',
    )
    (row,) = [row for row in plan.rows if row.fit.name == "lug spacing"]
    # ABS shrinks by 0.4 to 0.8 %, as printing texts say (common practice, no source).
    assert 0.003 < row.size.drawn_mm / row.target.value_mm - 1 < 0.01
    # Both holes are told together, by the distance that they have from each other.
    (pattern,) = [one for one in patterns_of(plan) if one.of == "lug hole"]
    assert pattern.names == ("lug spacing",)
    assert pattern.screws == 2
    assert pattern.counterpart == "marked through"
    assert pattern.off_mm == pytest.approx(abs(row.size.expected_mm - row.target.value_mm))
    assert 0.0 < pattern.p_all < 1.0


@pytest.mark.parametrize("standoff", ["screw", "edge rails"])
def test_a_board_rests_on_whole_layers_and_its_ports_are_counted_from_there(standoff, tmp_path):
    plan = _sheet(
        tmp_path,
        'template = "board case"\n[printer]\ngeneric = "PETG"\n[values]\nbelow_board = "2.13 mm"\n'
        f'standoff = "{standoff}"\n[[values.ports]]\nwall = "left"\nalong = "19 mm"\n'
        'above = "3 mm"\nwidth = "9 mm"\nheight = "3.4 mm"\n',
    )
    profile = plan.inputs.profile
    rows = {row.fit.name: row for row in plan.rows}
    for name in ("underside", "port 1 floor"):
        layers = rows[name].size.drawn_mm - profile.first_layer_mm
        layers /= profile.layer_height_mm
        assert layers == pytest.approx(round(layers), abs=1e-6)
    part = build(plan)
    (rest,) = [row for row in part.dimensions if row.name == "underside"]
    assert rest.value_mm == pytest.approx(rows["underside"].size.drawn_mm)
    # The plug's middle, 3 mm over the board, is met to half a layer and no more.
    middle = rows["port 1 floor"].size.drawn_mm + rows["port 1 height"].size.drawn_mm / 2
    board = rest.value_mm + plan.template.board_thickness
    assert abs(middle - board - 3.0) <= profile.layer_height_mm / 2 + 0.02
