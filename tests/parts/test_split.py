"""Bodies split in two: the halves together are the whole, judged by trimesh."""

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import PartError
from fitkit.parts import template
from fitkit.parts.meshed import mesh_of
from fitkit.parts.split import Split, SplitTemplate, resolved, split_part, split_sizes
from fitkit.solids import is_valid, volume_of
from fitkit.solids.cut_plane import best_plane, fits_bed
from fitkit.solids.mesh import Mesh, lay_flat

BED = (130.0, 130.0, 60.0)


@pytest.fixture(scope="module")
def case():
    kind = template("board case").of(
        board_length="150 mm", board_width="90 mm", lid_fixing="screws", label="AB12"
    )
    return kind, kind.build()


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    path = tmp_path_factory.mktemp("shape") / "block.stl"
    trimesh.creation.box((160, 50, 40)).export(path)
    place = {"at": ["0 mm", "0 mm", "20 mm"]}
    kind = template("given shape").of(
        shape=str(path), unit="mm", things=[{"name": "b", "held": "screw boss", "place": place}]
    )
    return kind, kind.build()


def judged(body):
    mesh = mesh_of(body, for_files=True)
    made = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert made.is_watertight
    return made


def halves_of(part, name):
    return [body for body in part.bodies if body.name in (f"{name} 1", f"{name} 2")]


def shared(one, other):
    both = trimesh.boolean.intersection([one, other])
    return abs(both.volume) if len(both.faces) else 0.0


def split(part, **values):
    (whole,) = resolved(Split(**values), part, BED)
    return whole, split_part(part, whole, {fit.name: fit.plain_mm for fit in split_sizes(whole)})


def test_the_halves_of_a_tray_are_the_whole_and_share_nothing(case):
    _, part = case
    plan, made = split(part, body="tray")
    assert (plan.along, plan.joint) == ("x", "dovetail")
    halves = halves_of(made, "tray")
    assert len(halves) == 2
    assert all(is_valid(half.solid) for half in halves)
    total = sum(volume_of(half.solid) for half in halves)
    whole = volume_of(part.body("tray").solid)
    # Only what the heads of the tails keep free is missing.
    assert 0.0 < whole - total < 0.001 * whole
    assert shared(*map(judged, halves)) < 1e-3
    assert [body.name for body in made.bodies] == ["tray 1", "tray 2", "lid"]


def test_each_half_fits_the_bed_and_prints_the_way_the_whole_would(case):
    _, part = case
    for name in ("tray", "lid"):
        _, made = split(part, body=name)
        for half in halves_of(made, name):
            assert half.print_turn == part.body(name).print_turn
            laid, _, _ = lay_flat(mesh_of(half), half.print_turn)
            assert fits_bed(laid.size, BED)


def test_the_gap_of_a_dovetail_is_what_was_drawn(case):
    _, part = case
    (plan,) = resolved(Split(body="tray"), part, BED)
    made = split_part(part, plan, {"split: tail": 13.9, "split: socket": 14.2})
    first, second = map(judged, halves_of(made, "tray"))
    sizes = {one.name: one for one in made.dimensions}
    tail, socket = sizes["split: tail"], sizes["split: socket"]
    assert (tail.value_mm, socket.value_mm) == (13.9, 14.2)
    # Along the head's line, a hair inside of it, at the height of the floor.
    middle = (np.array(tail.start) + np.array(tail.end)) / 2
    middle[2] = 0.5
    middle[0] -= 0.02  # of the head's end
    way = np.array([0.0, 1.0, 0.0])
    found = []
    for mesh, start in ((first, middle), (second, middle)):
        ends = []
        for sign in (1, -1):
            hits, _, _ = mesh.ray.intersects_location([start], [sign * way])
            ends.append(np.abs(hits - start).sum(axis=1).min())
        found.append(sum(ends))
    assert found[0] == pytest.approx(13.9, abs=0.03)
    assert found[1] == pytest.approx(14.2, abs=0.03)


def test_turned_round_a_half_does_not_go_in(block):
    _, part = block
    _, made = split(part)
    first, second = map(judged, halves_of(made, "shape"))
    assert shared(first, second) < 1e-3
    # Half a turn about the way in which the halves lie: all but the tails would look the same.
    turned = second.copy()
    turned.apply_transform(trimesh.transformations.rotation_matrix(np.pi, [1, 0, 0]))
    assert turned.bounds[0] == pytest.approx(second.bounds[0], abs=4.1)
    assert shared(first, turned) > 100.0


def test_a_level_plane_takes_a_tongue_that_is_keyed(case):
    _, part = case
    plan = Split(body="tray", along="z", at_mm=8.0, joint="tongue and groove")
    drawn = {"split: tongue": 1.5, "split: groove": 1.7}
    made = split_part(part, plan, drawn)
    first, second = map(judged, halves_of(made, "tray"))
    whole = volume_of(part.body("tray").solid)
    assert first.bounds[1][2] == pytest.approx(11.0, abs=1e-3)
    assert second.bounds[0][2] == pytest.approx(8.0, abs=1e-3)
    assert 0.0 < whole - first.volume - second.volume < 0.01 * whole
    assert shared(first, second) < 1e-3
    turned = second.copy()
    middle = (second.bounds[0] + second.bounds[1]) / 2
    turned.apply_transform(trimesh.transformations.rotation_matrix(np.pi, [0, 0, 1], middle))
    assert shared(first, turned) > 3.0


def test_dowels_stand_opposite_each_other_and_have_two_widths(block):
    _, part = block
    plan = Split(body="shape", along="x", at_mm=70.0, joint="dowels")
    made = split_part(part, plan, {"split: dowel hole": 5.1, "split: thin dowel hole": 4.1})
    halves = halves_of(made, "shape")
    whole = part.bodies[0].mesh.volume()
    taken = np.pi / 4 * (5.1**2 + 4.1**2) * 2 * 8.2
    meshes = [judged(half) for half in halves]
    assert whole - sum(mesh.volume for mesh in meshes) == pytest.approx(taken, rel=5e-3)
    assert shared(*meshes) < 1e-3
    kinds = {fit.name: fit.kind.name for fit in split_sizes(plan)}
    assert set(kinds.values()) == {"hole_lying"}
    for one in made.dimensions[-2:]:
        middle = (np.array(one.start) + np.array(one.end)) / 2
        for mesh, sign in zip(meshes, (-1, 1), strict=True):
            inside = middle + np.array([sign * 7.0, 0, 0])
            assert not mesh.contains([inside])[0]
            assert mesh.contains([middle + np.array([sign * 8.6, 0, 0])])[0]
    assert {buy.what for buy in made.buys} >= {
        "dowel pin 5 mm, 16 mm long",
        "dowel pin 4 mm, 16 mm long",
    }


def test_a_given_shape_is_split_as_any_other(block):
    kind, part = block
    plan, made = split(part)
    assert (plan.body, plan.along, plan.joint) == ("shape", "x", "dovetail")
    meshes = [judged(half) for half in halves_of(made, "shape")]
    whole = part.bodies[0].mesh.volume()
    assert 0.0 < whole - sum(mesh.volume for mesh in meshes) < 0.002 * whole
    assert shared(*meshes) < 1e-3
    again = SplitTemplate(kind, (plan,)).build(
        {"b: screw pilot": 2.7, "split: tail": 13.9, "split: socket": 14.1}
    )
    assert [body.name for body in again.bodies] == ["shape 1", "shape 2"]


def test_numbers_for_checks_go_to_the_half_that_they_are_on(case):
    _, part = case
    plan, made = split(part, body="tray")
    names = {body.name for body in made.bodies}
    low = judged(part.body("tray")).bounds[0][0]
    for what in ("walls", "bosses", "lugs", "bridges", "vents"):
        for one in getattr(made, what):
            assert one.body in names
            if one.body.startswith("tray"):
                assert (one.body == "tray 1") == (one.at[0] < low + plan.at_mm)
    finding = next(one for one in made.findings if one.check == "split")
    assert "Glue the joint" in finding.remedy


def test_the_plane_that_cuts_least_is_proposed():
    # A dumbbell: the waist of 10 x 10 mm is the least section, and lies off the middle.
    one, two = trimesh.creation.box((60, 50, 20)), trimesh.creation.box((80, 50, 20))
    waist = trimesh.creation.box((30, 10, 10))
    one.apply_translation((30, 0, 0))
    waist.apply_translation((75, 0, 0))
    two.apply_translation((130, 0, 0))
    made = trimesh.boolean.union([one, trimesh.creation.box((1, 1, 1)), waist, two])
    made = trimesh.boolean.union(
        [one, trimesh.creation.box(bounds=[[59, -5, -5], [91, 5, 5]]), two]
    )
    mesh = Mesh(np.asarray(made.vertices), np.asarray(made.faces, np.int32))
    plane = best_plane(mesh, (120, 120, 100))
    assert plane.along == "x"
    assert 60 <= plane.at_mm <= 90
    assert plane.area_mm2 == pytest.approx(100.0, rel=1e-3)
    assert best_plane(mesh, (70, 70, 100)) is None


@pytest.mark.parametrize(
    ("values", "code", "at"),
    [
        ({"body": "roof"}, "split.no-body", ("split", "body")),
        ({}, "split.nothing-large", ("split",)),
        ({"body": "tray", "along": "y"}, "split.still-too-large", ("split",)),
        ({"body": "tray", "along": "x", "at_mm": 400.0}, "split.misses", ("split", "at")),
        (
            {"body": "tray", "along": "z", "at_mm": 8.0, "joint": "dovetail"},
            "split.no-room",
            ("split", "joint"),
        ),
        (
            {"body": "tray", "along": "x", "at_mm": 70.0, "joint": "tongue and groove"},
            "split.no-room",
            ("split", "joint"),
        ),
        (
            {"body": "tray", "along": "x", "at_mm": 70.0, "joint": "dowels"},
            "split.no-room",
            ("split", "joint"),
        ),
        (
            {"body": "tray", "along": "x", "at_mm": 70.0, "tail_mm": 80.0, "joint": "dovetail"},
            "split.no-room",
            ("split", "joint"),
        ),
    ],
)
def test_what_cannot_be_split_is_one_message_with_the_place(case, values, code, at):
    _, part = case
    bed = (300.0, 300.0, 300.0) if not values else BED
    with pytest.raises(PartError) as caught:
        split_part(part, resolved(Split(**values), part, bed)[0])
    assert (caught.value.code, caught.value.at) == (code, at)


def test_without_a_bed_no_plane_is_proposed(case):
    _, part = case
    with pytest.raises(PartError) as caught:
        resolved(Split(body="tray"), part, None)
    assert caught.value.code == "split.no-bed"


# --- screws across the plane ---------------------------------------------------------------------

SCREWED = {"split: screw hole": 3.4, "split: screw pilot": 2.6}


def rod(wide, at, way, low, high):
    """Round rod along a way, from low to high of a point."""
    made = trimesh.creation.cylinder(wide / 2, high - low, sections=48)
    made.apply_transform(trimesh.geometry.align_vectors([0, 0, 1], way))
    made.apply_translation(np.array(at) + (low + high) / 2 * np.array(way))
    return made


@pytest.fixture(scope="module")
def roomy():
    """A case with a free floor, whose screws' posts stand inside."""
    cell = {"name": "cell", "held": "round cell in saddles", "diameter": "18 mm",
            "body_length": "50 mm", "hold": "rest",
            "place": {"x": "110 mm", "y": "50 mm"}}  # fmt: skip
    kind = template("case").of(
        things=[cell], inside_length="150 mm", inside_width="100 mm", headroom="10 mm"
    )
    return kind, kind.build()


@pytest.mark.parametrize(
    ("kind", "along", "into"),
    [
        ("case", "x", "plastic"),
        ("case", "y", "insert"),
        ("roomy", "x", "plastic"),
        ("roomy", "y", "insert"),
    ],
)
def test_two_screws_go_across_an_upright_plane(request, kind, along, into):
    """Pilot, insert, boss and head by the table of fasteners in plastic."""
    from fitkit.fits.fasteners import hold_in_plastic

    _, part = request.getfixturevalue(kind)
    plan = Split(body="tray", along=along, at_mm=47.0, joint="dovetail", screw="M3",
                 screw_into=into)  # fmt: skip
    thread = "split: screw pilot" if into == "plastic" else "split: screw insert hole"
    wide = 2.6 if into == "plastic" else 4.1
    made = split_part(part, plan, {"split: screw hole": 3.4, thread: wide})
    first, second = map(judged, halves_of(made, "tray"))
    assert shared(first, second) < 1e-3
    bosses = [boss for boss in made.bosses if boss.name.startswith("split screw")]
    assert len(bosses) == 2
    hold = hold_in_plastic("M3")
    needs = hold.pilot_boss_mm if into == "plastic" else hold.insert_boss_mm
    taker = first if bosses[0].body == "tray 1" else second
    other = second if taker is first else first
    way = np.eye(3)["xyz".index(along)] * (-1.0 if taker is first else 1.0)
    ghosts = [judged(ghost) for ghost in made.ghosts]
    for boss in bosses:
        assert boss.outer_mm >= needs
        plane = np.array(boss.at) - 0.5 * way
        # The shank passes one half, the thread's hole is as deep as the table asks.
        deep = hold.engage_mm if into == "plastic" else hold.insert_length_mm
        assert shared(rod(3.3, plane, way, -5.5, 0), other) < 0.02
        assert shared(rod(3.6, plane, way, -4.0, -1.0), other) > 0.3
        assert shared(rod(wide - 0.1, plane, way, 0, deep), taker) < 0.02
        assert shared(rod(wide + 0.3, plane, way, 1.0, deep), taker) > 0.3
        # Plastic under the head, and a free way for a screwdriver, past all that the case holds.
        ring = rod(5.0, plane, way, -4.9, -0.1)
        assert shared(ring, other) > 0.6 * (ring.volume - np.pi / 4 * 3.4**2 * 4.8)
        driver = rod(5.6, plane, way, -35.0, -5.01)
        assert all(shared(driver, one) < 0.02 for one in (first, second, *ghosts))
    # Nothing stands in what the tray holds or in the lid; posts stand on the bed or on the floor.
    ghosts.append(judged(part.body("lid")))
    assert all(shared(ghost, half) < 0.5 for ghost in ghosts for half in (first, second))
    for half, whole in zip(halves_of(made, "tray"), (first, second), strict=True):
        assert is_valid(half.solid)
        assert whole.bounds[0][2] == pytest.approx(0.0, abs=1e-6)
    assert sum(buy.count for buy in made.buys if buy.what.startswith(("screw M3", "heat"))) >= 2
    # In a case that its board fills they stand outside its walls.
    inside = next(one.value_mm for one in part.dimensions
                  if one.name.endswith("width" if along == "x" else "length")
                  and one.name.startswith(("pocket", "inside"))) / 2  # fmt: skip
    far = [abs(boss.at["yx".index(along)]) for boss in bosses]
    assert all(one > inside for one in far) == (kind == "case")
    names = {one.name for one in made.dimensions}
    assert {"split: screw hole", thread} <= names


def test_screws_without_room_are_refused_in_words(case):
    _, part = case
    with pytest.raises(PartError, match="screws are for upright planes"):
        split_part(part, Split(body="tray", along="z", at_mm=8.0, joint="tongue and groove",
                               screw="M3"), SCREWED)  # fmt: skip
    # At a corner of the walls neither posts nor a screwdriver find room.
    near = Split(body="tray", along="x", at_mm=6.0, joint="dowels", dowel_mm=3.0,
                 dowel_length_mm=6.0, screw="M6")  # fmt: skip
    with pytest.raises(PartError, match="no room for two"):
        split_part(part, near, SCREWED)


def test_the_sizes_of_screws_are_compensated_as_lying_holes():
    sizes = {one.name: one for one in split_sizes(Split(along="x", joint="dovetail", screw="M4"))}
    assert sizes["split: screw hole"].nominal_mm == 4.0
    assert sizes["split: screw pilot"].nominal_mm == 3.4
    assert {sizes[f"split: screw {word}"].kind.name for word in ("hole", "pilot")} == {"hole_lying"}
    plain = {one.name for one in split_sizes(Split(along="x", joint="dovetail"))}
    assert not any("screw" in name for name in plain)


def test_a_body_without_room_for_screws_is_glued_where_another_has_them(case):
    kind, _ = case
    bodies = [Split(body=name, along="x", at_mm=60.0, joint="dovetail", screw="M3")
              for name in ("tray", "lid")]  # fmt: skip
    made = SplitTemplate(kind, tuple(bodies)).build(SCREWED)
    assert {boss.body for boss in made.bosses if boss.name.startswith("split")} <= {
        "tray 1",
        "tray 2",
    }
    assert any("lid gets no screws" in one.text for one in made.findings)
    with pytest.raises(PartError, match="no room for two pairs"):
        SplitTemplate(kind, (bodies[1],)).build(SCREWED)
