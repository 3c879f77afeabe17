"""Which sizes of a board case must fit, and what each has nominally."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from fitkit.core.sizes import CENTRES, HEIGHT, HOLE, HOLE_LYING, INSIDE, OUTSIDE, PEG, POCKET
from fitkit.fits.fasteners import hold_of_size, thread_through
from fitkit.parts.designs.board_case.practice import (
    BORE_MM,
    IN_LINE_MM,
    MARGIN_MM,
    POCKET_GAP_MM,
    UNDER_BORE_MM,
)
from fitkit.parts.designs.board_case.snap_posts import post_well_mm
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm, holding
from fitkit.parts.forms import told_at
from fitkit.parts.screws import insert_depth_mm

if TYPE_CHECKING:
    from fitkit.core.sizes import Axis, SizeKind
    from fitkit.fits.fasteners import PlasticHold
    from fitkit.parts.designs.board_case.parameters import Parameters, Port
    from fitkit.solids.profiles import Profile

__all__ = [
    "CaseSizes",
    "Distance",
    "Place",
    "PortSizes",
    "board_hold",
    "board_screw_mm",
    "board_z_mm",
    "bore_floor_mm",
    "case_sizes",
    "datum",
    "pilot_mm",
    "placed",
    "pocket_mm",
    "port_outline",
    "rim_wall",
    "upper_mm",
]

PortKind = Literal["rectangle", "slot", "round", "outline"]


def board_screw_mm(case: Parameters) -> float:
    """Outer diameter of the thread of the screws that hold the board, mm."""
    if case.screw == "auto":
        return thread_through(case.hole_diameter)
    return float(case.screw.removeprefix("M"))


def board_hold(case: Parameters) -> PlasticHold:
    """What those screws need of their standoffs, by the table."""
    return hold_of_size(board_screw_mm(case))


def pilot_mm(case: Parameters) -> float:
    """Hole in a standoff as it should print: the screw's pilot, or what grips an insert, mm."""
    hold = board_hold(case)
    if case.standoff == "heat-set":
        return insert_mm(case) - (hold.insert_knurl_mm - hold.insert_hole_mm)
    return hold.pilot_mm


def insert_mm(case: Parameters) -> float:
    """Outside of the inserts over their knurl, mm: as measured, or a common one's."""
    return board_hold(case).insert_knurl_mm if case.insert is None else case.insert


def pocket_mm(case: Parameters) -> float:
    """Depth of the pocket that the inserts need, mm."""
    length = case.insert_length
    return insert_depth_mm(board_hold(case).insert_length_mm if length is None else length)


def bore_floor_mm(case: Parameters) -> float:
    """Height at which the standoffs' bores end over the bed, mm."""
    deepest = max(BORE_MM, pocket_mm(case) if case.standoff == "heat-set" else 0.0)
    return max(UNDER_BORE_MM, board_z_mm(case) - deepest)


def board_z_mm(case: Parameters) -> float:
    """Height of the board's underside over the bed, mm; raised for an insert or a snap post."""
    raised = case.standoff_height
    if raised is not None:
        return case.floor + max(raised, 0.4)
    standoff = max(case.below_board + MARGIN_MM, 0.4)
    if case.standoff == "heat-set":
        standoff = max(standoff, pocket_mm(case) + UNDER_BORE_MM - case.floor)
    if case.standoff == "snap-post":
        standoff = max(standoff, post_well_mm(case) + UNDER_BORE_MM - case.floor)
    return case.floor + standoff


def upper_mm(case: Parameters, underside: FitSize | None = None) -> float:
    """Height of the board's upper face over the bed, mm: as drawn, where its underside is given."""
    return drawn_mm(underside, board_z_mm(case)) + case.board_thickness


@dataclass(frozen=True, kw_only=True)
class PortSizes(SizeSet):
    """Size of a port, its floor over the bed, its place; the lid's tongue in an open one."""

    width: FitSize | None = None
    height: FitSize | None = None
    floor: FitSize | None = None
    diameter: FitSize | None = None
    along: FitSize | None = None
    tongue: FitSize | None = None


@dataclass(frozen=True, kw_only=True)
class Place(SizeSet):
    """From the datum to a middle along x and y; None where it lies in line with the datum."""

    x: FitSize | None = None
    y: FitSize | None = None


@dataclass(frozen=True, kw_only=True)
class Distance(SizeSet):
    """From hole 1 to another one along x and y; None where the two lie in one line."""

    x: FitSize | None = None
    y: FitSize | None = None


@dataclass(frozen=True, kw_only=True)
class CaseSizes(SizeSet):
    """Sizes of a case that must fit: board, plugs, screws, cable and lid."""

    pocket_length: FitSize
    pocket_width: FitSize
    underside: FitSize | None = None  # of the board, over the bed
    distances: tuple[Distance, ...] = ()  # of holes given one by one, from the second on
    standoff_spacing_x: FitSize | None = None
    standoff_spacing_y: FitSize | None = None
    screw_pilot: FitSize | None = None
    insert_hole: FitSize | None = None
    snap_post: FitSize | None = None
    ports: tuple[PortSizes, ...] = ()
    windows: tuple[Place, ...] = ()
    rim_inside_length: FitSize | None = None
    lid_lip_outside_length: FitSize | None = None
    rim_inside_width: FitSize
    lid_lip_outside_width: FitSize | None = None
    lid_outside_width: FitSize | None = None
    lid_screw_pilot: FitSize | None = None
    lid_insert_hole: FitSize | None = None
    lid_screw_hole: FitSize | None = None
    lug_hole: FitSize | None = None
    lug_spacing: FitSize | None = None  # from the ears of one wall to those of the other
    lug_spacing_along: FitSize | None = None  # between two ears of one wall
    cable_exit: FitSize | None = None
    cable_along: FitSize | None = None

    @property
    def pocket(self) -> tuple[float, float]:
        """Length and width between the walls as drawn, mm."""
        return self.pocket_length.drawn_mm, self.pocket_width.drawn_mm

    @property
    def spacing(self) -> tuple[float, float]:
        """Spacing of the standoffs along x and y as drawn, mm; 0 where there is none."""
        return drawn_mm(self.standoff_spacing_x, 0.0), drawn_mm(self.standoff_spacing_y, 0.0)

    @property
    def rims(self) -> tuple[FitSize | None, FitSize]:
        """Length and width inside the rim."""
        return self.rim_inside_length, self.rim_inside_width

    @property
    def lids(self) -> tuple[FitSize | None, FitSize | None]:
        """Length and width over what of the lid goes into the rim."""
        return self.lid_lip_outside_length, self.lid_lip_outside_width or self.lid_outside_width

    @property
    def lip(self) -> tuple[float, float]:
        """Length and width over the lid's lip as drawn, mm."""
        return drawn_mm(self.lid_lip_outside_length), drawn_mm(self.lid_lip_outside_width)


def case_sizes(case: Parameters) -> CaseSizes:
    """Sizes of the case that decide whether the board, its plugs, screws and lid fit."""
    loose = case.standoff != "edge rails" and not case.holes
    post = holding(case.hole_diameter, "hole_diameter", PEG, pair="peg and hole")
    screws, rim = case.lid_fixing == "screws", _rims(case)
    cable = case.cable
    cable_along = (
        _place(case, "cable along", cable.along, "y", "cable.along") if cable is not None else None
    )
    return CaseSizes(
        pocket_length=holding(
            case.board_length, "board_length", POCKET, "x", wall_mm=case.board_width
        ),
        pocket_width=holding(
            case.board_width, "board_width", POCKET, "y", wall_mm=case.board_length
        ),
        # Standoffs or ledges end on whole layers; openings are counted from the board.
        underside=FitSize(nominal_mm=board_z_mm(case), kind=HEIGHT, axis="z"),
        distances=_distances(case) if case.standoff != "edge rails" else (),
        standoff_spacing_x=_spacing(case.hole_spacing_x, "x") if loose else None,
        standoff_spacing_y=_spacing(case.hole_spacing_y, "y") if loose else None,
        screw_pilot=_pilot(pilot_mm(case)) if case.standoff == "screw" else None,
        insert_hole=_insert(insert_mm(case), None if case.insert is None else "insert")
        if case.standoff == "heat-set"
        else None,
        snap_post=post if case.standoff == "snap-post" else None,
        ports=tuple(
            _port(case, number, port, upper_mm(case) + port.above)
            for number, port in enumerate(case.ports, start=1)
        ),
        windows=tuple(
            Place(
                x=_place(case, f"window {number} x", window.x, "x", f"windows.{number - 1}.x"),
                y=_place(case, f"window {number} y", window.y, "y", f"windows.{number - 1}.y"),
            )
            for number, window in enumerate(case.windows, start=1)
        ),
        rim_inside_length=rim.length,
        lid_lip_outside_length=rim.lip_length,
        rim_inside_width=rim.width,
        lid_lip_outside_width=rim.lip_width,
        lid_outside_width=rim.lid_width,
        lid_screw_pilot=_pilot(hold_of_size(case.lid_screw).pilot_mm)
        if screws and case.lid_thread == "plastic"
        else None,
        lid_insert_hole=_insert(hold_of_size(case.lid_screw).insert_knurl_mm)
        if screws and case.lid_thread == "insert"
        else None,
        lid_screw_hole=_screw(case.lid_screw, "lid_screw") if screws else None,
        lug_hole=_screw(case.lug_screw, "lug_screw") if case.lugs else None,
        cable_exit=holding(
            cable.diameter,
            "cable.diameter",
            HOLE_LYING,
            "y",
            placed_by=(cable_along.name,) if cable_along else (),
        )
        if cable is not None
        else None,
        cable_along=cable_along,
    )


def _insert(nominal: float, of: str | None = None) -> FitSize:
    """Pocket that grips an insert."""
    return holding(nominal, of, HOLE, pair="heat-set insert", behaviour="press by tool")


def _spacing(nominal: float, axis: Axis) -> FitSize | None:
    """Between standoffs' middles, where a coat changes nothing; None for one row of holes."""
    if nominal <= 0:
        return None
    return FitSize(nominal_mm=nominal, kind=CENTRES, axis=axis, of=f"hole_spacing_{axis}")


def _pilot(nominal: float) -> FitSize:
    """Hole in which a screw forms its thread, which it cuts through any coat."""
    return FitSize(nominal_mm=nominal, kind=HOLE)


def _screw(nominal: float, of: str) -> FitSize:
    """Hole that a screw passes."""
    return holding(nominal, of, HOLE, pair="screw hole")


def _distances(case: Parameters) -> tuple[Distance, ...]:
    """Centre distances from hole 1, along x and y, unless the two lie in one line."""

    def along(number: int, axis: Literal["x", "y"]) -> FitSize | None:
        distance = abs(getattr(case.holes[number - 1], axis) - getattr(case.holes[0], axis))
        if distance < IN_LINE_MM:
            return None
        return FitSize(
            name=f"hole 1 to hole {number} {axis}",
            nominal_mm=distance,
            kind=CENTRES,
            axis=axis,
            of=f"holes.{number - 1}.{axis}",
        )

    numbers = range(2, len(case.holes) + 1)
    return tuple(Distance(x=along(number, "x"), y=along(number, "y")) for number in numbers)


def datum(case: Parameters, axis: Literal["x", "y"]) -> float:
    """Place of what the board is held by, from the board's middle: its holes', or its own, mm.

    Positions are drawn as distances from there, so that scale of the print moves them with what
    they must meet.
    """
    if case.standoff == "edge rails":
        return 0.0
    if case.holes:
        board = case.board_length if axis == "x" else case.board_width
        return float(sum(getattr(hole, axis) for hole in case.holes)) / len(case.holes) - board / 2
    return case.hole_offset_x if axis == "x" else case.hole_offset_y


def placed(case: Parameters, axis: Literal["x", "y"], at: float, size: FitSize | None) -> float:
    """Turn a place from the board's edge into the drawn one from the case's middle, mm."""
    board = case.board_length if axis == "x" else case.board_width
    start = datum(case, axis)
    off = at - board / 2 - start
    return start + math.copysign(drawn_mm(size, abs(off)), off)


def _place(
    case: Parameters, name: str, at: float, axis: Literal["x", "y"], of: str
) -> FitSize | None:
    """Distance of a middle from the datum, which a coat leaves as it is; None in line with it."""
    board, word = (
        (case.board_length, "board_length") if axis == "x" else (case.board_width, "board_width")
    )
    off = at - board / 2 - datum(case, axis)
    if abs(off) < IN_LINE_MM:
        return None
    sign = math.copysign(1.0, off)
    # What is read from the board's edge and used from its middle takes the edge's doubt along.
    shares: tuple[tuple[str, float], ...] = ((of, sign), (word, -sign / 2))
    if not case.holes and case.standoff != "edge rails":
        shares = (*shares, (f"hole_offset_{axis}", -sign))
    return FitSize(name=name, nominal_mm=abs(off), kind=CENTRES, axis=axis, of=of, rests_on=shares)


def _play_mm(case: Parameters) -> float:
    """How far a board on screws can be pushed aside, mm; rails and posts are taken as tight."""
    if case.standoff not in ("screw", "heat-set"):
        return 0.0
    return max(case.hole_diameter - board_screw_mm(case), 0.0) / 2


def _opens(case: Parameters, port: Port) -> bool:
    """Tell whether a port may be open up to the rim, so that the lid has a tongue for it."""
    if case.lid_fixing == "slide" or port.top == "closed":
        return False
    return port.top == "open" or port.depth > 0


def _port(case: Parameters, number: int, port: Port, middle_mm: float) -> PortSizes:
    axis: Literal["x", "y"] = "x" if port.wall in ("front", "back") else "y"
    along = _place(case, f"port {number} along", port.along, axis, f"ports.{number - 1}.along")
    grown = 2 * port.overmould

    def size(
        word: str,
        nominal: float,
        axis: Axis,
        *,
        of: str | None = None,
        kind: SizeKind = INSIDE,
        pair: str = "tab and slot",
    ) -> FitSize:
        return holding(
            nominal + grown,
            f"ports.{number - 1}.{of}" if of else None,
            kind,
            axis,
            name=f"port {number} {word}",
            pair=pair,
            floor=f"port {number} floor" if axis == "z" else "",
            placed_by=(along.name,) if along and word != "height" else (),
            play_mm=_play_mm(case),
        )

    def tongue(width: float) -> FitSize | None:
        if not _opens(case, port):
            return None
        # Made as wide as the plug: the port's own gap is then the tongue's, too.
        return FitSize(
            name=f"port {number} tongue",
            nominal_mm=width + grown,
            kind=OUTSIDE,
            axis=axis,
            coated_faces=2,
        )

    def floor(height: float) -> FitSize:
        """Over the bed; a coat and a gap are the height's."""
        low = middle_mm - (height + grown) / 2
        return FitSize(
            name=f"port {number} floor",
            nominal_mm=low,
            kind=HEIGHT,
            axis="z",
            stands_on="underside",
        )

    if port.shape == "outline":
        low_x, low_y, high_x, high_y = port_outline(number, port).box
        # Drawn by somebody, not read by calipers: no parameter carries its uncertainty.
        return PortSizes(
            width=size("width", high_x - low_x, axis),
            height=size("height", high_y - low_y, "z"),
            floor=floor(high_y - low_y),
            along=along,
            tongue=tongue(high_x - low_x),
        )
    if port.shape == "round":
        diameter = size(
            "diameter", port.width, axis, of="width", kind=HOLE_LYING, pair="peg and hole"
        )
        return PortSizes(diameter=diameter, along=along, tongue=tongue(port.width))
    return PortSizes(
        width=size("width", port.width, axis, of="width"),
        height=size("height", port.height, "z", of="height"),
        floor=floor(port.height),
        along=along,
        tongue=tongue(port.width),
    )


def port_outline(number: int, port: Port) -> Profile:
    """Outline of a port's plug as its file has it."""
    from fitkit.solids.outline import read_outline

    with told_at("board case", "ports", number - 1, "outline"):
        return read_outline(port.outline)


class _Rims(NamedTuple):
    """Sizes of rim and lid; a sliding lid has no lip, and no rim along its way."""

    length: FitSize | None
    width: FitSize
    lip_length: FitSize | None
    lip_width: FitSize | None
    lid_width: FitSize | None


def _rims(case: Parameters) -> _Rims:
    slide = case.lid_fixing == "slide"
    # A rim as thick as its wall still needs a step for the lid's lip.
    gap_mm = POCKET_GAP_MM if case.wide_rim_mm else case.pocket_gap_mm
    reach = 2 * (case.wall - rim_wall(case)) + gap_mm

    def rim(board: float, axis: Axis) -> FitSize:
        return FitSize(nominal_mm=board + reach, kind=POCKET, axis=axis, coated_faces=2)

    def lid(board: float, axis: Axis, mate: str) -> FitSize:
        behaviour = "slides" if slide else "snug by hand"
        return holding(
            board + reach, None, OUTSIDE, axis, pair="lid and rim", behaviour=behaviour, mate=mate
        )

    across = lid(case.board_width, "y", "rim inside width")
    return _Rims(
        length=None if slide else rim(case.board_length, "x"),
        width=rim(case.board_width, "y"),
        lip_length=None if slide else lid(case.board_length, "x", "rim inside length"),
        lip_width=None if slide else across,
        lid_width=across if slide else None,
    )


def rim_wall(case: Parameters) -> float:
    """Thickness of the wall beside the lid's lip, mm."""
    usual = 1.0 if case.lid_fixing == "slide" and case.wall >= 2.0 else max(0.8, case.wall / 2)
    return min(max(usual, case.wide_rim_mm), max(case.wall, usual))
