"""What templates refuse, and the numbers they work out, against geometry from elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from fitkit.checks.snap import root_strain
from fitkit.core.errors import FaultList, PartError
from fitkit.parts.arms import arm_length_mm, arm_strain, arm_thickness_mm
from fitkit.parts.designs.ball_seat import BallSeat
from fitkit.parts.designs.bracket import hole_places
from fitkit.parts.designs.clip_tray import ClipTray
from fitkit.parts.designs.cradle import Cradle
from fitkit.parts.designs.hanger import HangerPlate
from fitkit.parts.designs.knob import Knob, fluted
from fitkit.parts.designs.panel import Panel
from fitkit.parts.designs.sleeve import Sleeve, sleeve_form
from fitkit.parts.designs.spacer import Spacer
from fitkit.parts.designs.tray_insert import spans
from fitkit.parts.holders.ball import cup_form
from fitkit.parts.holders.cups import cradle_section
from fitkit.parts.holders.keyhole import keyhole
from fitkit.parts.registry import template
from fitkit.solids.bores import spline
from fitkit.solids.rounded import corner_radius_mm, diagonal_mm, fit_rounded_rectangle
from tests.parts.sections import read_size


def _widest(shape: shapely.Geometry) -> float:
    """Greatest distance between two points of an outline, by trying all pairs."""
    points = np.array(shapely.convex_hull(shape).exterior.coords)
    return float(np.max(np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))))


@pytest.mark.parametrize(("length", "width", "radius"), [(100, 60, 8), (45, 44, 3), (120, 30, 14)])
def test_corner_radius_comes_back_from_an_outline_measured_by_shapely(length, width, radius):
    core = shapely.box(0, 0, length - 2 * radius, width - 2 * radius)
    outline = shapely.buffer(core, radius, quad_segs=90)
    assert diagonal_mm(length, width, radius) == pytest.approx(_widest(outline), abs=2e-3)
    assert corner_radius_mm(length, width, _widest(outline)) == pytest.approx(radius, abs=5e-3)


def test_radius_uncertainty_is_that_of_simulated_readings():
    rng = np.random.default_rng(7)
    length, width, radius, u = 100.0, 60.0, 8.0, 0.02
    exact = np.array([length, width, diagonal_mm(length, width, radius)])
    radii = [corner_radius_mm(*(exact + rng.normal(0, u, 3))) for _ in range(4000)]
    fit = fit_rounded_rectangle(*([value] for value in exact), u_instrument_mm=u)
    assert fit.u_radius_mm == pytest.approx(np.std(radii), rel=0.05)
    assert fit.radius_mm == pytest.approx(radius, abs=1e-9)


def test_unequal_diagonals_tell_of_skew():
    d = diagonal_mm(100, 60, 8)
    fit = fit_rounded_rectangle([100], [60], [d + 0.4], other_diagonals=[d - 0.4])
    assert fit.skew_mm == pytest.approx(0.8)
    assert "skewed" in fit.notes[0]


def test_a_diagonal_that_cannot_be_is_refused():
    with pytest.raises(PartError, match=r"diagonal: 130 mm does not go with 100 x 60 mm"):
        corner_radius_mm(100, 60, 130)


def test_arm_formulas_agree_with_the_snap_check():
    assert arm_strain(6, 2, 1) == pytest.approx(root_strain(6, 2, 1, 1.0))
    long = arm_length_mm(1.6, 0.6, 0.015)
    assert arm_strain(long, 1.6, 0.6) == pytest.approx(0.015)
    assert arm_thickness_mm(long, 0.6, 0.015) == pytest.approx(1.6)


def test_cradle_section_has_the_area_that_shapely_finds():
    inner, wall, base, ends, half_open = 9.0, 2.0, 4.0, 30.0, math.radians(60)
    up = base + inner
    section = cradle_section([-13, 13], inner, wall, base=base, ends=ends, half_open=half_open)
    whole = shapely.box(-ends, 0, ends, base)
    for x in (-13, 13):
        ring = shapely.Point(x, up).buffer(inner + wall, 720) - shapely.Point(x, up).buffer(
            inner, 720
        )
        far = 40 * np.array([math.sin(half_open), math.cos(half_open)])
        mouth = shapely.Polygon([(x, up), (x - far[0], up + far[1]), (x + far[0], up + far[1])])
        whole = shapely.union(whole, shapely.box(x - 8, 0, x + 8, base)).union(ring - mouth)
        whole = whole - shapely.Point(x, up).buffer(inner, 720)
    assert section.area == pytest.approx(whole.area, rel=1e-4)


def test_cup_volume_is_that_of_its_rings():
    cup = cup_form(20, 19, 2, 3.4)
    z = np.linspace(2, cup.lip, 400_001)
    dish = np.sqrt(np.clip(11.0**2 - (z - 13.0) ** 2, 0, None))
    # Out from the pad, or from the axis above it, to the wall with its rounded corner.
    pad = np.where(z < cup.top, 6.0, 0.0)
    r = cup.root
    corner = np.where(z < 3.4 + r, r - np.sqrt(np.clip(r**2 - (3.4 + r - z) ** 2, 0, None)), 0.0)
    bore = np.where(z < cup.low, cup.bore - corner, np.sqrt(100 - (z - 12.0) ** 2))
    empty = np.where(z < cup.top, dish**2, 0.0) + np.where(z < 3.4, 0.0, bore**2 - pad**2)
    assert cup.hollow(20) == pytest.approx(np.trapezoid(np.pi * empty, z), rel=1e-4)


def test_flutes_are_as_deep_as_asked():
    points = np.array(fluted(30, 12, 1.2).outer.points(0.002))
    radii = np.hypot(*points.T)
    assert radii.min() == pytest.approx(15 - 1.2, abs=0.01)
    assert radii.max() == pytest.approx(15, abs=1e-9)


def test_spline_lies_between_its_two_diameters():
    radii = np.hypot(*np.array(spline(6.0, 5.2, 20).outer.points()).T)
    assert (radii.min(), radii.max()) == (pytest.approx(2.6), pytest.approx(3.0))


def test_keyhole_lets_the_head_in_and_holds_it_at_the_end():
    shape = shapely.Polygon(keyhole(9, 4.5, 12).outer.points(0.001))
    assert shape.buffer(0.01).contains(shapely.Point(0, 0).buffer(4.5))
    assert not shape.contains(shapely.Point(0, 12).buffer(2.6))
    assert shape.buffer(0.01).contains(shapely.Point(0, 12).buffer(2.25))


def test_layouts():
    assert hole_places(50, 4, 8, 1) == [pytest.approx(27.0)]
    assert spans([1, 1, 2], 88, 4) == [(-44, -24), (-20, 0), (4, 44)]
    form = sleeve_form(20, 50, first_over=True, second_over=True, wall=2, lengths=(10, 10))
    steep = (form.second_in - form.first_in) / (form.high - form.low)
    assert steep <= 1.0 + 1e-9  # 45° or steeper: it prints without support


def test_tray_arms_are_as_long_as_their_strain_asks():
    tray = ClipTray.of(body_length="60 mm", arm="2 mm", catch="1 mm", strain=1.5)
    arm = tray.build().arms[0]
    assert 0.009 < arm_strain(arm.length_mm, arm.thickness_mm, arm.deflection_mm) <= 0.015


REFUSALS = [
    (ClipTray, {"body_length": "12 mm", "arm": "3 mm", "catch": "2 mm"}, "clip tray, arm: 3 mm"),
    (
        BallSeat,
        {"wall": "6 mm", "slits": 4, "retention": "1.5 mm"},
        "ball seat, retention: 1.5 mm is above 0.",
    ),
    (Cradle, {"wall": "6 mm", "diameter": "8 mm", "hold": "arms"}, "cradle, wall: 6 mm"),
    (Cradle, {"hold": "strap", "length": "10 mm"}, "cradle, strap: 8 mm is above 4 mm"),
    (HangerPlate, {"head": "5 mm"}, "hanger plate, head: 5 mm is below 5.5 mm"),
    (Sleeve, {"first": "4 mm", "first_fit": "into"}, "sleeve, first: 4 mm"),
    (Sleeve, {"clamp": True, "first_fit": "into"}, "sleeve, slit"),
    (Knob, {"flat": "6 mm"}, "knob, flat: 6 mm is above 5.9 mm"),
    (Spacer, {"screw": "M6", "outside": "8 mm"}, "spacer, outside: 8 mm is below 8.4 mm"),
    (Panel, {"cutouts": [{"x": "48 mm"}]}, "panel, cutouts 1.x: 56 mm is above 48.4 mm"),
    (
        Panel,
        {"corner_radius": "30 mm", "screws": False, "cutouts": [{"x": "40 mm", "y": "20 mm"}]},
        "panel, cutouts 1.x: 35.57 mm is above 27.9 mm",
    ),
    (Panel, {"width": "24 mm", "screw": "M6"}, "panel, width: 24 mm is below 29.8 mm"),
    (
        Panel,
        {"cutouts": [{}, {"x": "10 mm"}]},
        "panel, cutouts 2.x: 0 mm is below 1.6 mm",
    ),
]


@pytest.mark.parametrize(("cls", "values", "said"), REFUSALS, ids=[r[2] for r in REFUSALS])
def test_sizes_that_do_not_go_together_are_refused_by_name(cls, values, said):
    with pytest.raises(FaultList) as caught:
        cls.of(**values).build()
    assert said in str(caught.value)
    assert all(fault.remedy for fault in caught.value.faults)


@pytest.mark.parametrize(
    "title", ["clip tray", "ball seat", "cradle", "bracket", "sleeve", "knob", "box lid"]
)
def test_a_size_out_of_bounds_names_parameter_value_and_bound(title):
    cls = template(title)
    name, info = next(
        (n, i) for n, i in cls.model_fields.items() if any(hasattr(m, "ge") for m in i.metadata)
    )
    low = next(m.ge for m in info.metadata if hasattr(m, "ge"))
    with pytest.raises(FaultList) as caught:
        cls.of(**{name: f"{low / 2} mm"})
    fault = caught.value.faults[0]
    assert fault.where == f"{title}, {name}"
    assert fault.what == f"{low / 2:g} mm is below {low:g} mm"
    assert fault.remedy


def test_a_device_too_deep_for_the_room_behind_is_a_stop():
    panel = Panel.of(cutouts=[{"behind": "45 mm"}], room_behind="40 mm").build()
    stop = next(f for f in panel.findings if f.severity == "stop")
    assert (stop.check, stop.value, stop.limit) == ("rear clearance", 45.0, 40.0)


def test_a_plate_too_thin_for_countersinks_gets_plain_holes_and_a_finding():
    seat = BallSeat.of(plate="2 mm", screw="M4").build()
    assert any("countersinks are left off" in f.text for f in seat.findings)
    assert not BallSeat.of(plate="4 mm").build().findings


def test_screw_heads_stay_inside_a_panel_s_round_corners():
    panel = Panel.of(width="100 mm", corner_radius="30 mm", screw="M4").build()
    (x0, y, _), (x1, _, _) = next(
        (d.start, d.end) for d in panel.dimensions if d.name == "screw hole"
    )
    # From the middle of the corner's round, 20 mm from the panel's: head and 2 mm are within 30.
    away = math.hypot(abs(x0 + x1) / 2 - 20, abs(y) - 20)
    # An M4 head of 8.4 mm (ISO 7046-1) in a countersink 0.8 mm wider.
    assert away + 9.2 / 2 + 2 == pytest.approx(30)


def test_a_thin_panel_s_plain_screw_holes_have_a_small_chamfer_at_the_bed():
    panel = Panel.of(thickness="1.6 mm", screw="M4", corner_radius="0 mm").build()
    assert "countersinks are left off" in panel.findings[0].text
    hole = next(d for d in panel.dimensions if d.name == "screw hole")
    x, y = (hole.start[0] + hole.end[0]) / 2, hole.start[1]
    # The front, which prints on the bed, is at z = 0.
    for z, wide in ((-1.0, 4.0), (-0.2, 4.2), (-0.1, 4.4)):
        read = read_size(panel, (x, y, z), plane="z", along="x")
        assert read == pytest.approx(wide, abs=0.02)


def test_a_panel_with_hardly_rounded_corners_says_that_its_chamfer_is_smaller():
    (note,) = Panel.of(corner_radius="0.2 mm").build().findings
    assert note.text == "chamfer at the bed is 0.15 mm, since 0.30 mm cannot be made here."


def test_a_label_is_sunk_in_every_template_but_the_smallest():
    for title in ("clip tray", "ball seat", "cradle", "panel", "bracket", "hanger plate", "sleeve",
                  "knob", "box lid", "tray insert"):  # fmt: skip
        plain, marked = (template(title).of(label=text).build() for text in ("", "LP7Q"))
        assert not marked.findings, (title, marked.findings)
        assert marked.bodies[0].solid.volume < plain.bodies[0].solid.volume - 0.5
    assert "left off" in Spacer.of(label="LP-7Q2XY", height="4 mm").build().findings[0].text


def test_box_lid_takes_its_corners_from_a_diagonal():
    lid = template("box lid").of(diagonal=f"{diagonal_mm(100, 60, 9):.6f} mm")
    assert lid.radius_mm() == pytest.approx(9, abs=1e-4)
    assert lid.build().bodies[0].solid.volume > 0


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"slits": 5, "strain": 2},
        {"ball": "8 mm", "wall": "1.6 mm", "slits": 4, "retention": "0.2 mm", "strain": 6},
        {"ball": "8 mm"},
        {"ball": "60 mm", "slits": 12},
        {"style": "arms"},
    ],
    ids=str,
)
def test_slits_part_a_seats_lip_from_its_ground_to_its_edge(values, section):
    seat = BallSeat.of(**values).build()
    arm, solid = seat.arms[0], seat.bodies[0].solid
    for down in (0.05, arm.length_mm / 2, arm.length_mm - 0.05):
        pieces = section(solid, (0, 0, arm.at[2] - down), (0, 0, 1)).material
        # The pad, in the middle, is none of them.
        lips = [one for one in pieces.geoms if one.convex_hull.distance(shapely.Point(0, 0)) > 0.1]
        assert len(lips) == arm.count
    root = arm.at[2] - arm.length_mm - arm.root_radius_mm
    below = section(solid, (0, 0, root - 0.05), (0, 0, 1)).material
    assert below.geom_type == "Polygon"


@pytest.mark.parametrize("values", [{}, {"slits": 5, "strain": 2}, {"style": "arms"}], ids=str)
def test_jaws_find_a_piece_of_a_seats_lip_on_both_sides(values, section):
    seat = BallSeat.of(**values).build()
    for name in ("seat", "mouth"):
        (size,) = (d for d in seat.dimensions if d.name == name)
        level = (0.0, 0.0, size.start[2] - 0.01)
        found = section(seat.bodies[0].solid, level, (0, 0, 1)).material
        for (x, y, _), out in ((size.start, -1), (size.end, 1)):
            # Jaws 1 mm wide lie on the lip all over.
            jaw = shapely.box(x + out * 0.2, y - 0.5, x + out * 0.6, y + 0.5)
            assert found.contains(jaw)


def test_a_seats_lip_grows_as_long_as_its_strain_asks_and_its_root_is_round(section):
    short, long = (BallSeat.of(strain=strain).build().arms[0] for strain in (0.7, 0.35))
    assert long.length_mm > 1.2 * short.length_mm
    seat = BallSeat.of().build()
    arm = seat.arms[0]
    assert arm.root_radius_mm == 1.0
    # The corner as built: half a millimetre up, the round still fills r (1 - cos 30°) = 0.134 mm.
    floor = arm.at[2] - arm.length_mm - 1.0
    bore = 12.5 * math.cos(math.radians(15))
    material = section(seat.bodies[0].solid, (0, 0, floor + 0.5), (0, 0, 1)).material
    assert material.contains(shapely.Point(bore - 0.1, 0))
    assert not material.contains(shapely.Point(bore - 0.17, 0))


def test_roots_of_clip_arms_and_the_corner_of_a_bracket_are_round(section):
    """Where a sharp corner would be there is plastic up to (sqrt(2) - 1) r from it, and no more."""
    tray = ClipTray.of(columns=1).build()
    arm = tray.arms[0]
    assert arm.root_radius_mm == pytest.approx(1.0)  # as wide as the slot: catch and 0.4 mm
    material = section(tray.bodies[0].solid, (0, 0, 8), (0, 0, 1)).material
    # The right arm: its outer face at half the body's width and its own thickness, its root
    # as far from its tip as it is long, and the round end of the slot beyond.
    tip = -12.0 + 1.0 + 0.6
    corner = np.array([8.0 + 1.6, tip + arm.length_mm + 1.0])
    inward = np.array([1.0, -1.0]) / math.sqrt(2)
    for away, full in ((0.30, True), (0.39, True), (0.44, False), (0.6, False)):
        assert material.contains(shapely.Point(corner + away * inward)) is full
    bracket = template("bracket").of().build()
    side = section(bracket.bodies[0].solid, (0, -16, 0), (0, 1, 0)).material
    inward = np.array([1.0, 1.0]) / math.sqrt(2)
    places = [np.array([4.0, 4.0]) + away * inward for away in (0.8, 0.86)]
    box = side.bounds
    # The section's own axes may run either way: the corner is where both legs' faces meet.
    flips = [(u, v) for u in (1, -1) for v in (1, -1)]
    found = [
        [side.contains(shapely.Point(u * x, v * z)) for x, z in places]
        for u, v in flips
        if side.contains(shapely.Point(u * 20.0, v * 2.0))
        and side.contains(shapely.Point(u * 2.0, v * 20.0))
    ]
    assert box[2] - box[0] == pytest.approx(40, abs=0.01)
    assert found == [[True, False]]


def test_arms_that_bend_across_the_layers_say_so():
    assert BallSeat.of().build().arms[0].layers_across
    assert not Cradle.of().build().arms[0].layers_across
    assert Cradle.of().build().bodies[0].print_turn == (0, -90, 0)


@pytest.mark.parametrize("shape", ["round", "hexagon"])
def test_a_tall_spacer_has_an_insert_s_pocket_at_each_end_and_a_wall_between(shape):
    spacer = Spacer.of(bore="insert", shape=shape, height="30 mm", outside="9 mm").build()
    boss, (bore, _) = spacer.bosses[0], spacer.dimensions
    for z in (0.3 + 0.01, boss.depth_mm - 0.01, 30 - boss.depth_mm + 0.01):
        read = read_size(spacer, (0, 0, z), plane="z", along="x")
        assert read == pytest.approx(bore.value_mm, abs=0.02)
    # At the bed, the mouth is wider by the chamfer's leg on both sides.
    mouth = read_size(spacer, (0, 0, 0.1), plane="z", along="x")
    assert mouth == pytest.approx(bore.value_mm + 2 * 0.2, abs=0.02)
    solid, wall = spacer.bodies[0].solid, 30 - 2 * boss.depth_mm
    area = math.pi * 4.5**2 if shape == "round" else 2 * math.sqrt(3) * 4.5**2
    full = area * 30 - math.pi / 4 * bore.value_mm**2 * (30 - wall)
    assert 0 < full - solid.volume < 4


@pytest.mark.parametrize("second", ["28 mm", "24.8 mm"])  # with a taper, and straight on
def test_a_clamp_s_ears_slit_and_bore_are_chamfered_at_the_bed(second):
    sleeve = Sleeve.of(clamp=True, first="20 mm", second=second).build()
    solid, reach = sleeve.bodies[0].solid, sleeve.bodies[0].solid.bounding_box().max.X
    for z, leg in ((0.1, 0.2), (0.2, 0.1), (0.4, 0.0)):
        slit = read_size(sleeve, (12.0, 0, z), plane="z", along="y")
        assert slit == pytest.approx(2.0 + 2 * leg, abs=0.02)
        bore = read_size(sleeve, (-5.0, 0, z), plane="x", along="y")
        assert bore == pytest.approx(2 * math.sqrt((10 + leg) ** 2 - 25), abs=0.02)
        ears = read_size(sleeve, (reach - 1.0, 0, z), plane="x", along="y", kind="span")
        assert ears == pytest.approx(2.0 + 2 * 4.0 - 2 * leg, abs=0.02)
    # The screw's hole has its roof upwards: 1.1 radii above its middle, one below.
    (x0, y, z), (x1, _, _) = sleeve.dimensions[-1].start, sleeve.dimensions[-1].end
    x, r = (x0 + x1) / 2, (x1 - x0) / 2
    for ear in (y + 2.0, -y - 2.0):
        assert read_size(sleeve, (x, ear, z), plane="y", along="z") == pytest.approx(
            2.1 * r, abs=0.02
        )
        assert 0.1 < read_size(sleeve, (x, ear, z + 1.05 * r), plane="y", along="x") < r
    # Above the first end the slit has ended: the ring is whole.
    assert read_size(sleeve, (0, 0, 18.5), plane="z", along="x", kind="span") > 2 * 12.0
    assert len(solid.solids()) == 1
