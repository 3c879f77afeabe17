"""Screw holes let in face by face, against volumes by hand and against the kernel's boolean."""

from __future__ import annotations

import math

import pytest
import trimesh

from fitkit import solids
from fitkit.parts import screws
from fitkit.parts.screws import drilled
from fitkit.solids import tessellate
from fitkit.solids.pierced import pierced
from fitkit.solids.profiles import circle, rectangle, teardrop

PLACES = [(-12.0, 3.0), (12.0, -2.0)]
HOLE, HEAD, THICK = 3.2, 6.3, 4.0


def _cone(a, b, high):
    return math.pi * high * (a * a + a * b + b * b) / 3


R, SUNK = HOLE / 2, (HEAD - HOLE) / 2
BARREL = math.pi * R * R
UPRIGHT = {
    "plain": ({}, BARREL * THICK),
    "sunk": ({"head": HEAD}, BARREL * (THICK - SUNK) + _cone(R, HEAD / 2, SUNK)),
    "chamfered": ({"edge": 0.3}, BARREL * (THICK - 0.3) + _cone(R, R + 0.3, 0.3)),
    "both": (
        {"head": HEAD, "edge": 0.3},
        BARREL * (THICK - SUNK - 0.3) + _cone(R, HEAD / 2, SUNK) + _cone(R, R + 0.3, 0.3),
    ),
    "lying": ({"lying": True}, teardrop(HOLE).area * THICK),
}


def _plate():
    return solids.extrude(rectangle(40, 20), THICK)


def _drill(**how):
    return drilled(_plate(), PLACES, hole=HOLE, top=THICK, body="plate", **how)


@pytest.mark.parametrize("name", UPRIGHT)
def test_holes_take_out_what_their_numbers_say(name):
    how, each = UPRIGHT[name]
    shape, findings = _drill(**how)
    assert not findings
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(800 * THICK - 2 * each, rel=1e-9)
    mesh = tessellate(shape)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert read.is_watertight
    assert read.is_winding_consistent


@pytest.mark.parametrize("how", [{}, {"edge": 0.3}, {"lying": True}], ids=str)
def test_the_boolean_cuts_the_same_holes(how, monkeypatch):
    shape, _ = _drill(head=HEAD, **how)
    monkeypatch.setattr(screws, "pierced", lambda *_, **__: None)
    other, _ = _drill(head=HEAD, **how)
    assert solids.is_valid(other)
    assert solids.volume_of(shape) == pytest.approx(solids.volume_of(other), rel=1e-9)


def test_a_lying_hole_with_a_head_keeps_its_roof_below_the_cone():
    plain, _ = _drill(lying=True)
    sunk, _ = _drill(lying=True, head=HEAD)
    more = (solids.volume_of(plain) - solids.volume_of(sunk)) / 2
    # The cone less the barrel within it, less what the roof had taken of that already.
    cone = _cone(R, HEAD / 2, SUNK) - BARREL * SUNK
    roof = (teardrop(HOLE).area - BARREL) * SUNK
    assert cone - roof < more < cone


@pytest.mark.parametrize(
    "places", [[(19.0, 0.0)], [(0.0, 0.0), (4.0, 0.0)]], ids=["over the edge", "into another"]
)
def test_holes_that_meet_an_edge_or_each_other_are_cut(places):
    tools = [solids.moved(solids.extrude(circle(6), THICK), x, y) for x, y in places]
    assert pierced(_plate(), tools, top=THICK, bottom=0.0) is None
    shape, _ = drilled(_plate(), places, hole=6.0, top=THICK, body="plate")
    expected = solids.cut(_plate(), *tools)
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(solids.volume_of(expected), rel=1e-9)


def test_a_plate_too_thin_for_a_head_gets_plain_holes_and_a_finding():
    plate = solids.extrude(rectangle(40, 20), 1.5)
    shape, (note,) = drilled(plate, PLACES, hole=HOLE, top=1.5, head=HEAD, body="plate")
    assert "countersinks are left off: 1.5 mm of plate is too thin" in note.text
    assert solids.volume_of(shape) == pytest.approx((800 - 2 * BARREL) * 1.5, rel=1e-9)
