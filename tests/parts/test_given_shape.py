"""Fit features on given shapes, judged by trimesh and shapely against plain geometry."""

import numpy as np
import pytest
import trimesh
from shapely.geometry import Point, box
from shapely.ops import unary_union

from fitkit.core.errors import FaultList, FitkitError, PartError
from fitkit.parts import template
from fitkit.solids.mesh import turn_matrix

BOX = (60.0, 50.0, 40.0)
TOP = {"at": ["0 mm", "0 mm", "20 mm"]}
FRONT = {"at": ["0 mm", "-25 mm", "0 mm"]}
BACK = {"at": ["0 mm", "25 mm", "0 mm"]}


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shapes")
    trimesh.creation.box(BOX).export(folder / "box.stl")
    trimesh.creation.icosphere(subdivisions=5, radius=40.0).export(folder / "ball.stl")
    return folder


def on(path, *things, **values):
    return template("given shape").of(shape=str(path), unit="mm", things=list(things), **values)


def thing(held, place, name="it", **values):
    return {"name": name, "held": held, "place": place} | values


def mesh_of(part):
    mesh = part.bodies[0].mesh
    made = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert made.is_watertight
    assert made.is_winding_consistent
    return made


def drawn_of(kind, size):
    fit = next(one for one in kind.fit_sizes() if one.name == size)
    return fit.plain_mm


def test_a_boss_adds_its_post_and_takes_its_hole(files):
    kind = on(files / "box.stl", thing("screw boss", TOP, high="6 mm", outer="9 mm"))
    part = kind.build({"it: screw pilot": 2.7})
    (boss,) = part.bosses
    plain = np.pi / 4 * (81 * 6 - 2.7**2 * boss.depth_mm)
    assert mesh_of(part).volume - np.prod(BOX) == pytest.approx(plain, rel=5e-3)
    assert boss.at == pytest.approx((0, 0, 26))
    assert part.buys


def test_a_channel_through_takes_a_cylinder(files):
    kind = on(files / "box.stl", thing("cable channel", FRONT, deep="60 mm"))
    part = kind.build({"it: channel": 6.3})
    taken = np.prod(BOX) - mesh_of(part).volume
    assert taken == pytest.approx(np.pi / 4 * 6.3**2 * 50, rel=5e-3)


def test_a_keyhole_takes_its_opening_and_the_recess_behind_the_web(files):
    kind = on(files / "box.stl", thing("keyhole", BACK, web="2.5 mm", travel="9 mm"))
    part = kind.build({"it: head": 8.4, "it: shank": 4.3})
    opening = unary_union(
        [Point(0, 0).buffer(4.2, 128), box(-2.15, 0, 2.15, 9), Point(0, 9).buffer(2.15, 128)]
    ).area
    wide = 8.4 + 1.2
    recess = 9 * wide + np.pi / 4 * wide**2
    taken = np.prod(BOX) - mesh_of(part).volume
    assert taken == pytest.approx(2.5 * opening + 3.5 * recess, rel=5e-3)
    # The slot runs upwards: the shank's dimension lies above that of the head.
    head, shank = part.dimensions
    assert shank.start[2] - head.start[2] == pytest.approx(9.0)


def test_a_foot_takes_a_slice_and_is_printed_standing_on_it(files):
    place = {"at": ["0 mm", "22 mm", "0 mm"], "normal": [0, 1, 0]}
    part = on(files / "box.stl", thing("flat foot", place)).build()
    assert mesh_of(part).volume == pytest.approx(60 * 47 * 40, rel=1e-6)
    turned = part.bodies[0].mesh.vertices @ turn_matrix(part.bodies[0].print_turn).T
    on_bed = turned[:, 2] < turned[:, 2].min() + 1e-6
    spread = np.ptp(turned[on_bed], axis=0)
    assert sorted(spread[:2].tolist()) == pytest.approx([40, 60])


@pytest.mark.parametrize(
    ("file", "place"),
    [
        ("box.stl", FRONT | {"sunk": "12 mm"}),
        ("box.stl", TOP | {"turn": "15 deg"}),
        # On a ball the surface falls away under the plate, which gets a root.
        ("ball.stl", {"at": ["0 mm", "0 mm", "40 mm"], "normal": [0, 0, 1]}),
        ("ball.stl", {"at": ["24 mm", "0 mm", "32 mm"], "sunk": "8 mm"}),
    ],
)
def test_a_seat_has_its_gap_in_the_finished_mesh(files, file, place):
    kind = on(files / file, thing("ball in a cup", place, ball="20 mm", slits=4))
    part = kind.build({"it: seat": 20.36, "it: mouth": 19.7})
    made = mesh_of(part)
    (ghost,) = part.ghosts
    centre = np.array(tuple(ghost.solid.center()))
    out = -np.array(ghost.insertion)
    seat, mouth = part.dimensions
    middle = (np.array(seat.start) + np.array(seat.end)) / 2
    # From the sphere's middle square to its axis: the face is half of the seat away.
    across = np.cross(out, [0.3, 0.5, 0.8])
    across /= np.linalg.norm(across)
    other = np.cross(out, across)
    angles = np.radians(np.arange(0, 360, 7.0))
    ways = np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * other
    hits, _, _ = made.ray.intersects_location(middle + 0 * ways, ways, multiple_hits=False)
    away = np.linalg.norm(hits - middle, axis=1)
    lips = away < 10.5  # the rest look out through slits
    assert lips.sum() > 30
    assert away[lips] == pytest.approx(20.36 / 2, abs=0.012)
    # The ball lies 0.17 mm deeper, on the ground of the seat, and touches nothing.
    assert np.linalg.norm(centre - middle) == pytest.approx(0.18, abs=0.02)
    ball = trimesh.creation.icosphere(subdivisions=4, radius=9.95)
    ball.apply_translation(centre)
    assert not made.contains(ball.vertices).any()
    assert np.linalg.norm(np.array(mouth.start) - np.array(mouth.end)) == pytest.approx(19.7)
    # One piece: the seat is joined to the shape.
    assert len(made.split(only_watertight=False)) == 1


def test_any_holder_stands_on_a_shape_with_its_plate(files):
    kind = on(
        files / "ball.stl",
        thing(
            "block between arms",
            {"at": ["0 mm", "-40 mm", "0 mm"], "sunk": "4 mm"},
            columns=1,
            rows=1,
        ),
    )
    part = kind.build()
    made = mesh_of(part)
    assert len(made.split(only_watertight=False)) == 1
    (ghost,) = part.ghosts
    box_of = ghost.solid.bounding_box()
    inside = np.array([tuple(box_of.min), tuple(box_of.max)])
    grid = np.stack(
        np.meshgrid(*(np.linspace(a + 0.2, b - 0.2, 6) for a, b in inside.T)), axis=-1
    ).reshape(-1, 3)
    assert not made.contains(grid).any()


def test_the_wall_beside_a_channel_is_what_is_left(files):
    place = {"at": ["0 mm", "-25 mm", "16 mm"], "normal": [0, -1, 0]}
    kind = on(files / "box.stl", thing("cable channel", place, deep="60 mm"))
    part = kind.build({"it: channel": 5.0})
    (wall,) = [one for one in part.walls if one.name.endswith("shape beside it")]
    assert wall.thickness_mm == pytest.approx(20 - 16 - 2.5, abs=0.02)


def test_a_cut_that_leaves_no_wall_is_refused_with_the_figure(files):
    place = {"at": ["0 mm", "-25 mm", "17.3 mm"], "normal": [0, -1, 0]}
    kind = on(files / "box.stl", thing("cable channel", place, deep="60 mm"))
    with pytest.raises(PartError, match=r"only 0\.(19|20) mm of the shape would be left") as caught:
        kind.build({"it: channel": 5.0})
    assert caught.value.at == ("things", 0, "place", "at")


def test_holes_that_lie_in_the_print_are_compensated_as_such(files):
    kind = on(
        files / "box.stl",
        thing("screw boss", TOP, name="up"),
        thing("cable channel", FRONT, name="aside"),
    )
    kinds = {fit.name: fit.kind.name for fit in kind.fit_sizes()}
    assert kinds == {"up: screw pilot": "hole", "aside: channel": "hole_lying"}
    # Printed on its back, it is the other way round.
    foot = thing("flat foot", {"at": ["0 mm", "24 mm", "0 mm"], "normal": [0, 1, 0]}, name="foot")
    kinds = {
        fit.name: fit.kind.name
        for fit in on(
            files / "box.stl",
            thing("screw boss", TOP, name="up"),
            thing("cable channel", FRONT, name="aside"),
            foot,
        ).fit_sizes()
    }
    assert kinds == {"up: screw pilot": "hole_lying", "aside: channel": "hole"}


def fault(build):
    with pytest.raises(FitkitError) as caught:
        build()
    error = caught.value
    return error.faults[0] if isinstance(error, FaultList) else error


@pytest.mark.parametrize(
    ("things", "code", "at"),
    [
        ([thing("screw boss", "auto")], "shape.no-place", ("things", 0, "place")),
        (
            [thing("screw boss", {"at": ["0 mm", "0 mm", "23 mm"]})],
            "shape.off-surface",
            ("things", 0, "place", "at"),
        ),
        (
            [thing("screw boss", TOP | {"normal": [0, 0, -1]})],
            "shape.normal",
            ("things", 0, "place", "normal"),
        ),
        (
            [thing("screw boss", TOP | {"normal": [0, 0, 0]})],
            "shape.normal",
            ("things", 0, "place", "normal"),
        ),
        (
            [thing("ball in a cup", {"at": ["28 mm", "0 mm", "20 mm"]})],
            "shape.no-ground",
            ("things", 0, "place", "sunk"),
        ),
        (
            [thing("ball in a cup", TOP | {"sunk": "-20 mm"}), thing("screw boss", TOP, name="b")],
            "carrier.two-in-one-place",
            ("things", 1, "place", "at"),
        ),
        (
            [thing("screw boss", TOP), thing("screw boss", FRONT)],
            "carrier.same-name",
            ("things", 1, "name"),
        ),
        (
            [thing("flat foot", {"at": ["0 mm", "0 mm", "30 mm"]})],
            "shape.all-cut",
            ("things", 0, "place"),
        ),
        ([thing("keyhole", BACK, travel="4 mm")], "part.too-small", ("things", 0, "travel")),
        ([], "carrier.no-things", ("things",)),
    ],
)
def test_bad_poses_are_one_message_with_the_place(files, things, code, at):
    error = fault(lambda: on(files / "box.stl", *things).build())
    assert (error.code, error.at) == (code, at)


def test_a_point_off_the_shape_is_told_with_the_distance_and_the_nearest(files):
    error = fault(
        lambda: on(
            files / "box.stl", thing("screw boss", {"at": ["3 mm", "0 mm", "23 mm"]})
        ).fit_sizes()
    )
    assert error.what == "the point lies 3.0 mm off the shape"
    assert '["3.00 mm", "0.00 mm", "20.00 mm"]' in error.remedy


def test_a_pose_that_cuts_the_shape_in_two_is_refused(tmp_path):
    bar = trimesh.creation.box((60, 4, 4))
    bar.export(tmp_path / "bar.stl")
    place = {"at": ["0 mm", "0 mm", "2 mm"]}
    error = fault(
        lambda: on(
            tmp_path / "bar.stl", thing("cable channel", place, cable="6 mm", deep="10 mm")
        ).build()
    )
    assert error.code in ("shape.falls-apart", "shape.thin")


def test_a_wrong_unit_is_seen_by_a_known_length(files):
    kind = template("given shape")
    values = {"shape": str(files / "box.stl"), "things": [thing("screw boss", TOP)]}
    right = kind.of(**values, unit="mm", known_length="40.4 mm", known_along="z").build()
    assert "40.0 mm along z, where 40.4 mm is known" in right.findings[0].text
    assert right.findings[0].severity == "note"
    off = kind.of(**values, unit="mm", known_length="63 mm", known_along="x").build()
    assert off.findings[0].severity == "warn"
    error = fault(
        lambda: kind.of(**values, unit="mm", known_length="1016 mm", known_along="z").build()
    )
    assert (error.code, error.remedy) == ("shape.wrong-unit", 'Write unit = "in".')
    plain = kind.of(**values, unit="mm").build()
    assert "60.0 x 50.0 x 40.0 mm over all" in plain.findings[0].text


def test_the_same_values_give_the_same_triangles(files):
    def build():
        kind = on(files / "ball.stl", thing("cable channel", {"at": ["0 mm", "-40 mm", "0 mm"]}))
        return kind.build().bodies[0].mesh

    one, two = build(), build()
    assert np.array_equal(one.vertices, two.vertices)
    assert np.array_equal(one.triangles, two.triangles)


def test_a_body_of_triangles_says_what_it_lacks(files):
    part = on(files / "box.stl", thing("screw boss", TOP)).build()
    with pytest.raises(PartError, match="made of triangles") as caught:
        part.bodies[0].solid.bounding_box()
    assert caught.value.code == "part.no-exact-solid"


def test_features_of_shapes_are_refused_by_plates(files):
    kind = template("plate").of(things=[thing("screw boss", "auto")])
    error = fault(kind.build)
    assert (error.code, error.at) == ("carrier.for-shapes", ("things", 0, "held"))
    kind = template("plate").of(things=[thing("ball in a cup", TOP)])
    error = fault(kind.build)
    assert (error.code, error.at) == ("carrier.for-shapes", ("things", 0, "place", "at"))


# --- the label under a foot ----------------------------------------------------------------------


def lettered(tmp_path, mesh, foot, label="FL7"):
    """What the letters take away, and the part."""
    path = tmp_path / "shape.stl"
    mesh.export(path)
    plain, made = (
        template("given shape")
        .of(shape=str(path), unit="mm", things=[thing("flat foot", foot)], label=text)
        .build()
        for text in ("", label)
    )
    away = trimesh.boolean.difference([mesh_of(plain), mesh_of(made)], engine="manifold")
    return made, away


@pytest.mark.parametrize(
    ("normal", "right", "up"),
    [((0, 0, -1), (-1, 0, 0), (0, 1, 0)), ((0, -1, 0), (1, 0, 0), (0, 0, 1))],
)
def test_the_trace_code_is_sunk_into_a_flat_foot_and_read_from_below(tmp_path, normal, right, up):
    """A ring's text keeps off its hole. An L's mass lies left of and below its box."""
    ring = trimesh.creation.annulus(6.0, 26.0, 20.0, sections=64)
    if normal == (0, -1, 0):
        ring = trimesh.creation.box((50, 30, 40))
    at = ["0 mm", "0 mm", "-8 mm"] if normal[2] else ["0 mm", "-12 mm", "0 mm"]
    part, away = lettered(tmp_path, ring, {"at": at, "normal": list(normal)}, label="L")
    made = mesh_of(part)
    assert made.is_watertight
    assert away.volume > 1.0
    out = away.vertices @ np.array(normal, float)
    assert np.ptp(out) == pytest.approx(0.4, abs=1e-3)
    assert abs(out.max() - (made.vertices @ np.array(normal, float)).max()) < 1e-3
    flat = np.stack([away.vertices @ right, away.vertices @ up], axis=-1)
    low, high = flat.min(axis=0), flat.max(axis=0)
    middle = np.array([away.center_mass @ right, away.center_mass @ up])
    assert np.all(middle < (low + high) / 2 - 0.3), (middle, low, high)
    if normal[2]:  # clear of the hole and of the edge
        far = np.linalg.norm(away.vertices[:, :2], axis=1)
        assert far.min() > 6.0 + 1.0
        assert far.max() < 26.0 - 1.0
    assert not any("no trace code" in one.text for one in part.findings)


def test_a_foot_too_small_for_the_trace_code_says_so(tmp_path):
    box = trimesh.creation.box((8, 8, 30))
    part, away = lettered(tmp_path, box, {"at": ["0 mm", "0 mm", "-12 mm"]}, label="K7M3PXA")
    assert away.volume < 1e-6
    assert any("left off" in one.text for one in part.findings)
    assert any("no trace code" in one.text for one in part.findings)
