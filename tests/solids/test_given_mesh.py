"""Given meshes: what is mended, what is refused, and where; judged by trimesh."""

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import PartError
from fitkit.solids import given_mesh
from fitkit.solids.given_mesh import given_shape, mended
from fitkit.solids.mesh import Mesh
from fitkit.solids.mesh_kernel import coarser, manifold_of, mesh_from
from fitkit.solids.ply import mesh_of_ply, ply_bytes


def ball(radius=20.0, at=(0, 0, 0)):
    made = trimesh.creation.icosphere(subdivisions=3, radius=radius)
    made.apply_translation(at)
    return made


def of(made):
    return mended(np.asarray(made.vertices, float), np.asarray(made.faces))


def judged(sound):
    mesh = sound.mesh
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)


def test_a_sound_shape_is_left_as_it_is():
    sound = of(ball())
    assert sound.said == ()
    assert judged(sound).is_watertight
    assert judged(sound).volume == pytest.approx(ball().volume, rel=1e-6)


def test_an_inside_out_shape_is_turned_and_it_is_said():
    made = ball()
    made.invert()
    sound = of(made)
    assert sound.said == ("It was inside out, and is turned.",)
    assert judged(sound).volume == pytest.approx(ball().volume, rel=1e-6)


def test_a_face_that_looks_the_wrong_way_is_turned():
    made = ball()
    faces = np.array(made.faces)
    faces[[5, 90]] = faces[[5, 90]][:, ::-1]
    sound = mended(made.vertices, faces)
    assert sound.said == ("2 triangles looked the other way than their neighbours: turned round.",)
    assert judged(sound).is_winding_consistent
    assert judged(sound).volume == pytest.approx(made.volume, rel=1e-6)


def test_doubled_triangles_are_left_out():
    made = ball()
    sound = mended(made.vertices, np.vstack([made.faces, made.faces[:3], made.faces[:3]]))
    assert "doubled triangles were left out" in sound.said[0]
    assert judged(sound).volume == pytest.approx(made.volume, rel=1e-6)


def test_a_small_hole_is_closed_and_told_with_its_place():
    made = trimesh.creation.icosphere(subdivisions=4, radius=20)
    sound = mended(made.vertices, np.delete(made.faces, [40], axis=0))
    place = made.triangles[40].mean(axis=0)
    assert sound.said[0].startswith("1 hole up to ")
    numbers = sound.said[0].split("(")[1].split(")")[0].split(",")
    assert np.allclose([float(x) for x in numbers], place, atol=0.06)
    assert judged(sound).is_watertight


def test_a_wide_hole_is_refused_with_its_width_and_place():
    made = ball()
    kept = made.faces[made.triangles_center[:, 2] < 15.0]
    with pytest.raises(PartError, match=r"1 hole; the largest is .* mm wide at \(") as caught:
        mended(made.vertices, kept)
    assert caught.value.code == "shape.open"


def test_corners_a_hair_apart_are_joined():
    made = ball()
    vertices = np.vstack([made.vertices, made.vertices[made.faces[0, 0]] + 0.004])
    faces = np.array(made.faces)
    faces[0, 0] = len(vertices) - 1
    sound = mended(vertices, faces)
    assert "joined" in sound.said[0]
    assert judged(sound).is_watertight


def test_shells_that_stand_in_each_other_are_united():
    one, two = trimesh.creation.box((20, 20, 20)), trimesh.creation.box((20, 20, 20))
    two.apply_translation((10, 3, 2))
    sound = of(trimesh.util.concatenate([one, two]))
    assert "2 shells that stood in each other were united." in sound.said
    assert judged(sound).volume == pytest.approx(2 * 8000 - 10 * 17 * 18, rel=1e-6)


def test_a_hollow_stays_hollow():
    inner = ball(10.0)
    inner.invert()
    sound = of(trimesh.util.concatenate([ball(), inner]))
    assert sound.said == ()
    assert judged(sound).volume == pytest.approx(ball().volume - ball(10.0).volume, rel=1e-6)


def test_one_shell_of_two_inside_out_is_turned():
    aside = ball(10.0, at=(50, 0, 0))
    aside.invert()
    sound = of(trimesh.util.concatenate([ball(), aside]))
    assert sound.said == ("1 of its shells was inside out: turned.",)
    assert judged(sound).volume == pytest.approx(ball().volume + ball(10.0).volume, rel=1e-6)


def test_a_surface_that_crosses_itself_is_refused():
    made = trimesh.creation.cylinder(radius=10, height=60, sections=48)
    made = made.subdivide_to_size(4.0)
    turned = np.radians(6.0 * made.vertices[:, 2])  # bent to more than a full ring, into itself
    radius = 30.0 + made.vertices[:, 0]
    bent = np.stack([radius * np.cos(turned), radius * np.sin(turned), made.vertices[:, 1]], axis=1)
    with pytest.raises(PartError, match=r"crosses itself near \(") as caught:
        mended(np.vstack([bent]), np.asarray(made.faces))
    assert caught.value.code == "shape.crosses"


def test_a_surface_with_one_side_is_refused():
    # A closed Möbius-like surface: a Klein bottle cut into triangles has one side and no rim.
    n, m = 24, 12
    index = np.arange(n * m).reshape(n, m)
    faces = []
    for i in range(n):
        for j in range(m):
            here, right = index[i, j], index[i, (j + 1) % m]
            if i + 1 < n:
                up, across = index[i + 1, j], index[i + 1, (j + 1) % m]
            else:
                up, across = index[0, -j % m], index[0, (-j - 1) % m]
            faces += [(here, right, across), (here, across, up)]
    vertices = np.random.default_rng(1).normal(size=(n * m, 3)) * 10
    with pytest.raises(PartError) as caught:
        mended(vertices, np.array(faces))
    assert caught.value.code == "shape.one-sided"


def test_edges_of_more_than_two_faces_are_refused_with_a_place():
    made = trimesh.creation.box((10, 10, 10))
    fin = np.vstack([made.vertices, [[0, 0, 30]]])
    faces = np.vstack([made.faces, [[made.faces[0, 0], made.faces[0, 1], 8]]])
    with pytest.raises(PartError, match="more than two faces") as caught:
        mended(fin, faces)
    assert caught.value.code == "shape.edge"


@pytest.mark.parametrize(
    ("vertices", "code"),
    [
        (np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [np.nan, 0, 1]]), "shape.not-finite"),
        (np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]]), "shape.flat"),
    ],
)
def test_what_has_no_volume_is_refused(vertices, code):
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    with pytest.raises(PartError) as caught:
        mended(vertices, faces)
    assert caught.value.code == code


# --- files ---------------------------------------------------------------------------------------


def test_stl_in_both_forms_and_3mf_give_the_same_solid(tmp_path):
    made = trimesh.creation.box((1, 2, 3))
    made.export(tmp_path / "a.stl")
    (tmp_path / "b.stl").write_text(trimesh.exchange.stl.export_stl_ascii(made))
    made.export(tmp_path / "c.3mf")
    assert judged(given_shape(str(tmp_path / "a.stl"), "in")).volume == pytest.approx(6 * 25.4**3)
    assert judged(given_shape(str(tmp_path / "b.stl"), "mm")).volume == pytest.approx(6)
    assert judged(given_shape(str(tmp_path / "c.3mf"), None)).volume == pytest.approx(6)


def test_step_is_meshed(tmp_path):
    from build123d import Solid, export_step

    export_step(Solid.make_cylinder(10, 20), str(tmp_path / "a.step"))
    volume = judged(given_shape(str(tmp_path / "a.step"), None)).volume
    assert volume == pytest.approx(np.pi * 2000, rel=2e-3)


def test_an_stl_without_unit_is_told_how_large_it_would_be(tmp_path):
    trimesh.creation.box((1, 2, 3)).export(tmp_path / "a.stl")
    with pytest.raises(PartError, match="does not say its unit") as caught:
        given_shape(str(tmp_path / "a.stl"), None)
    assert caught.value.at == ("unit",)
    assert '"in" if it is 25.4 x 50.8 x 76.2 mm' in (caught.value.remedy or "")


@pytest.mark.parametrize(
    ("name", "content", "unit", "code"),
    [
        ("a.stl", b"no mesh at all", "mm", "shape.not-stl"),
        ("a.stl", b"\0" * 80 + b"\x09\0\0\0" + b"\0" * 50, "mm", "shape.not-stl"),
        ("a.stl", b"solid x\nfacet\nvertex 1 2 q\nendfacet", "mm", "shape.not-stl"),
        ("a.obj", b"v 0 0 0", None, "shape.kind"),
        ("a.3mf", b"PK nothing", None, None),
        ("a.step", b"ISO-10303-21; nothing", None, "outline.not-step"),
    ],
)
def test_files_that_cannot_be_read_are_one_message(tmp_path, name, content, unit, code):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(PartError) as caught:
        given_shape(str(tmp_path / name), unit)
    assert code is None or caught.value.code == code


def test_a_unit_for_a_file_that_has_its_own_is_refused(tmp_path):
    trimesh.creation.box((1, 2, 3)).export(tmp_path / "c.3mf")
    with pytest.raises(PartError) as caught:
        given_shape(str(tmp_path / "c.3mf"), "in")
    assert caught.value.code == "shape.own-unit"


def test_more_than_two_million_triangles_are_one_message_with_advice(tmp_path, monkeypatch):
    monkeypatch.setattr(given_mesh, "MOST_TRIANGLES", 1000)
    ball().export(tmp_path / "big.stl")
    with pytest.raises(PartError, match="1,280 triangles, over 1,000") as caught:
        given_shape(str(tmp_path / "big.stl"), "mm")
    assert "reduce" in (caught.value.remedy or "")


# --- its surface, and copies ---------------------------------------------------------------------


def test_the_nearest_point_is_that_of_trimesh():
    sound, made = of(ball()), ball()
    points = np.random.default_rng(3).normal(size=(20, 3)) * 25
    expected, away, _ = trimesh.proximity.closest_point(made, points)
    for point, at, far in zip(points, expected, away, strict=True):
        found, distance = sound.closest(point)
        assert distance == pytest.approx(far, abs=1e-5)
        assert np.allclose(found, at, atol=1e-3)


def test_the_way_out_of_a_ball_is_radial():
    point = np.array([12.0, -16.0, 0.0]) * 0.999
    sound = of(ball())
    found = sound.normal_at(sound.closest(point)[0])
    assert found @ (point / np.linalg.norm(point)) > 0.999


def test_a_coarser_copy_is_closed_and_near(tmp_path):
    made = trimesh.creation.icosphere(subdivisions=5, radius=20)
    solid = manifold_of(Mesh(np.asarray(made.vertices), np.asarray(made.faces, np.int32)))
    coarse = coarser(solid, most=4000)
    assert len(coarse.triangles) <= 4000
    copy = trimesh.Trimesh(coarse.vertices, coarse.triangles, process=False)
    assert copy.is_watertight
    assert copy.volume == pytest.approx(made.volume, rel=0.02)


def test_a_mesh_comes_back_from_ply_to_the_last_bit_and_trimesh_reads_it(tmp_path):
    made = ball()
    mesh = mesh_from(manifold_of(Mesh(np.asarray(made.vertices), np.asarray(made.faces, "i4"))))
    back = mesh_of_ply(ply_bytes(mesh))
    assert np.array_equal(back.vertices, mesh.vertices)
    assert np.array_equal(back.triangles, mesh.triangles)
    (tmp_path / "a.ply").write_bytes(ply_bytes(mesh))
    assert trimesh.load(tmp_path / "a.ply").volume == pytest.approx(made.volume, rel=1e-6)
    with pytest.raises(PartError):
        mesh_of_ply(ply_bytes(mesh)[:-1])
