"""Which sizes of a board case must fit, and what each has nominally."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from fitkit.core.sizes import CENTRES, HOLE, HOLE_LYING, INSIDE, OUTSIDE, PEG
from fitkit.parts.designs.board_case.practice import IN_LINE_MM
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm
from fitkit.parts.forms import told_at

if TYPE_CHECKING:
    from fitkit.core.sizes import Axis, SizeKind
    from fitkit.parts.designs.board_case.parameters import Parameters, Port
    from fitkit.solids.profiles import Profile

__all__ = ["CaseSizes", "Distance", "PortSizes", "case_sizes", "pilot_mm", "port_outline"]

PortKind = Literal["rectangle", "slot", "round", "outline"]


def pilot_mm(case: Parameters) -> float:
    """Hole in a standoff: 0.8 of the screw for thread-forming, the insert's outside for inserts."""
    if case.standoff == "heat-set":
        return case.insert
    return round(0.8 * (case.hole_diameter - 0.2), 2)


@dataclass(frozen=True, kw_only=True)
class PortSizes(SizeSet):
    """Width and height of a port, or its diameter."""

    width: FitSize | None = None
    height: FitSize | None = None
    diameter: FitSize | None = None


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
    distances: tuple[Distance, ...] = ()  # of holes given one by one, from the second on
    standoff_spacing_x: FitSize | None = None
    standoff_spacing_y: FitSize | None = None
    screw_pilot: FitSize | None = None
    insert_hole: FitSize | None = None
    snap_post: FitSize | None = None
    ports: tuple[PortSizes, ...] = ()
    rim_inside_length: FitSize | None = None
    lid_lip_outside_length: FitSize | None = None
    rim_inside_width: FitSize
    lid_lip_outside_width: FitSize | None = None
    lid_outside_width: FitSize | None = None
    lid_screw_pilot: FitSize | None = None
    lid_screw_hole: FitSize | None = None
    lug_hole: FitSize | None = None
    cable_exit: FitSize | None = None

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
    insert = FitSize(
        nominal_mm=case.insert,
        kind=HOLE,
        of="insert",
        sense=1,
        pair="heat-set insert",
        behaviour="press by tool",
        coated_faces=2,
    )
    post = FitSize(
        nominal_mm=case.hole_diameter,
        kind=PEG,
        of="hole_diameter",
        sense=-1,
        pair="peg and hole",
        behaviour="slides",
        coated_faces=2,
    )
    screws, rim = case.lid_fixing == "screws", _rims(case)
    return CaseSizes(
        pocket_length=_pocket(case.board_length, "x", "board_length"),
        pocket_width=_pocket(case.board_width, "y", "board_width"),
        distances=_distances(case) if case.standoff != "edge rails" else (),
        standoff_spacing_x=_spacing(case.hole_spacing_x, "x") if loose else None,
        standoff_spacing_y=_spacing(case.hole_spacing_y, "y") if loose else None,
        screw_pilot=_pilot(pilot_mm(case)) if case.standoff == "screw" else None,
        insert_hole=insert if case.standoff == "heat-set" else None,
        snap_post=post if case.standoff == "snap-post" else None,
        ports=tuple(_port(number, port) for number, port in enumerate(case.ports, start=1)),
        rim_inside_length=rim.length,
        lid_lip_outside_length=rim.lip_length,
        rim_inside_width=rim.width,
        lid_lip_outside_width=rim.lip_width,
        lid_outside_width=rim.lid_width,
        lid_screw_pilot=_pilot(0.83 * case.lid_screw) if screws else None,
        lid_screw_hole=_screw(case.lid_screw, "lid_screw") if screws else None,
        lug_hole=_screw(case.lug_screw, "lug_screw") if case.lugs else None,
        cable_exit=(
            _pocket(case.cable.diameter, "y", "cable.diameter", HOLE_LYING) if case.cable else None
        ),
    )


def _pocket(nominal: float, axis: Axis, of: str, kind: SizeKind = INSIDE) -> FitSize:
    """What lets the board or the cable in."""
    return FitSize(
        nominal_mm=nominal,
        kind=kind,
        axis=axis,
        of=of,
        sense=1,
        pair="object in pocket",
        behaviour="slides",
        coated_faces=2,
    )


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
    return FitSize(
        nominal_mm=nominal,
        kind=HOLE,
        of=of,
        sense=1,
        pair="screw hole",
        behaviour="slides",
        coated_faces=2,
    )


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


def _port(number: int, port: Port) -> PortSizes:
    axis: Axis = "x" if port.wall in ("front", "back") else "y"
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
        return FitSize(
            name=f"port {number} {word}",
            nominal_mm=nominal + grown,
            kind=kind,
            axis=axis,
            of=f"ports.{number - 1}.{of}" if of else None,
            sense=1,
            pair=pair,
            behaviour="slides",
            coated_faces=2,
        )

    if port.shape == "outline":
        low_x, low_y, high_x, high_y = port_outline(number, port).box
        # Drawn by somebody, not read by calipers: no parameter carries its uncertainty.
        return PortSizes(
            width=size("width", high_x - low_x, axis), height=size("height", high_y - low_y, "z")
        )
    if port.shape == "round":
        diameter = size(
            "diameter", port.width, axis, of="width", kind=HOLE_LYING, pair="peg and hole"
        )
        return PortSizes(diameter=diameter)
    return PortSizes(
        width=size("width", port.width, axis, of="width"),
        height=size("height", port.height, "z", of="height"),
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
    reach = 2 * (case.wall - _rim_wall(case)) + 0.4

    def rim(board: float, axis: Axis) -> FitSize:
        return FitSize(nominal_mm=board + reach, kind=INSIDE, axis=axis, coated_faces=2)

    def lid(board: float, axis: Axis, mate: str) -> FitSize:
        return FitSize(
            nominal_mm=board + reach,
            kind=OUTSIDE,
            axis=axis,
            sense=-1,
            pair="lid and rim",
            behaviour="slides" if slide else "snug by hand",
            coated_faces=2,
            mate=mate,
        )

    across = lid(case.board_width, "y", "rim inside width")
    return _Rims(
        length=None if slide else rim(case.board_length, "x"),
        width=rim(case.board_width, "y"),
        lip_length=None if slide else lid(case.board_length, "x", "rim inside length"),
        lip_width=None if slide else across,
        lid_width=across if slide else None,
    )


def _rim_wall(case: Parameters) -> float:
    return 1.0 if case.lid_fixing == "slide" and case.wall >= 2.0 else max(0.8, case.wall / 2)
