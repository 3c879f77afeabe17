"""Overhangs, ceilings, islands and first layer on shapes whose answers are seen by eye."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.checks.overhang import ceilings, contact_area_mm2, islands, leaning, overhangs
from fitkit.checks.surface import Surface
from tests.checks.gallery import (
    ARCH,
    CHAMFERED,
    HANGING,
    LEDGE,
    LONG_ARCH,
    STEEP,
    box,
    context,
    finely,
    joined,
    part,
    prism,
)

FINE = pytest.mark.parametrize("times", [0, 2], ids=["coarse", "fine"])


def over_mm2(outline, times: int = 0) -> float:
    surface = Surface(finely(prism(outline, 20), times))
    return float(surface.areas[overhangs(surface, limit_deg=45)].sum())


@FINE
@pytest.mark.parametrize(
    ("outline", "area"),
    [
        (ARCH, 0.0),  # 10 mm span: bridges
        (LONG_ARCH, 800.0),  # 40 mm span x 20 mm: does not
        (LEDGE, 300.0),  # held on one side only
        (CHAMFERED, 0.0),  # 45° just prints
        (STEEP, 20 * np.hypot(15, 10)),  # 56° from the upright
        (HANGING, 60.0),  # underside of the hanging end; the 7 mm beside it bridges
    ],
)
def test_area_over_air(outline, area: float, times: int) -> None:
    assert over_mm2(outline, times) == pytest.approx(area)


def test_limit_angle_decides() -> None:
    surface = Surface(prism(STEEP, 20))
    assert leaning(surface, limit_deg=55).any()
    assert not leaning(surface, limit_deg=57).any()


@FINE
def test_spans_of_ceilings(times: int) -> None:
    spans = {
        name: ceilings(Surface(finely(prism(outline, 20), times))).span_mm.tolist()
        for name, outline in {"arch": ARCH, "long": LONG_ARCH, "ledge": LEDGE}.items()
    }
    assert spans == {
        "arch": [pytest.approx(10)],
        "long": [pytest.approx(40)],
        "ledge": [np.inf],
    }


def test_span_goes_by_the_held_sides_not_the_shorter_way() -> None:
    # A lintel 20 mm long over two pillars, 4 mm deep: it bridges 10 mm, not 4 mm.
    found = ceilings(Surface(prism(ARCH, 4)))
    assert found.span_mm.tolist() == [pytest.approx(10)]


def test_ceiling_of_a_closed_pocket_bridges_its_shorter_way() -> None:
    inner = box(12, 30, 10, (4, 5, 5))
    hollow = joined(box(20, 40, 20), type(inner)(inner.vertices, inner.triangles[:, ::-1].copy()))
    found = ceilings(Surface(hollow))
    assert found.area_mm2.tolist() == [pytest.approx(360)]
    assert found.span_mm.tolist() == [pytest.approx(12)]


@FINE
def test_hanging_end_is_an_island_and_a_pocket_floor_is_not(times: int) -> None:
    (place,) = islands(Surface(finely(prism(HANGING, 20), times)))
    assert place[2] == pytest.approx(10)
    tray = [(0, 0), (20, 0), (20, 20), (15, 20), (15, 5), (5, 5), (5, 20), (0, 20)]
    assert len(islands(Surface(finely(prism(tray, 20), times)))) == 0


def test_a_loose_shell_in_the_air_is_an_island() -> None:
    assert len(islands(Surface(joined(box(5, 5, 5), box(5, 5, 5, (0, 0, 9)))))) == 1


@FINE
def test_first_layer_is_what_lies_on_the_bed(times: int) -> None:
    assert contact_area_mm2(Surface(finely(prism(ARCH, 20), times))) == pytest.approx(200)


def test_share_is_said_with_its_limit() -> None:
    from fitkit.checks import run_checks

    (found,) = [
        item for item in run_checks(part(), context(prism(LEDGE, 20))) if item.check == "overhang"
    ]
    area = 2 * 325 + 20 * (10 + 20 + 15 + 5 + 25 + 25)
    assert found.severity == "warn"
    assert found.value == pytest.approx(100 * 300 / area)
    assert found.unit == "%"


def test_findings_point_at_the_assembly() -> None:
    """A body turned upside down for printing: the island is shown where it is in the assembly."""
    from fitkit.checks import run_checks
    from fitkit.solids.mesh import turn_matrix

    turn, shift = turn_matrix((180.0, 0.0, 0.0)), np.array([0.0, 20.0, 25.0])
    printed = prism(HANGING, 20)
    setting = context(printed, placements={"case": (turn, shift)})
    (found,) = [item for item in run_checks(part(), setting) if item.check == "islands"]
    (at,) = found.at
    assert turn @ np.array(at) + shift == pytest.approx([12, 0, 10])


def test_without_a_mesh_it_says_so() -> None:
    from fitkit.checks.overhang import check_overhang

    (found,) = check_overhang(part(), context())
    assert found.severity == "note"
    assert "not run for case, because it has no mesh" in found.text
