"""Pieces let into a plate: volume, validity and closure at all angles and on all faces."""

from __future__ import annotations

import pytest
import trimesh

from fitkit.solids import (
    Terrace,
    circle,
    cut,
    extrude,
    fuse,
    is_valid,
    moved,
    rectangle,
    terraces,
    tessellate,
    turned,
    volume_of,
)
from fitkit.solids.faces import faces_of
from fitkit.solids.let_in import Piece, let_in

_PLATE_MM = 3.0


def _piece() -> Piece:
    """A block with a slot through it and through the plate below, on a rectangle of plate."""
    outline = rectangle(16, 10)
    block = extrude(rectangle(12, 6), 8.0)
    slab = extrude(outline, _PLATE_MM, z=-_PLATE_MM)
    slot = extrude(rectangle(2, 3), 20.0, z=-10.0)
    return Piece(cut(fuse(slab, block), slot), outline.outer)


def _tray():
    inside = Terrace(rectangle(76, 56).outer, _PLATE_MM)
    return terraces(Terrace(rectangle(80, 60, radius=3).outer, 12.0, (inside,)))


def _closed(shape) -> bool:
    mesh = tessellate(shape)
    made = trimesh.Trimesh(mesh.vertices, mesh.triangles)
    return bool(made.is_watertight and made.is_winding_consistent)


@pytest.mark.parametrize("turn", [0, 30, 45, 90, 137])
def test_a_piece_adds_its_volume_and_closes_at_any_angle(turn):
    tray, piece = _tray(), _piece()
    pieces = [piece.placed(-20, 10, _PLATE_MM, turn), piece.placed(18, -12, _PLATE_MM, -turn)]
    made = let_in(tray, pieces, top=_PLATE_MM)
    expected = volume_of(tray) + 2 * piece.volume(_PLATE_MM)
    assert volume_of(made) == pytest.approx(expected, rel=1e-9)
    assert is_valid(made)
    assert _closed(made)
    # No boolean took part: the tray's own faces are all there, with the pieces' beside them.
    shared = 4  # sides of each piece's bit of plate
    count = sum(1 for _ in faces_of(tray)) + 2 * (sum(1 for _ in faces_of(piece.solid)) - shared)
    assert sum(1 for _ in faces_of(made)) == count


@pytest.mark.parametrize("lay", [{"x": 180.0}, {"x": 90.0}, {"y": 90.0}, {"x": 90.0, "z": 30.0}])
def test_a_plate_with_pieces_can_be_turned_to_a_lid_or_a_wall(lay):
    made = turned(let_in(_tray(), [_piece().placed(5, 5, _PLATE_MM, 20)], top=_PLATE_MM), **lay)
    assert is_valid(made)
    assert _closed(made)


def test_a_round_piece_goes_in_like_a_square_one():
    disc = circle(14)
    solid = fuse(extrude(disc, _PLATE_MM, z=-_PLATE_MM), extrude(circle(9), 6.0))
    piece = Piece(solid, disc.outer)
    tray = _tray()
    made = let_in(tray, [piece.placed(0, 0, _PLATE_MM)], top=_PLATE_MM)
    assert volume_of(made) == pytest.approx(volume_of(tray) + piece.volume(_PLATE_MM), rel=1e-9)
    assert is_valid(made)


def test_where_boxes_prove_nothing_the_result_is_the_same():
    """A post beside the piece, within its turned outline's box: the boolean then lets it in."""
    post = Terrace(circle(2, at=(7.5, 6.5)).outer, 6.0)
    inside = Terrace(rectangle(76, 56).outer, _PLATE_MM, (post,))
    tray = terraces(Terrace(rectangle(80, 60).outer, 12.0, (inside,)))
    piece = _piece()
    made = let_in(tray, [piece.placed(0, 0, _PLATE_MM, 45)], top=_PLATE_MM)
    assert volume_of(made) == pytest.approx(volume_of(tray) + piece.volume(_PLATE_MM), rel=1e-6)
    assert is_valid(made)


def test_a_piece_is_placed_without_changing_it():
    piece = _piece()
    moved_piece = piece.placed(3.0, 4.0, 1.0)
    assert volume_of(moved_piece.solid) == pytest.approx(volume_of(piece.solid))
    assert moved_piece.outline.box == pytest.approx((-5.0, -1.0, 11.0, 9.0))
    assert volume_of(moved(piece.solid, 1.0)) == pytest.approx(volume_of(piece.solid))
