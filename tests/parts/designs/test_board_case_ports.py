"""Ports open up to the rim, windows at the edge, recesses, and where all of them are drawn."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh

from fitkit import solids
from fitkit.parts.designs.board_case import BoardCase
from fitkit.parts.designs.board_case.parameters import Hole
from fitkit.solids.bodies import extrude, moved
from fitkit.solids.kernel import tessellate
from fitkit.solids.profiles import circle, rectangle

FRONT = {"wall": "front", "along": "20 mm", "above": "2 mm", "width": "9 mm", "height": "4 mm"}


def parts(made, drawn=None):
    part = made.build(drawn)
    return part, {body.name: body.solid for body in (*part.bodies, *part.ghosts)}


def shared_mm3(a, b):
    return solids.volume_of(solids.common(a, b))


@pytest.mark.parametrize("lid_fixing", ["rim", "screws", "snap"])
@pytest.mark.parametrize("wall", ["front", "back", "left", "right"])
def test_a_socket_over_the_edge_goes_straight_down_and_the_lid_closes_over_it(
    lid_fixing, wall, section
):
    made = BoardCase.of(lid_fixing=lid_fixing, ports=[FRONT | {"wall": wall, "depth": "2 mm"}])
    part, there = parts(made)
    assert not [f for f in part.findings if f.severity == "stop"]
    # The socket with all the way above it, as one block.
    low, high = solids.box_of(there["socket 1"])
    flat = rectangle(
        high[0] - low[0], high[1] - low[1], at=((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    )
    way = extrude(flat, 60.0, z=low[2])
    assert shared_mm3(there["tray"], way) < 1e-6
    for ghost in ("socket 1", "plug 1"):
        assert shared_mm3(there["tray"], there[ghost]) < 1e-6
        assert shared_mm3(there["lid"], there[ghost]) < 1e-6
    assert shared_mm3(there["lid"], there["tray"]) < 1e-6
    # In the wall, where the plug begins, the lid's tongue closes what is above it.
    across = wall in ("front", "back")
    half = made.must_fit().pocket[1 if across else 0] / 2 + 2.15
    side = -1 if wall in ("front", "left") else 1
    at = (0, side * half, 0) if across else (side * half, 0, 0)
    normal = (0, 1, 0) if across else (1, 0, 0)
    both = shapely.union_all([section(there[n], at, normal).material for n in ("tray", "lid")])
    plug = shapely.union_all([section(there["plug 1"], at, normal).material])
    assert plug.area == pytest.approx(36.0, rel=1e-3)
    x0, _, x1, z1 = plug.bounds
    tongue = shapely.box(x0 + 0.3, z1 + 0.3, x1 - 0.3, z1 + 4.0)
    assert both.intersection(tongue).area == pytest.approx(tongue.area, rel=1e-6)


def test_a_round_open_port_keeps_its_round_lower_end(section):
    port = FRONT | {"shape": "round", "width": "8 mm", "depth": "1 mm"}
    part, there = parts(BoardCase.of(ports=[port]))
    assert not [f for f in part.findings if f.severity == "stop"]
    assert shared_mm3(there["tray"], there["socket 1"]) < 1e-6
    box = solids.box_of(there["plug 1"])
    half = BoardCase.of(ports=[port]).must_fit().pocket[1] / 2 + 1.2
    wall = section(there["tray"], (0, -half, 0), (0, 1, 0)).material
    low = box[0][2]
    corner = shapely.box(box[0][0] + 0.05, low + 0.05, box[0][0] + 0.9, low + 0.9)
    assert wall.intersection(corner).area > 0.8 * corner.area


def test_a_socket_at_the_edge_stays_under_a_closed_wall_where_it_need_not_pass():
    made = BoardCase.of(ports=[FRONT | {"depth": "0.2 mm"}])
    part = made.build({"pocket width": 38.6})
    assert "socket 1" not in [ghost.name for ghost in part.ghosts]
    assert not [f for f in part.findings if f.severity != "note"]


def test_under_a_sliding_lid_a_socket_is_tilted_in_or_refused():
    """By the plain rule: the nose turned by asin(rise / board) must pass the opening's height."""
    small = FRONT | {"depth": "0.8 mm"}
    made = BoardCase.of(lid_fixing="slide", tallest_part="4 mm", ports=[small])
    drawn = {"pocket width": 38.6, "port 1 height": 4.4}
    (warning,) = [f for f in made.build(drawn).findings if f.severity != "note"]
    assert warning.severity == "warn"
    assert "socket first" in warning.text
    large = made.model_copy(update={"ports": BoardCase.of(ports=[FRONT | {"depth": "4 mm"}]).ports})
    (stop,) = [f for f in large.build(drawn).findings if f.severity != "note"]
    assert stop.severity == "stop"
    assert stop.value == 4.0
    both = BoardCase.of(
        lid_fixing="slide", tallest_part="4 mm", ports=[small, small | {"wall": "back"}]
    )
    found = both.build(drawn | {"port 2 height": 4.4}).findings
    assert [f.severity for f in found if f.severity != "note"] == ["stop", "stop"]


def test_a_recess_lets_the_plugs_grip_into_the_walls_outer_part(section):
    made = BoardCase.of(wall="4 mm", ports=[FRONT | {"recess": "2 mm"}])
    part, there = parts(made)
    assert not [f for f in part.findings if f.severity == "stop"]
    half = made.must_fit().pocket[1] / 2
    outer = section(there["tray"], (0, -half - 3.5, 0), (0, 1, 0))
    inner = section(there["tray"], (0, -half - 0.5, 0), (0, 1, 0))
    sizes = {d.name: d for d in part.dimensions}
    at = (sizes["port 1 height"].start[0], sum(sizes["port 1 height"].start[2:]) + 2.0)
    assert outer.hole_at(at).area == pytest.approx((9 + 4) * (4 + 4), rel=1e-3)
    assert inner.hole_at(at).area == pytest.approx(9 * 4, rel=1e-3)


@pytest.mark.parametrize("y", ["36.5 mm", "1.5 mm"])
@pytest.mark.parametrize("x", ["29 mm", "12 mm"])
def test_a_window_at_the_very_edge_opens_lid_and_wall(x, y):
    window = {"x": x, "y": y, "length": "20 mm", "width": "6 mm", "above": "1 mm"}
    made = BoardCase.of(windows=[window], standoff="edge rails")
    part, there = parts(made)
    assert not [f for f in part.findings if f.severity in ("stop", "warn")]
    (u, v), (long, wide) = (float(x[:-3]) - 29, float(y[:-3]) - 19), (20, 6)
    upper = made.floor + made.below_board + 1.0 + made.board_thickness
    column = moved(extrude(rectangle(long - 0.02, wide - 0.02), 60.0), u, v, upper + 1.01)
    assert shared_mm3(there["tray"], column) < 1e-6
    assert shared_mm3(there["lid"], column) < 1e-6


def test_a_socket_set_into_the_board_passes_the_ledge():
    port = FRONT | {"above": "-0.6 mm"}
    part, there = parts(BoardCase.of(standoff="edge rails", ports=[port]))
    assert not [f for f in part.findings if f.severity in ("stop", "warn")]
    low, high = solids.box_of(there["plug 1"])
    # From 8 mm behind the edge outwards, where the board has its cut-out.
    body = moved(extrude(rectangle(9.0, 9.2), 4.0), (low[0] + high[0]) / 2, -19 + 3.4, low[2])
    assert shared_mm3(there["tray"], body) < 1e-6


@pytest.mark.parametrize(("sides", "free"), [("left and right", "y"), ("front and back", "x")])
def test_a_ledge_is_left_out_where_solder_runs(sides, free):
    made = BoardCase.of(standoff="edge rails", ledge_sides=sides)
    _, there = parts(made)
    under = made.floor + made.below_board
    length, width = (50, 37.9) if free == "y" else (57.9, 30)
    solder = extrude(rectangle(length, width), 0.9, z=under)
    assert shared_mm3(there["tray"], solder) < 1e-6
    board = extrude(rectangle(58, 38), 0.5, z=under + 0.9)
    assert shared_mm3(there["tray"], board) > 8.0  # it does lie on the rest of the ledge


def test_posts_are_left_out_or_put_elsewhere_on_request():
    made = BoardCase.of(standoff="edge rails", hold_down=False)
    assert not [w for w in made.build().walls if w.name == "hold-down post"]
    at = [{"x": "10 mm", "y": "3 mm"}, {"x": "48 mm", "y": "35 mm"}]
    part, there = parts(BoardCase.of(standoff="edge rails", hold_down_at=at))
    assert not [f for f in part.findings if f.severity == "warn"]
    upper = 2 + 2 + 1 + 1.6
    for x, y in ((-19, -16), (19, 16)):
        tip = moved(extrude(rectangle(2, 2), 0.5), x, y, upper + 0.3)
        assert shared_mm3(there["lid"], tip) == pytest.approx(2.0, rel=1e-6)


def test_a_standoff_near_the_wall_grows_into_it():
    made = BoardCase.of(
        board_length="80 mm",
        board_width="36 mm",
        hole_spacing_x="75 mm",
        hole_spacing_y="31 mm",
        standoff="heat-set",
    )
    part, there = parts(made)
    assert not [f for f in part.findings if f.severity == "stop"]
    z = part.bosses[0].at[2] - 1.0
    x, y = 37.5, 15.5
    ring = solids.volume_of(
        solids.common(there["tray"], moved(extrude(rectangle(6, 6), 0.5), x, y, z))
    )
    # The square is full but for the insert's hole and the corner within the pocket.
    assert ring > 0.5 * (0.75 * 36 - 16.7)
    hole = moved(extrude(rectangle(2.7, 2.7), 0.5), x, y, z)
    assert shared_mm3(there["tray"], hole) < 1e-6


def test_ports_and_windows_are_drawn_where_the_print_brings_them_to_their_plugs():
    """All distances from the holes' middle grow by one factor, as the print shrinks by one."""
    made = BoardCase.of(
        board_length="180 mm",
        hole_spacing_x="170 mm",
        ports=[FRONT | {"along": "12 mm"}, FRONT | {"along": "168 mm"}],
        windows=[{"x": "12 mm", "y": "19 mm"}],
    )
    grown = 1.00755
    names = {"port 1 along": 78, "port 2 along": 78, "window 1 x": 78}
    sizes = {f.name: f for f in made.fit_sizes()}
    for name, distance in names.items():
        assert (sizes[name].nominal_mm, sizes[name].kind.name) == (distance, "centres")
    drawn = {name: distance * grown for name, distance in names.items()}
    part = made.build(drawn | {"pocket length": 181.6})
    middles = {d.name: (d.start[0] + d.end[0]) / 2 for d in part.dimensions}
    assert middles["port 1 width"] == pytest.approx(-78 * grown)
    assert middles["port 2 width"] == pytest.approx(78 * grown)
    column = moved(extrude(rectangle(9.99, 4.99), 80.0), -78 * grown, 0, 12.0)
    assert shared_mm3(part.body("lid").solid, column) < 1e-6


def test_ears_stand_where_no_plug_is_or_it_is_told():
    over = {"board_length": "60 mm", "board_width": "31 mm", "hole_spacing_y": "23 mm", "lugs": 4}
    ports = [FRONT | {"wall": "right", "along": "9 mm"}]
    part, _ = parts(BoardCase.of(**over, ports=ports))
    assert {lug.along[:2] for lug in part.lugs} == {(0, 1), (0, -1)}
    assert not [f for f in part.findings if "stands over ear" in f.text]
    all_round = [
        FRONT | {"wall": wall, "along": along}
        for wall, along in (("right", "15 mm"), ("front", "12 mm"), ("front", "32 mm"))
    ] + [FRONT | {"along": "50 mm"}]
    part, _ = parts(BoardCase.of(**over, ports=all_round))
    assert [f.severity for f in part.findings if "stands over ear" in f.text]


@pytest.mark.parametrize(
    ("length", "width", "lugs"), [("60 mm", "40 mm", 2), ("100 mm", "80 mm", 4)]
)
def test_ears_go_to_front_and_back_where_a_cable_takes_the_side(length, width, lugs, section):
    made = BoardCase.of(
        board_length=length,
        board_width=width,
        lugs=lugs,
        cable={"wall": "left", "along": "20 mm"},
    )
    part, there = parts(made)
    assert len(part.lugs) == lugs
    tray = section(there["tray"], (0, 0, 1.5), (0, 0, 1))
    for lug in part.lugs:
        hole = [lug.at[i] + lug.along[i] * lug.reach_mm for i in (0, 1)]
        assert tray.hole_at(hole).area == pytest.approx(3.14159 / 4 * lug.hole_mm**2, rel=0.01)


def test_a_sliding_lid_rides_over_its_detent_only_at_the_end():
    part, there = parts(BoardCase.of(lid_fixing="slide"))
    overlaps = [
        shared_mm3(there["tray"], moved(there["lid"], by, 0.0, 0.0))
        for by in (0.0, 1.4, 10.0, 25.0, 40.0)
    ]
    at_rest, last, *before = overlaps
    assert at_rest < 1e-6
    assert last > 0.3
    assert max(before) < 1e-6
    assert any(arm.name == "lid detent" for arm in part.arms)


@pytest.mark.parametrize("style", ["slots", "hex"])
def test_vents_are_even_fields_and_lie_over_the_middle_of_the_lid(style, section):
    made = BoardCase.of(
        board_length="90 mm", board_width="60 mm", vent_area="500 mm²", vent_style=style
    )
    _, there = parts(made)
    top = solids.box_of(there["lid"])[1][2]
    plate = section(there["lid"], (0, 0, top - 0.1), (0, 0, 1)).material
    holes = shapely.union_all(
        [shapely.Polygon(ring) for one in shapely.get_parts(plate) for ring in one.interiors]
    )
    assert abs(holes.centroid.x) < 0.1
    assert abs(holes.centroid.y) < 1.0
    half = made.must_fit().pocket[1] / 2 + made.wall / 2
    sides = [section(there["tray"], (0, s * half, 0), (0, 1, 0)).material for s in (-1, 1)]
    middles = [
        shapely.union_all(
            [shapely.Polygon(ring) for one in shapely.get_parts(wall) for ring in one.interiors]
        ).centroid.x
        for wall in sides
    ]
    assert middles == pytest.approx([0.0, 0.0], abs=0.05)


def test_lid_vents_stand_over_what_is_warm():
    """Nearer to it than to the board's middle, and as much area as was wanted of the lid."""
    plain = BoardCase.of(board_length="90 mm", board_width="60 mm", vent_area="300 mm²")
    warm = plain.model_copy(update={"warm_at": Hole(x="70 mm", y="45 mm")})

    def middle(made):
        lid = parts(made)[1]["lid"]
        top = solids.box_of(lid)[1][2]
        mesh = tessellate(lid, tolerance_mm=0.02)
        read = trimesh.Trimesh(mesh.vertices, mesh.triangles)
        cut = read.section(plane_normal=[0, 0, 1], plane_origin=[0, 0, top - 0.5])
        rings = [shapely.Polygon(line[:, :2]) for line in cut.discrete]
        whole = max(rings, key=lambda ring: ring.area)
        vents = shapely.union_all([ring for ring in rings if ring is not whole])
        return np.array(vents.centroid.coords[0]), vents.area

    (before, area), (after, same) = middle(plain), middle(warm)
    target = np.array([70.0 - 45.0, 45.0 - 30.0])
    assert np.linalg.norm(after - target) < 0.5 * np.linalg.norm(before - target)
    assert after[0] == pytest.approx(25.0, abs=1.7)  # half a slot and half a rib: an even count
    # half of the area, in whole slots: at most a pair of 50 mm² more
    assert all(150.0 - 0.01 <= opened <= 250.0 for opened in (area, same))


def test_a_cable_and_all_openings_have_their_places_as_sizes_and_key_dimensions():
    made = BoardCase.of(
        board_length="120 mm",
        hole_spacing_x="110 mm",
        cable={"wall": "left", "along": "10 mm"},
        ports=[FRONT | {"along": "20 mm"}],
        windows=[{"x": "100 mm", "y": "30 mm"}],
    )
    names = {"port 1 along", "window 1 x", "window 1 y", "cable along"}
    nominal = {f.name: f.nominal_mm for f in made.fit_sizes() if f.name in names}
    assert nominal == {
        "port 1 along": 40.0,
        "window 1 x": 40.0,
        "window 1 y": 11.0,
        "cable along": 9.0,
    }
    drawn = {name: value + 0.5 for name, value in nominal.items()}
    part, there = parts(made, drawn)
    shown = {d.name: d for d in part.dimensions if d.name in names}
    assert set(shown) == names
    for name, dimension in shown.items():
        assert np.linalg.norm(np.subtract(dimension.end, dimension.start)) == pytest.approx(
            drawn[name]
        )
    # Where a dimension ends there is no plastic, half a wall further in: it is an opening's middle.
    for name, inward in (("port 1 along", (0, 1.2)), ("cable along", (1.2, 0))):
        x, y, z = shown[name].end
        probe = moved(solids.sphere(0.5), x + inward[0], y + inward[1], z)
        assert shared_mm3(there["tray"], probe) < 1e-6


# --- screws and inserts ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("screw", "pilot", "pocket", "boss"),
    # Brass inserts' catalogue sizes (common practice): knurl, length + 1 mm, boss of the table.
    [("M2", 1.7, (3.6, 5.0), 6.5), ("M3", 2.6, (4.6, 6.7), 8.0), ("M4", 3.4, (6.3, 9.1), 10.5)],
)
def test_a_named_screw_brings_its_pilot_insert_boss_and_depth(screw, pilot, pocket, boss):
    board = {
        "hole_diameter": f"{float(screw[1:]) + 0.3} mm",
        "hole_spacing_x": "42 mm",
        "hole_spacing_y": "20 mm",
    }
    threaded = BoardCase.of(**board)
    assert threaded.must_fit().screw_pilot.nominal_mm == pilot
    made = BoardCase.of(standoff="heat-set", **board)
    assert made.must_fit().insert_hole.nominal_mm == pocket[0]
    part, there = parts(made)
    (one, *_) = part.bosses
    assert (one.screw_mm, one.outer_mm) == (float(screw[1:]), boss)
    assert one.depth_mm >= pocket[1] - 1e-9
    assert not [f for f in part.findings if f.severity == "stop"]
    # As built: a rod as deep as the pocket touches nothing, and the floor below is closed.
    x, y, z = one.at
    rod = moved(extrude(circle(pocket[0] - 0.02), pocket[1] - 0.02), x, y, z - pocket[1] + 0.02)
    assert shared_mm3(there["tray"], rod) < 1e-6
    under = moved(extrude(circle(pocket[0] - 0.02), 0.5), x, y, z - one.depth_mm - 0.6)
    assert shared_mm3(there["tray"], under) == pytest.approx(solids.volume_of(under), rel=1e-6)


def test_an_insert_in_a_standoff_at_the_wall_finds_its_pocket_down_into_the_floor():
    made = BoardCase.of(standoff="heat-set", hole_spacing_x="53 mm")
    part, there = parts(made)
    x, y, z = part.bosses[0].at
    rod = moved(extrude(circle(4.5), 6.68), x, y, z - 6.68)
    assert shared_mm3(there["tray"], rod) < 1e-6


def test_a_standoff_too_low_for_its_insert_is_a_stop_with_the_number_and_one_of_a_screw_is_told():
    low = BoardCase.of(standoff="heat-set", standoff_height="3 mm").build()
    (stop,) = [f for f in low.findings if f.severity == "stop"]
    assert (stop.value, stop.limit) == (4.0, pytest.approx(6.7))
    assert "standoff_height of 5.7 mm or more" in stop.remedy
    high = BoardCase.of(standoff="heat-set", standoff_height="5.7 mm").build()
    assert not [f for f in high.findings if f.severity == "stop"]
    short = BoardCase.of(standoff="heat-set", standoff_height="3 mm", insert_length="3 mm")
    assert not [f for f in short.build().findings if f.severity == "stop"]
    (note,) = [f for f in BoardCase.of().build().findings if "thread" in f.text]
    assert (note.severity, note.value, note.limit) == ("note", 4.0, 7.5)


def test_one_screw_has_one_pilot_in_all_templates():
    from fitkit.parts.registry import template

    board = BoardCase.of(screw="M3", hole_diameter="3.5 mm").must_fit().screw_pilot
    lid = BoardCase.of(lid_fixing="screws", lid_screw="3 mm").must_fit().lid_screw_pilot
    spacer = template("spacer").of(bore="pilot", screw="M3").must_fit().bore
    knob = template("knob").of(set_screw="M3").must_fit().set_screw_pilot
    assert {one.nominal_mm for one in (board, lid, spacer, knob)} == {2.6}
