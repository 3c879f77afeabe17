"""Bodies repeated round an axis against the same cut as a whole."""

from __future__ import annotations

import math

import pytest
import trimesh

from fitkit import solids
from fitkit.core.errors import PartError
from fitkit.parts.designs.knob import flute_wedge, fluted
from fitkit.solids import tessellate
from fitkit.solids.profiles import Loop, Profile, polygon
from fitkit.solids.wedges import all_round

HIGH, EDGE = 8.0, 0.6


def _ring(diameter):
    r = diameter / 2
    return solids.revolve(polygon([(r - 2 * EDGE, -EDGE), (r + EDGE, -EDGE), (r + EDGE, 2 * EDGE)]))


@pytest.mark.parametrize(
    ("flutes", "depth"),
    [(3, 1.0), (4, 0.4), (7, 1.0), (12, 0.3)],
    ids=["wide", "wide and shallow", "through the edge", "ending on the edge"],
)
def test_a_grip_from_one_wedge_is_the_one_cut_as_a_whole(flutes, depth):
    ring = solids.turned(_ring(24), z=180)
    wedge = solids.cut(solids.extrude(flute_wedge(24, flutes, depth), HIGH), ring)
    made = all_round(wedge, flutes)
    whole = solids.cut(solids.extrude(fluted(24, flutes, depth), HIGH), _ring(24))
    assert solids.is_valid(made)
    assert solids.volume_of(made) == pytest.approx(solids.volume_of(whole), rel=1e-7)
    mesh = tessellate(made)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert read.is_watertight
    assert read.is_winding_consistent


@pytest.mark.parametrize(
    ("diameter", "flutes", "depth"), [(30, 12, 1.0), (90, 3, 3.0), (10, 5, 0.2)]
)
def test_a_wedge_is_its_share_of_the_fluted_circle(diameter, flutes, depth):
    share, whole = flute_wedge(diameter, flutes, depth), fluted(diameter, flutes, depth)
    assert flutes * share.area == pytest.approx(whole.area, rel=1e-12)
    radii = [math.hypot(x, y) for x, y in share.outer.points(0.001)[1:]]
    outline = [math.hypot(x, y) for x, y in whole.outer.points(0.001)]
    assert (min(radii), max(radii)) == pytest.approx((min(outline), max(outline)), abs=2e-3)


def test_copies_that_do_not_close_are_refused():
    half = math.radians(40)
    r, bulge = 5.0, math.tan(half / 2)
    x, y = r * math.cos(half), r * math.sin(half)
    piece = Profile(Loop(((0.0, 0.0, 0.0), (x, -y, bulge), (x, y, 0.0))))
    with pytest.raises(PartError, match="3 edges at 0 mm do not close to one outline"):
        all_round(solids.extrude(piece, 2), 3)
