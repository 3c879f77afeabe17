"""Solid verbs against hand-worked volumes, boxes, and the kernel's own analysis."""

import math

import numpy as np
import pytest
import trimesh
from parts_gallery import ALL

from fitkit import solids
from fitkit.core.errors import PartError
from fitkit.parts import Body, template
from fitkit.parts.pose import placement, print_pose
from fitkit.solids import kernel_ready, profiles as flat, tessellate
from fitkit.solids.kernel import _closed
from fitkit.solids.mesh import Mesh, feature_edges
from fitkit.solids.sunk import sink
from fitkit.solids.terraces import Terrace, terraces


@pytest.mark.parametrize("name", ALL)
def test_gallery_solids_have_the_volume_and_box_worked_out_by_hand(name):
    known = ALL[name]()
    assert solids.is_valid(known.solid)
    assert known.solid.volume == pytest.approx(known.volume, rel=1e-9)
    low, high = solids.box_of(known.solid)
    assert np.subtract(high, low) == pytest.approx(known.box, abs=1e-6)


@pytest.mark.parametrize("name", ALL)
def test_meshes_close_and_enclose_almost_the_solid(name):
    known = ALL[name]()
    mesh = tessellate(known.solid, tolerance_mm=0.005, angle_deg=3)
    other = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert other.is_watertight
    assert other.is_winding_consistent
    assert other.volume == pytest.approx(known.volume, rel=2e-3)
    assert mesh.size == pytest.approx(known.box, abs=0.01)


@pytest.mark.parametrize(
    ("label", "height"),
    [("NHAPAME", 23.5), ("EC7M4WM", 23.5), ("GUWMWTG", 25.25), ("UAMT6WR", 24.75)],
)
def test_labels_that_fold_a_round_face_over_are_meshed_finer(label, height):
    """Each left an edge of the mesh open at the tolerance asked for."""
    solid = template("spacer").of(label=label, height=f"{height} mm").build().bodies[0].solid
    mesh = tessellate(solid)
    assert trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).is_watertight
    assert mesh.volume() == pytest.approx(solid.volume, rel=5e-3)  # the round is facetted


def test_an_edge_that_four_triangles_share_is_no_closed_mesh():
    one = trimesh.creation.box((1, 1, 1))
    other = one.copy()
    other.apply_translation((1, 1, 0))
    points = np.vstack([one.vertices, other.vertices])
    faces = np.vstack([one.faces, other.faces + 8])
    unique, index = np.unique(points.round(9), axis=0, return_inverse=True)
    touching = Mesh(unique, index.ravel()[faces].astype(np.int32))
    assert not _closed(touching)
    assert _closed(Mesh(points, faces.astype(np.int32)))


def test_a_coarser_mesh_is_refused_without_tolerance():
    with pytest.raises(PartError, match="mesh tolerance"):
        tessellate(ALL["block"]().solid, tolerance_mm=0)


# Areas by formula: circle less the segment that the flat takes off.
def _segment(r, h):
    return r * r * math.acos(1 - h / r) - (r - h) * math.sqrt(2 * r * h - h * h)


@pytest.mark.parametrize(
    ("profile", "area"),
    [
        (flat.rectangle(20, 10, radius=2), 200 - (4 - math.pi) * 4),
        (flat.capsule(10, 4), 24 + math.pi * 4),
        (flat.d_shape(6, 4.5), math.pi * 9 - _segment(3, 1.5)),
        (flat.d_shape(6, 2.0), math.pi * 9 - _segment(3, 4.0)),
        (flat.double_d(10, 8), math.pi * 25 - 2 * _segment(5, 1)),
        (flat.hexagon(8), 8 * 8 * math.sqrt(3) / 2),
        (flat.ring(10, 6), math.pi * 16),
    ],
)
def test_profiles_have_the_areas_of_their_formulas_and_extrude_to_them(profile, area):
    assert profile.area == pytest.approx(area, rel=1e-12)
    assert solids.volume_of(solids.extrude(profile, 3)) == pytest.approx(3 * area, rel=1e-9)


@pytest.mark.parametrize("profile", [flat.teardrop(5), flat.double_d(6, 5), flat.hexagon(4)])
def test_an_outline_that_runs_clockwise_makes_the_same_solid(profile):
    other = flat.Profile(profile.outer.reversed()).with_holes(flat.circle(1))
    shape = solids.extrude(other, 2)
    assert solids.is_valid(shape)
    expected = 2 * (profile.area - math.pi / 4)
    assert solids.volume_of(shape) == pytest.approx(expected, rel=1e-9)


def test_teardrop_leaves_the_whole_circle_free():
    import shapely

    hole = shapely.Polygon(flat.teardrop(8).outer.points(0.001))
    assert hole.buffer(0.01).contains(shapely.Point(0, 0).buffer(4, 64))
    assert flat.teardrop(8).box[3] == pytest.approx(4.4)


def test_turning_and_mirroring_keep_area_and_sense():
    shape = flat.d_shape(6, 4.5).with_holes(flat.circle(1))
    for other in (shape.turned(33), shape.mirrored(), shape.moved(3, -2)):
        assert other.area == pytest.approx(shape.area, rel=1e-12)
        assert other.outer.signed_area > 0


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: solids.extrude(flat.rectangle(-5, 5), 5), "length: -5 mm is not above 0 mm"),
        (lambda: solids.extrude(flat.circle(5), 0), "height: 0 mm is not above 0 mm"),
        (lambda: flat.circle(float("nan")), "diameter: nan mm is not above 0 mm"),
        (lambda: flat.ring(5, 6), "bore 6 mm is not below the outer 5 mm"),
        (lambda: flat.d_shape(5, 6), "not below the diameter"),
        (lambda: solids.revolve(flat.rectangle(4, 4)), "across the axis"),
        (lambda: flat.polygon([(0, 0), (1, 1)]), "enclose no area"),
    ],
)
def test_sizes_that_no_solid_has_are_refused_before_the_kernel(make, words):
    """Box -5 x 5 x 5, extrusion of 0."""
    with pytest.raises(PartError) as caught:
        make()
    assert words in str(caught.value)
    assert caught.value.remedy


def test_rounding_a_thin_plate_steps_aside_in_words():
    """20 x 20 x 2, top and bottom edges, radius 1.0; the kernel cannot."""
    plate = solids.extrude(flat.rectangle(20, 20), 2)
    picked = solids.edges(plate, upright=False)
    shape, findings = solids.fillet(plate, picked, 1.0, name="Edge rounding")
    assert solids.is_valid(shape)
    assert 0.9 * 800 < solids.volume_of(shape) < 800
    (said,) = findings
    assert said.severity == "note"
    assert said.text == "Edge rounding is 0.99 mm, since 1.00 mm cannot be made here."
    for word in ("Standard", "BRep", "StdFail", "Traceback"):
        assert word not in str(said)


@pytest.mark.parametrize("radius", [10.0, 35.0, 50.0, 500.0])
def test_a_rounding_is_made_as_asked_or_said_to_be_smaller(radius):
    """Success is not monotone in the radius, so none is searched for."""
    plate = solids.extrude(flat.rectangle(120, 110), 4)
    picked = solids.edges(plate, upright=True)
    shape, findings = solids.fillet(plate, picked, radius, name="Corner rounding")
    assert solids.is_valid(shape)
    made = radius
    if findings:
        made = radius / 2 if "cannot be made here." in findings[0].text else 0.0
        made = 0.0 if "left off" in findings[0].text else made
    expected = (120 * 110 - (4 - math.pi) * made**2) * 4
    assert solids.volume_of(shape) == pytest.approx(expected, rel=1e-6)


def test_hollow_tapered_body_is_made_of_two_sketches_and_closes():
    """Slot loft 10 x 6 to 6 x 4, height 4, walls of 0.5."""
    low = flat.capsule(10, 6).with_holes(flat.capsule(9, 5))
    high = flat.capsule(6, 4).with_holes(flat.capsule(5, 3))
    shape = solids.loft(low, high, 4)
    solid = solids.checked(shape, "tapered tube")
    assert tessellate(solid).volume() > 0

    # Straight generators between like corners: ends are ruled quarter arcs, the middle a wedge.
    def frustum(a0, r0, a1, r1, h):
        # Section at t: rectangle 2a x 2r and a circle of r, both linear in t.
        mid_a, mid_r = (a0 + a1) / 2, (r0 + r1) / 2

        def area(a, r):
            return 4 * a * r + math.pi * r * r

        return h / 6 * (area(a0, r0) + 4 * area(mid_a, mid_r) + area(a1, r1))

    expected = frustum(2, 3, 1, 2, 4) - frustum(2, 2.5, 1, 1.5, 4)
    assert solid.volume == pytest.approx(expected, rel=1e-6)


def test_uncut_or_parted_bodies_are_refused_by_volume_box_and_count():
    block = solids.extrude(flat.rectangle(20, 20), 2)
    with pytest.raises(PartError, match=r"encloses 800\.00 mm³, but its numbers say"):
        solids.checked(block, "plate", volume=700.0)
    with pytest.raises(PartError, match=r"measures 20\.000 x 20\.000 x 2\.000 mm over all"):
        solids.checked(block, "plate", box=(20, 21, 2))
    with pytest.raises(PartError, match="2 separate pieces"):
        solids.checked(solids.bundle([block, solids.moved(block, 50)]), "plates")
    assert solids.checked(block, "plate", volume=800.0, box=(20, 20, 2)).volume == pytest.approx(
        800
    )


def test_one_boolean_cuts_and_fuses_many():
    block = solids.extrude(flat.rectangle(20, 20), 2)
    pegs = [solids.extrude(flat.circle(2, at=(x, y)), 4) for x in (-5, 5) for y in (-5, 5)]
    assert solids.volume_of(solids.cut(block, *pegs)) == pytest.approx(800 - 8 * math.pi)
    assert solids.volume_of(solids.fuse(block, *pegs)) == pytest.approx(800 + 8 * math.pi)
    assert solids.volume_of(solids.common(block, *pegs)) == pytest.approx(8 * math.pi)


def test_moving_turning_mirroring():
    wedge = solids.extrude(flat.polygon([(0, 0), (4, 0), (0, 2)]), 3)
    low, high = solids.box_of(solids.turned(solids.moved(wedge, z=1), x=90))
    assert (low, high) == (pytest.approx((0, -4, 0), abs=1e-9), pytest.approx((4, -1, 2), abs=1e-9))
    assert solids.box_of(solids.mirrored(wedge, across="x"))[0][0] == pytest.approx(-4)


def test_terraces_hold_through_holes_islands_and_volume():
    island = Terrace(flat.circle(4).outer, 9.0)
    inside = Terrace(flat.rectangle(30, 20).outer, 3.0, (island,))
    through = Terrace(flat.circle(3, at=(18, 0)).outer, 0.0)
    root = Terrace(flat.rectangle(44, 26, radius=3).outer, 8.0, (inside, through))
    shape = terraces(root)
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(root.volume(), rel=1e-9)
    with pytest.raises(PartError, match="below the base"):
        terraces(Terrace(flat.circle(9).outer, 2.0, (Terrace(flat.circle(3).outer, -1.0),)))
    with pytest.raises(PartError, match="level with the one around"):
        terraces(Terrace(flat.circle(9).outer, 2.0, (Terrace(flat.circle(3).outer, 2.0),)))


@pytest.mark.parametrize("depth", [0.5, 2.0])
def test_sinking_equals_the_boolean(depth):
    plate = solids.extrude(flat.rectangle(40, 20), 2)
    holes = [flat.circle(3, at=(x, 0)) for x in (-12, 0, 12)]
    shape = sink(plate, holes, z=2, depth=depth)
    tools = [solids.extrude(h, depth + 1, z=2 - depth) for h in holes]
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(
        solids.volume_of(solids.cut(plate, *tools)), rel=1e-9
    )


@pytest.mark.parametrize(
    "profiles",
    [
        [flat.rectangle(30, 4), flat.rectangle(4, 12)],  # across each other
        [flat.rectangle(4, 4, at=(20, 0))],  # over the plate's edge
        [flat.circle(3, at=(1, 0))],  # into a hole that is there
    ],
)
def test_sinking_what_touches_falls_back_to_a_cut(profiles):
    plate = solids.extrude(flat.rectangle(40, 20).with_holes(flat.circle(3)), 2)
    shape = sink(plate, profiles, z=2, depth=1)
    tools = [solids.extrude(p, 2, z=1) for p in profiles]
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(
        solids.volume_of(solids.cut(plate, *tools)), rel=1e-9
    )


def test_print_pose_turns_and_drops_and_placement_agrees():
    solid = ALL["tray"]().solid
    body = Body(name="tray", solid=solid, print_turn=(180.0, 20.0, 30.0))
    mesh = tessellate(print_pose(body))
    assert mesh.bounds[0][2] == pytest.approx(0, abs=1e-5)
    turn, shift = placement(body)
    moved = tessellate(solid).moved(turn, shift)
    assert moved.bounds == pytest.approx(mesh.bounds, abs=1e-4)


def test_feature_edges_of_a_solid_leave_out_seams_and_smooth_edges():
    def edges_of(solid):
        """Count the pieces of edges, and how many of them rise."""
        edges = feature_edges(tessellate(solid))
        rise = np.ptp(edges[..., 2], axis=1) > 1e-6
        return len(edges), int(rise.sum())

    assert edges_of(ALL["block"]().solid) == (12, 4)
    pieces, upright = edges_of(ALL["cylinder"]().solid)
    assert (pieces > 20, upright) == (True, 0)
    assert edges_of(ALL["ball"]().solid) == (0, 0)
    pieces, upright = edges_of(solids.extrude(flat.rectangle(10, 6, radius=2), 3))
    assert (pieces > 20, upright) == (True, 0)  # its rounded corners run smoothly into the sides


def test_kernel_is_ready_after_waiting():
    assert kernel_ready(wait=True)
    assert kernel_ready()
