"""Where everything of a board case goes: levels, outlines and openings as numbers, no kernel.

The case stands on z = 0 with the board's middle over the origin. Sizes that must fit come from the
drawn sizes; all else follows from parameters. What cannot be made is refused here, in words, before
the kernel is asked; what is doubtful becomes a finding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fitkit.checks.finding import Finding
from fitkit.errors import PartError
from fitkit.parts.contract import FitSize
from fitkit.parts.profiles import Loop, Profile, capsule, hexagon, rectangle, teardrop

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.parts.board_case import BoardCase, Port

__all__ = ["Form", "Opening", "fit_sizes"]

# Common practice, no source, unless a line says otherwise.
MARGIN_MM = 1.0  # air under the deepest solder joint
LIP_MM = 3.0  # how far the lid's lip enters the rim
LIP_GAP_MM = 0.3  # under the lip, so that the plate seats first
ARM_MM = 10.0  # least length of the lid's snap arms
ARM_WIDTH_MM = 8.0
ARM_THICK_MM = 1.0  # at most: two lines and a half, however thick the lip
HOOK_MM = 0.6
# Strain at the root that the lid's arms are made long enough for: a third to a half of what printed
# plastics bear within their layers, since layers lie across these arms.
ARM_STRAIN = 0.004
EAR_OVER_MM = 5.0  # how much wider the ears for the lid's screws are than the screws
LEDGE_MM = 1.2  # width of the ledge under a board without holes
HOLD_GAP_MM = 0.2  # between the lid's hold-down posts and a board on a ledge
HOLD_POST_MM = 3.0  # side of those posts, more where they are tall
IN_LINE_MM = 1.0  # holes nearer than this along an axis lie in one line: no size to compensate
LEAST_CORNER_MM = 0.8
SLOT_MM = 1.6  # width of vent slots: bridged without support, too narrow for a finger
RIB_MM = 1.6  # left between vents

PortKind = Literal["rectangle", "slot", "round", "outline"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A hole through a wall: its outline, x along the wall as seen from outside, y up."""

    name: str
    wall: str
    profile: Profile
    port: bool = True


def pilot_mm(case: BoardCase) -> float:
    """Hole in a standoff: 0.8 of the screw for thread-forming, the insert's outside for inserts."""
    if case.standoff == "heat-set":
        return case.insert
    return round(0.8 * (case.hole_diameter - 0.2), 2)


def fit_sizes(case: BoardCase) -> tuple[FitSize, ...]:
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


def _hole_distances(case: BoardCase) -> list[FitSize]:
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
        low_x, low_y, high_x, high_y = _outline(number, port).box
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


def _outline(number: int, port: Port) -> Profile:
    """Outline of a port's plug as its file has it."""
    from fitkit.parts.outline import read_outline

    try:
        return read_outline(port.outline)
    except PartError as error:
        raise PartError(
            f"{error.where}: {error.what}",
            where=f"board case, ports.{number - 1}.outline",
            remedy=error.remedy,
        ) from error


def _lid_sizes(case: BoardCase) -> list[FitSize]:
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


def _rim_wall(case: BoardCase) -> float:
    return 1.0 if case.lid_fixing == "slide" and case.wall >= 2.0 else max(0.8, case.wall / 2)


def _size(name: str, nominal: float, kind: str, axis: str, **rest: object) -> FitSize:
    # A coat covers both faces of a size; between middles it changes nothing, and a screw cuts its
    # thread through it.
    coated = 0 if kind == "centres" or name.endswith("pilot") else 2
    return FitSize(name=name, nominal_mm=nominal, kind=kind, axis=axis, coated_faces=coated, **rest)  # type: ignore[arg-type] # literals from the tables above


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A case's numbers: levels in z, outlines, openings, and what had to be said."""

    case: BoardCase
    drawn: Mapping[str, float]
    board_z: float  # board's underside
    wall_top: float  # top of the tray's walls
    corner: float  # outer corner radius as made
    openings: tuple[Opening, ...]
    hold_posts: tuple[
        tuple[float, float], ...
    ]  # middles of the lid's posts over a board on a ledge
    lid_vents: tuple[Profile, ...]
    vent_mm2: tuple[float, float]  # low, high
    arms: tuple[float, ...]  # places along x of the snap arms, on the front and back walls
    arm_mm: float  # their length
    findings: tuple[Finding, ...]

    @classmethod
    def of(cls, case: BoardCase, drawn: Mapping[str, float]) -> Form:
        """Work a case out.

        Raises
        ------
        PartError
            If something does not go: names the parameter, its value, the bound, what to change.
        """
        _refuse(case, drawn)
        findings = list(_doubts(case))
        raise_ = case.standoff_height
        standoff = case.below_board + MARGIN_MM if raise_ is None else raise_
        board_z = case.floor + max(standoff, 0.4)
        upper = board_z + case.board_thickness
        top = upper + case.tallest_part + case.headroom
        arm_mm = arm_length(case, drawn) if case.lid_fixing == "snap" else 0.0
        reach = max(arm_mm, LIP_MM)
        ledge = board_z if case.standoff == "edge rails" else case.floor + 1.5
        blocked = {"slide": 0.0}.get(case.lid_fixing, LIP_MM)
        ports = [_opening(i, p, case, drawn, upper) for i, p in enumerate(case.ports, start=1)]
        if case.cable:
            ports.append(_cable_opening(case, drawn))
        highest = max((o.profile.box[3] for o in ports), default=0.0)
        top = max(top, highest + blocked + 0.8, case.floor + reach + 2.0, ledge + arm_mm + 0.5)
        _refuse_openings(case, drawn, ports)
        thinnest = 1.7 * case.wall
        corner = min(case.corner_radius, thinnest)
        # Below this the chamfer at the bed would eat the rounding up; no nozzle draws it anyway.
        corner = corner if corner >= LEAST_CORNER_MM else 0.0
        if 0 < corner < case.corner_radius - 1e-9:
            findings.append(
                _note(
                    f"Corners are rounded to {corner:.1f} mm, not {case.corner_radius:.1f} mm, "
                    "so that the wall keeps its thickness round the board's corners.",
                    value=case.corner_radius,
                    limit=thinnest,
                    remedy="Make the walls thicker for rounder corners.",
                )
            )
        if case.lid_fixing == "screws":
            _refuse_under_ears(case, ports, ears(case, drawn, corner))
        arms = _arms(case, drawn, ports, corner)
        posts, said = _hold_posts(case, drawn, corner, top - upper - HOLD_GAP_MM)
        findings += said
        vents, low = _wall_vents(case, drawn, ports, arms, top - blocked - 0.8)
        side = hold_post_mm(top - upper - HOLD_GAP_MM)
        lid_vents, high = _lid_vents(
            case, drawn, [rectangle(side, side, at=at).box for at in posts]
        )
        if case.vent_area and low + high < 0.95 * case.vent_area:
            findings.append(
                Finding(
                    check="build",
                    severity="warn",
                    text=f"Vents of {low + high:.0f} mm² find room, of {case.vent_area:.0f}.",
                    value=low + high,
                    limit=case.vent_area,
                    unit="mm²",
                    basis="geometry of this part",
                    remedy="Ask for less, or make the case larger.",
                )
            )
        return cls(
            case=case,
            drawn=dict(drawn),
            board_z=board_z,
            wall_top=top,
            corner=corner,
            openings=(*ports, *vents),
            hold_posts=posts,
            lid_vents=lid_vents,
            vent_mm2=(low, high),
            arms=arms,
            arm_mm=arm_mm,
            findings=tuple(findings),
        )

    @property
    def pocket(self) -> tuple[float, float]:
        """Length and width between the walls, mm."""
        return self.drawn["pocket length"], self.drawn["pocket width"]

    @property
    def outside(self) -> tuple[float, float]:
        """Length and width over the walls, without ears and lugs, mm."""
        return outside(self.case, self.drawn)

    @property
    def holes(self) -> tuple[tuple[float, float], ...]:
        """Standoffs' middles, mm; none on rails."""
        return standoffs(self.case, self.drawn)

    @property
    def rim(self) -> tuple[float, float]:
        """Length and width inside the rim, mm."""
        length = self.drawn.get("rim inside length", self.pocket[0])
        return length, self.drawn["rim inside width"]

    @property
    def ears(self) -> tuple[float, ...]:
        """Places along x of the ears for lid screws, on the front and back walls."""
        if self.case.lid_fixing != "screws":
            return ()
        return ears(self.case, self.drawn, self.corner)


def ear_mm(case: BoardCase) -> float:
    """Width of the ears that take the lid's screws, mm."""
    return case.lid_screw + EAR_OVER_MM


def ears(case: BoardCase, drawn: Mapping[str, float], corner: float) -> tuple[float, ...]:
    """Places along x of the ears for the lid's screws: near the corners, or in the middle."""
    wide = ear_mm(case)
    reach = outside(case, drawn)[0] / 2 - corner - wide / 2 - 0.2
    return (-reach, reach) if reach > wide / 2 + 0.5 else (0.0,)


def hold_post_mm(height: float) -> float:
    """Side of a hold-down post, mm: a sixth of its height, so that it neither sways nor snaps."""
    return min(max(HOLD_POST_MM, height / 6), 5.0)


def lip_thickness(case: BoardCase, drawn: Mapping[str, float]) -> float:
    """Thickness of the lid's lip, mm: flush with the pocket, 0.8 mm at least."""
    flush = min(
        (drawn[f"lid lip outside {word}"] - drawn[f"pocket {word}"]) / 2 - 0.05
        for word in ("length", "width")
    )
    return max(0.8, flush)


def arm_thickness(case: BoardCase, drawn: Mapping[str, float]) -> float:
    """Thickness of the lid's snap arms, mm: the lip's, less a hair, but never stiff."""
    return min(lip_thickness(case, drawn) - 0.1, ARM_THICK_MM)


def arm_deflection(drawn: Mapping[str, float]) -> float:
    """How far a snap arm of the lid bends as its hook passes the rim, mm."""
    play = (drawn["rim inside width"] - drawn["lid lip outside width"]) / 2
    return max(HOOK_MM - 0.2 - play, 0.1)


def arm_length(case: BoardCase, drawn: Mapping[str, float]) -> float:
    """Length at which the lid's snap arms bear their bending across the layers, mm.

    L = sqrt(1.5 h y / strain), the straight cantilever.
    """
    bend = 1.5 * arm_thickness(case, drawn) * arm_deflection(drawn)
    return max(ARM_MM, math.sqrt(bend / ARM_STRAIN))


def lip_inside(
    case: BoardCase, drawn: Mapping[str, float], corner: float
) -> tuple[float, float, float]:
    """Length, width and corner radius inside the lid's lip, mm."""
    thick = lip_thickness(case, drawn)
    length, width = (drawn[f"lid lip outside {word}"] for word in ("length", "width"))
    rim_wall = (outside(case, drawn)[0] - drawn["rim inside length"]) / 2
    radius = max(max(corner - rim_wall, 0.0) - thick, 0.0)
    return length - 2 * thick, width - 2 * thick, radius


def _hold_posts(
    case: BoardCase, drawn: Mapping[str, float], corner: float, height: float
) -> tuple[tuple[tuple[float, float], ...], list[Finding]]:
    """Places of the posts under the lid that hold a board on a ledge down, one in each corner.

    A corner that a window takes goes without; two across from each other, or three, still hold.
    """
    if case.standoff != "edge rails" or height < 0.3:  # so low, the plate itself holds the board
        return (), []
    if case.lid_fixing == "slide":
        return (), [
            _loose("a sliding lid has no posts to hold it down, since they could not pass the wall")
        ]
    length, width, radius = lip_inside(case, drawn, corner)
    side = hold_post_mm(height)
    # Clear of the lip, and of its rounded corner by 0.3 mm.
    inset = max(0.5, radius - max(radius - 0.3, 0.0) / math.sqrt(2)) + side / 2
    windows = [
        rectangle(
            w.length, w.width, at=(w.x - case.board_length / 2, w.y - case.board_width / 2)
        ).box
        for w in case.windows
    ]
    corners = [
        (sx * (length / 2 - inset), sy * (width / 2 - inset)) for sx in (-1, 1) for sy in (-1, 1)
    ]
    kept = [
        at
        for at in corners
        if not any(_near(rectangle(side, side, at=at).box, box, 0.8) for box in windows)
    ]
    if min(length, width) < 2 * (inset + side / 2) + 1.0:
        return (), [_loose("there is no room for the lid's posts")]
    across = {(x > 0) == (y > 0) for x, y in kept}
    holds = len(kept) >= 3 or (len(kept) == 2 and len(across) == 1)
    return tuple(kept), [] if holds else [_loose("windows take the places of the lid's posts")]


def _loose(why: str) -> Finding:
    return Finding(
        check="build",
        severity="warn",
        text=f"The board lies loose on its ledge: {why}.",
        basis="geometry of this part",
        body="lid",
        remedy="Hold it by screws, inserts or snap posts, or choose another lid or other windows.",
    )


def outside(case: BoardCase, drawn: Mapping[str, float]) -> tuple[float, float]:
    """Length and width over the walls, mm."""
    return drawn["pocket length"] + 2 * case.wall, drawn["pocket width"] + 2 * case.wall


def standoffs(case: BoardCase, drawn: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """Middles of the standoffs; two or one where a spacing is nil, mm."""
    if case.standoff == "edge rails":
        return ()
    if case.holes:
        return _free_standoffs(case, drawn)
    xs, ys = (
        sorted(
            {
                -drawn.get(f"standoff spacing {a}", 0.0) / 2,
                drawn.get(f"standoff spacing {a}", 0.0) / 2,
            }
        )
        for a in "xy"
    )
    return tuple((x + case.hole_offset_x, y + case.hole_offset_y) for x in xs for y in ys)


def _free_standoffs(case: BoardCase, drawn: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """Middles of holes given one by one: drawn distances about the middle of the given places."""
    columns = []
    for axis, board in (("x", case.board_length), ("y", case.board_width)):
        given = [getattr(hole, axis) - board / 2 for hole in case.holes]
        made = [
            given[0]
            + math.copysign(
                drawn.get(hole_distance(number, axis), abs(place - given[0])), place - given[0]
            )
            for number, place in enumerate(given, start=1)
        ]
        shift = (sum(given) - sum(made)) / len(given)
        columns.append([place + shift for place in made])
    return tuple(zip(*columns, strict=True))


# --- refusing and doubting ---------------------------------------------------------------------


def _refuse(case: BoardCase, drawn: Mapping[str, float]) -> None:
    pocket = (drawn["pocket length"], drawn["pocket width"])
    least = pilot_mm(case) / 2 + 0.8
    if case.holes:
        _refuse_holes(case, drawn, pocket, least)
    for axis, room, offset in zip(
        "xy", pocket, (case.hole_offset_x, case.hole_offset_y), strict=True
    ):
        spacing = drawn.get(f"standoff spacing {axis}", 0.0)
        far = abs(offset) + spacing / 2
        if case.standoff == "edge rails" or case.holes:
            continue
        if far > room / 2 - least:
            raise PartError(
                f"{spacing:g} mm puts a hole {room / 2 - far:.1f} mm from the pocket's wall, and "
                f"it needs {least:.1f} mm",
                where=f"{case.title}, hole_spacing_{axis}",
                remedy=f"Check it against the board and hole_offset_{axis}, or use edge rails.",
            )
        if 0 < spacing < 2 * least + 1:
            raise PartError(
                f"{spacing:g} mm brings two standoffs closer than {2 * least + 1:.1f} mm",
                where=f"{case.title}, hole_spacing_{axis}",
                remedy="Give 0 for one row of holes, or use edge rails.",
            )
    for word, over in zip(("length", "width"), outside(case, drawn), strict=True):
        rim, inner = drawn.get(f"rim inside {word}"), drawn[f"pocket {word}"]
        if rim is None:
            continue
        lip = drawn.get(f"lid lip outside {word}", drawn.get(f"lid outside {word}", rim))
        if over - rim < 1.0 or rim - inner < 0.3 or not rim - 4 < lip < rim + 2:
            raise PartError(
                f"rim inside {word} {rim:.2f} mm, lid {lip:.2f} mm do not go between the pocket of "
                f"{inner:.2f} mm and the outside of {over:.2f} mm",
                where=f"{case.title}, wall {case.wall:g} mm",
                remedy="Make the wall thicker, or the gap of the pocket smaller.",
            )
    if case.lid_fixing == "snap" and case.wall < 2.0:
        raise PartError(
            f"{case.wall:g} mm is below 2 mm, which the snap arms' pockets need",
            where=f"{case.title}, wall",
            remedy="Make the wall 2 mm or more, or fix the lid in another way.",
        )
    if case.standoff == "snap-post" and case.hole_diameter < 2.5:
        raise PartError(
            f"{case.hole_diameter:g} mm is below 2.5 mm, under which a split post breaks",
            where=f"{case.title}, hole_diameter",
            remedy="Use screws or edge rails.",
        )
    _refuse_windows(case)


def _refuse_holes(
    case: BoardCase, drawn: Mapping[str, float], pocket: tuple[float, float], least: float
) -> None:
    places = standoffs(case, drawn)
    for number, place in enumerate(places):
        for axis, middle, room in zip("xy", place, pocket, strict=True):
            left = room / 2 - abs(middle)
            if left < least:
                raise PartError(
                    f"it lies {left:.1f} mm from the pocket's wall, and a standoff needs "
                    f"{least:.1f} mm",
                    where=f"{case.title}, holes.{number}.{axis}",
                    remedy="Check it against the board, or use edge rails.",
                )
        for other, second in enumerate(places[:number]):
            apart = math.dist(place, second)
            if apart < 2 * least + 1:
                raise PartError(
                    f"it lies {apart:.1f} mm from hole {other + 1}, and two standoffs need "
                    f"{2 * least + 1:.1f} mm",
                    where=f"{case.title}, holes.{number}",
                    remedy="Check both, or leave one out.",
                )


def _refuse_windows(case: BoardCase) -> None:
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
                    where=f"{case.title}, windows.{number}.{axis}",
                    remedy="Move it, or make it smaller.",
                )
        for other in range(number):
            second = case.windows[other]
            if (
                abs(window.x - second.x) < (window.length + second.length) / 2 + 0.8
                and abs(window.y - second.y) < (window.width + second.width) / 2 + 0.8
            ):
                raise PartError(
                    f"it runs into window {other}",
                    where=f"{case.title}, windows.{number}",
                    remedy="Move them 0.8 mm apart, or make one of the two.",
                )


def _refuse_openings(
    case: BoardCase, drawn: Mapping[str, float], openings: Sequence[Opening]
) -> None:
    for index, opening in enumerate(openings):
        low_x, low_z, high_x, _ = opening.profile.box
        half = _half_length(case, drawn, opening.wall)
        if low_z < case.floor + 0.2:
            raise PartError(
                f"its lower edge would lie at {low_z:.2f} mm, in the floor that ends at "
                f"{case.floor:.2f} mm",
                where=f"{case.title}, {opening.name}, above",
                remedy=f"Raise standoff_height by {case.floor + 0.2 - low_z:.2f} mm or more.",
            )
        if low_x < -half + 0.2 or high_x > half - 0.2:
            raise PartError(
                f"it reaches {max(-low_x, high_x):.2f} mm from the wall's middle, and the wall's "
                f"inside ends at {half:.2f} mm",
                where=f"{case.title}, {opening.name}, along",
                remedy="Move it, or check its width.",
            )
        for other in openings[:index]:
            if other.wall == opening.wall and _near(opening.profile.box, other.profile.box, 0.8):
                raise PartError(
                    f"it runs into {other.name}",
                    where=f"{case.title}, {opening.name}",
                    remedy="Leave 0.8 mm between them, or make one opening for both.",
                )


def _refuse_under_ears(
    case: BoardCase, openings: Sequence[Opening], places: Sequence[float]
) -> None:
    reach = ear_mm(case) / 2 + 0.8
    for opening in openings:
        low, _, high, _ = opening.profile.box
        if opening.wall in ("front", "back") and any(
            low < x + reach and high > x - reach for x in places
        ):
            raise PartError(
                "it lies behind an ear for the lid's screws",
                where=f"{case.title}, {opening.name}, along",
                remedy="Move it, make lid_screw smaller, or fix the lid in another way.",
            )


def _near(a: Sequence[float], b: Sequence[float], gap: float) -> bool:
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap


def _doubts(case: BoardCase) -> list[Finding]:
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
                    limit=3.0,
                    unit="mm",
                    body="tray",
                    remedy="Measure the plug's body: give it as width and height, or overmould.",
                )
            )
    return found


def _note(text: str, *, value: float, limit: float, remedy: str) -> Finding:
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


# --- openings ----------------------------------------------------------------------------------


def _half_length(case: BoardCase, drawn: Mapping[str, float], wall: str) -> float:
    return drawn["pocket length" if wall in ("front", "back") else "pocket width"] / 2


def _from_outside(case: BoardCase, wall: str, along: float) -> float:
    """Turn a place from the board's edge into one from the wall's middle, seen from outside."""
    board = case.board_length if wall in ("front", "back") else case.board_width
    place = along - board / 2
    return place if wall in ("front", "right") else -place


def _opening(
    number: int, port: Port, case: BoardCase, drawn: Mapping[str, float], upper: float
) -> Opening:
    at = (_from_outside(case, port.wall, port.along), upper + port.above)
    match port.shape:
        case "round":
            profile = teardrop(drawn[f"port {number} diameter"], at=at)
        case shape:
            width, height = (drawn[f"port {number} {word}"] for word in ("width", "height"))
            if shape == "outline":
                from fitkit.parts.outline import fitted

                profile = centred(fitted(_outline(number, port), width, height), at)
            elif shape == "slot" and width >= height:
                profile = capsule(width, height, at=at)
            elif shape == "slot":
                profile = capsule(height, width, turn=90, at=at)
            else:
                profile = rectangle(width, height, at=at)
    return Opening(name=f"port {number}", wall=port.wall, profile=profile)


def centred(profile: Profile, at: tuple[float, float]) -> Profile:
    """Move an outline so that its box's middle lies at a place, mm."""
    low = profile.box
    return profile.moved(at[0] - (low[0] + low[2]) / 2, at[1] - (low[1] + low[3]) / 2)


def _cable_opening(case: BoardCase, drawn: Mapping[str, float]) -> Opening:
    assert case.cable is not None
    size = drawn["cable exit"]
    at = (
        _from_outside(case, case.cable.wall, case.cable.along),
        case.floor + size / 2 + 0.6,
    )
    return Opening(name="cable exit", wall=case.cable.wall, profile=teardrop(size, at=at))


def _minus(places: Sequence[float]) -> tuple[float, ...]:
    return tuple(-place for place in places)


def _arms(
    case: BoardCase, drawn: Mapping[str, float], ports: Sequence[Opening], corner: float
) -> tuple[float, ...]:
    """Places for snap arms: two a wall or one, symmetric, clear of all ports in those walls."""
    if case.lid_fixing != "snap":
        return ()
    reach = ARM_WIDTH_MM / 2 + 1.5
    half = _half_length(case, drawn, "front") - reach - corner  # the straight part of the wall
    taken = [o.profile.box for o in ports if o.wall in ("front", "back")]

    def clear(x: float) -> bool:
        return not any(
            box[0] < place + reach and box[2] > place - reach for box in taken for place in (-x, x)
        )

    pairs = [half * share for share in (0.5, 0.6, 0.4, 0.7, 0.8, 0.9, 1.0)]
    for x in pairs:
        if x > reach + 1.0 and clear(x):
            return (-x, x)
    if half > 0 and clear(0.0):
        return (0.0,)
    raise PartError(
        "snap finds no place for its arms beside the ports in the front and back walls",
        where=f"{case.title}, lid_fixing",
        remedy="Fix the lid in another way, or move ports to the left and right walls.",
    )


def _wall_vents(
    case: BoardCase,
    drawn: Mapping[str, float],
    ports: Sequence[Opening],
    arms: Sequence[float],
    top: float,
) -> tuple[list[Opening], float]:
    """Vents low in the front and back walls, clear of ports, up to half of the area wanted."""
    wanted, free = case.vent_area / 2, 0.0
    low = case.floor + 1.0
    height = min(top - low, 12.0)
    half = _half_length(case, drawn, "front") - 6.0
    half -= ear_mm(case) + 2.0 if case.lid_fixing == "screws" else 0.0
    if wanted <= 0 or height < 3.0 or half < 2 * SLOT_MM:
        return [], 0.0
    found: list[Opening] = []
    for x, z, profile in _vent_places(case.vent_style, half, low, height):
        for wall in ("front", "back"):
            if free >= wanted:
                return found, free
            placed = profile.moved(x, z)
            taken = any(o.wall == wall and _near(placed.box, o.profile.box, 1.2) for o in ports)
            box = placed.box
            reach = ARM_WIDTH_MM / 2 + 2.0
            in_arm = any(box[0] < x + reach and box[2] > x - reach for x in (*arms, *_minus(arms)))
            if not taken and not in_arm:
                found.append(
                    Opening(name=f"vent {len(found) + 1}", wall=wall, profile=placed, port=False)
                )
                free += profile.area
    return found, free


def _vent_places(
    style: str, half: float, low: float, height: float
) -> list[tuple[float, float, Profile]]:
    """Vents over a strip from -half to half, from the middle outward."""
    if style == "hex":
        across = 4.0
        one = hexagon(across, turn=30)  # a corner up: its roof prints at 60°
        pitch, tier = across + RIB_MM, (across + RIB_MM) * math.sqrt(3) / 2
        tiers = max(1, int((height - across * 1.16) // tier) + 1)
        z0 = low + across * 0.58
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


def _lid_vents(
    case: BoardCase, drawn: Mapping[str, float], posts: Sequence[Sequence[float]]
) -> tuple[tuple[Profile, ...], float]:
    """Vents in the lid over the board's middle, clear of windows and posts, for half the area."""
    wanted = case.vent_area / 2
    if wanted <= 0:
        return (), 0.0
    half_x, half_y = (drawn[f"pocket {w}"] / 2 - 6.0 for w in ("length", "width"))
    depth = min(2 * half_y - 9.0, 30.0)  # a strip at the front stays free for the label
    if half_x < 2 or depth < 4:
        return (), 0.0
    style = "hex" if case.vent_style == "hex" else "slots"
    taken = [
        rectangle(
            w.length, w.width, at=(w.x - case.board_length / 2, w.y - case.board_width / 2)
        ).box
        for w in case.windows
    ]
    found: list[Profile] = []
    free = 0.0
    for x, y, profile in _vent_places(style, half_x, half_y - depth, depth):
        placed = profile.moved(x, y)
        if free < wanted and not any(_near(placed.box, box, 1.2) for box in (*taken, *posts)):
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
    back = [(-x, -y, bulge) for x, y, bulge in front]
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
