"""Cuts and slenderness against shapely's areas and shapes of known width."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from fitkit.checks.slender import check_slender, most_slender, outlines
from fitkit.solids.mesh import Mesh
from tests.checks.gallery import box, context, finely, joined, part, prism

TRAY = [(0, 0), (30, 0), (30, 20), (27, 20), (27, 4), (3, 4), (3, 20), (0, 20)]


def turned(mesh: Mesh, degrees: float) -> Mesh:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return mesh.moved(np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]), np.array([500.0, -300.0, 0]))


@pytest.mark.parametrize("height", [2.0, 4.0, 10.0, 19.9])
def test_areas_are_those_of_shapely(height: float) -> None:
    mesh = finely(prism(TRAY, 12), 2)
    line = shapely.LineString([(-1, height), (31, height)])
    expected = shapely.Polygon(TRAY).intersection(line).length * 12
    if height == 4.0:  # at the floor's own height the cut is the one just above it
        expected = 6 * 12
    assert outlines(mesh, height).area_mm2.sum() == pytest.approx(expected)


@pytest.mark.parametrize("degrees", [0, 30, 77])
def test_width_does_not_depend_on_the_turn(degrees: float) -> None:
    found = outlines(turned(finely(box(3, 25, 10), 1), degrees), 5.3)
    assert found.width_mm.tolist() == [pytest.approx(3)]
    assert found.area_mm2.tolist() == [pytest.approx(75)]


def test_a_hole_has_a_negative_area() -> None:
    inner = box(10, 10, 10, (5, 5, 0))
    ring = joined(box(20, 20, 10), Mesh(inner.vertices, inner.triangles[:, ::-1].copy()))
    assert sorted(outlines(ring, 5.0).area_mm2.round(6)) == [-100, 400]


@pytest.mark.parametrize(("height", "found"), [(25.0, True), (15.0, False)])
def test_pin_on_a_block(height: float, found: bool) -> None:
    mesh = joined(box(30, 30, 6), box(2, 2, height, (14, 14, 6)))
    findings = list(check_slender(part(), context(mesh)))
    assert bool(findings) == found
    worst = most_slender(mesh)
    assert worst is not None
    if found:
        assert worst.width_mm == pytest.approx(2)
        assert worst.height_mm == pytest.approx(height, abs=(height + 6) / 24)
        assert findings[0].severity == "warn"


def test_plain_block_is_not_slender() -> None:
    assert list(check_slender(part(), context(box(30, 30, 20)))) == []
