"""Which way up prints best."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fitkit.checks.orientation import check_orientation, ways
from fitkit.checks.surface import Surface
from fitkit.parts.contract import SnapArm
from tests.checks.gallery import LEDGE, box, context, part, prism

# A table standing on one leg: far better upside down.
TABLE = [(10, 0), (14, 0), (14, 20), (40, 20), (40, 24), (-16, 24), (-16, 20), (10, 20)]


def arm(along, **values: object) -> SnapArm:
    sizes = {"length_mm": 14.0, "thickness_mm": 2.0, "width_mm": 5.0, "deflection_mm": 1.0}
    return SnapArm(name="arm", body="case", at=(0.0, 0.0, 0.0), along=along, **(sizes | values))


def test_a_table_goes_upside_down_or_on_its_side() -> None:
    judged = ways(Surface(prism(TABLE, 30)), limit_deg=45)
    assert judged[0].up in {"-z", "+y", "-y"}
    assert judged[0].overhang_mm2 == 0
    now = next(way for way in judged if way.up == "+z")
    assert now.overhang_mm2 == pytest.approx(52 * 30)
    assert now.support_mm3 == pytest.approx(52 * 30 * 20)


def test_the_proposal_has_its_reasons() -> None:
    (found,) = check_orientation(part(), context(prism(TABLE, 30)))
    assert found.severity == "warn"
    assert "0 mm² over air" in found.text
    assert "1560 mm² over air" in found.text
    assert "points up" in found.remedy


def test_a_block_lies_well() -> None:
    (found,) = check_orientation(part(), context(box(30, 30, 20)))
    assert found.severity == "note"
    assert "lies well" in found.text


def test_layers_across_an_arm_turn_the_body() -> None:
    upright = context(box(20, 20, 22))
    (found,) = check_orientation(part(arms=(arm((0.0, 0.0, 1.0)),)), upright)
    assert "layers across arm" in found.text
    assert found.remedy
    (found,) = check_orientation(part(arms=(arm((1.0, 0.0, 0.0)),)), upright)
    assert found.remedy == ""


def test_arms_alike_are_one_reason_however_many_there_are() -> None:
    plate = context(box(30, 30, 4))
    one = arm((0.0, 0.0, 1.0))
    twelve = tuple(replace(one, name=f"arm {i}", at=(float(i), 0.0, 0.0)) for i in range(1, 13))
    (single,) = check_orientation(part(arms=(one,)), plate)
    (found,) = check_orientation(part(arms=twelve), plate)
    assert found == replace(single, text=single.text.replace("arm", "arm 1 (and 11 like it)"))


def test_an_arm_of_unknown_direction_is_said_to_be_left_out() -> None:
    (found,) = check_orientation(part(arms=(arm(None),)), context(box(20, 20, 20)))
    assert "unknown direction" in found.text


@pytest.mark.parametrize("axis", range(3))
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_laid_keeps_the_body_and_stands_it_on_the_bed(axis: int, sign: float) -> None:
    surface = Surface(prism(LEDGE, 13))
    laid = surface.laid(axis, sign)
    assert laid.mesh.volume() == pytest.approx(surface.mesh.volume())  # not mirrored
    assert laid.mesh.bounds[0, 2] == pytest.approx(0)
    assert laid.mesh.size[2] == pytest.approx(surface.mesh.size[axis])
    np.testing.assert_allclose(laid.vectors, laid.mesh.area_vectors(), atol=1e-9)
    # What pointed along the axis now points up.
    up = surface.vectors[:, axis] * sign
    np.testing.assert_allclose(laid.vectors[:, 2], up, atol=1e-9)
