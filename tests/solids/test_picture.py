"""Still pictures against geometry: what is nearest is seen, areas are as projected."""

import doctest
from importlib import import_module

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import PartError
from fitkit.solids.mesh import Mesh
from fitkit.solids.picture import picture

NO_EDGES = np.empty((0, 2, 3))


def as_mesh(body: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(body.vertices, float), np.asarray(body.faces, np.int32))


def box(extents, shift=(0, 0, 0)):
    body = trimesh.creation.box(extents)
    body.apply_translation(shift)
    return as_mesh(body)


def pixels(image, background=(255, 255, 255)):
    return (np.asarray(image) != background).any(axis=2)


def test_the_body_before_the_other_is_seen_whichever_is_given_first():
    near, far = box((10, 1, 10), (0, -5, 0)), box((30, 1, 30), (0, 5, 0))
    one = picture([near, far], view="front", colours=["#ff0000", "#0000ff"], edges=[NO_EDGES] * 2)
    two = picture([far, near], view="front", colours=["#0000ff", "#ff0000"], edges=[NO_EDGES] * 2)
    middle = np.asarray(one)[300, 400]
    assert middle[0] > 100
    assert middle[2] == 0
    np.testing.assert_array_equal(np.asarray(one), np.asarray(two))
    behind = np.asarray(picture([near, far], view="back", colours=["#ff0000", "#0000ff"]))
    assert behind[300, 400, 0] == 0
    assert behind[300, 400, 2] > 100


def test_crossing_bodies_are_cut_where_they_cross():
    # Two slabs through each other in an X, seen from above: each is nearer on one side.
    up, down = (trimesh.creation.box((40, 20, 0.1)) for _ in range(2))
    up.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 4, (0, 1, 0)))
    down.apply_transform(trimesh.transformations.rotation_matrix(-np.pi / 4, (0, 1, 0)))
    shown = np.asarray(
        picture(
            [as_mesh(up), as_mesh(down)],
            view="top",
            colours=["#ff0000", "#0000ff"],
            edges=[NO_EDGES] * 2,
        )
    )
    # Turned +45° about y, the slab rises towards -x.
    assert shown[300, 250, 0] > shown[300, 250, 2]
    assert shown[300, 550, 2] > shown[300, 550, 0]


def test_the_hole_of_a_ring_is_seen_through_and_its_area_is_as_projected():
    ring = as_mesh(trimesh.creation.annulus(10, 20, 5, sections=256))
    shown = pixels(picture(ring, size=(600, 600), view="top", edges=NO_EDGES))
    assert not shown[300, 300]
    # Area of a ring over that of the square round it: pi (R² - r²) / (2R)².
    rows = np.flatnonzero(shown.any(axis=1))
    square = (rows[-1] - rows[0] + 1) ** 2
    assert shown.sum() / square == pytest.approx(np.pi * (20**2 - 10**2) / 40**2, rel=0.01)


def test_what_is_seen_through_lets_both_colours_show():
    glass, wall = box((30, 1, 30), (0, -5, 0)), box((30, 1, 30), (0, 5, 0))
    shown = np.asarray(picture([glass, wall], view="front", colours=["#00ff0080", "#0000ff"]))
    assert (shown[300, 400, 1:] > 60).all()


def test_hidden_edges_stay_hidden():
    front, back = box((30, 1, 30), (0, -5, 0)), box((10, 1, 10), (0, 5, 0))
    colours = ["#808080", "#808080"]
    both = picture([front, back], view="front", colours=colours)
    alone = picture(front, view="front", colours="#808080")
    np.testing.assert_array_equal(np.asarray(both), np.asarray(alone))


def test_wrong_asks_are_refused_in_words():
    with pytest.raises(PartError, match="There are: iso, front"):
        picture(box((1, 1, 1)), view="sideways")
    with pytest.raises(PartError, match="nothing to draw"):
        picture([])


def test_examples_in_the_docstrings_hold():
    assert doctest.testmod(import_module("fitkit.solids.picture")).failed == 0


def test_a_part_seen_from_below_keeps_left_on_the_left():
    """As the live view shows it: the part is tipped over its front edge, not over its left one."""
    from fitkit.solids.picture import VIEWS

    for name in ("top", "bottom"):
        to_eye, up = (np.array(each, dtype=float) for each in VIEWS[name])
        right = np.cross(-to_eye, up)
        assert right.tolist() == [1.0, 0.0, 0.0]
