"""Board case: a tray and a lid for a circuit board, from its calipers readings.

The board lies on standoffs (or a ledge) in a pocket; ports open in the walls, windows and vents in
the lid. Positions on the board count from its left front corner, seen from above: x to the right,
y to the back; heights count from the board's upper face.

This file has the parameters and the template; `form` works out where all goes, `build` builds it.
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from pydantic import Field

from fitkit.core.given_file import GivenFile, file_parameter
from fitkit.core.models import StrictModel
from fitkit.parts.contract import Area, Length, Template, size
from fitkit.parts.designs.board_case.carried import NOTHING, Carried
from fitkit.parts.designs.board_case.measuring import BOARD, PORT_USED_WHEN, USED_WHEN
from fitkit.parts.designs.board_case.practice import POCKET_GAP_MM
from fitkit.parts.measuring import Measuring, UsedWhen  # noqa: TC001 - pydantic reads the annotation

__all__ = ["Cable", "Hole", "Parameters", "Port", "Window"]

WallName = Literal["left", "right", "front", "back"]


def _choice(default: str | bool, text: str, group: str, label: str = "") -> Field:  # type: ignore[valid-type] # pydantic's
    extra: dict[str, Any] = {"group": group, "label": label} if label else {"group": group}
    return Field(default=default, description=text, json_schema_extra=extra)


class Port(StrictModel):
    """An opening in a wall for a plug.

    `width` and `height` are those of the plug's shell where it passes the wall; with an `overmould`
    they are the socket's, and the opening grows by it on every side. A port of the shape outline
    takes both from its file.
    """

    used_when: ClassVar[UsedWhen] = PORT_USED_WHEN

    wall: WallName = _choice("front", "Wall that it is in.", "Port")
    along: Length = size(
        "20 mm",
        low="0 mm",
        high="400 mm",
        group="Port",
        measured=True,
        help="From the board's left (or front) edge to the middle of the port.",
    )
    above: Length = size(
        "2 mm",
        low="-20 mm",
        high="80 mm",
        group="Port",
        measured=True,
        help="From the board's upper face up to the middle of the port.",
    )
    width: Length = size(
        "9 mm",
        low="1 mm",
        high="120 mm",
        group="Port",
        measured=True,
        help="Width of the plug along the wall; diameter if round.",
    )
    height: Length = size(
        "4 mm", low="1 mm", high="60 mm", group="Port", measured=True, help="Height of the plug."
    )
    shape: Literal["rectangle", "slot", "round", "outline"] = _choice(
        "rectangle", "Shape of the opening; outline takes it from a DXF file.", "Port"
    )
    outline: GivenFile = file_parameter(
        "DXF file of a closed outline, for the shape outline; its box is the plug's size.",
        group="Port",
        endings=(".dxf",),
    )
    overmould: Length = size(
        "0 mm",
        low="0 mm",
        high="10 mm",
        group="Port",
        help="How far the plug's moulded body stands out round the socket, on each side.",
    )
    depth: Length = size(
        "0 mm",
        low="-15 mm",
        high="15 mm",
        group="Port",
        measured=True,
        help="How far the socket's face stands beyond the board's edge; below 0 if behind it.",
    )
    top: Literal["auto", "open", "closed"] = _choice(
        "auto",
        "Open lets a board down whose sockets stand over its edge: the wall is open up to the rim, "
        "and a tongue of the lid closes it. Auto opens it where the socket needs that.",
        "Port",
    )
    recess: Length = size(
        "0 mm",
        low="0 mm",
        high="12 mm",
        group="Port",
        measured=True,
        help="How far the plug's grip stands out round the opening, on each side: the wall's outer "
        "part is cut back for it, where the wall is thick.",
    )


class Hole(StrictModel):
    """A place on the board, such as a mounting hole's middle, from its left front corner."""

    x: Length = size(
        "4 mm",
        low="0 mm",
        high="300 mm",
        group="Hole",
        measured=True,
        help="From the board's left edge to the hole's middle.",
    )
    y: Length = size(
        "4 mm",
        low="0 mm",
        high="200 mm",
        group="Hole",
        measured=True,
        help="From the board's front edge to the hole's middle.",
    )


class Window(StrictModel):
    """An open rectangle in the lid, over a header or display; at an edge it opens the wall too."""

    x: Length = size(
        "10 mm",
        low="0 mm",
        high="400 mm",
        group="Window",
        measured=True,
        help="From the board's left edge to the window's middle.",
    )
    y: Length = size(
        "10 mm",
        low="0 mm",
        high="400 mm",
        group="Window",
        measured=True,
        help="From the board's front edge to the window's middle.",
    )
    length: Length = size("10 mm", low="1 mm", high="300 mm", group="Window", help="Along x.")
    width: Length = size("5 mm", low="1 mm", high="300 mm", group="Window", help="Along y.")
    above: Length = size(
        "0 mm",
        low="0 mm",
        high="80 mm",
        group="Window",
        help="Where the window reaches over a wall, the wall is cut away down to this height above "
        "the board's upper face.",
    )


class Cable(StrictModel):
    """A cable through a wall, tied down on a shelf outside it."""

    wall: Literal["left", "right"] = _choice("left", "Wall that it leaves by.", "Cable")
    along: Length = size(
        "20 mm",
        low="0 mm",
        high="400 mm",
        group="Cable",
        help="From the board's front edge to the cable's middle.",
    )
    diameter: Length = size(
        "4 mm",
        low="1.5 mm",
        high="12 mm",
        group="Cable",
        measured=True,
        help="Outside diameter of the cable.",
    )


class Parameters(Template):
    """What a user types for a board case; `BoardCase` draws it."""

    title: ClassVar[str] = "board case"
    summary: ClassVar[str] = "Tray and lid for a circuit board, with ports, vents, lugs."
    measuring: ClassVar[Measuring] = BOARD
    used_when: ClassVar[UsedWhen] = USED_WHEN
    pocket_gap_mm: ClassVar[float] = POCKET_GAP_MM

    board_length: Length = size(
        "58 mm",
        low="15 mm",
        high="300 mm",
        group="Board",
        measured=True,
        help="Board along x, over its edges.",
    )
    board_width: Length = size(
        "38 mm",
        low="15 mm",
        high="200 mm",
        group="Board",
        measured=True,
        help="Board along y, over its edges.",
    )
    board_thickness: Length = size(
        "1.6 mm",
        low="0.4 mm",
        high="4 mm",
        group="Board",
        measured=True,
        help="Bare board, without parts.",
    )
    tallest_part: Length = size(
        "11 mm",
        low="0 mm",
        high="80 mm",
        group="Board",
        measured=True,
        help="Highest part above the board's upper face.",
    )
    below_board: Length = size(
        "2 mm",
        low="0 mm",
        high="30 mm",
        group="Board",
        measured=True,
        help="Deepest part or solder below the board's underside.",
    )
    hole_spacing_x: Length = size(
        "50 mm",
        low="0 mm",
        high="290 mm",
        group="Board",
        measured=True,
        help="Between the mounting holes' middles along x.",
    )
    hole_spacing_y: Length = size(
        "30 mm",
        low="0 mm",
        high="190 mm",
        group="Board",
        measured=True,
        help="Between the mounting holes' middles along y.",
    )
    hole_diameter: Length = size(
        "3.2 mm",
        low="1.5 mm",
        high="6 mm",
        group="Board",
        measured=True,
        help="Mounting holes in the board.",
    )
    hole_offset_x: Length = size(
        "0 mm",
        low="-100 mm",
        high="100 mm",
        group="Board",
        help="Middle of the hole pattern from the board's middle, along x.",
    )
    hole_offset_y: Length = size(
        "0 mm",
        low="-100 mm",
        high="100 mm",
        group="Board",
        help="Middle of the hole pattern from the board's middle, along y.",
    )
    holes: tuple[Hole, ...] = Field(
        default=(),
        max_length=12,
        description="Mounting holes one by one, where they make no rectangle; "
        "hole_spacing and hole_offset then count for nothing.",
        json_schema_extra={"group": "Board"},
    )

    ghost_step: GivenFile = file_parameter(
        "STEP file of the board with its parts, z up; stands in for the board in picture and "
        "collision check.",
        group="Board",
        endings=(".step", ".stp"),
        label="board file (STEP)",
    )
    ghost_origin: Literal["corner", "middle"] = _choice(
        "corner",
        "Where that file's origin lies on the board's underside: left front corner, or middle.",
        "Board",
        "origin of the board file",
    )

    ports: tuple[Port, ...] = Field(
        default=(),
        max_length=24,
        description="Openings in the walls for plugs.",
        json_schema_extra={"group": "Openings"},
    )
    windows: tuple[Window, ...] = Field(
        default=(),
        max_length=12,
        description="Open rectangles in the lid.",
        json_schema_extra={"group": "Openings"},
    )
    vent_area: Area = size(
        "0 mm²",
        low="0 mm²",
        high="20000 mm²",
        group="Openings",
        help="Free area wanted for air: half low in the walls, half in the lid.",
    )
    vent_style: Literal["slots", "hex", "louvres"] = _choice(
        "slots", "Upright slots, hexagons, or louvres that keep drips out.", "Openings"
    )
    warm_at: Hole | None = Field(
        default=None,
        description="Middle of the part that gets warm, from the board's left front corner: the "
        "lid's vents stand over it instead of over the board's middle.",
        json_schema_extra={"group": "Openings"},
    )
    cable: Cable | None = Field(
        default=None,
        description="A cable that leaves by a side wall, tied down outside.",
        json_schema_extra={"group": "Openings"},
    )

    wall: Length = size("2.4 mm", low="1.6 mm", high="6 mm", group="Case", help="Side walls.")
    floor: Length = size("2 mm", low="1.2 mm", high="6 mm", group="Case", help="Floor of the tray.")
    lid_thickness: Length = size("2 mm", low="1.2 mm", high="6 mm", group="Case", help="Lid plate.")
    corner_radius: Length = size(
        "3 mm", low="0 mm", high="12 mm", group="Case", help="Outer upright corners."
    )
    headroom: Length = size(
        "1 mm", low="0 mm", high="30 mm", group="Case", help="Air over the tallest part."
    )
    standoff: Literal["screw", "heat-set", "snap-post", "edge rails"] = _choice(
        "screw",
        "How the board is held: screws, heat-set inserts, snap posts, or a ledge under its edges "
        "with posts of the lid that hold it down.",
        "Case",
    )
    ledge_sides: Literal["all", "left and right", "front and back"] = _choice(
        "all",
        "Edges under which the ledge of edge rails runs; leave out those with solder along them.",
        "Case",
        "ledge under",
    )
    hold_down: bool = _choice(
        True, "Posts of the lid that hold a board down on its ledge.", "Case", "hold-down posts"
    )
    hold_down_at: tuple[Hole, ...] = Field(
        default=(),
        max_length=8,
        description="Places of those posts on the board, where the automatic ones do not suit.",
        json_schema_extra={"group": "Case", "label": "hold-down posts at"},
    )
    standoff_height: Length | None = Field(
        default=None,
        ge=0.4,
        le=40,
        description="Under the board; what is below it and 1 mm more if not given, or what an "
        "insert needs.",
        json_schema_extra={"group": "Case"},
    )
    lid_fixing: Literal["screws", "snap", "slide", "rim"] = _choice(
        "rim", "How the lid holds: screws, snap arms, slides in, or friction of its rim.", "Case"
    )
    screw: Literal["auto", "M2", "M2.5", "M3", "M4", "M5"] = _choice(
        "auto",
        "Screws through the board: pilot, insert and boss follow from them. Auto takes the "
        "thickest that passes its holes.",
        "Case",
    )
    insert: Length | None = Field(
        default=None,
        ge=2.5,
        le=9,
        description="Greatest outside diameter of the heat-set inserts, over their knurl; that of "
        "a common insert for the screw if not given.",
        json_schema_extra={"group": "Case", "measured": True},
    )
    insert_length: Length | None = Field(
        default=None,
        ge=2,
        le=16,
        description="Length of the inserts; that of a common one if not given.",
        json_schema_extra={"group": "Case"},
    )
    lid_screw: Length = size(
        "3 mm",
        low="2 mm",
        high="5 mm",
        group="Case",
        help="Screws that hold the lid, over their thread.",
    )
    lid_head: Literal["flat", "countersunk"] = _choice(
        "flat", "Heads of the lid's screws: on the lid, or sunk into it at 90°.", "Case"
    )
    lid_thread: Literal["plastic", "insert"] = _choice(
        "plastic", "What the lid's screws go into: plastic, or heat-set inserts.", "Case"
    )
    detent: bool = _choice(
        True, "A ridge that a sliding lid snaps over, so that it stays shut.", "Case"
    )
    lugs: Literal[0, 2, 4] = Field(
        default=0,
        description="Screw-down ears beside the case.",
        json_schema_extra={"group": "Case"},
    )
    lug_screw: Length = size(
        "4 mm", low="2 mm", high="8 mm", group="Case", help="Screw through each ear."
    )

    @property
    def on_holes(self) -> bool:
        """Whether standoffs hold a board by its holes."""
        return self.standoff != "edge rails"

    @property
    def carried(self) -> Carried:
        """What another carrier puts into this shell; nothing for a board case."""
        return NOTHING

    @property
    def wide_rim_mm(self) -> float:
        """Width of the walls' top that something under the lid needs, mm; 0 for none."""
        return 0.0

    def port_name(self, number: int) -> str:
        """Name a port, counted from 1, in messages and on the sheet."""
        return f"port {number}"

    def path_of(self, what: str, number: int) -> tuple[str | int, ...]:
        """Path of the parameter of a port or window, counted from 0."""
        return (what, number)
