"""Every finding that stops a print: a part that triggers it, and its neighbour that does not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from fitkit.checks import Coat, FitGap, Use, published_material, run_checks
from fitkit.parts.contract import (
    Body,
    Boss,
    Bridge,
    KeyDimension,
    Lug,
    SnapArm,
    Wall,
)
from tests.checks.gallery import ARCH, HANGING, box, context, part, prism

if TYPE_CHECKING:
    from fitkit.core.finding import Finding

PETG = published_material("PETG")
BLOCK = box(30, 30, 20)
HERE = (0.0, 0.0, 0.0)


def wall(thickness: float):
    return {
        "walls": (Wall(name="side", body="case", thickness_mm=thickness, at=HERE, span_mm=28.0),)
    }


def arm(**values: object):
    sizes = {"length_mm": 14.0, "thickness_mm": 2.0, "width_mm": 5.0, "deflection_mm": 1.0}
    return {"arms": (SnapArm(name="arm", body="case", at=HERE, **(sizes | values)),)}


def lug(**values: object):
    sizes = {"reach_mm": 8.0, "width_mm": 12.0, "thickness_mm": 5.0, "hole_mm": 4.0}
    return {"lugs": (Lug(name="ear", body="case", at=HERE, **(sizes | values)),)}


def boss(**values: object):
    sizes = {"outer_mm": 8.0, "hole_mm": 2.5, "depth_mm": 8.0, "screw_mm": 3.0}
    return {"bosses": (Boss(name="post", body="case", at=HERE, **(sizes | values)),)}


def opening(width: float, kind: str):
    size = KeyDimension(
        name="opening", value_mm=width, body="case", start=HERE, end=(width, 0.0, 0.0), kind=kind
    )
    return {"dimensions": (size,)}


def bridge(span: float):
    return {"bridges": (Bridge(name="lintel", body="case", span_mm=span, at=HERE),)}


@dataclass(frozen=True)
class Case:
    """What differs between the part that must stop and the one that must not."""

    check: str
    stops: tuple[dict, dict]  # part's features, context's values
    passes: tuple[dict, dict]
    words: str = ""


def in_tray(ghost):
    tray = prism([(0, 0), (40, 0), (40, 20), (37, 20), (37, 3), (3, 3), (3, 20), (0, 20)], 40)
    features = {"ghosts": (Body(name="board", solid=None),), "insertion": (0.0, 0.0, -1.0)}
    return features, {"assembled": {"case": tray, "board": ghost}, "use": Use(watts=0)}


ROUGH = {"material": PETG, "use": Use(handling="rough hands")}
TOUCHED = {"material": PETG, "use": Use(handling="touched")}
GAP = FitGap(name="lid", gap_mm=0.20, u_mm=0.03, coated_faces=2)

CASES = {
    "too high": Case("bed", ({}, {"mesh": box(20, 20, 181)}), ({}, {"mesh": box(20, 20, 179)})),
    "too wide": Case("bed", ({}, {"mesh": box(180, 180, 9)}), ({}, {"mesh": box(175, 175, 9)})),
    "wall under two lines": Case("walls", (wall(0.79), {}), (wall(0.80), {})),
    "slot closes": Case("gaps", (opening(0.19, "inside"), {}), (opening(0.21, "inside"), {})),
    "hole closes": Case("holes", (opening(0.39, "hole"), {}), (opening(0.41, "hole"), {})),
    "island": Case("islands", ({}, {"mesh": prism(HANGING, 20)}), ({}, {"mesh": prism(ARCH, 20)})),
    "first layer": Case(
        "first layer", ({}, {"mesh": box(1.9, 2, 5)}), ({}, {"mesh": box(5, 2, 5)})
    ),
    "bridge": Case("bridges", (bridge(61), {}), (bridge(59), {})),
    "arm breaks (F2)": Case(
        "snap arms",
        (arm(length_mm=6.0), {"material": PETG}),
        (arm(length_mm=14.0), {"material": PETG}),
        words="8.33 % strain",
    ),
    "arm across the layers (F3)": Case(
        "snap arms",
        (arm(length_mm=14.0, layers_across=True), {"material": PETG}),
        (arm(length_mm=14.0), {"material": PETG}),
        words="layers across the arm",
    ),
    "arm across layers of unknown strength": Case(
        "snap arms",
        (
            arm(layers_across=True),
            {
                "material": PETG.model_copy(
                    update={"properties": {"snap_strain": PETG.get("snap_strain")}}
                )
            },
        ),
        (
            arm(),
            {
                "material": PETG.model_copy(
                    update={"properties": {"snap_strain": PETG.get("snap_strain")}}
                )
            },
        ),
        words="no layer_factor",
    ),
    "lug bends off": Case(
        "strength", (lug(thickness_mm=1.5), ROUGH), (lug(thickness_mm=9.0), ROUGH), words="root"
    ),
    "lug tears out": Case(
        "strength",
        (lug(width_mm=4.5, reach_mm=0.1), ROUGH),
        (lug(width_mm=9.0, reach_mm=0.1), ROUGH),
        words="tearing beside its hole",
    ),
    "lug no wider than its hole": Case(
        "strength", (lug(width_mm=4.0), TOUCHED), (lug(width_mm=8.0), TOUCHED), words="no wider"
    ),
    "boss splits": Case(
        "strength", (boss(outer_mm=4.0), TOUCHED), (boss(outer_mm=8.0), TOUCHED), words="split"
    ),
    "boss's thread pulls out": Case(
        "strength", (boss(depth_mm=1.0), ROUGH), (boss(depth_mm=12.0), ROUGH), words="thread"
    ),
    "boss tears between layers": Case(
        "strength",
        (boss(outer_mm=4.6, depth_mm=20.0), ROUGH),
        (boss(outer_mm=12.0, depth_mm=20.0), ROUGH),
        words="between its layers",
    ),
    "wall pushed in": Case(
        "strength",
        (wall(0.7), TOUCHED),
        (wall(2.4), TOUCHED),
        words="pressed by a finger",
    ),
    "device cooks": Case(
        "heat",
        (wall(2.4), {"mesh": box(90, 60, 30), "material": PETG, "use": Use(watts=4)}),
        (wall(2.4), {"mesh": box(90, 60, 30), "material": PETG, "use": Use(watts=1)}),
        words="softening",
    ),
    "far too much heat": Case(
        "heat",
        (wall(2.4), {"mesh": box(30, 30, 10), "material": PETG, "use": Use(watts=400)}),
        (wall(2.4), {"mesh": box(30, 30, 10), "material": PETG, "use": Use(watts=0.2)}),
        words="too much heat",
    ),
    "coat eats the gap": Case(
        "finish",
        ({}, {"coat": Coat(thickness_mm=0.11, u_mm=0.03), "fits": (GAP,)}),
        ({}, {"coat": Coat(thickness_mm=0.08, u_mm=0.03), "fits": (GAP,)}),
    ),
    "fit is likely to collide": Case(
        "assembly",
        ({}, {"coat": Coat(thickness_mm=0.12, u_mm=0.03), "fits": (GAP,)}),
        ({}, {"coat": Coat(thickness_mm=0.05, u_mm=0.03), "fits": (GAP,)}),
        words="will not go together",
    ),
    "solder side lower than the standoffs (T6)": Case(
        "assembly",
        in_tray(box(33.4, 30, 1.6, (3.3, 5, 2.7))),
        in_tray(box(33.4, 30, 1.6, (3.3, 5, 3.0))),
        words="0.30 mm along the way in",
    ),
    "plug beyond the pocket (T6)": Case(
        "assembly",
        in_tray(box(35.4, 30, 1.6, (3.3, 5, 5))),
        in_tray(box(33.4, 30, 1.6, (3.3, 5, 5))),
        words="notch, or leave room to tilt",
    ),
    "mains without a qualified person": Case(
        "cautions",
        ({}, {"use": Use(mains=True)}),
        ({}, {"use": Use(mains=True, qualified_person=True)}),
        words="local electrical code",
    ),
}


def stops(features: dict, values: dict, check: str) -> list[Finding]:
    values = {"mesh": BLOCK} | values
    mesh = values.pop("mesh")
    found = run_checks(part(**features), context(mesh, **values))
    return [item for item in found if item.severity == "stop" and item.check == check]


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_the_part_at_fault_is_stopped(case: Case) -> None:
    found = stops(*case.stops, case.check)
    assert found
    assert any(case.words in str(item) for item in found)
    for item in found:
        assert item.remedy
        assert item.basis
        assert item.check == "cautions" or item.limit is not None or "no layer_factor" in item.text


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_its_neighbour_passes(case: Case) -> None:
    assert stops(*case.passes, case.check) == []
