"""Values that each rule of each template refuses, and the field of the panel that is to blame.

Beside a panel's fields stand values as typed there. An empty path is a fault of no single field:
the panel then shows it for the whole part.
"""

from __future__ import annotations

from typing import Any, NamedTuple

__all__ = ["PROVOKED", "Provoked"]


class Provoked(NamedTuple):
    """Values that a template refuses, the field to blame, and sizes as drawn, mm, if they do it."""

    title: str
    values: dict[str, Any]
    path: str
    drawn: dict[str, float] = {}  # noqa: RUF012 - a NamedTuple's defaults are shared, and kept


_PORT = {"along": "34 mm", "above": "2 mm", "width": "9 mm", "height": "4 mm"}
_HOLES = [{"x": "4 mm", "y": "4 mm"}, {"x": "30 mm", "y": "20 mm"}]

PROVOKED = [
    Provoked("ball seat", {"ball": "8 mm", "retention": "4 mm"}, "retention"),
    Provoked("ball seat", {}, "retention", {"seat": 24.0}),
    Provoked("ball seat", {}, "retention", {"mouth": 12.0}),
    Provoked("ball seat", {"style": "arms", "arm": "40 mm"}, "arm"),
    Provoked("ball seat", {"ball": "8 mm", "retention": "0.2 mm", "slits": 12}, "slits"),
    Provoked("ball seat", {"wall": "6 mm", "slits": 4, "retention": "1.5 mm"}, "retention"),
    Provoked("cradle", {"grip": "2 mm", "diameter": "8 mm"}, "grip"),
    Provoked("cradle", {}, "grip", {"mouth": 30.0}),
    Provoked("cradle", {"wall": "6 mm", "diameter": "8 mm", "hold": "arms"}, "wall"),
    Provoked("cradle", {"hold": "strap", "length": "10 mm"}, "strap"),
    Provoked("cradle", {"length": "6 mm"}, "length"),
    Provoked("cradle", {"length": "6 mm", "stop": True, "lugs": False, "wall": "3 mm"}, "length"),
    Provoked("tray insert", {"columns": ["1"] * 12, "drawer_length": "30 mm"}, "columns"),
    Provoked("tray insert", {"rows": ["1"] * 12, "drawer_width": "30 mm"}, "rows"),
    Provoked("tray insert", {"corner_radius": "40 mm"}, "corner_radius"),
    Provoked("tray insert", {"corner_radius": "20 mm", "columns": ["1"] * 6}, "corner_radius"),
    Provoked("bracket", {"leg": "12 mm"}, "leg"),
    Provoked("bracket", {"upright": "12 mm"}, "upright"),
    Provoked("bracket", {"width": "10 mm"}, "width"),
    Provoked("bracket", {"gusset": "1 mm"}, "gusset"),
    Provoked("spacer", {"screw": "M6", "outside": "8 mm"}, "outside"),
    Provoked("sleeve", {"first": "4 mm", "first_fit": "into"}, "first"),
    Provoked("sleeve", {"second": "4 mm", "second_fit": "into"}, "second"),
    Provoked("sleeve", {"clamp": True, "first_fit": "into"}, "slit"),
    Provoked("sleeve", {"clamp": True, "first_length": "4 mm"}, "first_length"),
    Provoked("sleeve", {"clamp": True, "first": "6 mm", "slit": "6 mm"}, "slit"),
    Provoked("sleeve", {"clamp": True, "first": "4 mm", "wall": "1.2 mm"}, "first"),
    Provoked("box lid", {"corner_radius": "40 mm"}, "corner_radius"),
    Provoked("box lid", {"diagonal": "200 mm"}, "diagonal"),
    Provoked("box lid", {"box_width": "15 mm", "wall": "6 mm"}, "box_width"),
    Provoked("box lid", {"box_length": "15 mm", "wall": "6 mm"}, "box_length"),
    Provoked("hanger plate", {"head": "5 mm"}, "head"),
    Provoked("hanger plate", {"travel": "4 mm"}, "travel"),
    Provoked(
        "hanger plate",
        {"count": 2, "spacing": "15 mm", "head": "20 mm", "travel": "40 mm"},
        "spacing",
    ),
    Provoked("clip tray", {"body_length": "12 mm", "arm": "3 mm", "catch": "2 mm"}, "arm"),
    Provoked(
        "clip tray", {"fixing": "floor", "body_width": "6 mm", "finger": "0 mm"}, "body_width"
    ),
    Provoked("knob", {"diameter": "10 mm"}, "diameter"),
    Provoked("knob", {"flat": "6 mm"}, "flat"),
    Provoked("knob", {"flat": "1.5 mm"}, "flat"),
    Provoked("knob", {"bore": "splined", "root": "5.9 mm"}, "root"),
    Provoked("knob", {"bore": "splined", "root": "2 mm"}, "root"),
    Provoked("knob", {"set_screw": "M4", "shaft_length": "4 mm"}, "shaft_length"),
    Provoked("panel", {"cutouts": [{"x": "48 mm"}]}, "cutouts.0.x"),
    Provoked("panel", {"cutouts": [{"y": "28 mm"}]}, "cutouts.0.y"),
    Provoked(
        "panel",
        {"corner_radius": "30 mm", "screws": False, "cutouts": [{"x": "40 mm", "y": "20 mm"}]},
        "cutouts.0.x",
    ),
    Provoked("panel", {"length": "20 mm", "screw": "M6"}, "length"),
    Provoked("panel", {"width": "24 mm", "screw": "M6"}, "width"),
    Provoked("panel", {"cutouts": [{}, {"x": "10 mm"}]}, "cutouts.1.x"),
    Provoked("panel", {"cutouts": [{"x": "38 mm", "y": "20 mm"}]}, "cutouts.0.x"),
    Provoked(
        "panel",
        {"cutouts": [{}, {"x": "30 mm", "shape": "D", "across": "40 mm"}]},
        "cutouts.1.across",
    ),
    Provoked("panel", {"cutouts": [{"shape": "D", "across": "1 mm"}]}, "cutouts.0.across"),
    Provoked("panel", {"cutouts": [{"bezel": "20 mm"}]}, "cutouts.0.bezel"),
    Provoked("fit ladder", {"pair": "screw hole", "behaviour": "press by tool"}, "behaviour"),
    Provoked("fit ladder", {"nominal": "1 mm", "gaps": ["-0.8 mm", "0.1 mm"]}, "gaps"),
    Provoked("fit ladder", {"nominal": "1 mm", "gaps": ["0.1 mm", "1.5 mm"]}, "gaps"),
    Provoked("calibration coupon", {"pocket_x": "0 mm"}, "pocket_x"),
    Provoked("calibration coupon", {"pegs": ["0.5 mm", "8 mm"]}, "pegs"),
    Provoked("calibration coupon", {"bars_y": ["10 mm", "20 mm"]}, "bars_y"),
    Provoked("calibration coupon", {"heights": ["1 mm", "12 mm"]}, "heights"),
    Provoked("calibration coupon", {"diagonal": "20 mm"}, "diagonal"),
    Provoked("calibration coupon", {"pegs": ["8.1234567 mm"]}, "pegs"),
    Provoked(
        "calibration coupon", {"bars_x": ["40 mm"], "bars_y": ["40 mm"], "diagonal": "0 mm"}, ""
    ),
    Provoked("board case", {"ports": [_PORT | {"above": "-6 mm"}]}, "ports.0.above"),
    Provoked("board case", {"ports": [_PORT, _PORT | {"along": "400 mm"}]}, "ports.1.along"),
    Provoked("board case", {"ports": [_PORT, _PORT]}, "ports"),
    Provoked(
        "board case",
        {"lid_fixing": "screws", "ports": [_PORT | {"along": "25 mm", "width": "40 mm"}]},
        "ports.0.along",
    ),
    Provoked("board case", {"lid_fixing": "snap", "wall": "1.6 mm"}, "wall"),
    Provoked("board case", {"lid_fixing": "rim"}, "wall", {"rim inside length": 200.0}),
    Provoked("board case", {"standoff": "snap-post", "hole_diameter": "2 mm"}, "hole_diameter"),
    Provoked("board case", {"hole_spacing_x": "200 mm"}, "hole_spacing_x"),
    Provoked("board case", {"hole_spacing_y": "3 mm"}, "hole_spacing_y"),
    Provoked("board case", {"holes": [_HOLES[0] | {"x": "0 mm"}, _HOLES[1]]}, "holes.0.x"),
    Provoked(
        "board case", {"holes": [_HOLES[0], _HOLES[1], {"x": "31 mm", "y": "20 mm"}]}, "holes"
    ),
    Provoked("board case", {"windows": [{"x": "90 mm"}]}, "windows.0.x"),
    Provoked("board case", {"lid_fixing": "slide", "windows": [{"x": "0 mm"}]}, "windows.0.x"),
    Provoked("board case", {"ports": [_PORT | {"recess": "6 mm"}]}, "ports.0.recess"),
    Provoked(
        "board case",
        {"standoff": "edge rails", "hold_down_at": [{"x": "200 mm", "y": "0 mm"}]},
        "hold_down_at",
    ),
    Provoked("board case", {"windows": [{}, {}]}, "windows"),
    Provoked(
        "board case",
        {"lid_fixing": "snap", "ports": [_PORT | {"along": "29 mm", "width": "50 mm"}]},
        "lid_fixing",
    ),
    Provoked(
        "board case",
        {
            "lugs": 4,
            "lug_screw": "8 mm",
            "vent_area": "900 mm²",
            "cable": {"wall": "left", "along": "14 mm", "diameter": "6 mm"},
        },
        "lugs",
    ),
]
