"""Chamfered prisms against areas integrated over the chamfer's height."""

from __future__ import annotations

import math

import pytest
import trimesh
from scipy.integrate import quad

from fitkit import solids
from fitkit.core.errors import PartError
from fitkit.parts.holders.cups import cradle_section
from fitkit.solids import tessellate
from fitkit.solids.bevelled import bevelled
from fitkit.solids.profiles import Loop, capsule, d_shape, double_d, rectangle

LEG, HIGH = 0.6, 5.0


def _cradle(inset):
    return cradle_section(
        [-13, 13], 9.0, 2.0, base=4, ends=33, half_open=math.radians(60), inset=inset
    )


# Each drawn in by an inset, every side by as much.
OUTLINES = {
    "plane meets plane": lambda t: rectangle(20 - 2 * t, 10 - 2 * t),
    "plane runs into cone": lambda t: rectangle(20 - 2 * t, 10 - 2 * t, radius=2 - t),
    "half cones": lambda t: capsule(20 - 2 * t, 8 - 2 * t),
    "plane cuts cone": lambda t: d_shape(10 - 2 * t, 8 - 2 * t),
    "planes cut cones": lambda t: double_d(10 - 2 * t, 7 - 2 * t),
    "hollow cones, and planes that meet cones inwards": _cradle,
}


@pytest.mark.parametrize("name", OUTLINES)
def test_a_chamfer_takes_off_what_its_insets_leave_free(name):
    outline = OUTLINES[name]
    shape = bevelled(outline(LEG).outer, outline(0.0).outer, LEG, HIGH)
    band, _ = quad(lambda z: outline(LEG - z).area, 0, LEG, epsabs=1e-10)
    assert solids.is_valid(shape)
    assert solids.volume_of(shape) == pytest.approx(
        band + outline(0.0).area * (HIGH - LEG), rel=1e-9
    )
    mesh = tessellate(shape, tolerance_mm=0.005, angle_deg=3)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.volume == pytest.approx(solids.volume_of(shape), rel=1e-3)


def test_a_loft_is_off_the_chamfer_where_a_round_meets_a_straight_side():
    low, high = _cradle(LEG), _cradle(0.0)
    exact, _ = quad(lambda t: _cradle(t).area, 0, LEG, epsabs=1e-10)
    lofted = solids.volume_of(solids.loft(low, high, LEG))
    assert exact - lofted > 0.05


def test_sides_that_do_not_meet_along_the_chamfer_are_refused():
    # The foot's corner lies aside from where both planes meet.
    foot = Loop(((-9.4, -4.4, 0.0), (9.4, -4.0, 0.0), (9.4, 4.4, 0.0), (-9.4, 4.4, 0.0)))
    skew = rectangle(20, 10).outer.corners
    bulged = Loop((*skew[:1], (10.0, -5.0, 0.2), *skew[2:]))
    with pytest.raises(PartError, match=r"do not meet along the chamfer at \(10\.000"):
        bevelled(foot, bulged, LEG, HIGH)


def test_a_chamfer_higher_than_the_prism_is_refused():
    with pytest.raises(PartError, match=r"height over the chamfer: -0\.1 mm"):
        bevelled(rectangle(19, 9).outer, rectangle(20, 10).outer, 0.5, 0.4)
