"""Outlines from DXF and bodies from STEP, written by ezdxf and build123d, read back by numbers."""

import math

import ezdxf
import pytest

from fitkit import solids
from fitkit.core.errors import PartError
from fitkit.parts.designs.board_case import BoardCase
from fitkit.solids import profiles as flat
from fitkit.solids.outline import grown, read_body, read_outline


def d_socket(path, unit=4, scale=1.0):
    """10 x 5 with one round end of 2.5 and a hole of 2, its sides in no order or sense."""
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = unit
    space, s = drawing.modelspace(), scale
    space.add_line((0, 0), (10 * s, 0))
    space.add_line((10 * s, 5 * s), (0, 5 * s))
    space.add_arc((10 * s, 2.5 * s), 2.5 * s, -90, 90)
    space.add_line((0, 0), (0, 5 * s))
    space.add_circle((5 * s, 2.5 * s), 1 * s)
    drawing.saveas(path)
    return path


AREA = 50 + math.pi * 2.5**2 / 2 - math.pi


def test_lines_arcs_and_circles_chain_into_an_outline_with_a_hole(tmp_path):
    profile = read_outline(d_socket(tmp_path / "socket.dxf"))
    assert profile.area == pytest.approx(AREA, rel=1e-9)
    assert profile.box == pytest.approx((0, 0, 12.5, 5))
    assert len(profile.holes) == 1
    assert solids.volume_of(solids.extrude(profile, 2)) == pytest.approx(2 * AREA, rel=1e-9)


def test_the_file_s_own_unit_is_obeyed(tmp_path):
    profile = read_outline(d_socket(tmp_path / "inch.dxf", unit=1, scale=1 / 25.4))
    assert profile.area == pytest.approx(AREA, rel=1e-9)


def test_polyline_with_bulges(tmp_path):
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline(
        [(0, 0, 0), (6, 0, 1), (6, 4, 0), (0, 4, 1)], format="xyb", close=True
    )
    drawing.saveas(tmp_path / "slot.dxf")
    profile = read_outline(tmp_path / "slot.dxf")
    assert profile.area == pytest.approx(24 + math.pi * 4, rel=1e-9)


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda s: s.add_line((0, 0), (5, 0)), "its outline is open at"),
        (lambda s: s.add_spline([(0, 0), (1, 2), (3, 1)]), "it holds a spline"),
        (lambda s: s.add_text("note"), "it holds no outline"),
    ],
)
def test_what_is_no_closed_outline_is_refused_in_words(tmp_path, draw, words):
    drawing = ezdxf.new()
    draw(drawing.modelspace())
    drawing.saveas(tmp_path / "bad.dxf")
    with pytest.raises(PartError, match=words) as caught:
        read_outline(tmp_path / "bad.dxf")
    assert caught.value.remedy


def test_a_missing_or_broken_file_is_named(tmp_path):
    with pytest.raises(PartError, match="no file"):
        read_outline(tmp_path / "none.dxf")
    (tmp_path / "text.dxf").write_text("hello")
    with pytest.raises(PartError, match="not a DXF file"):
        read_outline(tmp_path / "text.dxf")


@pytest.mark.parametrize(
    ("profile", "by"),
    [(flat.rectangle(10, 5), 1.0), (flat.circle(6), 1.0), (flat.capsule(9, 4), 0.7)],
)
def test_growing_a_convex_outline_adds_steiner_s_area(profile, by):
    """Steiner: area grows by perimeter x offset + pi x offset² (convex geometry)."""
    points = profile.outer.points(1e-6)
    around = sum(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True))
    expected = profile.area + around * by + math.pi * by * by
    assert grown(profile, by).area == pytest.approx(expected, rel=1e-5)


def test_a_port_takes_its_outline_from_a_file(tmp_path):
    path = d_socket(tmp_path / "socket.dxf")
    port = {"wall": "front", "along": "20 mm", "above": "4 mm", "shape": "outline"}
    plain = BoardCase.of().build().bodies[0].solid.volume
    made = BoardCase.of(ports=[port | {"outline": str(path)}]).build()
    assert plain - made.bodies[0].solid.volume == pytest.approx(2.4 * (AREA + math.pi), rel=1e-3)
    wide = BoardCase.of(ports=[port | {"outline": str(path), "overmould": "0.5 mm"}]).build()
    assert wide.bodies[0].solid.volume < made.bodies[0].solid.volume


def test_an_outline_port_has_the_sizes_of_its_box_and_a_plug(tmp_path, section):
    port = {"wall": "right", "along": "19 mm", "above": "6 mm", "shape": "outline"}
    path = str(d_socket(tmp_path / "socket.dxf"))
    made = BoardCase.of(ports=[port | {"outline": path, "overmould": "0.5 mm"}])
    sizes = {f.name: f for f in made.fit_sizes() if f.name.startswith("port")}
    assert {n: f.nominal_mm for n, f in sizes.items()} == pytest.approx(
        {"port 1 width": 13.5, "port 1 height": 6.0, "port 1 floor": 5 + 1.6 + 6 - 3.0}
    )
    assert [f.axis for f in sizes.values()] == ["y", "z", "z"]
    drawn = {"port 1 width": 13.83, "port 1 height": 6.27, "port 1 floor": 9.4}
    part = made.build(drawn)
    at = (part.bodies[0].solid.bounding_box().max.X - 1.2, 0, 0)
    hole = section(part.bodies[0].solid, at, (1, 0, 0)).hole_at((0, 5 + 1.6 + 6))
    low_x, low_y, high_x, high_y = hole.bounds
    assert high_x - low_x == pytest.approx(13.83, abs=1e-4)
    assert high_y - low_y == pytest.approx(6.27, abs=1e-4)
    assert (low_x + high_x) / 2 == pytest.approx(0, abs=1e-4)
    named = {d.name: d.value_mm for d in part.dimensions}
    assert named["port 1 width"] == pytest.approx(13.83)
    plug = part.body("plug 1")
    assert plug.insertion == (-1, 0, 0)
    assert plug.solid.volume == pytest.approx((AREA + math.pi) * (2.4 + 12), rel=1e-9)
    assert solids.volume_of(solids.common(part.bodies[0].solid, plug.solid)) < 1e-6


def test_a_reference_body_comes_from_step(tmp_path):
    from build123d import Box, export_step

    export_step(Box(1, 2, 3), str(tmp_path / "part.step"))
    assert read_body(tmp_path / "part.step").volume == pytest.approx(6.0)
    with pytest.raises(PartError, match="no file"):
        read_body(tmp_path / "none.step")
