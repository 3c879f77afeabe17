"""Each fit size, read again from the mesh by a plane section, is as it was to be drawn."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from fitkit.parts.forms import BED_EDGE_MM
from fitkit.parts.registry import template
from tests.parts.sections import middle_of_gap, read_size

if TYPE_CHECKING:
    from fitkit.parts.contract import Part

# Facets of 3° leave a chord this much short on the largest round here.
CLOSE = 0.02


def _made(title: str, values: dict[str, object], **drawn: float) -> tuple[Part, dict[str, float]]:
    chosen = template(title).of(**values)
    nominal = {fit.name: fit.nominal_mm for fit in chosen.fit_sizes()}
    sizes = {name: value + 0.13 + 0.07 * i for i, (name, value) in enumerate(nominal.items())}
    return chosen.build(sizes), sizes


def _at(part: Part, name: str) -> tuple[float, float, float]:
    d = next(d for d in part.dimensions if d.name == name)
    x, y, z = ((a + b) / 2 for a, b in zip(d.start, d.end, strict=True))
    return x, y, z


RECTANGLE = {"cutouts": [{"shape": "rectangle"}]}
# title, parameters, fit size, plane of the section, direction read, shift off the key dimension
ROWS = [
    ("spacer", {}, "bore", "z", "x", (0, 0, -3), "gap"),
    ("spacer", {}, "height", "x", "z", (0, 0.5, 0), "span"),
    ("hanger plate", {}, "head", "z", "x", (0, 0, 1), "gap"),
    ("hanger plate", {}, "shank", "z", "x", (0, 0, 1), "gap"),
    ("hanger plate", {}, "fixing hole", "z", "x", (0, 0, 1), "gap"),
    ("bracket", {}, "screw hole", "z", "x", (0, 0, -1), "gap"),
    ("sleeve", {}, "first", "z", "y", (0, 0, 0), "gap"),
    ("sleeve", {}, "second", "z", "y", (0, 0, 0), "span"),
    ("sleeve", {"clamp": True}, "clamp hole", "y", "x", (0, 2, 0), "gap"),
    ("knob", {}, "shaft", "z", "y", (0, 0, 0), "gap"),
    ("knob", {}, "flat", "z", "x", (0, 0, 0), "gap"),
    ("knob", {"bore": "double D"}, "flat", "z", "x", (0, 0, 0), "gap"),
    ("knob", {"bore": "round"}, "shaft", "z", "x", (0, 0, 0), "gap"),
    ("box lid", {}, "length", "z", "x", (0, 0, 0), "gap"),
    ("box lid", {}, "width", "z", "y", (0, 0, 0), "gap"),
    ("box lid", {"fits": "into"}, "length", "z", "x", (0, 0, 0), "span"),
    ("box lid", {"fits": "into"}, "width", "z", "y", (0, 0, 0), "span"),
    ("tray insert", {}, "length", "z", "x", (0, 0, 0), "span"),
    ("tray insert", {}, "width", "z", "y", (0, 0, 0), "span"),
    ("cradle", {"count": 1}, "cup", "x", "y", (0, 0, 0), "gap"),
    ("cradle", {"count": 1}, "mouth", "x", "y", (0, 0, 0.002), "gap"),
    ("cradle", {"count": 1}, "screw hole", "z", "y", (0, 0, 0.5), "gap"),
    ("ball seat", {}, "seat", "z", "x", (0, 0, 0), "gap"),
    ("ball seat", {}, "mouth", "z", "x", (0, 0, -0.002), "gap"),
    ("ball seat", {}, "screw hole", "z", "x", (0, 0, 1), "gap"),
    ("clip tray", {"columns": 1}, "pocket length", "z", "y", (-0.5, 0, 6), "gap"),
    ("clip tray", {"columns": 1, "wires": "none", "finger": "0 mm"}, "pocket length", "z", "y",
     (-2, 0, 6), "gap"),
    ("clip tray", {"columns": 1}, "pocket width", "z", "x", (0, 0, 0), "gap"),
    ("clip tray", {"columns": 1}, "screw hole", "z", "x", (0, 0, 0.5), "gap"),
    ("panel", {"cutouts": [{"shape": "round"}]}, "cut-out 1 diameter", "z", "x", (0, 0, -1), "gap"),
    ("panel", {"cutouts": [{"shape": "D"}]}, "cut-out 1 flat", "z", "x", (0, 0, -1), "gap"),
    ("panel", {"cutouts": [{"shape": "D"}]}, "cut-out 1 diameter", "z", "y", (0, 0, -1), "gap"),
    ("panel", {"cutouts": [{"shape": "double D"}]}, "cut-out 1 flat", "z", "x", (0, 0, -1), "gap"),
    ("panel", RECTANGLE, "cut-out 1 width", "z", "x", (0, 0, -1), "gap"),
    ("panel", RECTANGLE, "cut-out 1 height", "z", "y", (0, 0, -1), "gap"),
    ("panel", {"cutouts": [{"shape": "rectangle", "bezel": "2 mm"}]}, "cut-out 1 width", "z", "x",
     (0, 0, 0.5), "gap"),
    ("panel", {}, "screw hole", "z", "x", (0, 0, 0.5), "gap"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("title", "values", "name", "plane", "along", "shift", "kind"),
    ROWS,
    ids=[f"{r[0]}: {r[2]} {i}" for i, r in enumerate(ROWS)],
)
def test_the_mesh_has_the_drawn_size(title, values, name, plane, along, shift, kind) -> None:
    part, sizes = _made(title, values)
    at = tuple(a + b for a, b in zip(_at(part, name), shift, strict=True))
    read = read_size(part, at, plane=plane, along=along, kind=kind)
    assert read == pytest.approx(sizes[name], abs=CLOSE)


def test_hanger_keyholes_lie_apart_as_drawn() -> None:
    part, sizes = _made("hanger plate", {"count": 2})
    (x0, y, z), (x1, _, _) = next((d.start, d.end) for d in part.dimensions if d.name == "spacing")
    left = middle_of_gap(part, (x0, y, z + 1), plane="z", along="x")
    right = middle_of_gap(part, (x1, y, z + 1), plane="z", along="x")
    assert right - left == pytest.approx(sizes["spacing"], abs=CLOSE)


def test_knob_spline_has_both_diameters() -> None:
    part, sizes = _made("knob", {"bore": "splined", "teeth": 18})
    # A tooth's tip is cut flat over a fifth of its share: its middle lies that much further in.
    tip = math.cos(0.1 * 2 * math.pi / 18)
    across = read_size(part, (0, 0, 6), plane="z", along="x")
    assert across == pytest.approx(sizes["shaft"] * tip, abs=CLOSE)


def test_clip_tray_noses_reach_over_by_the_catch() -> None:
    part, sizes = _made("clip tray", {"columns": 1, "catch": "0.8 mm"})
    arm, nose = part.arms[0], next(d for d in part.dimensions if d.name == "under the nose")
    _x, y, z = nose.end
    # Just above the 45° underside's upper edge both noses stand in by the catch.
    between = read_size(part, (0, y, z + 0.8 + 0.3), plane="z", along="x")
    assert between == pytest.approx(sizes["pocket width"] - 2 * 0.8, abs=CLOSE)
    assert arm.deflection_mm == pytest.approx(0.8)
    assert not arm.layers_across


def test_clip_tray_arms_are_cut_free_from_the_bed_to_their_top() -> None:
    part, _ = _made("clip tray", {"columns": 1})
    arm = part.arms[0]
    for z in (0.6, 6.0):
        x, y, _ = arm.at
        behind = read_size(part, (x + arm.thickness_mm + 0.4, y, z), plane="z", along="x")
        assert behind == pytest.approx(0.6 + 0.4, abs=CLOSE)  # catch and room


@pytest.mark.parametrize(
    ("title", "hole"),
    [("ball seat", "screw hole"), ("clip tray", "screw hole"), ("hanger plate", "fixing hole")],
)
def test_holes_are_wider_at_the_bed_where_the_first_layer_flares(title, hole) -> None:
    part, sizes = _made(title, {})
    x, y, _ = _at(part, hole)
    read = read_size(part, (x, y, 0.1), plane="z", along="x")
    assert read == pytest.approx(sizes[hole] + 2 * (BED_EDGE_MM - 0.1), abs=CLOSE)
