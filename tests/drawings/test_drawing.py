"""Drawings of the demo's parts and of all templates: what they show is what the solid has."""

from __future__ import annotations

import math
import re
import zlib

import ezdxf
import numpy as np
import pytest

from fitkit.demo import demo_source
from fitkit.drawings import TitleBlock, draw_body, drawings_of, svg_text, write_dxf, write_pdf
from fitkit.drawings.elements import Words
from fitkit.flow import build, load_sheet, prepare
from fitkit.parts.contract import Body, KeyDimension
from fitkit.solids import cut, extrude
from fitkit.solids.profiles import circle, rectangle
from fitkit.solids.projected import projected, rounds, section_lines
from tests.drawings.lint import faults, said, untrue

BLOCK = TitleBlock(title="sound board case", code="K7M3PXA", material="PETG", date="2026-11-28")


@pytest.fixture(scope="module")
def case():
    return build(prepare(load_sheet(demo_source() / "measurements" / "sound_board.toml")))


@pytest.fixture(scope="module")
def drawn(case):
    return drawings_of(case, BLOCK)


def plate() -> Body:
    """60 x 40 x 8 mm with two holes of 6 mm at x = ±20 and a blind one of 10 mm from above."""
    solid = extrude(rectangle(60, 40), 8.0)
    for x in (-20.0, 20.0):
        solid = cut(solid, extrude(circle(6.0, at=(x, 0.0)), 20.0, z=-5.0))
    return Body(name="plate", solid=cut(solid, extrude(circle(10.0), 10.0, z=5.0)))


# --- what the kernel sees ------------------------------------------------------------------------


def test_lines_in_front_and_behind_are_those_of_a_plate_with_a_blind_hole():
    seen = projected(plate().solid, (0, -1, 0), (1, 0, 0))
    front = np.concatenate(seen.seen)
    assert front.min(axis=0) == pytest.approx([-30, 0], abs=1e-6)
    assert front.max(axis=0) == pytest.approx([30, 8], abs=1e-6)
    behind = np.concatenate(seen.hidden)
    # Sides of the bores, and the blind hole's floor at 5 mm.
    for x in (-23.0, -17.0, 17.0, 23.0, -5.0, 5.0):
        assert np.abs(behind[:, 0] - x).min() < 0.01
    assert np.isclose(behind[:, 1], 5.0, atol=1e-6).any()
    above = projected(plate().solid, (0, 0, 1), (1, 0, 0))
    assert all(np.abs(np.hypot(*line.T)).max() > 0 for line in above.seen)


def test_round_edges_are_found_with_middle_axis_and_radius():
    found = rounds(plate().solid)
    assert sorted(round(one.radius, 6) for one in found) == [3, 3, 3, 3, 5, 5]
    assert {round(one.middle[0], 6) for one in found} == {-20.0, 0.0, 20.0}
    assert all(abs(one.axis[2]) == pytest.approx(1) for one in found)


def test_a_section_encloses_what_is_cut():
    lines = section_lines(plate().solid, (0, 0, 0), (0, 1, 0))
    # Shoelace over all edges' middles: area by adding up z along x for upper and lower edges.
    area = 0.0
    for line in lines:
        x, z = line[:, 0], line[:, 2]
        area += abs(float(np.sum((z[1:] + z[:-1]) / 2 * np.diff(x)))) * (
            1 if z.mean() > 1e-6 else 0
        )
    assert area == pytest.approx((60 - 12 - 10) * 8 + 10 * 5, abs=1e-6)


# --- what is drawn -------------------------------------------------------------------------------


def test_a_hole_that_comes_twice_is_called_out_once():
    dims = [
        KeyDimension(name=f"hole {n}", value_mm=6.0, body="plate", start=(x - 3, 0, 8),
                     end=(x + 3, 0, 8), kind="hole")
        for n, x in enumerate((-20.0, 20.0), start=1)
    ]  # fmt: skip
    drawing = draw_body(plate(), dims, BLOCK)
    texts = [one.words.text for placed in drawing.placed.values() for one in placed]
    assert sorted(texts) == ["2× Ø6.00", "40.00", "60.00", "8.00"]
    names = [one.shown.name for placed in drawing.placed.values() for one in placed]
    assert "hole 1, hole 2" in names


def test_first_and_third_angle_put_the_views_on_opposite_sides():
    def heights(projection):
        block = TitleBlock(title="p", projection=projection)
        drawing = draw_body(plate(), [], block)
        spots = {one.text: one.at for one in drawing.elements if isinstance(one, Words)}
        return spots["60.00"][1], spots["40.00"][1]

    front, top = heights("first-angle")
    assert front > top
    front, top = heights("third-angle")
    assert front < top


def test_of_the_case_every_key_dimension_is_drawn_and_no_words_overlap(case, drawn):
    assert said(drawn) == len(case.dimensions)
    for drawing, body in zip(drawn, case.bodies, strict=True):
        assert drawing.left == ()
        assert (drawing.paper, drawing.scale) == ("A4", 1.0)
        assert faults(drawing) == []
        assert list(untrue(drawing, body, case.dimensions)) == []


@pytest.mark.parametrize("name", ["button_panel", "listening_post", "terminal_tray"])
def test_of_the_demos_parts_nothing_is_left_out(name):
    part = build(prepare(load_sheet(demo_source() / "measurements" / f"{name}.toml")))
    drawings = drawings_of(part, BLOCK)
    assert [one.name for drawing in drawings for one in drawing.left] == []
    for drawing, body in zip(drawings, part.bodies, strict=True):
        assert faults(drawing) == []
        assert list(untrue(drawing, body, part.dimensions)) == []


# --- files ---------------------------------------------------------------------------------------


def test_the_pdf_is_at_true_size(drawn, tmp_path):
    """The tray's outline of 99.65 mm, found in the page's own operators, 72 points an inch."""
    write_pdf(tmp_path / "d.pdf", drawn, title="case")
    data = (tmp_path / "d.pdf").read_bytes()
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL)
    pages = []
    for stream in streams:
        try:
            text = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        if " l\n" in text or " l S" in text:
            pages.append(text)
    assert len(pages) == len(drawn)
    moves = re.findall(r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l", pages[0])
    level = [abs(float(a) - float(c)) for a, b, c, d in moves if abs(float(b) - float(d)) < 1e-6]
    assert len(level) > 20
    overall = next(
        one for one in drawn[0].placed["front"] if one.shown.name == "overall length"
    ).shown.value_mm
    assert min(abs(points * 25.4 / 72 - overall) for points in level) < 0.1
    assert min(abs(points * 25.4 / 72 - 50.0) for points in level) < 0.01
    assert b"/MediaBox [0 0 841.89 595.28]" in data or b"841.89" in data


def test_the_dxf_is_at_full_size_on_layers(tmp_path):
    large = Body(name="bar", solid=extrude(rectangle(500, 40), 8.0))
    drawing = draw_body(large, [], BLOCK)
    assert drawing.scale < 1
    write_dxf(tmp_path / "bar.dxf", drawing)
    document = ezdxf.readfile(tmp_path / "bar.dxf")
    assert document.header["$INSUNITS"] == 4
    seen = document.modelspace().query('LINE[layer=="seen"]')
    longest = max(math.dist(one.dxf.start.vec2, one.dxf.end.vec2) for one in seen)
    assert longest == pytest.approx(500, abs=1e-6)
    assert not document.audit().has_errors


def test_the_svg_is_sound_and_escapes_its_words():
    import xml.etree.ElementTree as ET

    block = TitleBlock(title='<b>"5 & 6"</b>', code="K7M3PXA")
    text = svg_text(draw_body(plate(), [], block))
    root = ET.fromstring(text)
    assert root.get("width") == "297mm"
    assert '<b>"5 & 6"</b>' in [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")]
