"""The coupon's own label, such as its trace code, in the room that its features leave free."""

import pytest

from fitkit.parts.designs.coupon import CalibrationCoupon
from fitkit.parts.designs.coupon.kinds import items_of
from fitkit.parts.designs.coupon.own_label import own_label
from fitkit.parts.designs.coupon.packing import pack
from fitkit.parts.designs.coupon.plate import Plate
from fitkit.parts.designs.coupon.practice import CAPS_MM, LABEL_DEEP_MM, SUNK_MM
from fitkit.solids.label import text_profiles, text_width
from fitkit.solids.rectangles import Rect

CODE = "K7Q2ABW"
SMALL = {
    "bars_x": ["40 mm"],
    "bars_y": ["40 mm"],
    "heights": ["3 mm"],
    "holes": ["6 mm"],
    "diagonal": "0 mm",
    "pocket_x": "0 mm",
    "pocket_y": "0 mm",
} | dict.fromkeys(("tabs", "pegs", "slots", "insides_x", "insides_y", "lying_holes", "bridges"), ())


@pytest.fixture(scope="module")
def built():
    """A small coupon without and with a code."""
    return [CalibrationCoupon.of(label=label, **SMALL).build() for label in ("", CODE)]


def test_a_code_takes_its_letters_from_the_plate_and_nothing_else(built):
    from fitkit.solids.bodies import is_valid, solids_in, volume_of

    plain, coded = (part.bodies[0].solid for part in built)
    assert is_valid(coded)
    assert len(solids_in(coded)) == 1
    letters = sum(letter.area for letter in text_profiles(CODE, CAPS_MM))
    assert volume_of(plain) - volume_of(coded) == pytest.approx(SUNK_MM * letters, abs=1e-3)
    assert built[1].findings == ()
    assert built[1].dimensions == built[0].dimensions


def test_a_code_is_there_to_read_and_the_mesh_is_closed(built):
    """Rays down through the letter I find the plate's face sunk in its stem, not beside it."""
    import trimesh

    from fitkit.solids import tessellate

    coupon = CalibrationCoupon.of(label="I", **SMALL)
    made = tessellate(coupon.build().bodies[0].solid)
    mesh = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    assert mesh.is_watertight
    caption = own_label("I", packed(coupon).free, 3.0)
    for off, z in ((0.0, 3.0 - SUNK_MM), (1.5, 3.0), (-1.5, 3.0)):
        x, y = (caption.x + off, caption.y) if caption.turn == 0 else (caption.x, caption.y + off)
        met = mesh.ray.intersects_location([[x, y, 50.0]], [[0, 0, -1.0]])[0]
        assert met[:, 2].max() == pytest.approx(z, abs=1e-6)


def packed(coupon):
    plate = Plate.of(coupon)
    return pack(items_of(coupon.features(), plate), plate, where="here")


def test_the_default_coupon_has_room_for_a_code_in_full_size():
    """It meets no item: no label, no jaws' room, no hole."""
    found = packed(CalibrationCoupon())
    caption = own_label(CODE, found.free, 4.0)
    assert caption.room >= text_width(CODE, CAPS_MM)
    assert caption.deep >= 1.45 * CAPS_MM
    wide, deep = text_width(CODE, CAPS_MM), 1.45 * CAPS_MM
    if caption.turn:
        wide, deep = deep, wide
    letters = Rect(caption.x - wide / 2, caption.y - deep / 2, wide, deep)
    for item, x, y in found.placed:
        w, _ = item.room
        corner = x - 0.5 * (w - item.w), y - item.pad_y - item.lines_below * LABEL_DEEP_MM
        assert not any(letters.meets(rect) for rect in item.footprints(*corner))


@pytest.mark.parametrize(
    ("free", "middle", "turn"),
    [
        ([Rect(0, 0, 30, 10), Rect(0, 20, 40, 20)], (20, 30), 0),  # the roomier of two
        ([Rect(0, 0, 6, 60), Rect(50, 0, 15, 6)], (3, 30), 90),  # upright rather than small
        ([Rect(0, 0, 50, 50)], (25, 25), 0),  # along x where either would do
    ],
)
def test_the_largest_letters_win_then_the_direction_then_the_room(free, middle, turn):
    caption = own_label(CODE, free, 4.0)
    assert (caption.x, caption.y) == middle
    assert caption.turn == turn


@pytest.mark.parametrize(("label", "free"), [("W" * 40, [Rect(0, 0, 38, 38)]), (CODE, [])])
def test_a_label_without_room_is_left_off_with_a_finding(label, free):
    from fitkit.parts.designs.coupon.captions import labelled

    # Nothing is sunk, so that no solid is needed.
    solid, findings, volume = labelled("solid", [own_label(label, free, 3.0)])
    assert (solid, volume) == ("solid", 0.0)
    (finding,) = findings
    assert f"The label {label!r} is left off" in finding.text
    assert finding.remedy == "Shorten the label."
