"""The mesh measures what geometry says, also far from the origin."""

import numpy as np
import pytest
import trimesh

from fitkit.solids.mesh import Mesh, feature_edges, lay_flat, turn_matrix


def as_mesh(body: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(body.vertices, float), np.asarray(body.faces, np.int32))


@pytest.fixture
def ball() -> trimesh.Trimesh:
    return trimesh.creation.icosphere(subdivisions=3, radius=7.0)


def test_volume_area_and_bounds_agree_with_an_independent_library(ball):
    mesh = as_mesh(ball)
    assert mesh.volume() == pytest.approx(ball.volume, rel=1e-12)
    assert mesh.areas().sum() == pytest.approx(ball.area, rel=1e-12)
    assert mesh.bounds == pytest.approx(ball.bounds)
    assert mesh.normals() == pytest.approx(ball.face_normals, abs=1e-9)


def test_volume_keeps_its_digits_a_kilometre_away(ball):
    far = as_mesh(ball).moved(np.eye(3), np.array([1e6, -1e6, 1e6]))
    assert far.volume() == pytest.approx(ball.volume, rel=1e-6)


def test_an_inside_out_mesh_has_negative_volume(ball):
    mesh = as_mesh(ball)
    assert Mesh(mesh.vertices, mesh.triangles[:, ::-1]).volume() == pytest.approx(-mesh.volume())


def test_a_triangle_without_area_has_no_normal():
    flat = Mesh(np.zeros((3, 3)), np.array([[0, 1, 2]], np.int32))
    assert flat.normals().tolist() == [[0.0, 0.0, 0.0]]


@pytest.mark.parametrize("turn", [(0, 0, 0), (180, 0, 0), (90, 0, 90), (0, -90, 0), (10, 20, 30)])
def test_turns_agree_with_scipy_and_keep_the_hand(turn):
    from scipy.spatial.transform import Rotation

    matrix = turn_matrix(turn)
    assert matrix == pytest.approx(Rotation.from_euler("xyz", turn, degrees=True).as_matrix())
    assert np.linalg.det(matrix) == pytest.approx(1.0)


def test_a_laid_mesh_stands_on_the_bed_and_can_be_moved_back(ball):
    mesh = as_mesh(ball)
    laid, rotation, shift = lay_flat(mesh, (90, 0, 0))
    assert laid.bounds[0, 2] == pytest.approx(0, abs=1e-12)
    assert (laid.vertices - shift) @ rotation == pytest.approx(mesh.vertices)


def test_a_box_has_twelve_edges_and_a_ball_only_its_outline():
    assert len(feature_edges(as_mesh(trimesh.creation.box((3, 2, 1))))) == 12
    ball = as_mesh(trimesh.creation.icosphere(4))
    assert len(feature_edges(ball)) == 0
    outline = feature_edges(ball, np.array([0.0, 0.0, 1.0]))
    assert np.linalg.norm(outline[..., :2], axis=-1).min() > 0.95
