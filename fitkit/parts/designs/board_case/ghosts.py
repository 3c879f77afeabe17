"""The measured objects in their places: the board or its file, and the plugs."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from fitkit.core.finding import Finding
from fitkit.parts.contract import Body
from fitkit.parts.designs.board_case.openings import centred
from fitkit.parts.designs.board_case.walls import from_wall
from fitkit.parts.forms import told_at
from fitkit.solids.bodies import Shape, box_of, extrude, moved
from fitkit.solids.outline import read_bodies, read_outline
from fitkit.solids.profiles import capsule, circle, rectangle

if TYPE_CHECKING:
    from fitkit.parts.contract import Point
    from fitkit.parts.designs.board_case.form import Form

__all__ = ["board_ghost", "plug_ghosts", "reference_ghosts"]

# The way in through each wall.
_INWARD: dict[str, tuple[float, float, float]] = {
    "left": (1.0, 0.0, 0.0),
    "right": (-1.0, 0.0, 0.0),
    "front": (0.0, 1.0, 0.0),
    "back": (0.0, -1.0, 0.0),
}


def board_ghost(form: Form) -> tuple[Body, ...]:
    """Board and tallest part as plain blocks."""
    case = form.case
    size = (case.board_length, case.board_width, case.board_thickness)
    return board_blocks(size, case.tallest_part, case.hole_diameter, form.holes, form.board_z)


@lru_cache(maxsize=8)
def board_blocks(
    size: Point, tallest: float, hole: float, places: tuple[tuple[float, float], ...], z: float
) -> tuple[Body, ...]:
    """Board and tallest part as plain blocks, for a case and for a holder.

    Kept, since most changes of a case leave the board where it is; its triangles stay too.

    Parameters
    ----------
    size : (length, width, thickness), mm
    tallest, hole : float, mm
        Height of the tallest part over the board, and diameter of its holes.
    places : tuple of (x, y), mm
        Of the holes.
    z : float, mm
        Of the board's underside.

    Returns
    -------
    tuple of Body
    """
    length, width, thickness = size
    holes = [
        circle(hole, at=(x, y))
        for x, y in places
        if abs(x) + hole / 2 < length / 2 - 0.1 and abs(y) + hole / 2 < width / 2 - 0.1
    ]
    board = rectangle(length, width).with_holes(*holes)
    found = [Body(name="board", solid=_solid(extrude(board, thickness, z=z)))]
    if tallest > 0:
        part = rectangle(0.25 * length, 0.25 * width)
        found.append(
            Body(name="tallest part", solid=_solid(extrude(part, tallest, z=z + thickness)))
        )
    return tuple(found)


def reference_ghosts(form: Form) -> tuple[tuple[Body, ...], tuple[Finding, ...]]:
    """Give the board from its STEP file, laid on the standoffs, and where the readings disagree."""
    case = form.case
    corner = case.ghost_origin == "corner"
    shift = (-case.board_length / 2, -case.board_width / 2) if corner else (0.0, 0.0)
    with told_at(case.title, "ghost_step"):
        read = read_bodies(case.ghost_step)
    solids = [moved(one, *shift, form.board_z) for one in read]
    bodies = tuple(
        Body(name="board" if number == 1 else f"board part {number}", solid=_solid(shape))
        for number, shape in enumerate(solids, start=1)
    )
    lows, highs = zip(*(box_of(shape) for shape in solids), strict=True)
    upper = form.board_z + case.board_thickness
    reaches = (
        ("tallest_part", max(high[2] for high in highs) - upper, case.tallest_part, "above it"),
        ("below_board", form.board_z - min(low[2] for low in lows), case.below_board, "below it"),
    )
    said = tuple(
        Finding(
            check="build",
            severity="warn",
            text=f"The board's file reaches {reach:.1f} mm {side}, and {name} says {given:.1f} mm.",
            value=reach,
            limit=given,
            unit="mm",
            basis="box of the STEP file",
            body="tray",
            remedy=f"Measure again, set {name} to {reach:.1f} mm, or check ghost_origin.",
        )
        for name, reach, given, side in reaches
        if reach > given + 0.1
    )
    return bodies, said


def plug_ghosts(form: Form) -> tuple[Body, ...]:
    """Give the plugs as measured, in their ports."""
    case, found = form.case, []
    upper = form.board_z + case.board_thickness
    for opening, port in zip(form.openings, case.ports, strict=False):
        box = opening.closed
        at = ((box[0] + box[2]) / 2, upper + port.above)
        if port.shape == "outline":
            flat = centred(read_outline(port.outline).filled(), at)
        elif port.shape == "round":
            flat = circle(port.width, at=at)
        elif port.shape == "slot":
            a, b = max(port.width, port.height), min(port.width, port.height)
            flat = capsule(a, b, turn=0 if port.width >= port.height else 90, at=at)
        else:
            flat = rectangle(port.width, port.height, at=at)
        edge = (case.board_width if port.wall in ("front", "back") else case.board_length) / 2
        plug = from_wall(extrude(flat, case.wall + 12.0, z=edge + port.depth), port.wall)
        if opening.open_top and port.depth > 0:  # it goes down with the board
            socket = from_wall(extrude(flat, port.depth + 4.0, z=edge - 4.0), port.wall)
            found.append(Body(name=_called(opening.name, "socket"), solid=_solid(socket)))
        found.append(
            Body(
                name=_called(opening.name, "plug"), solid=_solid(plug), insertion=_INWARD[port.wall]
            )
        )
    return tuple(found)


def _solid(shape: Shape) -> Any:
    from build123d import Solid

    from fitkit.solids.bodies import solids_in

    return Solid(solids_in(shape)[0])


def _called(port: str, what: str) -> str:
    """Name what goes with a port after it: ``plug 1`` of ``port 1``."""
    before, _, number = port.rpartition("port ")
    return f"{before}{what} {number}"
