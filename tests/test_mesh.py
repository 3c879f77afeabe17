"""The mesh measures what geometry says, also far from the origin."""

import numpy as np
import pytest
import trimesh

from fitkit.mesh import Mesh


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
