"""What cannot be made is refused in words before the kernel is asked; what is doubtful is told."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import near_each_other, outside, standoffs
from fitkit.parts.designs.board_case.openings import Opening, half_length, side_gap
from fitkit.parts.designs.board_case.practice import (
    MARGIN_MM,
    NEAREST_WALL_MM,
    RECESS_OVER_BED_MM,
    RECESS_SKIN_MM,
    UNDER_BORE_MM,
)
from fitkit.parts.designs.board_case.sizes import board_hold, board_z_mm, pilot_mm, pocket_mm
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.screws import insert_depth_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.parameters import Parameters
    from fitkit.parts.designs.board_case.sizes import CaseSizes

__all__ = [
    "doubt",
    "doubts",
    "refuse",
    "refuse_openings",
    "thread_room",
    "tilt_in",
]


def refuse(case: Parameters, drawn: CaseSizes) -> None:
    """Raise what cannot be made of these values, naming the parameter."""
    pocket = drawn.pocket
    least = pilot_mm(case) / 2 + NEAREST_WALL_MM  # nearer to it, the standoff grows into the wall
    beside = pilot_mm(case) / 2 + 0.8
    if case.holes:
        _refuse_holes(case, drawn, pocket, least, beside)
    offsets = (case.hole_offset_x, case.hole_offset_y)
    for axis, room, offset, spacing in zip("xy", pocket, offsets, drawn.spacing, strict=True):
        far = abs(offset) + spacing / 2
        if case.standoff == "edge rails" or case.holes:
            continue
        if far > room / 2 - least:
            raise PartError(
                f"{spacing:g} mm puts a hole {room / 2 - far:.2f} mm from the pocket's wall, and "
                f"it needs {least:.2f} mm",
                at=(f"hole_spacing_{axis}",),
                where=case.title,
                code="part.hole-near-wall",
                remedy=f"Check it against the board and hole_offset_{axis}, or use edge rails.",
            )
        if 0 < spacing < 2 * beside + 1:
            raise PartError(
                f"{spacing:g} mm brings two standoffs closer than {2 * beside + 1:.1f} mm",
                at=(f"hole_spacing_{axis}",),
                where=case.title,
                code="part.standoffs-too-close",
                remedy="Give 0 for one row of holes, or use edge rails.",
            )
    for word, over, inner, rim_size, lid_size in zip(
        ("length", "width"), outside(case, drawn), pocket, drawn.rims, drawn.lids, strict=True
    ):
        if rim_size is None:
            continue
        rim = rim_size.drawn_mm
        lip = drawn_mm(lid_size, rim)
        if over - rim < 1.0 or rim - inner < 0.3 or not rim - 4 < lip < rim + 2:
            raise PartError(
                f"rim inside {word} {rim:.2f} mm, lid {lip:.2f} mm do not go between the pocket of "
                f"{inner:.2f} mm and the outside of {over:.2f} mm",
                at=("wall",),
                where=case.title,
                code="part.rim-and-lid",
                remedy="Make the wall thicker, or the gap of the pocket smaller.",
            )
    if case.lid_fixing == "snap" and case.wall < 2.0:
        raise PartError(
            f"{case.wall:g} mm is below 2 mm, which the snap arms' pockets need",
            at=("wall",),
            where=case.title,
            code="part.wall-for-arms",
            remedy="Make the wall 2 mm or more, or fix the lid in another way.",
        )
    if case.standoff == "snap-post" and case.hole_diameter < 2.5:
        raise PartError(
            f"{case.hole_diameter:g} mm is below 2.5 mm, under which a split post breaks",
            at=("hole_diameter",),
            where=case.title,
            code="part.split-post",
            remedy="Use screws or edge rails.",
        )
    _refuse_windows(case)


def _refuse_holes(
    case: Parameters,
    drawn: CaseSizes,
    pocket: tuple[float, float],
    least: float,
    beside: float,
) -> None:
    places = standoffs(case, drawn)
    for number, place in enumerate(places):
        for axis, middle, room in zip("xy", place, pocket, strict=True):
            left = room / 2 - abs(middle)
            if left < least:
                raise PartError(
                    f"it lies {left:.2f} mm from the pocket's wall, and a standoff needs "
                    f"{least:.2f} mm",
                    at=("holes", number, axis),
                    where=case.title,
                    code="part.hole-near-wall",
                    remedy="Check it against the board, or use edge rails.",
                )
        for other, second in enumerate(places[:number]):
            apart = math.dist(place, second)
            if apart < 2 * beside + 1:
                raise PartError(
                    f"it lies {apart:.1f} mm from hole {other + 1}, and two standoffs need "
                    f"{2 * beside + 1:.1f} mm",
                    at=("holes", number),
                    where=case.title,
                    code="part.standoffs-too-close",
                    remedy="Check both, or leave one out.",
                )


def _refuse_windows(case: Parameters) -> None:
    for number, window in enumerate(case.windows):
        for axis, middle, over, board in (
            ("x", window.x, window.length, case.board_length),
            ("y", window.y, window.width, case.board_width),
        ):
            low, high = middle - over / 2, middle + over / 2
            if case.lid_fixing == "slide" and (low < 1.0 or high > board - 1.0):
                raise PartError(
                    f"it reaches from {low:.1f} to {high:.1f} mm, and a lid that slides in a "
                    f"groove has room for 1.0 to {board - 1.0:.1f} mm",
                    at=(*case.path_of("windows", number), axis),
                    where=case.title,
                    code="part.window-off-lid",
                    remedy="Move it, make it smaller, or fix the lid in another way.",
                )
            if high < 1.0 or low > board - 1.0:
                raise PartError(
                    f"it reaches from {low:.1f} to {high:.1f} mm, and the board ends at "
                    f"{board:.1f} mm",
                    at=(*case.path_of("windows", number), axis),
                    where=case.title,
                    code="part.window-off-lid",
                    remedy="Move it over the board.",
                )
        for other in range(number):
            second = case.windows[other]
            if (
                abs(window.x - second.x) < (window.length + second.length) / 2 + 0.8
                and abs(window.y - second.y) < (window.width + second.width) / 2 + 0.8
            ):
                raise PartError(
                    f"it runs into window {other + 1}",
                    at=case.path_of("windows", number),
                    where=case.title,
                    code="part.windows-meet",
                    remedy="Move them 0.8 mm apart, or make one of the two.",
                )


def refuse_openings(case: Parameters, drawn: CaseSizes, openings: Sequence[Opening]) -> None:
    """Raise if an opening leaves its wall or runs into another."""
    for index, opening in enumerate(openings):
        low_x, low_z, high_x, _ = opening.box
        half = half_length(case, drawn, opening.wall)
        if opening.recess and low_z < RECESS_OVER_BED_MM:
            raise PartError(
                f"its recess would end {low_z:.2f} mm over the bed, and the wall needs "
                f"{RECESS_OVER_BED_MM:g} mm there",
                at=(*opening.path, "recess"),
                where=case.title,
                code="part.recess-in-floor",
                remedy="Raise standoff_height, or make the recess smaller.",
            )
        low_z = opening.profile.box[1]
        if low_z < case.floor + 0.2:
            raise PartError(
                f"its lower edge would lie at {low_z:.2f} mm, in the floor that ends at "
                f"{case.floor:.2f} mm",
                at=(*opening.path, "above"),
                where=case.title,
                code="part.port-in-floor",
                remedy=f"Raise standoff_height by {case.floor + 0.2 - low_z:.2f} mm or more.",
            )
        if opening.port and (low_x < -half + 0.2 or high_x > half - 0.2):
            raise PartError(
                f"it reaches {max(-low_x, high_x):.2f} mm from the wall's middle, and the wall's "
                f"inside ends at {half:.2f} mm",
                at=(*opening.path, "along"),
                where=case.title,
                code="part.port-past-wall",
                remedy="Move it, or check its width.",
            )
        for other in openings[:index]:
            if other.wall == opening.wall and near_each_other(opening.box, other.box, 0.8):
                raise PartError(
                    f"it runs into {other.name}",
                    at=opening.path,
                    where=case.title,
                    code="part.openings-meet",
                    remedy="Leave 0.8 mm between them, or make one opening for both.",
                )


def doubts(
    case: Parameters,
    drawn: CaseSizes,
    ports: Sequence[Opening],
    *,
    wall_top: float,
    board_z: float,
) -> list[Finding]:
    """Field cases: solder under a low standoff, plugs beyond the edge or behind the wall."""
    found = []
    for there, what, other in (
        (
            case.lid_fixing == "snap",
            "The lid's snap arms",
            "Fix a lid that is opened often by screws, or let it slide.",
        ),
        (
            case.standoff == "snap-post",
            "The snap posts",
            "For a board that is taken out often, or "
            "pulled at by its plugs, take screws, inserts or edge rails.",
        ),
    ):
        if there:
            found.append(
                Finding(
                    check="build",
                    severity="note",
                    text=f"{what} stand upright in the print, so that layers lie across them: they "
                    "bear less bending than arms that lie in the layers.",
                    basis="orientation in the print",
                    body="lid" if "lid" in what else "tray",
                    remedy=other,
                )
            )
    standoff = case.standoff_height
    if standoff is not None and standoff < case.below_board + 0.2:
        found.append(
            Finding(
                check="build",
                severity="stop",
                text=f"The standoff of {standoff:.1f} mm is lower than the parts below the board, "
                f"{case.below_board:.1f} mm.",
                value=standoff,
                limit=case.below_board + MARGIN_MM,
                unit="mm",
                body="tray",
                remedy=f"Raise standoff_height to {case.below_board + MARGIN_MM:.1f} mm or more.",
            )
        )
    found += thread_room(case)
    for number, port in enumerate(case.ports, start=1):
        opening = ports[number - 1]
        gap = side_gap(case, drawn, port.wall)
        if port.depth > gap and not opening.open_top:
            found.append(_beyond_edge(case, drawn, number, opening, wall_top - board_z))
        behind = (RECESS_SKIN_MM if port.recess else case.wall) - port.depth
        if port.overmould == 0 and port.shape != "outline" and behind > 3.0:
            found.append(
                Finding(
                    check="build",
                    severity="warn",
                    text=f"The socket of {case.port_name(number)} lies {behind:.1f} mm behind the "
                    "wall's face: a plug whose body is wider than its socket will not seat.",
                    value=behind,
                    untold=("limit",),
                    limit=3.0,
                    unit="mm",
                    body="tray",
                    remedy="Measure the plug's body: give it as width and height, as "
                    "overmould, or as recess.",
                )
            )
    return found


def thread_room(case: Parameters) -> list[Finding]:
    """Say where a standoff is too low for its insert, or for all of its screw's thread."""
    if not case.on_holes or case.standoff not in ("screw", "heat-set"):
        return []
    there, hold = board_z_mm(case) - UNDER_BORE_MM, board_hold(case)
    insert = case.standoff == "heat-set"
    needed = pocket_mm(case) if insert else hold.engage_mm
    if there > needed - 1e-6:
        return []
    name = f"M{hold.size_mm:g}"
    if insert:
        text = (
            f"The pockets for the inserts are {there:.1f} mm deep, and an insert of "
            f"{needed - insert_depth_mm(0.0):.1f} mm needs {needed:.1f} mm: it would stand out, or "
            "go through the floor."
        )
    else:
        text = (
            f"The screws of the board find {there:.1f} mm of plastic for their thread; {name} "
            f"holds with all its strength at {needed:.1f} mm."
        )
    height = needed + UNDER_BORE_MM - case.floor
    return [
        Finding(
            check="build",
            severity="stop" if insert else "note",
            text=text,
            value=there,
            limit=needed,
            unit="mm",
            basis="common practice, no source",
            body="tray",
            remedy=f"Give a standoff_height of {height:.1f} mm or more"
            + (", or shorter inserts." if insert else " if plugs pull at the board."),
        )
    ]


def tilt_in(
    case: Parameters, drawn: CaseSizes, number: int, opening: Opening, rise: float
) -> float | None:
    """Angle at which a board goes in with its socket first, degrees; None if it cannot.

    A plain rule in the plane across the wall: the socket's nose stands in the opening while the
    far edge lies on the opposite wall's top; the nose, turned by that angle, must pass the opening,
    and no socket may stand over the far edge.

    Parameters
    ----------
    case : Parameters
    drawn : CaseSizes
    number : int
        Of the port, from 1.
    opening : Opening
    rise : float, mm
        From the board's underside to the wall's top.
    """
    port = case.ports[number - 1]
    far = _OPPOSITE[port.wall]
    if case.standoff == "snap-post" or any(
        other.wall == far and other.depth > side_gap(case, drawn, far) for other in case.ports
    ):
        return None
    across = case.board_width if port.wall in ("front", "back") else case.board_length
    if rise >= across:
        return None
    angle = math.asin(rise / across)
    height = opening.closed[3] - opening.closed[1]
    tall = port.width if port.shape == "round" else port.height
    in_wall = port.depth - side_gap(case, drawn, port.wall)
    passes = height - tall * math.cos(angle) >= in_wall * math.sin(angle)
    return math.degrees(angle) if passes else None


_OPPOSITE = {"left": "right", "right": "left", "front": "back", "back": "front"}


def _beyond_edge(
    case: Parameters, drawn: CaseSizes, number: int, opening: Opening, rise: float
) -> Finding:
    """Say how a board goes in whose socket stands over its edge where the wall is closed above."""
    port = case.ports[number - 1]
    gap = side_gap(case, drawn, port.wall)
    angle = tilt_in(case, drawn, number, opening, rise)
    text = (
        f"The socket of {case.port_name(number)} stands {port.depth:.1f} mm beyond the board's "
        f"edge, over a gap of {gap:.2f} mm: the board cannot pass straight down"
    )
    if angle is None:
        text += ", and there is no room to tilt it in."
        remedy = (
            'Choose top = "open" for the port, with a lid that does not slide: the wall is then '
            "open up to the rim, and a tongue of the lid closes it."
        )
    else:
        text += f". Tilted by {angle:.0f}°, socket first, it goes in."
        remedy = (
            "See that no part stands nearer to this edge than "
            f"{math.tan(math.radians(angle)):.2f} "
            'times its height, or choose top = "open" for the port.'
        )
    return Finding(
        check="build",
        severity="stop" if angle is None else "warn",
        text=text,
        value=port.depth,
        limit=gap,
        unit="mm",
        basis="geometry of this part",
        body="tray",
        remedy=remedy,
    )


def doubt(text: str, *, value: float, limit: float, remedy: str) -> Finding:
    """Make a note of something doubtful."""
    return Finding(
        check="build",
        severity="note",
        text=text,
        value=value,
        limit=limit,
        unit="mm",
        basis="geometry of this part",
        remedy=remedy,
    )
