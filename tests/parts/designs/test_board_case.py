"""Board case: drawn sizes measured back from sections, field cases, refusals, the whole range."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
import trimesh

from fitkit import solids
from fitkit.core.errors import FaultList, FitkitError, PartError
from fitkit.parts import template
from fitkit.parts.arms import notch_factor
from fitkit.parts.designs.board_case import BoardCase
from fitkit.solids import tessellate

if TYPE_CHECKING:
    from pathlib import Path

PORTS = [
    {"wall": "front", "along": "15 mm", "above": "2 mm", "width": "9 mm", "height": "4 mm"},
    {"wall": "left", "along": "19 mm", "above": "3 mm", "width": "8 mm", "shape": "round"},
    {
        "wall": "back",
        "along": "40 mm",
        "above": "2 mm",
        "width": "10 mm",
        "height": "4 mm",
        "shape": "slot",
    },
]


def case(**values):
    return BoardCase.of(**({"ports": PORTS} | values))


def bodies(part):
    return {body.name: body.solid for body in part.bodies}


# --- fit sizes are those drawn -----------------------------------------------------------------


@pytest.fixture(scope="module")
def offset_case():
    """Every fit size drawn off its nominal by a different amount, so that none can be mixed up."""
    made = case(
        lid_fixing="screws",
        lugs=2,
        lug_screw="4 mm",
        cable={"wall": "right", "along": "31 mm", "diameter": "5 mm"},
    )
    rng = np.random.default_rng(7)
    drawn = {f.name: f.nominal_mm + rng.uniform(0.05, 0.35) for f in made.fit_sizes()}
    drawn["lid lip outside length"] -= 0.5
    drawn["lid lip outside width"] -= 0.5
    return made, drawn, made.build(drawn)


def test_level_fit_sizes_measured_by_sections(offset_case, section):
    made, drawn, part = offset_case
    tray, lid = bodies(part)["tray"], bodies(part)["lid"]
    top = solids.box_of(tray)[1][2]
    board = made.floor + made.below_board + 1.0 + made.board_thickness
    low_cut = section(tray, (0, 0, board - made.board_thickness - 0.5), (0, 0, 1))
    pocket = section(tray, (0, 0, board + 6.0), (0, 0, 1))
    rim = section(tray, (0, 0, top - 0.7), (0, 0, 1))
    lip = section(lid, (0, 0, top - 0.7), (0, 0, 1))
    ear = section(lid, (0, 0, top + 1.0), (0, 0, 1))
    lug = section(tray, (0, 0, 1.5), (0, 0, 1))

    def close(name, value, tolerance=0.01):
        assert value == pytest.approx(drawn[name], abs=tolerance), name

    close("pocket length", pocket.gap((0, 9), (1, 0)))
    close("pocket width", pocket.gap((0, 15), (0, 1)))
    close("rim inside length", rim.gap((0, 0), (1, 0)))
    close("rim inside width", rim.gap((0, 0), (0, 1)))
    low, high = lip.material.bounds[:2], lip.material.bounds[2:]
    close("lid lip outside length", high[0] - low[0])
    close("lid lip outside width", high[1] - low[1])

    pilots = [
        low_cut.hole_at(
            (sx * drawn["standoff spacing x"] / 2, sy * drawn["standoff spacing y"] / 2)
        )
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]
    middles = np.array([[p.centroid.x, p.centroid.y] for p in pilots])
    close("standoff spacing x", np.ptp(middles[:, 0]), 0.005)
    close("standoff spacing y", np.ptp(middles[:, 1]), 0.005)
    for hole in pilots:
        # A mesh's polygon touches the true circle with its corners.
        close("screw pilot", hole.bounds[2] - hole.bounds[0], 0.02)
    x, y = part.bosses[-1].at[:2]
    close("lid screw pilot", _width(rim.hole_at((x, y))), 0.02)
    close("lid screw hole", _width(ear.hole_at((x, y))), 0.02)
    at = part.lugs[1]
    close("lug hole", _width(lug.hole_at((at.at[0] + at.reach_mm, at.at[1]))), 0.02)


def _width(polygon):
    return polygon.bounds[2] - polygon.bounds[0]


def test_openings_in_walls_measured_by_sections(offset_case, section):
    made, drawn, part = offset_case
    tray = bodies(part)["tray"]
    upper = made.floor + made.below_board + 1.0 + made.board_thickness
    half = np.array([drawn["pocket length"], drawn["pocket width"]]) / 2 + made.wall / 2
    # Each stands as far from the middle of the board's holes as its own size says.
    x1 = made.hole_offset_x - drawn["port 1 along"]
    x3 = made.hole_offset_x + drawn["port 3 along"]
    assert abs(x1 - (15 - made.board_length / 2)) > 0.05
    front = section(tray, (0, -half[1], 0), (0, 1, 0)).hole_at((x1, upper + 2))
    back = section(tray, (0, half[1], 0), (0, 1, 0)).hole_at((x3, upper + 2))
    left = section(tray, (-half[0], 0, 0), (1, 0, 0)).hole_at(
        (19 - made.board_width / 2, upper + 3)
    )
    cable = section(tray, (half[0], 0, 0), (1, 0, 0)).hole_at(
        (31 - made.board_width / 2, made.floor + 3)
    )
    for number, hole in ((1, front), (3, back)):
        a, b, c, d = hole.bounds
        assert c - a == pytest.approx(drawn[f"port {number} width"], abs=0.01)
        assert d - b == pytest.approx(drawn[f"port {number} height"], abs=0.01)
    assert front.centroid.x == pytest.approx(x1, abs=1e-3)
    assert back.centroid.x == pytest.approx(x3, abs=1e-3)
    assert _width(left) == pytest.approx(drawn["port 2 diameter"], abs=0.02)
    assert _width(cable) == pytest.approx(drawn["cable exit"], abs=0.02)


def test_snap_post_and_sliding_lid_measured_by_sections(section):
    made = case(standoff="snap-post", lid_fixing="slide")
    drawn = {f.name: f.nominal_mm for f in made.fit_sizes()}
    drawn |= {"snap post": 2.97, "lid outside width": 40.5, "rim inside width": 41.13}
    part = made.build(drawn)
    tray, lid = bodies(part)["tray"], bodies(part)["lid"]
    # Raised for what the posts need: one layer under the barb, above the standoffs.
    board = (
        max(d.end[2] for d in part.dimensions if d.name == "snap post") - made.board_thickness / 2
    )
    post = section(tray, (0, 0, board + 0.2), (0, 0, 1))
    x, y = drawn["standoff spacing x"] / 2, drawn["standoff spacing y"] / 2
    halves = post.material.intersection(shapely.box(x - 1.8, y - 1.8, x + 1.8, y + 1.8))
    assert _width(halves) == pytest.approx(2.97, abs=0.01)
    assert len(halves.geoms) == 2
    groove_z = solids.box_of(lid)[0][2] + 0.4
    groove = section(tray, (0, 0, groove_z), (0, 0, 1))
    assert groove.gap((0, 0), (0, 1)) == pytest.approx(41.13, abs=0.01)
    plate = section(lid, (0, 0, groove_z), (0, 0, 1))
    _, low, _, high = plate.material.bounds
    assert high - low == pytest.approx(40.5, abs=0.01)


def test_every_key_dimension_spans_its_value(offset_case):
    _, drawn, part = offset_case
    assert part.dimensions
    for dimension in part.dimensions:
        span = np.linalg.norm(np.subtract(dimension.end, dimension.start))
        assert span == pytest.approx(dimension.value_mm, abs=1e-9)
        if dimension.name in drawn:
            assert dimension.value_mm == pytest.approx(drawn[dimension.name])


def test_cosmetic_sizes_do_not_follow_compensation():
    made = case()
    fits = {f.name: f.nominal_mm for f in made.fit_sizes()}
    plain = made.build(fits)
    wide = made.build(fits | {"port 1 width": fits["port 1 width"] + 0.4})
    assert plain.walls == wide.walls
    assert solids.box_of(plain.bodies[0].solid) == solids.box_of(wide.bodies[0].solid)


def test_holes_one_by_one_are_drawn_at_their_distances(section):
    places = [(4.0, 5.0), (53.5, 4.6), (49.0, 33.0), (17.0, 31.5)]
    made = case(holes=[{"x": f"{x} mm", "y": f"{y} mm"} for x, y in places], ports=[])
    fits = {f.name: f for f in made.fit_sizes() if f.kind == "centres"}
    # Hole 2 lies in one line with hole 1 along y: 0.4 mm is no distance to compensate.
    assert {n: f.nominal_mm for n, f in fits.items()} == pytest.approx(
        {
            "hole 1 to hole 2 x": 49.5,
            "hole 1 to hole 3 x": 45.0,
            "hole 1 to hole 3 y": 28.0,
            "hole 1 to hole 4 x": 13.0,
            "hole 1 to hole 4 y": 26.5,
        }
    )
    assert fits["hole 1 to hole 3 y"].of == "holes.2.y"
    drawn = {name: fit.nominal_mm * 1.004 for name, fit in fits.items()}
    part = made.build(drawn)
    cut = section(bodies(part)["tray"], (0, 0, 4.5), (0, 0, 1))
    middles = [cut.hole_at((x - 29.0, y - 19.0)).centroid.coords[0] for x, y in places]
    for number, (x, y) in enumerate(middles, start=1):
        for axis, distance in (("x", x - middles[0][0]), ("y", y - middles[0][1])):
            name = f"hole 1 to hole {number} {axis}"
            if name in drawn:
                assert abs(distance) == pytest.approx(drawn[name], abs=0.005)
    # The pattern grows about its own middle, so that no hole carries all of the error.
    assert np.mean(middles, axis=0) == pytest.approx(
        np.mean(places, axis=0) - [29.0, 19.0], abs=0.005
    )
    named = {d.name: d for d in part.dimensions}
    for name, value in drawn.items():
        assert named[name].value_mm == pytest.approx(value)


# --- what is in the case -----------------------------------------------------------------------


STANDOFFS = ["screw", "heat-set", "snap-post", "edge rails"]
LIDS = ["screws", "snap", "slide", "rim"]


@pytest.mark.parametrize(
    ("standoff", "lid_fixing"),
    [
        # Each kind once in the quick run, every pair in the slow one.
        pytest.param(s, lid, marks=[] if i == k else [pytest.mark.slow])
        for i, s in enumerate(STANDOFFS)
        for k, lid in enumerate(LIDS)
    ],
)
def test_every_standoff_with_every_lid_is_one_closed_solid_a_body(standoff, lid_fixing):
    part = case(
        standoff=standoff, lid_fixing=lid_fixing, lugs=4, vent_area="150 mm²", label="K7-3F9Q"
    ).build()
    for body in part.bodies:
        assert solids.is_valid(body.solid)
        mesh = tessellate(body.solid)
        other = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
        assert other.is_watertight
        assert len(other.split()) == 1
    tray, lid = (body.solid.wrapped for body in part.bodies)
    # A friction rim and hooks in their windows touch nowhere at nominal gaps of 0 or more.
    assert solids.volume_of(solids.common(tray, lid)) < 1.0


def test_the_board_goes_in_without_touching():
    made = case()
    drawn = {f.name: f.nominal_mm + 0.3 * f.sense for f in made.fit_sizes()}
    part = made.build(drawn)
    for ghost in part.ghosts:
        for body in part.bodies:
            shared = solids.volume_of(solids.common(body.solid, ghost.solid))
            assert shared == pytest.approx(0, abs=1e-6), (ghost.name, body.name)


@pytest.mark.parametrize("style", ["slots", "hex", "louvres"])
def test_vents_open_the_area_wanted_or_say_what_they_found(style):
    shut, vented = (
        case(ports=[]).build(),
        case(ports=[], vent_area="200 mm²", vent_style=style).build(),
    )
    free = sum(vent.free_area_mm2 for vent in vented.vents)
    if not any("find room" in f.text for f in vented.findings):
        assert free >= 190
    # The walls' vents take wall x area out of the tray; slanted louvres take more, never less.
    low = sum(v.free_area_mm2 for v in vented.vents if v.body == "tray")
    assert low > 0
    taken = shut.bodies[0].solid.volume - vented.bodies[0].solid.volume
    expected = low * 2.4
    assert taken == pytest.approx(expected, rel=0.01 if style != "louvres" else 0.35)
    lid = next(v for v in vented.vents if v.name == "lid vents")
    taken = shut.bodies[1].solid.volume - vented.bodies[1].solid.volume
    assert taken == pytest.approx(lid.free_area_mm2 * 2.0, rel=1e-6)


def test_windows_open_the_lid():
    window = {"x": "20 mm", "y": "19 mm", "length": "12 mm", "width": "6 mm"}
    shut, opened = case().build(), case(windows=[window]).build()
    taken = shut.bodies[1].solid.volume - opened.bodies[1].solid.volume
    assert taken == pytest.approx(12 * 6 * 2, rel=1e-6)


def test_label_is_sunk_into_tray_and_lid_without_changing_the_box():
    plain, marked = case().build(), case(label="K7-3F9Q").build()
    for before, after in zip(plain.bodies, marked.bodies, strict=True):
        assert after.solid.volume < before.solid.volume - 2
        assert solids.box_of(after.solid) == solids.box_of(before.solid)


def test_plain_numbers_for_checks_are_filled():
    part = case(lid_fixing="snap", lugs=4, vent_area="100 mm²").build()
    assert {wall.name for wall in part.walls} >= {"side wall", "floor", "plate", "rim", "lip"}
    assert part.arms[0].layers_across
    # Root strain of a cantilever, 1.5 h y / L²: low enough for arms whose layers lie across.
    arm = part.arms[0]
    assert 1.5 * arm.thickness_mm * arm.deflection_mm / arm.length_mm**2 < 0.012
    assert len(part.lugs) == 4
    assert len(part.bosses) == 4
    spans = {bridge.name: bridge.span_mm for bridge in part.bridges}
    assert spans["port 1"] == pytest.approx(9.0)
    assert spans["window of a snap arm"] == pytest.approx(6.0)
    assert part.insertion == (0.0, 0.0, -1.0)
    assert [ghost.name for ghost in part.ghosts][:2] == ["board", "tallest part"]


def test_snap_arms_bear_their_bending_across_the_layers_and_say_that_they_lie_so():
    """Strain at the root 1.5 h y / L²; PLA bears 2 % x 0.6 (repeated) x 0.4 (layers) = 0.48 %."""
    for wall in ("2.4 mm", "6 mm"):
        part = case(lid_fixing="snap", wall=wall).build()
        (arm,) = part.arms
        assert arm.layers_across
        strain = 1.5 * arm.thickness_mm * arm.deflection_mm / arm.length_mm**2
        assert strain <= 0.004 + 1e-9
        (said,) = [f for f in part.findings if "stand upright" in f.text]
        assert "by screws, or let it slide" in said.remedy
    # As long as told: from under the plate to the tip.
    lid = bodies(part)["lid"]
    low, high = solids.box_of(lid)
    assert high[2] - low[2] == pytest.approx(2.0 + arm.length_mm, abs=1e-6)


def test_snap_posts_stand_in_wells_that_let_them_bend(section):
    part = case(standoff="snap-post").build()
    assert [arm.count for arm in part.arms] == [2, 2, 2, 2]
    post = part.arms[0]
    strain = 1.5 * post.thickness_mm * post.deflection_mm / post.length_mm**2
    # 9 % if they bent over the board's thickness alone; 1.8 % with a sharp corner at their root.
    assert notch_factor(post.root_radius_mm, post.thickness_mm) * strain < 0.0165
    x, y = 25.0, 15.0
    cut = section(bodies(part)["tray"], (0, 0, 3.5), (0, 0, 1)).material
    there = cut.intersection(shapely.box(x - 3.4, y - 3.4, x + 3.4, y + 3.4))
    ring, *halves = sorted(there.geoms, key=lambda g: -g.area)
    assert len(halves) == 2
    assert min(ring.distance(half) for half in halves) == pytest.approx(0.7, abs=0.02)
    assert any("screws, inserts or edge rails" in f.remedy for f in part.findings)


def test_a_board_snaps_over_its_posts_without_a_collision_told(tmp_path):
    from fitkit.checks.assembly import check_assembly
    from fitkit.flow import build, load_sheet, mesh_part, prepare
    from fitkit.make.checking import check_context

    (tmp_path / "case.toml").write_text(
        'schema = 1\ntitle = "case"\ntemplate = "board case"\n'
        '[printer]\ngeneric = "PETG"\n[values]\nstandoff = "snap-post"\n'
    )
    plan = prepare(load_sheet(tmp_path / "case.toml"))
    built = mesh_part(build(plan))
    found = check_assembly(built.part, check_context(plan, built))
    assert not [f.text for f in found if "cannot be laid" in f.text]


@pytest.mark.parametrize(
    ("values", "body"),
    [
        ({"lugs": 4, "lug_screw": "5 mm"}, "tray"),
        ({"cable": {"wall": "left", "along": "19 mm", "diameter": "5 mm"}}, "tray"),
        ({"lid_fixing": "slide", "detent": False}, "lid"),
    ],
)
def test_what_stands_on_the_bed_is_drawn_in_at_its_foot(values, body, section):
    """First layer 0.4 mm narrower each side at z = 0, in full at 0.4 mm; the holes 0.4 wider."""
    solid = bodies(case(ports=[], **values).build())[body]
    base = solids.box_of(solid)[0][2]
    foot, above = (section(solid, (0, 0, base + z), (0, 0, 1)).material for z in (0.01, 0.41))
    inset = 0.39 if body == "tray" else foot_of_lid(above, foot)
    assert inset >= 0.25
    for small, large in zip(foot.bounds, above.bounds, strict=True):
        assert abs(small - large) == pytest.approx(inset, abs=0.005)
    assert above.buffer(-inset - 0.02, join_style="mitre").within(foot.buffer(1e-3))


def foot_of_lid(above, foot):
    return (_width(above) - _width(foot)) / 2


def test_a_sliding_lid_snaps_over_a_ridge_that_its_notch_clears():
    part = case(lid_fixing="slide", ports=[]).build()
    tray, lid = bodies(part)["tray"], bodies(part)["lid"]
    (detent,) = [a for a in part.arms if a.name == "lid detent"]
    # Half a beam between the grooves, as a cantilever: 41.2 / 2 long, lifted by 0.25.
    assert detent.length_mm == pytest.approx(20.6)
    assert detent.deflection_mm == pytest.approx(0.25)
    assert not detent.layers_across
    # Shut, it touches nothing; a millimetre open, the ridge holds it.
    shut = solids.volume_of(solids.common(tray, lid))
    opened = solids.volume_of(solids.common(tray, solids.moved(lid, x=1.0)))
    free = case(lid_fixing="slide", ports=[], detent=False).build()
    slack = solids.volume_of(
        solids.common(bodies(free)["tray"], solids.moved(bodies(free)["lid"], x=1.0))
    )
    assert shut < 1e-6
    assert opened - slack > 1.0
    stiff = case(lid_fixing="slide", board_width="15 mm", hole_spacing_y="0 mm", ports=[],
                 lid_thickness="5 mm").build()  # fmt: skip
    assert any("gets no detent" in f.text for f in stiff.findings)
    assert not stiff.arms


def test_lid_screws_and_inserts_of_other_sizes(section):
    made = case(lid_fixing="screws", lid_screw="4 mm", standoff="heat-set", insert="4.6 mm",
                ports=[])  # fmt: skip
    sizes = {f.name: f for f in made.fit_sizes()}
    assert sizes["lid screw pilot"].nominal_mm == pytest.approx(3.4)
    assert (sizes["lid screw hole"].nominal_mm, sizes["lid screw hole"].of) == (4.0, "lid_screw")
    assert (sizes["insert hole"].nominal_mm, sizes["insert hole"].of) == (4.6, "insert")
    part = made.build()
    tray = bodies(part)["tray"]
    x, y = part.bosses[-1].at[:2]
    assert part.bosses[-1].outer_mm == 9.0
    ear = section(tray, (0, 0, solids.box_of(tray)[1][2] - 1), (0, 0, 1))
    assert _width(ear.hole_at((x, y))) == pytest.approx(3.4, abs=0.02)
    assert ear.material.bounds[3] == pytest.approx(19.0 + 2.4 + 9.0)
    assert _width(section(tray, (0, 0, 4.5), (0, 0, 1)).hole_at((25, 15))) == pytest.approx(
        4.6, abs=0.02
    )


# --- field cases -------------------------------------------------------------------------------


def test_low_standoff_and_plug_beyond_the_edge_are_stopped_with_numbers():
    """Solder 1.8 below, standoff 1.5; plug 2.0 beyond the edge."""
    port = PORTS[0] | {"depth": "2.0 mm"}
    made = case(below_board="1.8 mm", standoff_height="1.5 mm", ports=[port], lid_fixing="slide")
    part = made.build({"pocket length": 58.6, "pocket width": 38.6})
    stops = [f for f in part.findings if f.severity == "stop"]
    assert [f.value for f in stops] == [1.5, 2.0]
    assert [f.limit for f in stops] == pytest.approx([2.8, 0.3])
    assert "Raise standoff_height to 2.8 mm" in stops[0].remedy
    assert "cannot pass straight down" in stops[1].text


def test_plug_body_larger_than_its_socket():
    """Socket 9.0 x 3.3, plug shell 12.5 x 7.0, wall 2.4, socket 1.0 behind it."""
    socket = PORTS[0] | {"width": "9.0 mm", "height": "3.3 mm", "depth": "-1.0 mm"}
    (warning,) = [f for f in case(ports=[socket]).build().findings if f.severity == "warn"]
    assert warning.value == pytest.approx(3.4)
    assert "will not seat" in warning.text
    shell = case(ports=[socket | {"overmould": "1.85 mm"}])
    sizes = {f.name: f for f in shell.fit_sizes()}
    assert sizes["port 1 width"].nominal_mm == pytest.approx(12.7)
    assert sizes["port 1 height"].nominal_mm == pytest.approx(7.0)
    assert sizes["port 1 width"].of == "ports.0.width"
    assert not [f for f in shell.build().findings if f.severity == "warn"]


@pytest.mark.parametrize("lid_fixing", ["rim", "screws", "snap"])
def test_a_board_on_a_ledge_is_held_down_by_posts_of_the_lid(lid_fixing, section):
    part = case(standoff="edge rails", lid_fixing=lid_fixing, label="K7-3F9Q").build()
    assert not [f for f in part.findings if f.severity != "note"]
    board, lid = part.body("board").solid, bodies(part)["lid"]
    upper = solids.box_of(board)[1][2]
    over_board = shapely.box(-29.0, -19.2, 29.0, 19.2)  # without arms in the rim
    posts = section(lid, (0, 0, upper + 1.0), (0, 0, 1)).material & over_board
    assert len(posts.geoms) == 4
    high = solids.box_of(board)[1]
    for post in posts.geoms:
        x, y = post.centroid.coords[0]
        # All but a fringe of each post stands over the board, in a corner of it.
        assert min(post.bounds[2] - post.bounds[0], post.bounds[3] - post.bounds[1]) >= 2.99
        assert min(high[0] - abs(x), high[1] - abs(y)) < 3.0
        assert high[0] - abs(x) > 1.0
    # They end 0.2 mm over it, so that the lid seats first.
    named = {d.name: d for d in part.dimensions}["hold-down post height"]
    assert min(named.start[2], named.end[2]) == pytest.approx(upper + 0.2)
    assert solids.volume_of(solids.common(lid, board)) < 1e-6
    assert section(lid, (0, 0, upper + 0.25), (0, 0, 1)).material.area > 30
    assert [w.thickness_mm for w in part.walls if w.name == "hold-down post"] == [3.0]


def test_a_board_that_nothing_holds_down_is_told():
    slide = case(standoff="edge rails", lid_fixing="slide").build()
    assert any("lies loose on its ledge: a sliding lid" in f.text for f in slide.findings)
    open_lid = {"x": "29 mm", "y": "19 mm", "length": "56 mm", "width": "36 mm"}
    window = case(standoff="edge rails", windows=[open_lid]).build()
    assert any("windows and sockets take the places" in f.text for f in window.findings)


# --- the board from a STEP file ----------------------------------------------------------------


def board_file(path, *, size=(58, 38, 1.6), origin=(0, 0, 0), tall=11.0, beyond=0.0):
    """A board with one part on it, in two solids; its corner at the origin."""
    from build123d import Box, Compound, Pos, export_step

    length, width, thick = size
    board = Pos(length / 2, width / 2, thick / 2) * Box(length, width, thick)
    at = (length * 20 / 29 + beyond, width / 2, thick + tall / 2)
    part = Pos(*at) * Box(length * 10 / 29, width * 5 / 19, tall)
    export_step(Pos(*origin) * Compound(children=[board, part]), str(path))
    return str(path)


def test_a_step_file_stands_in_for_the_board(tmp_path):
    part = case(ghost_step=board_file(tmp_path / "board.step")).build()
    plain = case().build()
    assert [g.name for g in part.ghosts] == ["board", "board part 2", "plug 1", "plug 2", "plug 3"]
    assert not [f for f in part.findings if f.severity != "note"]
    boxes = [solids.box_of(p.body("board").solid) for p in (part, plain)]
    assert np.allclose(*boxes, atol=1e-6)
    middle = board_file(tmp_path / "middle.step", origin=(-29, -19, 0))
    again = case(ghost_step=middle, ghost_origin="middle").build()
    assert np.allclose(solids.box_of(again.body("board").solid), boxes[0], atol=1e-6)


def test_a_step_file_that_disagrees_with_the_readings_is_told(tmp_path):
    from fitkit.checks.assembly import blocked

    high = case(ghost_step=board_file(tmp_path / "high.step", tall=12.5)).build()
    (warning,) = [f for f in high.findings if f.severity == "warn"]
    assert (warning.value, warning.limit) == (pytest.approx(12.5), 11.0)
    assert "set tallest_part to 12.5 mm" in warning.remedy
    wide = case(ghost_step=board_file(tmp_path / "wide.step", beyond=9.0), ports=[]).build()
    meshes = [tessellate(wide.body(name).solid) for name in ("board part 2", "tray")]
    (place,) = blocked(*meshes, wide.insertion)  # 1 mm beyond the board's edge, into the wall
    assert place.width_mm == pytest.approx(1.0, abs=0.25)


def test_a_step_file_with_too_many_solids_is_refused(tmp_path):
    from fitkit.solids.outline import read_bodies

    with pytest.raises(PartError, match=r"board.step: it holds 2 solids, and 1 to 1 are wanted"):
        read_bodies(board_file(tmp_path / "board.step"), most=1)
    (tmp_path / "text.step").write_text("hello")
    with pytest.raises(PartError, match=r"text.step: this is not a STEP file that can be read"):
        read_bodies(tmp_path / "text.step")


# --- refusals ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"wall": "0.5 mm"}, "board case, wall: 0.5 mm is below 1.6 mm"),
        ({"board_length": "-58 mm"}, "board_length: -58 mm is below 15 mm"),
        ({"standoff_height": "60 mm"}, "board case, standoff_height: 60 mm is above 40 mm"),
        ({"hole_spacing_x": "56 mm"}, "hole_spacing_x: 56 mm puts a hole 1.00 mm from the pocket"),
        ({"hole_spacing_y": "3 mm"}, "hole_spacing_y: 3 mm brings two standoffs closer"),
        (
            {
                "lid_fixing": "screws",
                "ports": [PORTS[0] | {"along": "16 mm", "width": "30 mm"}],
            },
            "ports 1.along: it lies behind an ear for the lid's screws",
        ),
        (
            {"holes": [{"x": "1 mm", "y": "9 mm"}]},
            "holes 1.x: it lies 1.00 mm from the pocket's wall, and a standoff needs 1.60 mm",
        ),
        (
            {"holes": [{"x": "9 mm", "y": "9 mm"}, {"x": "12 mm", "y": "9 mm"}]},
            "holes 2: it lies 3.0 mm from hole 1, and two standoffs need 5.2 mm",
        ),
        ({"ports": [PORTS[0] | {"above": "-6 mm"}]}, "ports 1.above: its lower edge"),
        ({"ports": [PORTS[0] | {"along": "2 mm"}]}, "ports 1.along: it reaches"),
        ({"ports": [PORTS[0], PORTS[0]]}, "ports 2: it runs into port 1"),
        (
            {"windows": [{"x": "0 mm", "length": "1 mm"}]},
            "windows 1.x: it reaches from -0.5 to 0.5 mm",
        ),
        (
            {"lid_fixing": "slide", "windows": [{"x": "2 mm"}]},
            "windows 1.x: it reaches from -3.0 to 7.0 mm",
        ),
        ({"lid_fixing": "snap", "wall": "1.6 mm"}, "wall: 1.6 mm is below 2 mm"),
        (
            {"standoff": "snap-post", "hole_diameter": "2 mm"},
            "hole_diameter: 2 mm is below 2.5 mm",
        ),
    ],
)
def test_what_does_not_go_is_refused_in_words(values, words):
    with pytest.raises((PartError, FaultList)) as caught:
        case(**values).build()
    assert words in str(caught.value)
    text = str(caught.value)
    assert text.count(".") >= 1
    assert text.rstrip().endswith(".")


def test_unknown_fit_size_is_refused():
    with pytest.raises(PartError, match="there is no size 'pocket lenght'"):
        case().build({"pocket lenght": 58.0})


def test_registry_knows_it():
    assert template("board case") is BoardCase


# --- the whole range ---------------------------------------------------------------------------


# Corners (x, y, bulge) in a square of 1: a stepped key, a barrel with round ends, a wedge.
DRAWN = {
    "key": [(0, 0, 0), (1, 0, 0), (1, 0.6, 0), (0.7, 0.6, 0), (0.7, 1, 0), (0.3, 1, 0),
            (0.3, 0.6, 0), (0, 0.6, 0)],
    "barrel": [(0, 0, 0), (1, 0, 0.4), (1, 1, 0), (0, 1, 0.4)],
    "wedge": [(0, 0, 0), (1, 0, 0), (0.85, 1, 0), (0.15, 1, 0)],
}  # fmt: skip


def outline_file(path, name, wide, high):
    """One of the drawn outlines as a DXF file, stretched to a size."""
    import ezdxf

    drawing = ezdxf.new(units=4)
    corners = [(x * wide, y * high, bulge) for x, y, bulge in DRAWN[name]]
    drawing.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    drawing.saveas(path)
    return str(path)


def sample(rng: np.random.Generator, folder: Path) -> BoardCase:
    """A set of parameters that a person might give, over the whole range; its files in a folder."""
    # Most boards are small; one in four is of the sizes above.
    if rng.random() < 0.25:
        length, width = rng.uniform(160, 300), rng.uniform(110, 200)
    else:
        length, width = rng.uniform(15, 160), rng.uniform(15, 110)
    diameter = rng.uniform(1.5, 5)
    mm = "{:.3f} mm".format

    def spacing(size):
        return mm(0.0 if rng.random() < 0.1 else rng.uniform(0.5, 0.95) * (size - diameter - 2))

    ports, taken = [], set()
    for _ in range(rng.integers(0, 4)):
        wall = str(rng.choice(["left", "right", "front", "back"]))
        room = length if wall in ("front", "back") else width
        if wall in taken or room < 20:
            continue
        taken.add(wall)
        wide, high = rng.uniform(2, min(14, room - 12)), rng.uniform(1.5, 6)
        port = {
            "wall": wall,
            "along": mm(rng.uniform(wide / 2 + 4, room - wide / 2 - 4)),
            "above": mm(rng.uniform(1.5, 10)),
            "width": mm(wide),
            "height": mm(high),
            "shape": str(rng.choice(["rectangle", "slot", "round", "outline"])),
            "overmould": mm(rng.choice([0.0, 0.5])),
        }
        if port["shape"] == "outline":
            drawn = str(rng.choice(list(DRAWN)))
            port["outline"] = outline_file(folder / f"{wall}.dxf", drawn, wide, high)
        ports.append(port)
    holes = []
    if rng.random() < 0.3:
        places = [(x, y) for x in (0.15, 0.5, 0.85) for y in (0.15, 0.5, 0.85)]
        holes = [
            {"x": mm(places[i][0] * length), "y": mm((places[i][1] + rng.uniform(0, 0.05)) * width)}
            for i in rng.permutation(len(places))[: rng.integers(1, 5)]
        ]
    windows = []
    if rng.random() < 0.4:
        a, b = rng.uniform(2, length - 8), rng.uniform(2, width - 8)
        windows.append({"x": mm(length / 2), "y": mm(width / 2), "length": mm(a), "width": mm(b)})
    cable = None
    if rng.random() < 0.3 and width > 25:
        cable = {"wall": "left", "along": mm(width / 2), "diameter": mm(rng.uniform(1.5, 8))}
        ports = [port for port in ports if port["wall"] != "left"]
    thick, tall, step = rng.uniform(0.4, 4), rng.uniform(0, 40), {}
    if rng.random() < 0.25:
        middle = bool(rng.random() < 0.5)
        origin = (-length / 2, -width / 2, 0) if middle else (0, 0, 0)
        size = (length, width, thick)
        step = {
            "ghost_step": board_file(
                folder / "board.step", size=size, origin=origin, tall=max(tall, 0.5)
            ),
            "ghost_origin": "middle" if middle else "corner",
        }
    return BoardCase.of(
        **step,
        board_length=mm(length),
        board_width=mm(width),
        board_thickness=mm(thick),
        tallest_part=mm(tall),
        below_board=mm(rng.uniform(0, 10)),
        hole_spacing_x=spacing(length),
        hole_spacing_y=spacing(width),
        hole_diameter=mm(diameter),
        holes=holes,
        ports=ports,
        windows=windows,
        cable=cable,
        vent_area=f"{rng.choice([0, 50, 400, 3000])} mm²",
        vent_style=str(rng.choice(["slots", "hex", "louvres"])),
        wall=mm(rng.uniform(1.6, 6)),
        floor=mm(rng.uniform(1.2, 6)),
        lid_thickness=mm(rng.uniform(1.2, 6)),
        corner_radius=mm(rng.uniform(0, 12)),
        headroom=mm(rng.uniform(0, 10)),
        standoff=str(rng.choice(["screw", "heat-set", "snap-post", "edge rails"])),
        lid_fixing=str(rng.choice(["screws", "snap", "slide", "rim"])),
        insert=mm(rng.uniform(2.5, 8)),
        lid_screw=mm(rng.uniform(2, 5)),
        detent=bool(rng.random() < 0.8),
        lugs=int(rng.choice([0, 2, 4])),
        lug_screw=mm(rng.uniform(2, 8)),
        label=str(rng.choice(["", "K7-3F9Q"])),
    )


def check_sample(seed: int, folder: Path) -> BoardCase | None:
    """Build one sampled case; None if it was refused in words."""
    made = sample(np.random.default_rng(seed), folder)
    refusal = None
    try:
        part = made.build()
    except FitkitError as error:
        refusal = error
    if refusal:
        assert refusal.remedy, f"seed {seed}: {refusal}"
        for words in ("not one solid", "its numbers say", "as a valid solid", "joined or cut"):
            assert words not in str(refusal), f"seed {seed}: {refusal}"
        return None
    for body in part.bodies:
        assert solids.is_valid(body.solid), f"seed {seed}: {body.name}"
        mesh = tessellate(body.solid, tolerance_mm=0.1, angle_deg=20)
        other = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
        assert other.is_watertight, f"seed {seed}: {body.name}"
        assert other.volume == pytest.approx(body.solid.volume, rel=0.02), f"seed {seed}"
    return made


# What only few of the cases have, and none may be spared.
RARE = {
    "a port of an outline": lambda c: any(port.shape == "outline" for port in c.ports),
    "a board from a file": lambda c: bool(c.ghost_step),
    "a large board": lambda c: c.board_length > 160 and c.board_width > 110,
}


def test_a_few_sampled_cases_build_valid_solids(tmp_path):
    # Seeds between which each of the rare kinds is built at least once.
    built = [check_sample(seed, tmp_path) for seed in (1, 3, 6, 11, 12, 14)]
    assert all(built)
    assert [name for name, has in RARE.items() if not any(map(has, built))] == []


@pytest.mark.slow
def test_two_hundred_sampled_cases_build_valid_solids(tmp_path):
    built, seed = [], 1000
    while len(built) < 200:
        made = check_sample(seed, tmp_path)
        built += [made] if made else []
        seed += 1
        assert seed < 1600, "too many sets are refused"
    counts = {name: sum(map(has, built)) for name, has in RARE.items()}
    assert min(counts.values()) >= 20, counts


def test_the_vents_area_is_typed_with_its_unit():
    assert case(vent_area="2 cm²").vent_area == pytest.approx(200.0)
    with pytest.raises(FitkitError, match=r"240 has no unit.*Write '240 mm²'"):
        case(vent_area=240)


@pytest.mark.parametrize("wall", ["front", "back"])
def test_an_ear_of_the_lids_screws_makes_way_for_a_port_near_the_corner(wall, section):
    """The hole for the screw is looked for in the mesh's section, beside the port's plug."""
    port = PORTS[0] | {"wall": wall, "along": "9 mm"}
    part = case(lid_fixing="screws", ports=[port], lugs=0).build()
    tray = bodies(part)["tray"]
    (low, _), (high, _) = solids.box_of(tray)[0][:2], solids.box_of(tray)[1][:2]
    top = solids.box_of(tray)[1][2]
    cut = section(tray, (0, 0, top - 1.0), (0, 0, 1))
    holes = sorted(
        (shapely.Polygon(ring).centroid.x, shapely.Polygon(ring).centroid.y)
        for one in getattr(cut.material, "geoms", [cut.material])
        for ring in one.interiors
        if shapely.Polygon(ring).area < 20
    )
    assert len(holes) == 4
    lefts = [x for x, _ in holes if x < 0]
    plug = next(g for g in part.ghosts if "plug" in g.name)
    (left, *_), (right, *_) = solids.box_of(plug.solid)
    assert lefts[0] == pytest.approx(lefts[1], abs=0.01)
    assert all(x > right + 3.0 or x < left - 3.0 for x, _ in holes)
    assert low < lefts[0] < high


def test_snap_arms_find_a_place_beside_ports_in_one_wall(section):
    """Two ports leave one place, off the middle: arm and notch are there in both walls."""
    ports = [PORTS[0] | {"wall": "front", "along": a, "above": "5 mm"} for a in ("12 mm", "28 mm")]
    part = case(lid_fixing="snap", ports=ports, lugs=0).build()
    (arm,) = [arm for arm in part.arms if arm.name == "lid arm"]
    assert arm.at[0] > 5.0
    top = solids.box_of(bodies(part)["tray"])[1][2]
    tray = section(bodies(part)["tray"], (0, 0, top - 5.0), (0, 0, 1)).material
    lid = section(bodies(part)["lid"], (0, 0, top - 5.0), (0, 0, 1)).material
    lows = [one.bounds for one in getattr(lid, "geoms", [lid])]
    assert len(lows) == 2 == arm.count
    for left, low, right, high in lows:
        assert (left + right) / 2 == pytest.approx(arm.at[0], abs=0.01)
        assert abs(low + high) / 2 > 15
    assert tray.intersection(lid).area < 0.5
