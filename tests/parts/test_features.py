"""Features on any side of a case or plate, judged by trimesh and shapely on the meshes."""

import math

import numpy as np
import pytest
import shapely

from fitkit.core.errors import FaultList, PartError
from fitkit.parts.carriers.case import Case
from fitkit.parts.carriers.plate import MountingPlate
from tests.parts import jobs

WALLS = ("left", "right", "front", "back")
OUT = {"left": (-1, 0), "right": (1, 0), "front": (0, -1), "back": (0, 1)}
CELL = {"name": "cell", "held": "round cell in saddles", "diameter": "18 mm",
        "body_length": "60 mm", "hold": "rest"}  # fmt: skip
BOARD = {
    "name": "board", "held": "board on standoffs", "board_length": "60 mm", "board_width": "40 mm",
    "hole_spacing_x": "52 mm", "hole_spacing_y": "32 mm", "tallest_part": "8 mm",
    "ports": [{"wall": "front", "along": "20 mm", "above": "3 mm", "width": "9 mm",
               "height": "4 mm"}],
}  # fmt: skip


def made(kind, *features, things=(CELL,), **values):
    return kind.of(things=things, features=features, label="ABC1234", **values)


def body(part, name):
    return jobs.mesh(part.body(name).solid)


def rings(mesh, z):
    (flat,) = jobs.slices(mesh, [z])
    return [shapely.Polygon(r) for one in getattr(flat, "geoms", [flat]) for r in one.interiors]


def whole(mesh):
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize(("kind", "name"), [(Case, "tray"), (MountingPlate, "plate")])
def test_an_ear_stands_out_on_any_side_with_its_hole(kind, name, wall):
    bare = body(made(kind).build(), name)
    part = made(kind, {"kind": "ear", "on": wall, "screw": "M3"}).build({"ear: screw hole": 3.4})
    with_ear = body(part, name)
    whole(with_ear)
    grown = with_ear.bounds - bare.bounds
    axis, side = next((k, int(v > 0)) for k, v in enumerate(OUT[wall]) if v)
    reach = abs(grown[side][axis])
    assert 8 < reach < 16
    grown[side][axis] = 0
    assert np.abs(grown).max() < 1e-6
    (hole,) = (d for d in part.dimensions if d.name == "ear: screw hole")
    middle = (np.array(hole.start) + np.array(hole.end)) / 2
    (ring,) = (r for r in rings(with_ear, 1.5) if r.contains(shapely.Point(middle[:2])))
    assert ring.area == pytest.approx(math.pi * 3.4**2 / 4, rel=0.01)
    # Between hole and edge there is plastic all round.
    (flat,) = jobs.slices(with_ear, [1.5])
    outline = max(getattr(flat, "geoms", [flat]), key=lambda one: one.area).exterior
    assert ring.distance(outline) > 1.9
    assert part.lugs[-1].along == pytest.approx((*OUT[wall], 0))
    assert part.buys[-1].what.startswith("screw M3 with a flat underside")


def test_a_keyhole_lets_the_head_pass_and_holds_the_shank():
    part = made(Case, {"kind": "ear", "on": "back", "hole": "keyhole", "screw": "M4"}).build(
        {"ear: slot": 4.4, "ear: head hole": 9.4}
    )
    tray = body(part, "tray")
    whole(tray)
    slot = next(d for d in part.dimensions if d.name == "ear: slot")
    head = next(d for d in part.dimensions if d.name == "ear: head hole")
    at = [(np.array(d.start) + np.array(d.end))[:2] / 2 for d in (slot, head)]
    (hole,) = (r for r in rings(tray, 1.5) if r.contains(shapely.Point(at[0])))
    assert hole.contains(shapely.Point(at[1]).buffer(9.4 / 2 - 0.05))
    assert not hole.contains(shapely.Point(at[1]).buffer(9.4 / 2 + 0.05))
    # At the slot's end a shank of 4.3 mm has room, the head of 8.4 mm has none.
    assert hole.contains(shapely.Point(at[0]).buffer(4.3 / 2))
    assert not hole.contains(shapely.Point(at[0]).buffer(8.4 / 2))
    assert shapely.Point(at[0]).distance(shapely.Point(at[1])) > 8
    # The shank comes all the way from the wide end: its middle line is free.
    assert hole.contains(shapely.LineString(at).buffer(4.3 / 2))


@pytest.mark.parametrize("wall", WALLS)
def test_a_rail_slides_through_its_foot_and_does_not_come_off(wall):
    """The rail's section by EN 60715: flanges over 35 mm, 1 mm sheet, hat 27 mm wide."""
    thing = CELL | {"body_length": "80 mm", "count": 3}
    part = made(Case, {"kind": "rail foot", "on": wall}, things=(thing,)).build(
        {"rail foot: rail width": 35.3, "rail foot: flange": 1.3}
    )
    tray = body(part, "tray")
    whole(tray)
    width = next(d for d in part.dimensions if d.name == "rail foot: rail width")
    a, b = np.array(width.start)[:2], np.array(width.end)[:2]
    assert np.linalg.norm(a - b) == pytest.approx(35.3)
    out, along = np.array(OUT[wall], dtype=float), (b - a) / np.linalg.norm(b - a)
    face = (a + b) / 2 - 0.65 * out  # the wall's outer face

    def rail(shift):
        """Flanges and hat, pulled away from the wall by a shift."""

        def flat(low, high, half):
            corners = [
                face + (u + shift) * out + v * along
                for u, v in [(low, -half), (high, -half), (high, half), (low, half)]
            ]
            return shapely.Polygon(corners)

        return flat(0.15, 1.15, 17.5).union(flat(1.15, 7.65, 13.5))

    for z in (0.7, 5.0, 12.0):
        (plastic,) = jobs.slices(tray, [z])
        assert plastic.intersection(rail(0.0)).area < 0.01
        assert plastic.intersection(rail(1.5)).area > 2.0  # both flanges meet their hooks


@pytest.mark.parametrize("side", [*WALLS, "lid", "floor"])
def test_a_round_hole_goes_through_its_side(side):
    part = made(
        Case,
        {"kind": "round hole", "on": side, "diameter": "4 mm", "at": "8 mm", "across": "6 mm"},
        things=(BOARD | {"ports": []},),
        headroom="10 mm",
    )
    if side == "floor":  # clear of the board
        part = made(
            Case,
            {"kind": "round hole", "on": side, "diameter": "4 mm"},
            things=(BOARD | {"ports": []},),
            inside_length="110 mm",
        )
        with pytest.raises(PartError, match="is in its way"):
            made(Case, {"kind": "round hole", "on": "floor", "at": "0 mm"}, things=(BOARD,)).build()
    part = part.build({"round hole: hole": 4.2})
    name = "lid" if side == "lid" else "tray"
    solid = body(part, name)
    whole(solid)
    (hole,) = (d for d in part.dimensions if d.name == "round hole: hole")
    middle = (np.array(hole.start) + np.array(hole.end)) / 2
    way = np.array([*OUT.get(side, (0, 0)), 0.0 if side in OUT else 1.0])
    # A rod of 4.1 mm goes through from outside to inside, one of 4.3 mm does not.
    u = np.cross(way, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    v = np.cross(way, u)
    for wide, free in ((4.1, True), (4.3, False)):
        ring = [
            middle + wide / 2 * (math.cos(t) * u + math.sin(t) * v) + step * way
            for t in np.linspace(0, 2 * math.pi, 24, endpoint=False)
            for step in np.linspace(-1.0, 1.0, 9)
        ]
        inside = solid.contains(np.array(ring))
        assert not inside.any() if free else inside.any()


def test_the_first_free_place_is_taken_and_what_is_in_the_way_is_named():
    ear = {"kind": "ear", "on": "front", "screw": "M3"}
    part = made(Case, ear, ear, things=(BOARD,)).build()
    holes = [d for d in part.dimensions if d.name in ("ear 1: screw hole", "ear 2: screw hole")]
    (one, two) = ((np.array(d.start) + np.array(d.end))[0] / 2 for d in holes)
    assert abs(one - two) > 9
    with pytest.raises(PartError, match=r"board: port 1.*is in its way") as caught:
        made(
            Case, {"kind": "round hole", "on": "front", "at": "-10 mm", "above": "10 mm"},
            things=(BOARD,),
        ).build()  # fmt: skip
    assert caught.value.at == ("features", 0, "at")
    with pytest.raises(PartError, match="no room for it"):
        made(Case, *[ear] * 12, things=(BOARD,)).build()
    with pytest.raises(PartError, match="past the end"):
        made(Case, ear | {"at": "90 mm"}, things=(BOARD,)).build()


def test_what_cannot_be_is_told_with_its_place():
    with pytest.raises(FaultList, match="is not a feature"):
        made(Case, {"kind": "handle"})
    with pytest.raises(PartError, match="cannot be on the lid"):
        made(Case, {"kind": "ear", "on": "lid"}).must_fit()
    with pytest.raises(PartError, match="mm high"):
        made(MountingPlate, {"kind": "rail foot", "on": "back"}).build()
    with pytest.raises(PartError, match="there is no lid here"):
        made(MountingPlate, {"kind": "round hole", "on": "lid"}).build()
    with pytest.raises(PartError, match="is called 'x', too"):
        made(Case, {"kind": "ear", "name": "x"}, {"kind": "ear", "name": "x"}).must_fit()


def test_a_case_without_features_is_what_it_was():
    assert made(Case).build().lugs == made(Case).build().lugs
    bare, asked = made(Case), made(Case, {"kind": "ear", "on": "left"})
    names = [fit.name for fit in asked.fit_sizes()]
    assert [n for n in names if n not in {f.name for f in bare.fit_sizes()}] == ["ear: screw hole"]


@pytest.mark.parametrize("kind", ["case", "board case"])
def test_a_lids_screws_are_sunk_into_it_and_go_into_inserts(kind):
    """Heads and inserts by the table of fasteners; the cone of a countersunk screw has 90°."""
    from fitkit.fits.fasteners import hold_in_plastic
    from fitkit.parts.registry import template

    more = {"things": (CELL,)} if kind == "case" else {}
    asked = template(kind).of(
        lid_fixing="screws",
        lid_head="countersunk",
        lid_thread="insert",
        lid_thickness="3 mm",
        **more,
    )
    hold = hold_in_plastic("M3")
    part = asked.build({"lid screw hole": 3.4, "lid insert hole": 4.0})
    lid, tray = body(part, "lid"), body(part, "tray")
    whole(lid)
    whole(tray)
    (hole,) = (d for d in part.dimensions if d.name == "lid screw hole")
    at = shapely.Point(*((np.array(hole.start) + np.array(hole.end))[:2] / 2))
    top = lid.bounds[1][2]
    head = hold.sunk_head_mm + 0.8
    for deep in (0.2, 0.8, 1.3):
        (ring,) = (r for r in rings(lid, top - deep) if r.contains(at))
        assert 2 * math.sqrt(ring.area / math.pi) == pytest.approx(head - 2 * deep, abs=0.05)
    (ring,) = (r for r in rings(lid, top - 2.5) if r.contains(at))
    assert 2 * math.sqrt(ring.area / math.pi) == pytest.approx(3.4, abs=0.03)
    rim = tray.bounds[1][2]
    (ring,) = (r for r in rings(tray, rim - hold.insert_length_mm) if r.contains(at))
    assert 2 * math.sqrt(ring.area / math.pi) == pytest.approx(4.0, abs=0.03)
    # The ear is wide enough for the insert's boss and for the head.
    (flat,) = jobs.slices(tray, [rim - 3.0])
    assert (
        shapely.Point(at)
        .buffer(hold.insert_boss_mm / 2 - 0.1)
        .difference(flat.union(ring.buffer(0.1)))
        .area
        < 0.05
    )
    named = {buy.what for buy in part.buys if buy.why == "lid"}
    assert any(what.startswith("countersunk screw M3") for what in named)
    assert any(what.startswith("heat-set insert M3") for what in named)
    (boss,) = {b.insert_mm for b in part.bosses if b.name.startswith("lid ear")}
    assert boss == 4.0


def test_a_lid_too_thin_for_a_countersink_keeps_plain_holes_and_says_so():
    part = made(Case, lid_fixing="screws", lid_head="countersunk", lid_thickness="1.2 mm").build()
    assert any("countersinks are left off" in f.text for f in part.findings)
