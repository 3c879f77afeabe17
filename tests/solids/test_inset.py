"""Insets against shapely's mitred buffers; chamfers at the base against the kernel's own."""

from __future__ import annotations

import pytest
import shapely

from fitkit import solids
from fitkit.core.errors import PartError
from fitkit.solids import profiles as flat, tessellate
from fitkit.solids.inset import chamfer_mm3, inset
from fitkit.solids.terraces import Terrace, terraces

OUTLINES = {
    "rectangle": flat.rectangle(20, 10),
    "rounded rectangle": flat.rectangle(20, 10, radius=2),
    "circle": flat.circle(8),
    "D": flat.d_shape(12, 10.4),
    "double D": flat.double_d(12, 10.4),
    "hexagon": flat.hexagon(8),
    "slot": flat.capsule(20, 6, turn=30),
    "teardrop": flat.teardrop(6),
    "angle": flat.polygon([(-9, -9), (9, -9), (9, -4), (-4, -4), (-4, 9), (-9, 9)]),
}


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("distance", [0.6, 0.3, -0.3])
def test_an_inset_is_the_mitred_buffer(name, distance):
    outline = OUTLINES[name].outer
    polygon = shapely.Polygon(outline.points(1e-4))
    buffer = polygon.buffer(-distance, join_style="mitre", mitre_limit=9)
    ours = inset(outline, distance)
    assert ours is not None
    assert len(ours.corners) == len(outline.corners)
    assert ours.signed_area == pytest.approx(buffer.area, rel=1e-4)
    # The chords of both follow the arcs within 0.0001 mm.
    off = shapely.Polygon(ours.points(1e-4)).symmetric_difference(buffer)
    assert off.area < 1e-3 * polygon.length


@pytest.mark.parametrize("distance", [0.6, -0.3])
def test_an_inset_there_and_back_is_the_outline(distance):
    for outline in (profile.outer for profile in OUTLINES.values()):
        there = inset(outline, distance)
        back = inset(there, -distance)
        for (x, y, bulge), (u, v, other) in zip(outline.corners, back.corners, strict=True):
            assert (u, v, other) == pytest.approx((x, y, bulge), abs=1e-7)


def test_what_would_vanish_has_no_inset():
    assert inset(flat.rectangle(20, 10, radius=0.2).outer, 0.3) is None
    assert inset(flat.circle(0.5).outer, 0.3) is None
    assert inset(flat.rectangle(20, 0.5).outer, 0.3) is None
    assert inset(flat.hexagon(1).outer, 0.6) is None
    assert inset(flat.d_shape(3, 2).outer, 1.2) is None


@pytest.mark.parametrize("name", OUTLINES)
def test_a_foot_is_that_of_the_kernel(name):
    outline = OUTLINES[name].outer
    plain = solids.extrude(flat.Profile(outline), 5)
    other, said = solids.chamfer(plain, solids.edges(plain, z=0), 0.3, name="foot")
    assert not said
    root = Terrace(outline, 5.0, edge=0.3)
    _holds(root, solids.volume_of(other))
    assert outline.signed_area * 5 - chamfer_mm3(outline, 0.3) == pytest.approx(
        solids.volume_of(other), rel=1e-8
    )


@pytest.mark.parametrize("name", OUTLINES)
def test_a_mouth_at_the_bed_is_that_of_the_kernel(name):
    hole, outline = OUTLINES[name].outer, flat.rectangle(40, 30, radius=3)
    plain = solids.extrude(outline.with_holes(hole), 5)
    other, said = solids.chamfer(plain, solids.edges(plain, z=0), 0.3, name="foot")
    assert not said
    through = Terrace(hole, 0.0, edge=0.3)
    _holds(Terrace(outline.outer, 5.0, (through,), edge=0.3), solids.volume_of(other))
    # In a pocket, above a base that is not at 0, the mouth is the same.
    pocket = Terrace(flat.rectangle(26, 26).outer, 4.0, (Terrace(hole, 2.0, edge=0.3),))
    root = Terrace(outline.outer, 7.0, (pocket,), edge=0.3)
    volume = solids.volume_of(other) - 3 * (26 * 26 - hole.signed_area)
    _holds(root, volume, base=2.0)


def test_blind_holes_from_below_and_above_leave_a_wall_between():
    outline, bore = flat.hexagon(10), flat.circle(4)
    root = Terrace(
        outline.outer,
        20.0,
        (Terrace(bore.outer, 14.0),),
        edge=0.3,
        under=(Terrace(bore.outer, 6.0, edge=0.5),),
    )
    plain = solids.extrude(outline, 20)
    footed, _ = solids.chamfer(plain, solids.edges(plain, z=0), 0.3, name="foot")
    below, above = solids.extrude(bore, 6), solids.extrude(bore, 6, z=14)
    sunk = solids.revolve(flat.polygon([(0, 0), (2.5, 0), (2, 0.5), (0, 0.5)]))
    _holds(root, solids.volume_of(solids.cut(footed, below, above, sunk)))


def test_a_chamfer_that_finds_no_room_is_refused():
    with pytest.raises(PartError, match=r"a chamfer of 0\.3 mm finds no room"):
        terraces(Terrace(flat.rectangle(20, 10, radius=0.2).outer, 5.0, edge=0.3))
    hole = Terrace(flat.circle(4).outer, 0.0, edge=1.0)
    with pytest.raises(PartError, match="finds no room"):
        terraces(Terrace(flat.circle(12).outer, 1.0, (hole,)))


def _holds(root: Terrace, volume: float, *, base: float = 0.0) -> None:
    """Valid, closed, of a volume that is known otherwise, and of that which its numbers say."""
    shape = terraces(root, base=base)
    assert solids.is_valid(shape)
    # Where an arc meets another side at an angle, the foot is ruled straight over the corner.
    assert solids.volume_of(shape) == pytest.approx(volume, rel=2e-6)
    assert root.volume(base) == pytest.approx(volume, rel=1e-7)
    assert tessellate(shape).volume() == pytest.approx(volume, rel=0.01)
