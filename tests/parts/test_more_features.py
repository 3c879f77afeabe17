"""Vents, text, logos, magnets, feet, hinges, rail clips and tied cables, judged on the meshes.

trimesh and shapely look at closed meshes and slices; booleans of meshes are manifold3d's, asked
through trimesh. Names of sources stand beside what they are for.
"""

import math

import numpy as np
import pytest
import shapely
import trimesh

from fitkit.core.errors import FaultList, PartError
from fitkit.parts.carriers.case import Case
from fitkit.parts.carriers.plate import MountingPlate
from tests.parts import jobs

WALLS = ("left", "right", "front", "back")
OUT = {"left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0),
       "lid": (0, 0, 1), "floor": (0, 0, -1)}  # fmt: skip
CELL = {"name": "cell", "held": "round cell in saddles", "diameter": "18 mm",
        "body_length": "50 mm", "hold": "rest"}  # fmt: skip
TALL = CELL | {"diameter": "26 mm"}
MIDDLE = CELL | {"place": {"x": "45 mm", "y": "35 mm"}}
ROOMY = {"inside_length": "90 mm", "inside_width": "70 mm", "headroom": "12 mm"}


def case(*features, things=(CELL,), **values):
    return Case.of(things=things, features=features, **(ROOMY | values))


def mesh(part, name):
    made = jobs.mesh(part.body(name).solid)
    assert made.is_watertight
    assert made.is_winding_consistent
    assert made.volume > 0
    return made


def body_of(side):
    return "lid" if side == "lid" else "tray"


def taken_away(side, *features, **values):
    """What features cut out of a body, as a mesh: the bare body less the one with them."""
    bare = mesh(case(**values).build(), body_of(side))
    made = mesh(case(*features, **values).build(), body_of(side))
    return less(bare, made)


def less(whole, part):
    """What of one mesh is not in another, without the slivers between facets of two finenesses."""
    away = trimesh.boolean.difference([whole, part], engine="manifold")
    return trimesh.util.concatenate([one for one in away.split() if one.volume > 0.1])


def seen(points, side):
    """Points as a person sees them who looks at the side from outside: right, up."""
    out = np.array(OUT[side], float)
    up = np.array([0, 0, 1.0]) if out[2] == 0 else np.array([0, 1.0, 0])
    # Who looks along -out with `up` upwards has `up x out` at the right hand.
    return np.stack([points @ np.cross(up, out), points @ up], axis=-1)


# --- vents ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("style", ["slots", "hex"])
@pytest.mark.parametrize("side", [*WALLS, "lid", "floor"])
def test_vents_leave_as_much_area_free_as_they_say(side, style):
    vents = {"kind": "vents", "on": side, "area": "90 mm²", "style": style}
    part = case(vents).build()
    mesh(part, body_of(side))
    (vent,) = (one for one in part.vents if one.name == "vents")
    assert vent.free_area_mm2 >= 0.95 * 90
    thick = {"lid": Case.of().lid_thickness, "floor": Case.of().floor}.get(side, Case.of().wall)
    away = taken_away(side, vents)
    assert away.volume / thick == pytest.approx(vent.free_area_mm2, rel=0.01)
    # Each opening is too narrow for a finger, and the numbers say where the middle is.
    assert seen(away.center_mass, side) == pytest.approx(seen(np.array(vent.at), side), abs=0.05)
    widths = [np.sort(seen(one.vertices, side).max(0) - seen(one.vertices, side).min(0))[0]
              for one in away.split()]  # fmt: skip
    assert max(widths) < 5.0


def test_vents_that_find_no_room_say_so_or_are_refused():
    part = case({"kind": "vents", "on": "left", "area": "2000 mm²"}).build()
    assert any("find room on the left, of 2000" in one.text for one in part.findings)
    with pytest.raises(PartError, match="no height for vents"):
        case({"kind": "vents", "on": "left", "above": "200 mm"}).build()
    with pytest.raises(PartError, match="no room for it"):
        case({"kind": "vents", "on": "floor", "area": "4000 mm²", "high": "60 mm"}).build()


# --- text and logos ------------------------------------------------------------------------------


@pytest.mark.parametrize("side", [*WALLS, "lid", "floor"])
def test_text_is_read_from_outside_on_every_side(side):
    """An L has its bar below and its stem at the left: its mass lies left of and below its box."""
    away = taken_away(side, {"kind": "text", "on": side, "text": "L", "caps": "8 mm"})
    flat = seen(away.vertices, side)
    low, high = flat.min(axis=0), flat.max(axis=0)
    assert high[1] - low[1] == pytest.approx(8.0, abs=0.02)
    middle = seen(away.center_mass, side)
    assert np.all(middle < (low + high) / 2 - 0.5)
    out = away.vertices @ np.array(OUT[side], float)
    assert out.max() - out.min() == pytest.approx(0.4, abs=1e-3)


def test_raised_text_stands_on_a_wall_and_lines_stand_under_one_another():
    text = {"kind": "text", "on": "front", "text": "AB\nC", "relief": "raised", "deep": "0.6 mm"}
    part = case(text).build()
    tray, bare = mesh(part, "tray"), mesh(case().build(), "tray")
    assert tray.bounds[0][1] == pytest.approx(bare.bounds[0][1] - 0.6)
    added = less(tray, bare)
    middles = sorted(seen(one.center_mass, "front")[1] for one in added.split())
    assert middles[1] - middles[0] == pytest.approx(1.6 * 5.0, abs=0.6)
    with pytest.raises(PartError, match="lies on the bed"):
        case(text | {"on": "lid"}).build()
    with pytest.raises(PartError, match="there is no text"):
        case({"kind": "text", "on": "front", "text": " "}).build()
    with pytest.raises(PartError, match=r"it leaves 0\.4 mm of the front"):
        case({"kind": "text", "on": "front", "text": "A", "deep": "2 mm"}).build()


DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><g transform="translate(2,2)">'
    '<circle cx="8" cy="8" r="8"/><circle cx="8" cy="8" r="4" fill="white"/></g>'
    '<rect x="32" y="2" width="6" height="16" style="fill:#123456"/></svg>'
)


def drawn(folder, text, name="own.svg"):
    path = folder / name
    path.write_text(text)
    return str(path)


def test_a_logo_is_what_its_drawing_fills(tmp_path):
    logo = {"kind": "logo", "on": "lid", "file": drawn(tmp_path, DRAWING), "wide": "18 mm"}
    away = taken_away("lid", logo)
    # The drawing is 36 wide: a ring of 8 and 4, and a bar of 6 by 16 at the right.
    area = (math.pi * (8**2 - 4**2) + 6 * 16) * (18 / 36) ** 2
    assert away.volume / 0.4 == pytest.approx(area, rel=0.01)
    ring, bar = sorted(away.split(), key=lambda one: one.center_mass[0])
    assert bar.bounds[1][0] - ring.bounds[0][0] == pytest.approx(18.0, abs=0.01)
    assert bar.volume / 0.4 == pytest.approx(6 * 16 / 4, rel=1e-3)


def test_thin_strokes_of_a_logo_are_told(tmp_path):
    thin = DRAWING.replace('width="6"', 'width="0.6"')
    logo = {"kind": "logo", "on": "lid", "file": drawn(tmp_path, thin), "wide": "10 mm"}
    (found,) = (one for one in case(logo).build().findings if "thinner than a printed" in one.text)
    assert found.value == pytest.approx(100 * 9.6 / (9.6 + math.pi * 48), abs=2)


BOMB = '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOMB + "<svg><text>&b;</text></svg>", "declares entities"),
        ('<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg><g>&x;</g></svg>',
         "declares entities"),
        ("<svg><image href='file:///etc/passwd'/></svg>", "a picture"),
        ("<svg><text>A</text></svg>", "letters"),
        ("<svg><use href='#a'/></svg>", "copies of other parts"),
        ("<svg><path d='M0 0 L 9 9' fill='none' stroke='black'/></svg>", "without a filled area"),
        ("<svg></svg>", "fills no area"),
        ("<html></html>", "not an SVG file"),
        ("no drawing", "not an SVG file"),
        ("<svg><path d='M 0 0 L 9 q'/></svg>", "fills no area|cannot be read"),
    ],
)  # fmt: skip
def test_a_drawing_that_is_not_safe_or_fills_nothing_is_refused(tmp_path, text, said):
    with pytest.raises(PartError, match=said) as caught:
        case({"kind": "logo", "on": "lid", "file": drawn(tmp_path, text)}).build()
    assert caught.value.at == ("features", 0, "file")


def test_a_logo_without_a_file_says_so():
    with pytest.raises(PartError, match="no file is named"):
        case({"kind": "logo", "on": "lid"}).build()


# --- magnets -------------------------------------------------------------------------------------


@pytest.mark.parametrize("side", [*WALLS, "lid", "floor"])
def test_a_magnet_goes_into_its_pocket_and_has_plastic_behind_it(side):
    magnet = {"kind": "magnet", "on": side, "diameter": "6 mm", "thickness": "3 mm"}
    part = case(magnet).build({"magnet: pocket": 6.2})
    made = mesh(part, body_of(side))
    (pocket,) = (one for one in part.dimensions if one.name == "magnet: pocket")
    face = (np.array(pocket.start) + np.array(pocket.end)) / 2
    out = np.array(OUT[side], float)
    turn = trimesh.geometry.align_vectors([0, 0, 1], out)
    for wide, free in ((6.1, True), (6.3, False)):
        disc = trimesh.creation.cylinder(wide / 2, 3.0, sections=64)
        disc.apply_transform(turn)
        disc.apply_translation(face - 1.5 * out)
        meets = trimesh.boolean.intersection([disc, made], engine="manifold").volume
        assert meets < 0.05 if free else meets > 0.5
    behind = made.ray.intersects_location([face + out], [-out])[0]
    depths = sorted(float((face - at) @ out) for at in behind)
    assert 3.0 < depths[0] < 3.3
    assert depths[1] - depths[0] >= 1.0 - 1e-4
    assert part.buys[-1].what == "round magnet 6 mm, 3 mm thick"
    assert any("unlike poles" in one.text for one in part.findings)
    (wall,) = (one for one in part.walls if one.name == "magnet: behind it")
    assert wall.thickness_mm == pytest.approx(depths[1] - depths[0], abs=1e-3)


# --- stacking feet -------------------------------------------------------------------------------


def test_cases_stand_on_one_another_by_their_feet():
    feet = {"kind": "stacking feet", "on": "floor"}
    part = case(feet, things=(MIDDLE,)).build(
        {"stacking feet: recess": 10.5, "stacking feet: foot hole": 4.98}
    )
    lid, tray = mesh(part, "lid"), mesh(part, "tray")
    names = [body.name for body in part.bodies]
    assert names == ["tray", "lid", *(f"stacking feet {i}" for i in range(1, 5))]
    top = lid.bounds[1][2]
    for name in names[2:]:
        foot = mesh(part, name)
        assert foot.bounds[0][2] == pytest.approx(-4.0)
        # Pressed in: the shank is larger than its hole, by next to nothing, and nowhere else.
        inside = trimesh.boolean.intersection([foot, tray], engine="manifold").volume
        assert inside < math.pi * 5.0 * 0.02 * 2.0
        # The case above: its foot stands in the lid's recess, 1 mm deep, and nowhere else.
        foot.apply_translation([0, 0, top - 1.0 + 4.0])
        assert trimesh.boolean.intersection([foot, lid], engine="manifold").volume < 1e-3
        foot.apply_translation([0.6, 0, 0])
        assert trimesh.boolean.intersection([foot, lid], engine="manifold").volume > 0.5
    with pytest.raises(PartError, match=r"leaves 0\.5 mm of the lid"):
        case(feet | {"recess": "1.5 mm"}, things=(MIDDLE,)).build()
    with pytest.raises(PartError, match="do not stand apart"):
        case(feet | {"diameter": "30 mm"}, things=(MIDDLE,)).build()


def test_feet_step_inwards_where_something_stands_in_a_corner():
    feet = {"kind": "stacking feet", "on": "floor"}
    corner = {"name": "ball", "held": "ball in a cup", "ball": "20 mm", "retention": "0.3 mm",
              "place": {"x": "18 mm", "y": "18 mm"}}  # fmt: skip
    plain, moved = (case(feet, things=(one,)).build() for one in (MIDDLE, corner))
    for part in (plain, moved):
        tray = mesh(part, "tray")
        spots = [mesh(part, f"stacking feet {i}").centroid[:2] for i in range(1, 5)]
        assert np.abs(np.sum(spots, axis=0)).max() < 1e-3  # about the case's middle
        (flat,) = jobs.slices(tray, [2.3])  # over the floor
        for spot in spots:
            # No wall, saddle or stop stands over a foot's hole.
            assert not flat.intersects(shapely.Point(spot).buffer(3.0))
    first, second = (mesh(part, "stacking feet 4").centroid for part in (plain, moved))
    assert first[0] + first[1] > second[0] + second[1] + 1


def test_a_recess_does_not_run_into_what_the_lid_has():
    vents = {"kind": "vents", "on": "lid", "at": "-33 mm", "across": "-23 mm", "area": "20 mm²"}
    with pytest.raises(PartError, match="vents is in its way on the lid"):
        case(vents, {"kind": "stacking feet", "on": "floor"}, things=(MIDDLE,)).build()


# --- hinges --------------------------------------------------------------------------------------


@pytest.mark.parametrize("wall", WALLS)
def test_a_hinged_lid_turns_all_the_way_and_meets_nothing(wall):
    hinge = {"kind": "hinge", "on": wall, "length": "30 mm", "pin": "2 mm", "knuckles": 5}
    sizes = {"hinge: lid knuckle": 5.9, "hinge: between knuckles": 6.3, "hinge: pin hole": 2.1,
             "hinge: turning hole": 2.4, "lid lip outside length": 92.4,
             "lid lip outside width": 72.4}  # fmt: skip
    part = case(hinge, lid_fixing="rim").build(sizes)
    tray, lid = mesh(part, "tray"), mesh(part, "lid")
    ends = next(one for one in part.dimensions if one.name == "hinge: turning hole")
    axis = (np.array(ends.start) + np.array(ends.end)) / 2
    out = np.array(OUT[wall], float)
    along = np.cross([0, 0, 1.0], out)
    # The pin goes through all knuckles of both.
    pin = trimesh.creation.cylinder(1.0, 60.0, sections=64)
    pin.apply_transform(trimesh.geometry.align_vectors([0, 0, 1], along))
    pin.apply_translation(axis)
    for one in (tray, lid):
        assert trimesh.boolean.intersection([pin, one], engine="manifold").volume < 0.01
    for angle in (3, 8, 20, 45, 70, 90, 120, 150, 180):
        turn = trimesh.transformations.rotation_matrix(math.radians(angle), along, axis)
        # Opened, the lid's far edge goes up.
        opened = lid.copy()
        opened.apply_transform(turn)
        if angle == 20:
            assert opened.bounds[1][2] > lid.bounds[1][2] + 10
        meets = trimesh.boolean.intersection([opened, tray], engine="manifold").volume
        assert meets < 0.3, angle
    # It cannot come off outwards, nor go along.
    for way in (out, -out, along, -along):
        moved = lid.copy()
        moved.apply_transform(trimesh.transformations.rotation_matrix(math.pi / 2, along, axis))
        moved.apply_translation(way * (0.7 if abs(way @ along) > 0.5 else 3.0))
        both = trimesh.util.concatenate([tray, pin])
        hits = sum(
            trimesh.boolean.intersection([moved, one], engine="manifold").volume
            for one in (tray, pin)
        )
        assert hits > 0.3, (way, both.volume)
    assert part.buys[-1].what == "steel pin 2 mm, 30 mm long"
    # Both print without support: no face of a knuckle looks down at less than 45 degrees.
    for one, flip in ((tray, 1), (lid, -1)):
        near = np.abs((one.triangles_center - axis) @ along) < 15.1
        near &= (one.triangles_center - axis) @ out > -2.0
        steep = one.face_normals[:, 2] * flip < -math.sin(math.radians(46))
        base = one.bounds[0][2] if flip > 0 else -one.bounds[1][2]
        free = np.abs(flip * one.triangles_center[:, 2] - base) > 0.05
        roof = near & steep & free
        assert one.area_faces[roof].sum() < 30 * 2 * 0.4 * 2.4


def test_a_hinge_is_refused_where_it_cannot_be():
    hinge = {"kind": "hinge", "on": "back"}
    with pytest.raises(PartError, match="has no hinge"):
        case(hinge, lid_fixing="slide").build()
    with pytest.raises(PartError, match="no room for it"):
        case(hinge | {"length": "200 mm"}).build()
    with pytest.raises(PartError, match=r"knuckles on 20\.0 mm"):
        case(hinge | {"length": "20 mm", "knuckles": 7}).build()
    with pytest.raises(PartError, match="has no hinge"):
        MountingPlate.of(things=(CELL,), features=(hinge,)).build()


# --- rail clips ----------------------------------------------------------------------------------


def clip_section(part):
    """The clip as it lies on the bed, cut half way up; its middle mark at the rail's middle."""
    from fitkit.solids import tessellate
    from fitkit.solids.mesh import lay_flat

    clip = part.body("rail clip")
    laid, turn, shift = lay_flat(tessellate(clip.solid), clip.print_turn)
    made = trimesh.Trimesh(laid.vertices, laid.triangles, process=False)
    assert made.is_watertight
    (flat,) = jobs.slices(made, [0.9])  # below the screws' holes
    width = next(one for one in part.dimensions if one.name == "rail clip: rail width")
    a, b = (turn @ np.array(p) + shift for p in (width.start, width.end))
    return made, flat, a[:2], b[:2]


@pytest.mark.parametrize("rail", ["along", "up"])
@pytest.mark.parametrize("side", [*WALLS, "floor"])
def test_a_rail_snaps_into_its_clip(side, rail):
    """The rail's section by EN 60715: flanges over 35 mm, 1 mm sheet, hat 27 mm wide, 7.5 deep."""
    clip = {"kind": "rail clip", "on": side, "rail": rail}
    part = case(clip, things=(TALL,), headroom="30 mm", inside_length="130 mm").build(
        {"rail clip: rail width": 35.3, "rail clip: flange": 1.3}
    )
    mesh(part, body_of(side))
    made, flat, a, b = clip_section(part)
    assert made.extents[2] == pytest.approx(12.0, abs=1e-3)
    u = (b - a) / np.linalg.norm(b - a)
    assert np.linalg.norm(b - a) == pytest.approx(35.3)
    w = np.array([-u[1], u[0]])
    if flat.intersects(shapely.Point(*((a + b) / 2 + 3.0 * w))):
        w = -w  # away from the clip's block
    middle = (a + b) / 2

    def block(low, high, from_w, to_w):
        """Box across the rail and away from the side, from the flange's middle."""
        corners = [(low, from_w), (high, from_w), (high, to_w), (low, to_w)]
        return shapely.Polygon([middle + x * u + y * w for x, y in corners])

    def rail_at(shift):
        flanges = block(-17.5, 17.5, -0.5 + shift, 0.5 + shift)
        return flanges.union(block(-13.5, 13.5, -0.5 + shift, 7.0 + shift))

    assert flat.intersection(rail_at(0.0)).area < 0.02
    # Pulled off, it meets the fixed hook and the sprung one; pushed on, the block.
    off = flat.intersection(rail_at(1.0))
    pieces = [one for one in getattr(off, "geoms", [off]) if one.area > 0.3]
    assert len(pieces) == 2
    assert flat.intersection(rail_at(-1.0)).area > 10
    # With the leg bent out by its deflection the sprung hook lets the flange pass.
    (arm,) = (one for one in part.arms if one.name == "rail clip: spring")
    passing = block(13.5, 17.5 - arm.deflection_mm, 0.5, 4.0)
    assert flat.intersection(passing).area < 0.02
    # Behind the rail the wall or panel is 7.5 mm less a sheet away: nothing of the clip is there.
    assert flat.intersection(block(-60, 60, 6.9, 60)).area < 1e-6


def test_the_clips_leg_bears_its_strain_by_the_beam_formula():
    """Cantilever: strain 1.5 t y / L^2 (any text on snap-fits), times the root's notch."""
    part = case({"kind": "rail clip", "on": "floor", "strain": 1.2}).build()
    (arm,) = part.arms
    _, flat, a, b = clip_section(part)
    u = (b - a) / np.linalg.norm(b - a)
    w = np.array([-u[1], u[0]])
    # Thickness and length of the leg as the mesh has them: across it, and down the slot beside it.
    line = shapely.LineString([b - 0.3 * u - 6 * w, b + 12 * u - 6 * w])
    other = shapely.LineString([b - 0.3 * u + 6 * w, b + 12 * u + 6 * w])
    thick = max(flat.intersection(one).length for one in (line, other))
    assert thick == pytest.approx(arm.thickness_mm, abs=0.02)
    plain = 1.5 * arm.thickness_mm * arm.deflection_mm / arm.length_mm**2
    # The slot's ground is as round as half its 1.2 mm: Peterson's shoulder gives 1.2 to 1.4.
    assert 0.012 / 1.4 < plain < 0.012 / 1.2
    assert not arm.layers_across


def test_a_clip_is_screwed_on_from_inside():
    part = case(
        {"kind": "rail clip", "on": "back"}, things=(TALL,), headroom="30 mm", wall="3 mm"
    ).build({"rail clip: screw hole": 3.4, "rail clip: screw pilot": 2.6})
    tray, clip = mesh(part, "tray"), mesh(part, "rail clip")
    bosses = [one for one in part.bosses if one.name.startswith("rail clip: screw")]
    assert len(bosses) == 2
    for boss in bosses:
        x, y, z = boss.at
        for wide, body, free in ((3.3, tray, True), (3.5, tray, False), (2.5, clip, True)):
            rod = trimesh.creation.cylinder(wide / 2, 14.0, sections=48)
            rod.apply_transform(trimesh.geometry.align_vectors([0, 0, 1], [0, 1, 0]))
            rod.apply_translation([x, y, z])
            meets = trimesh.boolean.intersection([rod, body], engine="manifold").volume
            assert meets < 0.02 if free else meets > 0.1
    assert part.buys[-1].what == "countersunk screw M3 that forms its thread in plastic, 11 mm long"
    assert part.buys[-1].count == 2
    with pytest.raises(PartError, match="round its screws"):
        case({"kind": "rail clip", "on": "floor", "width": "8 mm", "screw": "M6"}).build()


# --- tied cables ---------------------------------------------------------------------------------

LEAD = {"name": "lead", "held": "cable under a tie", "cable": "5 mm"}
BOARD = {"name": "board", "held": "board on standoffs", "board_length": "50 mm",
         "board_width": "35 mm", "hole_spacing_x": "42 mm", "hole_spacing_y": "27 mm"}  # fmt: skip


def test_a_tied_cable_comes_through_the_wall_onto_its_bridge():
    asked = Case.of(things=(BOARD, LEAD))
    part = asked.build({"lead: cable hole": 5.3, "lead: tie slot": 2.9})
    assert jobs.faults(asked, part) == []
    tray = mesh(part, "tray")
    slot = next(one for one in part.dimensions if one.name == "lead: tie slot")
    a, b = np.array(slot.start), np.array(slot.end)
    along = (b - a) / np.linalg.norm(b - a)  # of the cable
    (bridge,) = (one for one in part.bridges if one.name == "lead: tie bridge")
    middle = np.array(bridge.at)
    frame = np.eye(4)
    frame[:3, 0], frame[:3, 1] = along, np.cross([0, 0, 1.0], along)
    for wide, high, free in ((2.8, 1.8, True), (3.0, 1.8, False), (2.8, 2.2, False)):
        tie = trimesh.creation.box([wide, 14.0, high])
        tie.apply_transform(frame)
        low = asked.floor + 0.02
        tie.apply_translation([middle[0], middle[1], low + high / 2])
        meets = trimesh.boolean.intersection([tie, tray], engine="manifold").volume
        assert meets < 0.02 if free else meets > 0.1
    assert part.buys[-1].what == "cable tie 2.5 mm wide"
    assert bridge.span_mm == pytest.approx(2.9)


def test_a_stiff_cable_gets_room_to_bend():
    """Four diameters unless the sheet says otherwise; the board keeps out of it."""
    small = Case.of(things=(BOARD, LEAD | {"bend_radius": "1 mm"})).layout
    large = Case.of(things=(BOARD, LEAD | {"bend_radius": "40 mm"})).layout
    usual = Case.of(things=(BOARD, LEAD)).layout
    given = Case.of(things=(BOARD, LEAD | {"bend_radius": "20 mm"})).layout
    assert usual == given
    assert large.length * large.width > small.length * small.width


@pytest.mark.parametrize("kind", ["vents", "text", "logo", "magnet", "stacking feet", "hinge",
                                  "gasket groove", "rail clip"])  # fmt: skip
def test_a_feature_tells_what_is_wrong_with_its_values(kind):
    with pytest.raises(FaultList, match="nonsense"):
        case({"kind": kind, "nonsense": "1 mm"})


# --- gasket grooves ------------------------------------------------------------------------------

SEALED = {"lid_fixing": "screws", "wall": "4.6 mm", "corner_radius": "7 mm"}


def test_a_cord_lies_in_its_groove_inside_the_screws_and_is_pressed():
    """Face seals of solid cord: squeeze 20 to 30 %, gland fill at most 85 % (seal handbooks)."""
    groove = {"kind": "gasket groove", "on": "lid", "cord": "2 mm"}
    part = case(groove, **SEALED).build()
    tray, lid = mesh(part, "tray"), mesh(part, "lid")
    top = tray.bounds[1][2]
    (upper, below) = jobs.slices(tray, [top - 0.7, top - 1.7])
    sizes = {one.name: one for one in part.dimensions}
    wide, deep = (sizes[f"gasket groove: groove {word}"].value_mm for word in ("width", "depth"))
    assert 0.20 <= 1 - deep / 2.0 <= 0.30
    assert math.pi * 2.0**2 / 4 / (wide * deep) <= 0.85
    # The groove parts the walls' top into an inner ring and an outer one with the screws' ears.
    rings = sorted(upper.geoms, key=lambda one: one.area)
    assert len(rings) == 2
    assert below.geom_type == "Polygon" or len(below.geoms) == 1
    inner, outer = rings
    assert inner.distance(outer) == pytest.approx(wide, abs=0.02)
    hole = max(map(shapely.Polygon, outer.interiors), key=lambda one: one.area)
    groove_area = hole.difference(shapely.Polygon(inner.exterior))
    assert groove_area.buffer(-wide / 2 + 0.05).area > 0  # as wide as it says all round
    for one in (inner, outer):  # a wall of 0.7 mm at least stands on either side
        assert shapely.Polygon(one.exterior).difference(one.buffer(0.01)).area > 100
        assert one.difference(one.buffer(-0.35).buffer(0.36)).area < 0.02 * one.area
    # Every screw is outside, and the lid's plate covers the groove.
    for boss in part.bosses:
        if boss.name.startswith("lid ear"):
            assert outer.buffer(0.01).contains(shapely.Point(boss.at[:2]).buffer(boss.hole_mm / 2)
                                               .exterior)  # fmt: skip
    (plate,) = jobs.slices(lid, [lid.bounds[1][2] - 1.0])
    assert groove_area.difference(plate).area < 1e-6
    # Nothing of the lid stands in the walls, and the lip keeps off the cell.
    assert trimesh.boolean.intersection([tray, lid], engine="manifold").volume < 1e-2
    assert part.buys[-1].what.startswith("round cord of solid rubber 2 mm, ")
    cord = int(part.buys[-1].what.split(", ")[1].split()[0])
    assert cord - 10 == pytest.approx(groove_area.area / wide, abs=1.5)
    assert any("no protection against water" in one.text for one in part.findings)
    assert not any("bends round" in one.text for one in part.findings)


def test_a_groove_is_refused_where_a_cord_would_not_seal():
    groove = {"kind": "gasket groove", "on": "lid"}
    with pytest.raises(PartError, match="not held by screws"):
        case(groove, **SEALED | {"lid_fixing": "rim"}).build()
    with pytest.raises(PartError, match=r"needs walls of 4\.\d mm.*wall = "):
        case(groove, **SEALED | {"wall": "3 mm"}).build()
    port = {"wall": "front", "along": "20 mm", "above": "3 mm", "width": "9 mm",
            "height": "4 mm", "top": "open"}  # fmt: skip
    with pytest.raises(PartError, match="reaches up to the walls' top"):
        case(groove, things=(BOARD | {"ports": [port]},), **SEALED).build()
    part = case(groove, **SEALED | {"corner_radius": "3 mm"}).build()
    assert any("bends round" in one.text for one in part.findings)


def test_things_under_a_sealed_lid_keep_clear_of_its_lip():
    high = CELL | {"place": {"x": "30 mm", "y": "15 mm"}, "diameter": "20 mm"}
    groove = {"kind": "gasket groove", "on": "lid"}
    values = SEALED | {"headroom": "0 mm"}
    asked = case(groove, things=(high,), **values)
    assert jobs.faults(asked, asked.build()) == []
