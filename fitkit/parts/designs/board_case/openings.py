"""Where ports, cable and vents open the walls and the lid, as flat outlines."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.parts.designs.board_case.levels import ear_mm, ears, near_each_other
from fitkit.parts.designs.board_case.practice import (
    ARM_WIDTH_MM,
    CABLE_OVER_MM,
    EDGE_SKIN_MM,
    RIB_MM,
    SLOT_MM,
)
from fitkit.parts.designs.board_case.sizes import board_z_mm, placed, port_outline, upper_mm
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import told_at
from fitkit.solids.profiles import Loop, Profile, capsule, hexagon, rectangle, teardrop

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.parameters import Parameters, Port
    from fitkit.parts.designs.board_case.sizes import CaseSizes
    from fitkit.parts.fit_size import FitSize

__all__ = [
    "Opening",
    "bumped",
    "cable_opening",
    "centred",
    "half_length",
    "opened",
    "place_arms",
    "place_ears",
    "place_lid_vents",
    "place_wall_vents",
    "port_opening",
    "recess_of",
    "side_gap",
    "stands_open",
    "vent_places",
    "window_box",
    "window_over_edge",
    "windows_in_walls",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A hole through a wall: its outline, x along the wall as seen from outside, y up."""

    name: str
    wall: str
    profile: Profile
    port: bool = True
    open_top: bool = False  # up to the rim, closed by a tongue of the lid
    recess: float = 0.0  # round it, in the wall's outer part
    closed: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)  # box of the port by itself
    through: bool = False  # cut as a tool, since it crosses rim or ledge

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Box of all that it takes of the wall, with its recess."""
        low_x, low_z, high_x, high_z = self.profile.box
        r = self.recess
        return low_x - r, low_z - r, high_x + r, high_z + r

    path: tuple[str | int, ...] = ()  # of the parameter that asks for it


def half_length(case: Parameters, drawn: CaseSizes, wall: str) -> float:
    """Half of the pocket along a wall, mm."""
    length, width = drawn.pocket
    return (length if wall in ("front", "back") else width) / 2


def _from_outside(case: Parameters, wall: str, along: float, fit: FitSize | None = None) -> float:
    """Turn a place from the board's edge into the drawn one from the wall's middle, from outside.

    Without a size of its own a place stays where it is typed.
    """
    if fit is None:
        board = case.board_length if wall in ("front", "back") else case.board_width
        place = along - board / 2
    else:
        place = placed(case, "x" if wall in ("front", "back") else "y", along, fit)
    return place if wall in ("front", "right") else -place


def port_opening(number: int, port: Port, case: Parameters, drawn: CaseSizes) -> Opening:
    """Place a port's outline in its wall; its floor is at the height that was given, if one was.

    Records of prints made before floors were drawn on layers give none: the middle then stays.
    """
    sizes = drawn.ports[number - 1]
    middle = upper_mm(case, drawn.underside) + port.above
    if sizes.floor is not None and sizes.floor.given_mm is not None:
        middle = sizes.floor.drawn_mm + drawn_mm(sizes.height) / 2
    at = (_from_outside(case, port.wall, port.along, sizes.along), middle)
    match port.shape:
        case "round":
            profile = teardrop(drawn_mm(sizes.diameter), at=at)
        case shape:
            width, height = drawn_mm(sizes.width), drawn_mm(sizes.height)
            if shape == "outline":
                from fitkit.solids.outline import fitted

                with told_at(case.title, "ports", number - 1, "outline"):
                    flat = fitted(port_outline(number, port), width, height)
                profile = centred(flat, at)
            elif shape == "slot" and width >= height:
                profile = capsule(width, height, at=at)
            elif shape == "slot":
                profile = capsule(height, width, turn=90, at=at)
            else:
                profile = rectangle(width, height, at=at)
    crosses = case.standoff == "edge rails" and (
        profile.box[1] < drawn_mm(drawn.underside, board_z_mm(case)) + 0.3
    )
    return Opening(
        name=case.port_name(number),
        wall=port.wall,
        profile=profile,
        path=case.path_of("ports", number - 1),
        open_top=stands_open(case, drawn, port),
        recess=port.recess,
        closed=profile.box,
        through=crosses,
    )


def side_gap(case: Parameters, drawn: CaseSizes, wall: str) -> float:
    """Gap between the board's edge and a wall, as drawn, mm."""
    if wall in ("front", "back"):
        return (drawn.pocket[1] - case.board_width) / 2
    return (drawn.pocket[0] - case.board_length) / 2


def stands_open(case: Parameters, drawn: CaseSizes, port: Port) -> bool:
    """Tell whether a port is open up to the rim: on request, or where its socket needs that."""
    if case.lid_fixing == "slide" or port.top == "closed":
        return False
    return port.top == "open" or port.depth > side_gap(case, drawn, port.wall)


def opened(opening: Opening, top: float) -> Opening:
    """Carry an open port's sides up over the rim; a round lower end stays round."""
    if not opening.open_top:
        return opening
    left, low, right, _ = opening.closed
    round_ = any(bulge for _, _, bulge in opening.profile.outer.corners)
    r = min((right - left) / 2, (opening.closed[3] - low) / 2) if round_ else 0.0
    high = top + 1.0
    if r < 0.05:
        outline = rectangle(right - left, high - low, at=((left + right) / 2, (low + high) / 2))
    else:
        q = math.tan(math.pi / 8)
        corners = [(left, low + r, q), (left + r, low, 0.0), (right - r, low, q)]
        if right - left - 2 * r < 1e-6:
            corners = [(left, low + r, q), (left + r, low, q)]
        outline = Profile(
            Loop((*corners, (right, low + r, 0.0), (right, high, 0.0), (left, high, 0.0)))
        )
    return replace(opening, profile=outline, through=True)


def recess_of(opening: Opening) -> Profile:
    """Outline of the step round a port for the plug's grip."""
    left, low, right, high = opening.closed
    wide, tall = right - left + 2 * opening.recess, high - low + 2 * opening.recess
    return rectangle(wide, tall, at=((left + right) / 2, (low + high) / 2))


def window_box(
    case: Parameters, drawn: CaseSizes, number: int
) -> tuple[float, float, float, float]:
    """Box of a window as drawn, from the case's middle: left, front, right, back, mm."""
    window, place = case.windows[number], drawn.windows[number]
    at = (
        placed(case, "x", window.x, place.x),
        placed(case, "y", window.y, place.y),
    )
    return rectangle(window.length, window.width, at=at).box


def centred(profile: Profile, at: tuple[float, float]) -> Profile:
    """Move an outline so that its box's middle lies at a place, mm."""
    low = profile.box
    return profile.moved(at[0] - (low[0] + low[2]) / 2, at[1] - (low[1] + low[3]) / 2)


def cable_opening(case: Parameters, drawn: CaseSizes) -> Opening:
    """Place the cable's way out in its wall."""
    assert case.cable is not None
    size = drawn_mm(drawn.cable_exit)
    at = (
        _from_outside(case, case.cable.wall, case.cable.along, drawn.cable_along),
        case.floor + size / 2 + CABLE_OVER_MM,
    )
    return Opening(
        name="cable exit", wall=case.cable.wall, profile=teardrop(size, at=at), path=("cable",)
    )


def windows_in_walls(
    case: Parameters,
    drawn: CaseSizes,
    windows: Sequence[tuple[float, float, float, float]],
    upper: float,
    top: float,
) -> list[Opening]:
    """What windows at the lid's edges take of the walls, from above the board up over the rim."""
    found = []
    half_x, half_y = drawn.pocket[0] / 2, drawn.pocket[1] / 2
    for number, (left, front, right, back) in enumerate(windows, start=1):
        low = upper + case.windows[number - 1].above
        for wall, past, span in (
            ("front", -half_y - front, (left, right)),
            ("back", back - half_y, (-right, -left)),
            ("right", right - half_x, (front, back)),
            ("left", -half_x - left, (-back, -front)),
        ):
            if past > 0.05:
                outline = rectangle(
                    span[1] - span[0], top + 1.0 - low, at=(sum(span) / 2, (low + top + 1.0) / 2)
                )
                found.append(
                    Opening(
                        name=f"window {number}",
                        wall=wall,
                        profile=outline,
                        port=False,
                        path=case.path_of("windows", number - 1),
                        through=True,
                    )
                )
    return found


def window_over_edge(
    box: Sequence[float], outside: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Carry a window's box out over the case where it would leave a thin skin of wall there."""
    half_x, half_y = outside[0] / 2, outside[1] / 2
    left, front, right, back = box
    return (
        -half_x - 1.0 if left < EDGE_SKIN_MM - half_x else left,
        -half_y - 1.0 if front < EDGE_SKIN_MM - half_y else front,
        half_x + 1.0 if right > half_x - EDGE_SKIN_MM else right,
        half_y + 1.0 if back > half_y - EDGE_SKIN_MM else back,
    )


_EAR_STEP_MM = 0.5
_ARM_STEPS = 24  # to either side, at which a place for an arm is looked for


def _minus(places: Sequence[float]) -> tuple[float, ...]:
    return tuple(-place for place in places)


def place_arms(
    case: Parameters, drawn: CaseSizes, ports: Sequence[Opening], corner: float
) -> tuple[float, ...]:
    """Places for snap arms along x: two a wall or one, clear of all ports there."""
    if case.lid_fixing != "snap":
        return ()
    reach = ARM_WIDTH_MM / 2 + 1.5
    half = half_length(case, drawn, "front") - reach - corner  # the straight part of the wall
    # Along x, as seen from the front; what is in the back wall is seen from behind.
    taken = [
        (box[0], box[2]) if o.wall == "front" else (-box[2], -box[0])
        for o in ports
        for box in (o.box,)
        if o.wall in ("front", "back")
    ]

    def clear(x: float) -> bool:
        return not any(low < x + reach and high > x - reach for low, high in taken)

    for share in (0.5, 0.6, 0.4, 0.7, 0.8, 0.9, 1.0):
        x = half * share
        if x > reach + 1.0 and clear(x) and clear(-x):
            return (-x, x)
    if half > 0 and clear(0.0):
        return (0.0,)
    # Not alike on both sides: as far apart as ports let them, or one beside them.
    steps = [half * step / _ARM_STEPS for step in range(-_ARM_STEPS, _ARM_STEPS + 1)]
    free = [x for x in steps if half > 0 and clear(x)]
    if free and free[0] < -1.0 and free[-1] > 1.0 and free[-1] - free[0] > 2 * reach + 2.0:
        return (free[0], free[-1])
    if free and abs(min(free, key=abs)) < half / 2 + reach:
        return (min(free, key=abs),)
    raise PartError(
        "snap finds no place for its arms beside the ports in the front and back walls",
        where=case.title,
        at=("lid_fixing",),
        code="part.no-room-for-arms",
        remedy="Fix the lid by screws, or by friction of its rim.",
    )


def place_ears(
    case: Parameters, drawn: CaseSizes, openings: Sequence[Opening], corner: float
) -> tuple[float, ...]:
    """Places along x of the ears for the lid's screws: near the corners, or inward of openings.

    Raises
    ------
    PartError
        If an opening leaves no place for one.
    """
    if case.lid_fixing != "screws":
        return ()
    usual = ears(case, drawn, corner)
    wide = ear_mm(case)
    reach = wide / 2 + 0.8
    taken = [
        (o, *((o.box[0], o.box[2]) if o.wall == "front" else (-o.box[2], -o.box[0])))
        for o in openings
        if o.wall in ("front", "back")
    ]

    def behind(x: float) -> list[Opening]:
        return [o for o, low, high in taken if low < x + reach and high > x - reach]

    found = []
    for at in usual:
        tries = [at]
        if len(usual) > 1:  # those of both sides stay apart
            steps = int((abs(at) - wide / 2 - 0.5) / _EAR_STEP_MM)
            tries += [at - math.copysign(step * _EAR_STEP_MM, at) for step in range(1, steps + 1)]
        free = next((x for x in tries if not behind(x)), None)
        if free is None:
            raise PartError(
                "it lies behind an ear for the lid's screws",
                where=case.title,
                at=(*behind(at)[0].path, "along"),
                code="part.opening-behind-ear",
                remedy="Move it, make lid_screw smaller, or fix the lid in another way.",
            )
        found.append(free)
    return tuple(found)


def place_wall_vents(
    case: Parameters,
    drawn: CaseSizes,
    ports: Sequence[Opening],
    arms: Sequence[float],
    beside: Sequence[float],
    top: float,
) -> tuple[list[Opening], float]:
    """Vents low in the front and back walls, clear of ports, up to half of the area wanted."""
    wanted, free = case.vent_area / 2, 0.0
    low = case.floor + 1.0
    height = min(top - low, 12.0)
    half = half_length(case, drawn, "front") - 6.0
    half -= ear_mm(case) + 2.0 if case.lid_fixing == "screws" else 0.0
    if wanted <= 0 or height < 3.0 or half < 2 * SLOT_MM:
        return [], 0.0
    found: list[Opening] = []
    reach = ARM_WIDTH_MM / 2 + 2.0
    bent = [(x, reach) for x in (*arms, *_minus(arms))]
    bent += [(x, ear_mm(case) / 2 + 0.8) for x in (*beside, *_minus(beside))]
    places = vent_places(case.vent_style, half, low, height)
    # Whole columns at a time, on both sides of the middle and on both walls: an even field.
    for _, column in groupby(places, key=lambda place: round(abs(place[0]), 6)):
        if free >= wanted:
            break
        for x, z, profile in column:
            placed = profile.moved(x, z)
            box = placed.box
            if any(box[0] < at + far and box[2] > at - far for at, far in bent):
                continue
            for wall in ("front", "back"):
                if any(o.wall == wall and near_each_other(box, o.box, 1.2) for o in ports):
                    continue
                found.append(
                    Opening(name=f"vent {len(found) + 1}", wall=wall, profile=placed, port=False)
                )
                free += profile.area
    return found, free


def vent_places(
    style: str, half: float, low: float, height: float
) -> list[tuple[float, float, Profile]]:
    """Give vents over a strip from -half to half, from the middle outward.

    Parameters
    ----------
    style : {"slots", "hex", "louvres"}
    half : float, mm
        Of the strip's length.
    low, height : float, mm
        Where the strip begins, and how high it is.

    Returns
    -------
    list of (x, y, Profile)
        Place of each, and its outline about the origin.
    """
    if style == "hex":
        across = 4.0
        one = hexagon(across, turn=30)  # a corner up: its roof prints at 60°
        pitch, tier = across + RIB_MM, (across + RIB_MM) * math.sqrt(3) / 2
        tiers = max(1, int((height - across * 1.16) // tier) + 1)
        left = height - across * 1.16 - (tiers - 1) * tier
        z0 = low + across * 0.58 + max(left, 0.0) / 2
        places = [
            ((i + (k % 2) / 2) * pitch, z0 + k * tier)
            for k in range(tiers)
            for i in range(-int(half // pitch) - 1, int(half // pitch) + 2)
        ]
        kept = [(x, z) for x, z in places if abs(x) <= half - across / 2]
        return [(x, z, one) for x, z in sorted(kept, key=lambda p: abs(p[0]))]
    if style == "louvres":
        long = min(2 * half, 30.0)
        one = rectangle(long, SLOT_MM)
        count = int(height // (SLOT_MM + 2.4))
        return [(0.0, low + (i + 0.5) * (SLOT_MM + 2.4), one) for i in range(count)]
    pitch = SLOT_MM + RIB_MM
    one = rectangle(SLOT_MM, height)
    span = range(-int(half // pitch), int(half // pitch) + 1)
    return [(i * pitch, low + height / 2, one) for i in sorted(span, key=abs)]


def place_lid_vents(
    case: Parameters, drawn: CaseSizes, posts: Sequence[Sequence[float]]
) -> tuple[tuple[Profile, ...], float]:
    """Vents in the lid over the board's middle, clear of windows and posts, for half the area."""
    wanted = case.vent_area / 2
    if wanted <= 0:
        return (), 0.0
    half_x, half_y = (over / 2 - 6.0 for over in drawn.pocket)
    depth = min(2 * half_y - 9.0, 30.0)  # a strip at the front stays free for the label
    if half_x < 2 or depth < 4:
        return (), 0.0
    style = "hex" if case.vent_style == "hex" else "slots"
    taken = [window_box(case, drawn, number) for number in range(len(case.windows))]
    found: list[Profile] = []
    free = 0.0
    # Over the board's middle or what is warm, or as near to it as the strip at the front lets them.
    warm = case.warm_at
    x0 = y0 = 0.0
    if warm is not None:
        x0, y0 = warm.x - case.board_length / 2, warm.y - case.board_width / 2
    low = min(max(y0 - depth / 2, 9.0 - half_y), max(half_y - depth, 9.0 - half_y))
    x0 = min(max(x0, -half_x), half_x)
    places = [
        (x0 + x, y, profile)
        for x, y, profile in vent_places(style, half_x + abs(x0), low, depth)
        if abs(x0 + x) <= half_x
    ]
    for _, column in groupby(places, key=lambda place: round(abs(place[0]), 6)):
        if free >= wanted:
            break
        for x, y, profile in column:
            placed = profile.moved(x, y)
            if not any(near_each_other(placed.box, box, 1.2) for box in (*taken, *posts)):
                found.append(placed)
                free += profile.area
    return tuple(found), free


def bumped(
    length: float, width: float, radius: float, bumps: Sequence[tuple[float, float]], reach: float
) -> Loop:
    """Rounded rectangle whose front and back sides step out by `reach` at bumps (middle, width)."""
    plain = rectangle(length, width, radius=radius).outer
    if not bumps:
        return plain
    half = width / 2
    front = [
        corner
        for x, wide in sorted(bumps)
        for corner in (
            (x - wide / 2, -half, 0.0),
            (x - wide / 2, -half - reach, 0.0),
            (x + wide / 2, -half - reach, 0.0),
            (x + wide / 2, -half, 0.0),
        )
    ]
    back = [(x, -y, bulge) for x, y, bulge in reversed(front)]
    a, r = length / 2, min(radius, half)
    q = math.tan(math.pi / 8)
    if r < 1e-6:
        return Loop(
            ((-a, -half, 0.0), *front, (a, -half, 0.0), (a, half, 0.0), *back, (-a, half, 0.0))
        )
    return Loop(
        (
            (-a + r, -half, 0.0),
            *front,
            (a - r, -half, q),
            (a, -half + r, 0.0),
            (a, half - r, q),
            (a - r, half, 0.0),
            *back,
            (-a + r, half, q),
            (-a, half - r, 0.0),
            (-a, -half + r, q),
        )
    )
