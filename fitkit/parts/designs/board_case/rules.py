"""What cannot be made is refused in words before the kernel is asked; what is doubtful is told."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import ear_mm, near_each_other, outside, standoffs
from fitkit.parts.designs.board_case.openings import Opening, half_length
from fitkit.parts.designs.board_case.practice import MARGIN_MM
from fitkit.parts.designs.board_case.sizes import pilot_mm
from fitkit.parts.fit_size import drawn_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.parameters import Parameters
    from fitkit.parts.designs.board_case.sizes import CaseSizes

__all__ = ["doubt", "doubts", "refuse", "refuse_openings", "refuse_under_ears"]


def refuse(case: Parameters, drawn: CaseSizes) -> None:
    """Raise what cannot be made of these values, naming the parameter."""
    pocket = drawn.pocket
    least = pilot_mm(case) / 2 + 0.8
    if case.holes:
        _refuse_holes(case, drawn, pocket, least)
    offsets = (case.hole_offset_x, case.hole_offset_y)
    for axis, room, offset, spacing in zip("xy", pocket, offsets, drawn.spacing, strict=True):
        far = abs(offset) + spacing / 2
        if case.standoff == "edge rails" or case.holes:
            continue
        if far > room / 2 - least:
            raise PartError(
                f"{spacing:g} mm puts a hole {room / 2 - far:.1f} mm from the pocket's wall, and "
                f"it needs {least:.1f} mm",
                at=(f"hole_spacing_{axis}",),
                where=case.title,
                code="part.hole-near-wall",
                remedy=f"Check it against the board and hole_offset_{axis}, or use edge rails.",
            )
        if 0 < spacing < 2 * least + 1:
            raise PartError(
                f"{spacing:g} mm brings two standoffs closer than {2 * least + 1:.1f} mm",
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
    case: Parameters, drawn: CaseSizes, pocket: tuple[float, float], least: float
) -> None:
    places = standoffs(case, drawn)
    for number, place in enumerate(places):
        for axis, middle, room in zip("xy", place, pocket, strict=True):
            left = room / 2 - abs(middle)
            if left < least:
                raise PartError(
                    f"it lies {left:.1f} mm from the pocket's wall, and a standoff needs "
                    f"{least:.1f} mm",
                    at=("holes", number, axis),
                    where=case.title,
                    code="part.hole-near-wall",
                    remedy="Check it against the board, or use edge rails.",
                )
        for other, second in enumerate(places[:number]):
            apart = math.dist(place, second)
            if apart < 2 * least + 1:
                raise PartError(
                    f"it lies {apart:.1f} mm from hole {other + 1}, and two standoffs need "
                    f"{2 * least + 1:.1f} mm",
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
            if low < 1.0 or high > board - 1.0:
                raise PartError(
                    f"it reaches from {low:.1f} to {high:.1f} mm, and the lid has room for 1.0 to "
                    f"{board - 1.0:.1f} mm",
                    at=("windows", number, axis),
                    where=case.title,
                    code="part.window-off-lid",
                    remedy="Move it, or make it smaller.",
                )
        for other in range(number):
            second = case.windows[other]
            if (
                abs(window.x - second.x) < (window.length + second.length) / 2 + 0.8
                and abs(window.y - second.y) < (window.width + second.width) / 2 + 0.8
            ):
                raise PartError(
                    f"it runs into window {other + 1}",
                    at=("windows", number),
                    where=case.title,
                    code="part.windows-meet",
                    remedy="Move them 0.8 mm apart, or make one of the two.",
                )


def refuse_openings(case: Parameters, drawn: CaseSizes, openings: Sequence[Opening]) -> None:
    """Raise if an opening leaves its wall or runs into another."""
    for index, opening in enumerate(openings):
        low_x, low_z, high_x, _ = opening.profile.box
        half = half_length(case, drawn, opening.wall)
        if low_z < case.floor + 0.2:
            raise PartError(
                f"its lower edge would lie at {low_z:.2f} mm, in the floor that ends at "
                f"{case.floor:.2f} mm",
                at=(*opening.path, "above"),
                where=case.title,
                code="part.port-in-floor",
                remedy=f"Raise standoff_height by {case.floor + 0.2 - low_z:.2f} mm or more.",
            )
        if low_x < -half + 0.2 or high_x > half - 0.2:
            raise PartError(
                f"it reaches {max(-low_x, high_x):.2f} mm from the wall's middle, and the wall's "
                f"inside ends at {half:.2f} mm",
                at=(*opening.path, "along"),
                where=case.title,
                code="part.port-past-wall",
                remedy="Move it, or check its width.",
            )
        for other in openings[:index]:
            if other.wall == opening.wall and near_each_other(
                opening.profile.box, other.profile.box, 0.8
            ):
                raise PartError(
                    f"it runs into {other.name}",
                    at=opening.path,
                    where=case.title,
                    code="part.openings-meet",
                    remedy="Leave 0.8 mm between them, or make one opening for both.",
                )


def refuse_under_ears(
    case: Parameters, openings: Sequence[Opening], places: Sequence[float]
) -> None:
    """Raise if an opening lies where a lid's ear needs the wall."""
    reach = ear_mm(case) / 2 + 0.8
    for opening in openings:
        low, _, high, _ = opening.profile.box
        if opening.wall in ("front", "back") and any(
            low < x + reach and high > x - reach for x in places
        ):
            raise PartError(
                "it lies behind an ear for the lid's screws",
                at=(*opening.path, "along"),
                where=case.title,
                code="part.opening-behind-ear",
                remedy="Move it, make lid_screw smaller, or fix the lid in another way.",
            )


def doubts(case: Parameters) -> list[Finding]:
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
    for number, port in enumerate(case.ports, start=1):
        gap = 0.3  # what a pocket usually leaves on a side
        if port.depth > gap:
            found.append(
                Finding(
                    check="build",
                    severity="stop",
                    text=f"The socket of port {number} stands {port.depth:.1f} mm beyond the "
                    f"board's edge, over a gap of about {gap:.1f} mm: the board cannot pass "
                    "straight down.",
                    value=port.depth,
                    limit=gap,
                    unit="mm",
                    body="tray",
                    remedy="Lower the board in tilted, socket first, or add "
                    f"{port.depth - gap:.1f} mm to the board's size on that side.",
                )
            )
        behind = case.wall - port.depth
        if port.overmould == 0 and port.shape != "outline" and behind > 3.0:
            found.append(
                Finding(
                    check="build",
                    severity="warn",
                    text=f"The socket of port {number} lies {behind:.1f} mm behind the wall's "
                    "face: a plug whose body is wider than its socket will not seat.",
                    value=behind,
                    untold=("limit",),
                    limit=3.0,
                    unit="mm",
                    body="tray",
                    remedy="Measure the plug's body: give it as width and height, or overmould.",
                )
            )
    return found


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
