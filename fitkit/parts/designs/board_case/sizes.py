"""Which sizes of a board case must fit, and what each has nominally."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from fitkit.parts.contract import FitSize
from fitkit.parts.designs.board_case.practice import IN_LINE_MM
from fitkit.parts.forms import told_at

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.parameters import Parameters, Port
    from fitkit.solids.profiles import Profile

__all__ = ["fit_sizes", "hole_distance", "pilot_mm", "port_outline"]

PortKind = Literal["rectangle", "slot", "round", "outline"]


def pilot_mm(case: Parameters) -> float:
    """Hole in a standoff: 0.8 of the screw for thread-forming, the insert's outside for inserts."""
    if case.standoff == "heat-set":
        return case.insert
    return round(0.8 * (case.hole_diameter - 0.2), 2)


def fit_sizes(case: Parameters) -> tuple[FitSize, ...]:
    """Sizes of the case that decide whether the board, its plugs, screws and lid fit."""
    pocket = {"pair": "object in pocket", "behaviour": "slides"}
    sizes = [
        _size(
            "pocket length", case.board_length, "inside", "x", of="board_length", sense=1, **pocket
        ),
        _size("pocket width", case.board_width, "inside", "y", of="board_width", sense=1, **pocket),
    ]
    if case.standoff != "edge rails" and case.holes:
        sizes += _hole_distances(case)
    elif case.standoff != "edge rails":
        for axis in ("x", "y"):
            name = f"hole_spacing_{axis}"
            if getattr(case, name) > 0:
                sizes.append(
                    _size(f"standoff spacing {axis}", getattr(case, name), "centres", axis, of=name)
                )
    if case.standoff == "screw":
        sizes.append(_size("screw pilot", pilot_mm(case), "hole", "xy"))
    if case.standoff == "heat-set":
        pair = {"pair": "heat-set insert", "behaviour": "press by tool"}
        sizes.append(_size("insert hole", case.insert, "hole", "xy", of="insert", sense=1, **pair))
    if case.standoff == "snap-post":
        pair = {"pair": "peg and hole", "behaviour": "slides"}
        sizes.append(
            _size(
                "snap post", case.hole_diameter, "peg", "xy", of="hole_diameter", sense=-1, **pair
            )
        )
    for number, port in enumerate(case.ports, start=1):
        sizes += _port_sizes(number, port)
    sizes += _lid_sizes(case)
    screw = {"pair": "screw hole", "behaviour": "slides"}
    if case.lid_fixing == "screws":
        sizes.append(_size("lid screw pilot", 0.83 * case.lid_screw, "hole", "xy"))
        sizes.append(
            _size("lid screw hole", case.lid_screw, "hole", "xy", of="lid_screw", sense=1, **screw)
        )
    if case.lugs:
        sizes.append(
            _size("lug hole", case.lug_screw, "hole", "xy", of="lug_screw", sense=1, **screw)
        )
    if case.cable:
        sizes.append(
            _size(
                "cable exit",
                case.cable.diameter,
                "hole_lying",
                "y",
                of="cable.diameter",
                sense=1,
                **pocket,
            )
        )
    return tuple(sizes)


def hole_distance(number: int, axis: str) -> str:
    """Name of the size from hole 1 to another one, along an axis."""
    return f"hole 1 to hole {number} {axis}"


def _hole_distances(case: Parameters) -> list[FitSize]:
    """Centre distances from hole 1, along x and y, unless the two lie in one line."""
    first = case.holes[0]
    found = []
    for number, hole in enumerate(case.holes[1:], start=2):
        for axis in ("x", "y"):
            distance = abs(getattr(hole, axis) - getattr(first, axis))
            if distance >= IN_LINE_MM:
                name, path = hole_distance(number, axis), f"holes.{number - 1}.{axis}"
                found.append(_size(name, distance, "centres", axis, of=path))
    return found


def _port_sizes(number: int, port: Port) -> list[FitSize]:
    axis = "x" if port.wall in ("front", "back") else "y"
    path, grown = f"ports.{number - 1}", 2 * port.overmould
    if port.shape == "outline":
        low_x, low_y, high_x, high_y = port_outline(number, port).box
        over = {"width": high_x - low_x, "height": high_y - low_y}
        # Drawn by somebody, not read by calipers: no parameter carries its uncertainty.
        return [
            _size(
                f"port {number} {word}",
                over[word] + grown,
                "inside",
                along,
                sense=1,
                pair="tab and slot",
                behaviour="slides",
            )
            for word, along in (("width", axis), ("height", "z"))
        ]
    pair = {"pair": "tab and slot", "behaviour": "slides"}
    if port.shape == "round":
        pair = {"pair": "peg and hole", "behaviour": "slides"}
        name, size = f"port {number} diameter", port.width + grown
        return [_size(name, size, "hole_lying", axis, of=f"{path}.width", sense=1, **pair)]
    return [
        _size(
            f"port {number} width",
            port.width + grown,
            "inside",
            axis,
            of=f"{path}.width",
            sense=1,
            **pair,
        ),
        _size(
            f"port {number} height",
            port.height + grown,
            "inside",
            "z",
            of=f"{path}.height",
            sense=1,
            **pair,
        ),
    ]


def port_outline(number: int, port: Port) -> Profile:
    """Outline of a port's plug as its file has it."""
    from fitkit.solids.outline import read_outline

    with told_at("board case", "ports", number - 1, "outline"):
        return read_outline(port.outline)


def _lid_sizes(case: Parameters) -> list[FitSize]:
    slide = case.lid_fixing == "slide"
    pair = {"pair": "lid and rim", "behaviour": "slides" if slide else "snug by hand"}
    reach = 2 * (case.wall - _rim_wall(case)) + 0.4
    sizes = []
    for word, axis, board in (
        ("length", "x", case.board_length),
        ("width", "y", case.board_width),
    ):
        if slide and word == "length":
            continue
        rim = board + reach
        sizes.append(_size(f"rim inside {word}", rim, "inside", axis))
        name = f"lid outside {word}" if slide else f"lid lip outside {word}"
        sizes.append(_size(name, rim, "outside", axis, sense=-1, **pair))
    return sizes


def _rim_wall(case: Parameters) -> float:
    return 1.0 if case.lid_fixing == "slide" and case.wall >= 2.0 else max(0.8, case.wall / 2)


def _size(name: str, nominal: float, kind: str, axis: str, **rest: object) -> FitSize:
    # A coat covers both faces of a size; between middles it changes nothing, and a screw cuts its
    # thread through it.
    coated = 0 if kind == "centres" or name.endswith("pilot") else 2
    return FitSize(name=name, nominal_mm=nominal, kind=kind, axis=axis, coated_faces=coated, **rest)  # type: ignore[arg-type] # literals from the tables above
