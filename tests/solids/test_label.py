"""Sunk text: same outlines everywhere, checked against the room, read the right way round."""

import pytest
import trimesh

from fitkit import solids
from fitkit.parts import template
from fitkit.solids import label, profiles as flat, tessellate
from fitkit.solids.label import LEAST_CAPS_MM, fitted_text, sink_text, text_profiles, text_width

PLATE = flat.rectangle(60, 30)


def test_the_font_travels_with_its_licence():
    from importlib.resources import files

    fonts = files("fitkit.data") / "fonts"
    assert (fonts / label.FONT).is_file()
    assert "Permission is hereby granted" in (fonts / "LICENSE_DEJAVU").read_text()


def test_outlines_agree_with_another_reader_of_the_font():
    """Matplotlib reads the same file by another library; areas agree."""
    from importlib.resources import as_file, files

    import numpy as np
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    with as_file(files("fitkit.data") / "fonts" / label.FONT) as path:
        drawn = TextPath((0, 0), "K7-3F9Q", size=100, prop=FontProperties(fname=str(path)))
    # Areas by the shoelace, counters negative; scaled from 100 units an em to capitals of 5 mm.
    other = 0.0
    for ring in drawn.to_polygons():
        x, y = np.asarray(ring).T
        other -= 0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])
    capitals = TextPath((0, 0), "H", size=100, prop=FontProperties(fname=str(path)))
    scale = 5.0 / capitals.get_extents().height
    ours = sum(profile.area for profile in text_profiles("K7-3F9Q", 5.0))
    assert ours == pytest.approx(abs(other) * scale**2, rel=0.01)


@pytest.mark.parametrize("from_below", [False, True])
def test_text_sinks_by_its_area_times_depth(from_below):
    plate = solids.extrude(PLATE, 2)
    z = 0.0 if from_below else 2.0
    shape, findings = sink_text(plate, "K7-3F9Q", room=(50, 20), z=z, from_below=from_below)
    assert not findings
    assert solids.is_valid(shape)
    area = sum(profile.area for profile in text_profiles("K7-3F9Q", 5.0))
    assert solids.volume_of(shape) == pytest.approx(60 * 30 * 2 - 0.4 * area, rel=1e-9)
    mesh = tessellate(shape)
    assert trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).is_watertight


def test_text_reads_from_its_own_side():
    """An L has its foot to the reader's right: +x from above, -x when turned over about y."""
    above, _ = fitted_text("L", room=(50, 20))
    below, _ = fitted_text("L", room=(50, 20), from_below=True)

    def foot(profile):
        low = [x for x, y, _ in profile.outer.corners if y < -2.4]
        return max(low) + min(low)

    # The stem is at the same end as the foot's start, so compare the tops.
    def stem(profile):
        return sum(x for x, y, _ in profile.outer.corners if y > 2.4) / 2

    assert foot(above[0]) / 2 > stem(above[0])
    assert foot(below[0]) / 2 < stem(below[0])


def test_a_long_label_shrinks_and_a_longer_one_is_left_off_in_words():
    shrunk, findings = fitted_text("LISTENING POST", room=(40, 20))
    assert not findings
    assert max(p.box[2] for p in shrunk) - min(p.box[0] for p in shrunk) <= 40
    gone, (said,) = fitted_text("LISTENING POST", room=(20, 20), body="lid")
    assert not gone
    assert said.limit == LEAST_CAPS_MM
    assert said.value < LEAST_CAPS_MM
    assert "left off" in said.text
    assert said.body == "lid"


def test_a_letter_that_the_font_lacks_is_boxed_and_said():
    boxed, (said,) = fitted_text("A\u2ec4", room=(50, 20))
    assert len(boxed) == 2
    assert "cannot show '\u2ec4'" in said.text


def test_empty_text_changes_nothing():
    plate = solids.extrude(PLATE, 2)
    assert sink_text(plate, "  ", room=(50, 20), z=2)[0] is plate
    assert text_width("", 5) == 0


def test_no_two_letters_of_a_trace_code_touch():
    """Pockets that cross make a solid that the kernel calls invalid (YY and KA once did)."""
    from itertools import product

    from shapely.geometry import Polygon

    def shapes(text):
        return [Polygon([(x, y) for x, y, _ in p.outer.corners]) for p in text_profiles(text, 1.0)]

    for first, second in product("34679ACDEFGHJKMNPRTUWXY", repeat=2):
        both, one = shapes(first + second), len(shapes(first))
        apart = min(a.distance(b) for a in both[:one] for b in both[one:])
        assert apart > 0.06, first + second


def _as_polygons(character):
    from shapely.geometry import Polygon

    from fitkit.solids.label import _glyph

    return [
        Polygon(
            [corner[:2] for corner in shape.outer.corners],
            [[corner[:2] for corner in hole.corners] for hole in shape.holes],
        )
        for shape in _glyph(character)[0]
    ]


def _filled(character):
    """Unite a glyph's raw contours with shapely: a second opinion on what is inside."""
    from shapely import make_valid
    from shapely.geometry import Polygon
    from shapely.ops import unary_union

    from fitkit.solids import label

    glyphs, names, caps = label._font()
    tracer = label._Tracer(glyphs, off_curve=label._OFF_CURVE * caps)
    glyphs[names[ord(character)]].draw(tracer)
    rings = [make_valid(Polygon(points)) for points in tracer.contours if len(points) > 2]
    outers = [
        ring
        for ring, points in zip(rings, tracer.contours, strict=True)
        if label._loop(points, 1.0).signed_area < 0
    ]
    holes = [ring for ring in rings if not any(ring is outer for outer in outers)]
    return unary_union(outers).difference(unary_union(holes)).area / caps**2


@pytest.mark.parametrize("character", "çşţąęŮơưÇŞĄḕ")
def test_overlapping_outlines_of_a_letter_are_united(character):
    polygons = _as_polygons(character)
    assert all(polygon.is_valid for polygon in polygons)
    assert sum(polygon.area for polygon in polygons) == pytest.approx(_filled(character), rel=1e-4)


def _assert_apart(characters):
    from itertools import combinations

    from fitkit.solids.label import _glyph

    boxed = 0
    for character in characters:
        polygons = _as_polygons(character)
        assert all(polygon.is_valid for polygon in polygons), character
        assert all(a.intersection(b).area < 1e-9 for a, b in combinations(polygons, 2)), character
        boxed += not _glyph(character)[2]
    return boxed


def test_outlines_of_latin_letters_lie_apart():
    """Basic Latin to Latin Extended-A, as Unicode's blocks have them: none needs its box."""
    letters = [chr(code) for code in (*range(0x21, 0x7F), *range(0xA1, 0x180)) if code != 0xAD]
    assert _assert_apart(letters) == 0


@pytest.mark.slow
def test_outlines_of_every_letter_lie_apart():
    from fitkit.solids.label import _font

    assert _assert_apart(map(chr, _font()[1])) <= 10


def test_words_with_cedilla_and_ogonek_are_cut():
    from fitkit.solids.bodies import checked, extrude, is_valid, volume_of

    plate = checked(extrude(flat.rectangle(90, 20), 3), "plate")
    for text in ("FRANÇAIS", "Çelik", "Şimşek", "Ąę"):
        shape, findings = sink_text(plate, text, room=(80, 15), z=3.0)
        assert findings == ()
        solid = checked(shape, "plate")
        assert is_valid(solid)
        area = sum(p.area for p in fitted_text(text, room=(80, 15))[0])
        assert volume_of(solid) == pytest.approx(90 * 20 * 3 - 0.4 * area, rel=1e-6)


@pytest.mark.parametrize("label", ["©", "Θ", "®", "☃", "A©"])
@pytest.mark.parametrize("title", ["panel", "box lid", "tray insert"])
def test_a_letter_with_a_piece_inside_a_ring_is_cut(label, title):
    """The piece lies in the ring's island; the volume is held against that of the outlines."""
    part = template(title).of(label=label).build()
    plain = template(title).of(label="").build()
    assert not [one for one in part.findings if one.check == "label"]
    assert sum(b.solid.volume for b in part.bodies) < sum(b.solid.volume for b in plain.bodies)
