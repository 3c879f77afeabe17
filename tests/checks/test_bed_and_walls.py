"""Bed, walls, slots and holes."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.checks import CheckContext
from fitkit.checks.bed import check_bed, excess_by_turn
from fitkit.checks.walls import check_walls, whole_lines
from fitkit.parts.contract import Body, KeyDimension, Wall
from tests.checks.gallery import box, context, part


def test_a_long_body_fits_across_the_corner() -> None:
    # 200 x 10 on a free 176 x 176: (200 + 10) / sqrt 2 = 148.5 at 45°.
    mesh = box(200, 10, 5)
    excess = excess_by_turn(mesh, (176.0, 176.0))
    assert excess[0] == pytest.approx(24)
    assert excess[45] == pytest.approx(210 / np.sqrt(2) - 176)
    (found,) = check_bed(part(), context(mesh))
    assert found.severity == "note"
    assert "only when turned" in found.text


def test_a_narrow_bed_takes_it_turned_by_a_quarter() -> None:
    (found,) = check_bed(part(), context(box(150, 50, 5), bed_mm=(100.0, 200.0, 100.0)))
    assert "by 90°" in found.text


def test_bodies_that_fill_more_than_one_plate_are_counted() -> None:
    bodies = tuple(Body(name=name, solid=None) for name in ("tray", "lid", "foot"))
    meshes = dict.fromkeys(("tray", "lid", "foot"), box(100, 100, 10))
    (found,) = check_bed(
        part(bodies=bodies), CheckContext(bed_mm=(180.0, 180.0, 180.0), meshes=meshes)
    )
    assert found.value == 3
    assert found.severity == "note"


def test_unknown_bed_is_said() -> None:
    (found,) = check_bed(part(), context(box(9, 9, 9), bed_mm=None))
    assert found.text.startswith("not run, because")


@pytest.mark.parametrize(
    ("thickness", "lines", "rest"), [(0.8, 2, 0.0), (1.2, 3, 0.0), (1.0, 2, 0.5), (0.3, 0, 0.75)]
)
def test_lines_of_a_wall(thickness: float, lines: int, rest: float) -> None:
    assert whole_lines(thickness, 0.4) == (lines, pytest.approx(rest, abs=1e-6))


@pytest.mark.parametrize(
    ("thickness", "said"), [(1.0, True), (1.2, False), (1.25, False), (2.6, False)]
)
def test_wall_between_whole_lines_gets_both_neighbours(thickness: float, said: bool) -> None:
    wall = Wall(name="side", body="case", thickness_mm=thickness, at=(1.0, 2.0, 3.0))
    found = list(check_walls(part(walls=(wall,)), context()))
    assert bool(found) == said
    if said:
        assert found[0].remedy == "Make it 0.80 or 1.20 mm."
        assert found[0].at == ((1.0, 2.0, 3.0),)


@pytest.mark.parametrize(("kind", "width"), [("hole", 0.9), ("hole_lying", 0.9), ("inside", 0.3)])
def test_narrow_opening_is_a_warning(kind: str, width: float) -> None:
    narrow = KeyDimension(
        name="slit", value_mm=width, body="case", start=(0, 0, 0), end=(width, 0, 0), kind=kind
    )
    (found,) = check_walls(part(dimensions=(narrow,)), context())
    assert found.severity == "warn"
    assert found.at == ((width / 2, 0.0, 0.0),)


def test_an_outside_size_is_no_opening() -> None:
    pin = KeyDimension(name="pin", value_mm=0.2, body="case", start=(0, 0, 0), end=(0.2, 0, 0))
    assert list(check_walls(part(dimensions=(pin,)), context())) == []
