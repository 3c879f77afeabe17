"""What a preview draws, against geometry that can be worked out by hand."""

import numpy as np
import pytest
import trimesh
from rig import PlateTray

from fitkit.core.errors import CheckError
from fitkit.core.finding import Finding
from fitkit.export.gaps import REACH_MM, faces_near, gap_field, refined
from fitkit.export.scene import (
    FINE,
    ON_BED,
    OVERHANG,
    Gaps,
    Scene,
    _marks,
    build_scene,
    gaps_of,
    scene_of,
    shading_normals,
)
from fitkit.solids.mesh import Mesh
from fitkit.widgets.still import still_bundle, still_png


def as_mesh(body: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(body.vertices, float), np.asarray(body.faces, np.int32))


def box(extents, shift=(0, 0, 0), *, inward=False) -> Mesh:
    body = trimesh.creation.box(extents)
    body.apply_translation(shift)
    if inward:
        body.invert()
    return as_mesh(body)


@pytest.fixture(scope="module")
def built():
    reported = []
    tray = PlateTray.of(lid=True)
    findings = build_scene(
        tray, {"pocket length": 64.6, "pocket width": 44.4}, "my tray", report=reported.append
    )
    return *reported, findings


def test_a_scene_names_each_array_that_it_sends(built):
    scene, gaps, findings = built
    head = scene.head
    assert [(b["name"], b["role"]) for b in head["bodies"]] == [
        ("tray", "body"),
        ("lid", "body"),
        ("plate", "object"),
    ]
    assert sum(len(b["arrays"]) for b in head["bodies"]) == len(scene.arrays)
    arrays = iter(scene.arrays)
    for body in head["bodies"]:
        given = dict(zip(body["arrays"], arrays, strict=False))
        triangles = len(given["triangles"])
        assert given["normals"].shape == (triangles, 3, 3)
        assert given["triangles"].max() < len(given["corners"])
        assert given["edges"].shape[1:] == (2, 3)
        if body["role"] == "body":
            assert given["marks"].shape == (triangles,)
    assert head["title"] == "my tray"
    assert [d["text"] for d in head["dimensions"]] == ["64.60 mm", "44.40 mm", "18.00 mm"]
    assert findings[0].check == "walls"
    near = dict(zip(gaps.gaps[0]["arrays"], gaps.arrays, strict=True))
    assert near["corners"].shape == near["normals"].shape == (len(near["gap"]), 3)
    # The finer mesh is the plate itself: the same box, whichever way it is cut up.
    assert near["corners"].min(axis=0) == pytest.approx(scene.meshes["plate"].bounds[0], abs=1e-4)
    assert near["corners"].max(axis=0) == pytest.approx(scene.meshes["plate"].bounds[1], abs=1e-4)


def test_findings_are_reported_as_they_come_before_the_gaps(built):
    note, stop = (
        Finding(check=severity, severity=severity, text=severity) for severity in ("note", "stop")
    )

    def checks(part, meshes):
        assert {"tray", "plate"} <= set(meshes)
        yield (note,)
        yield ()
        yield (stop,)

    told = []
    found = build_scene(PlateTray.of(), {}, "my tray", checks, report=told.append)
    assert [type(one) for one in told] == [Scene, tuple, tuple, Gaps]
    assert told[1:3] == [(note,), (stop, note)]
    assert found == (stop, note)


def test_gaps_come_even_where_a_check_fails(built):
    def checks(part, meshes):
        raise CheckError("no such material", code="check.none")
        yield ()

    told = []
    with pytest.raises(CheckError):
        build_scene(PlateTray.of(), {}, "my tray", checks, report=told.append)
    assert [type(one) for one in told] == [Scene, Gaps]


def test_gaps_round_the_plate_are_those_drawn(built):
    _, gaps, _ = built
    gap = gaps.arrays[-1]
    known = np.unique(gap[np.isfinite(gap)].round(3))
    # 0.3 on each end, 0.2 on each side, 0.2 under the plate; above it is open.
    assert known == pytest.approx([0.2, 0.3], abs=1e-3)
    assert gaps.gaps[0]["least_gap"] == pytest.approx(0.2, abs=1e-3)
    assert not gaps.gaps[0]["rests"]  # it hangs 0.2 mm above the floor
    assert 0.4 < np.isfinite(gap).mean() < 0.9


def test_a_board_that_lies_on_its_standoffs_has_its_gap_at_its_edges():
    from fitkit.parts import template

    # 58 x 38 mm, in a pocket that is 0.6 and 0.8 mm wider.
    part = template("board case").of().build({"pocket length": 58.6, "pocket width": 38.8})
    board = next(one for one in gaps_of(part, scene_of(part)).gaps if one["name"] == "board")
    assert board["rests"]
    assert board["least_gap"] == pytest.approx(0.3, abs=0.01)


def test_bodies_lie_within_the_bed_as_printed(built):
    scene, _, _ = built
    for body in scene.head["bodies"]:
        if body["role"] == "object":
            continue
        turn = np.reshape(body["turn"], (3, 3))
        points = scene.meshes[body["name"]].vertices @ turn.T + body["on_bed"]
        assert points[:, 2].min() == pytest.approx(0, abs=1e-6)
        assert (points[:, :2].min(axis=0) > 0).all()
        assert (points[:, :2].max(axis=0) < 220).all()


def test_overhangs_are_marked_as_printed(built):
    scene, _, _ = built
    arrays = iter(scene.arrays)
    marks = {}
    for body in scene.head["bodies"]:
        given = dict(zip(body["arrays"], arrays, strict=False))
        marks[body["name"]] = given.get("marks")
    # The tray's underside lies on the bed, and nothing of it hangs over.
    assert set(marks["tray"]) == {FINE, ON_BED}
    # The lid is printed upside down: its plug then stands up, its plate lies flat.
    assert set(marks["lid"]) == {FINE, ON_BED}


def test_a_face_steeper_than_the_limit_hangs_over():
    raised = box((10, 10, 2), (0, 0, 5))
    assert (_marks(raised, 45.0) == OVERHANG).sum() == 2  # the two triangles of its underside
    for lean, hangs in ((40, False), (50, True)):
        # A wedge whose underside leans so far from the upright.
        corners = np.array([[0, 0, 1], [0, 9, 1], [np.tan(np.radians(lean)), 0, 2.0]])
        under = Mesh(corners, np.array([[0, 1, 2]], np.int32))
        assert under.normals()[0, 2] < 0
        assert (_marks(under, 45.0)[0] == OVERHANG) == hangs


@pytest.mark.parametrize("gap_mm", [-0.4, 0.05, 0.37, 1.5])
def test_a_gap_between_flat_faces_is_exact(gap_mm):
    thing = refined(box((20, 10, 4)), 2.0)
    wall = box((2, 30, 20), (10 + gap_mm + 1, 0, 0))
    gap = gap_field(thing, faces_near([thing], [wall]))
    known = gap[np.isfinite(gap)]
    assert len(known) > 0
    assert known == pytest.approx(np.full(len(known), gap_mm), abs=1e-6)


def test_a_wide_gap_is_unknown_not_wrong():
    thing = refined(box((20, 10, 4)), 2.0)
    wall = box((2, 30, 20), (10 + REACH_MM + 0.5 + 1, 0, 0))
    assert np.isnan(gap_field(thing, faces_near([thing], [wall]))).all()


def test_a_ball_in_a_round_seat_has_the_difference_of_the_radii():
    ball = as_mesh(trimesh.creation.icosphere(4, radius=10))
    seat = trimesh.creation.icosphere(5, radius=10.3)
    seat.invert()
    gap = gap_field(ball, faces_near([ball], [as_mesh(seat)]))
    assert np.isfinite(gap).all()
    assert gap == pytest.approx(np.full(len(gap), 0.3), abs=0.03)


def test_refining_keeps_the_surface():
    mesh = as_mesh(trimesh.creation.box((30, 20, 5)))
    fine = refined(mesh, 2.0)
    sides = np.linalg.norm(np.roll(fine.corners, -1, axis=1) - fine.corners, axis=2)
    assert sides.max() <= 2.0
    assert fine.volume() == pytest.approx(mesh.volume())
    assert fine.areas().sum() == pytest.approx(mesh.areas().sum())


def test_a_box_is_shaded_flat_and_a_ball_smooth():
    cube = box((2, 2, 2))
    flat = np.repeat(cube.normals()[:, None], 3, axis=1)
    assert shading_normals(cube) == pytest.approx(flat)
    ball = as_mesh(trimesh.creation.icosphere(4, radius=3))
    assert shading_normals(ball) == pytest.approx(ball.corners / 3, abs=0.02)


def test_the_still_picture_is_a_png_and_names_are_escaped(built):
    scene, _, _ = built
    png = still_png(scene, size=(320, 200))
    assert png.startswith(b"\x89PNG")
    bundle = still_bundle(png, still_id="abc", title="<b>tray</b>")
    assert "<b>" not in bundle["text/html"]
    assert 'data-fitkit-still="abc"' in bundle["text/html"]
    assert {"text/html", "image/png", "text/plain"} == set(bundle)


def test_a_second_object_changes_nothing_about_the_gaps_of_the_first():
    # Large enough that sampling all of the plate, not only what is near, would be given up early.
    plate = box((400, 300, 4), (0, 0, -2.3))
    thing = refined(box((60, 40, 0.6)), 2.0)
    far = box((5, 5, 5), (190, 140, 3))
    alone = gap_field(thing, faces_near([thing], [plate]))
    both = gap_field(thing, faces_near([thing, far], [plate]))
    np.testing.assert_allclose(both, alone, atol=1e-9)
    known = alone[np.isfinite(alone)]
    assert known == pytest.approx(np.zeros(len(known)), abs=1e-6)


def test_a_body_that_fits_only_turned_is_shown_turned():
    """A bar of 250 mm on a bed of 220 x 220 mm lies across it, as it does in the files."""
    from fitkit.parts.registry import template

    part = template("panel").of(length="250 mm", width="30 mm", cutouts=[]).build()
    scene = scene_of(part, bed_mm=(220.0, 220.0))
    (body,) = (one for one in scene.head["bodies"] if one["role"] == "body")
    points = scene.meshes["panel"].vertices @ np.reshape(body["turn"], (3, 3)).T + body["on_bed"]
    assert (points[:, :2].min(axis=0) > 0).all()
    assert (points[:, :2].max(axis=0) < 220).all()
