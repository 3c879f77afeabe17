"""How a circuit board is measured for its case."""

from __future__ import annotations

from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen

__all__ = ["BOARD", "PORT_USED_WHEN", "USED_WHEN"]

_BY_ITS_HOLES: dict[str, tuple[object, ...]] = {"standoff": ("screw", "heat-set", "snap-post")}

BOARD = Measuring(
    readings=(
        Reading(
            feature="board length",
            note="over the bare board's left and right edges, clear of plugs and solder",
        ),
        Reading(feature="board width", note="over its front and back edges, likewise"),
        Reading(feature="board thickness", note="at a bare spot of an edge, without solder"),
        Reading(
            feature="over tallest part",
            note="one jaw on the bare underside, the other on top of the highest part",
        ),
        Reading(
            feature="solder side",
            mode="step",
            note="from the bare underside down to the tip of the longest solder tail or part",
        ),
        Reading(
            feature="mounting hole",
            mode="inside",
            round=True,
            note="inside jaws in one mounting hole, turned to the largest reading",
        ),
        Reading(
            feature="holes x far edges",
            mode="inside",
            between="mounting hole",
            note="inside jaws in two holes side by side along x, pushed apart to the far edges; "
            "the largest reading",
        ),
        Reading(
            feature="holes y far edges",
            mode="inside",
            between="mounting hole",
            note="likewise in two holes one behind the other along y",
        ),
        Reading(feature="insert", round=True, note="over the widest knurl of one heat-set insert"),
    ),
    sizes=(
        FromReadings(parameter="board_length", text="board_length"),
        FromReadings(parameter="board_width", text="board_width"),
        FromReadings(parameter="board_thickness", text="board_thickness"),
        FromReadings(parameter="tallest_part", text="over_tallest_part - board_thickness"),
        FromReadings(parameter="below_board", text="solder_side"),
        FromReadings(parameter="hole_diameter", text="mounting_hole", when=_BY_ITS_HOLES),
        FromReadings(
            parameter="hole_spacing_x",
            text="holes_x_far_edges - mounting_hole",
            when=_BY_ITS_HOLES,
        ),
        FromReadings(
            parameter="hole_spacing_y",
            text="holes_y_far_edges - mounting_hole",
            when=_BY_ITS_HOLES,
        ),
        FromReadings(parameter="insert", text="insert", when={"standoff": ("heat-set",)}),
    ),
    often=("lugs", "vent_area", "lid_fixing", "label", "ports", "windows"),
)

USED_WHEN: UsedWhen = {
    "hole_offset_x": _BY_ITS_HOLES,
    "hole_offset_y": _BY_ITS_HOLES,
    "holes": _BY_ITS_HOLES,
    "ledge_sides": {"standoff": ("edge rails",)},
    "hold_down": {"standoff": ("edge rails",)},
    "hold_down_at": {"standoff": ("edge rails",), "hold_down": (True,)},
    "lid_screw": {"lid_fixing": ("screws",)},
    "lid_head": {"lid_fixing": ("screws",)},
    "lid_thread": {"lid_fixing": ("screws",)},
    "detent": {"lid_fixing": ("slide",)},
    "lug_screw": {"lugs": (2, 4)},
}

_BY_ITS_SIZES: dict[str, tuple[object, ...]] = {"shape": ("rectangle", "slot", "round")}
PORT_USED_WHEN: UsedWhen = {
    "width": _BY_ITS_SIZES,
    "height": {"shape": ("rectangle", "slot")},
    "outline": {"shape": ("outline",)},
}
