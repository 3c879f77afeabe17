"""Clip tray: rows and columns of pockets that hold rectangular bodies, such as terminal blocks.

Each body lies in its pocket with its long side along y, held by an arm at either side. An arm lies
along the pocket and stands on the bed, cut free from wall and floor by slots, so that it bends in
the layer plane; the nose at its tip reaches over the body with a 45° underside. The arms' length
follows from the strain that they may see, raised by what the corner at the root still does, though
the slot behind the arm ends round there. Wires leave through the open front side; a gap in the
back lets a finger lift the body.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.errors import FaultList
from fitkit.core.sizes import CENTRES, HEIGHT, POCKET
from fitkit.parts.arms import arm_length_mm, arm_thickness_mm, notch_factor
from fitkit.parts.buys import countersunk
from fitkit.parts.contract import (
    Body,
    FitSize,
    KeyDimension,
    Length,
    Lug,
    Part,
    SnapArm,
    Template,
    Wall,
    size,
    usual_size,
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, box, choice
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, drilled, head_mm, marked, screw_fit
from fitkit.solids.bodies import Shape, chamfer, checked, cut, edges, extrude, fuse, moved, turned
from fitkit.solids.profiles import QUARTER, Loop, polygon, rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.core.sizes import Axis

__all__ = ["ClipTray", "TrayForm"]

_ARM_MM, _LEAST_ARM_MM = 1.6, 1.2
_CATCHES_MM = (0.6, 0.5, 0.4, 0.3)  # usual, and what a short body's arms bear
_LEAST_CATCH_MM = _CATCHES_MM[-1]
_SLACK_MM = 0.3  # by which a pocket may be drawn shorter than its body
_CUT_MM = 0.6  # width of the slots round an arm: two neighbouring faces must not fuse
_PLAY_MM = 0.2  # from the body's upper face to the nose's underside
_NOSE_MM = 0.8  # upright face of the nose
_FREE_MM = 0.4  # behind an arm, beyond what it bends
_STOP_MM = 1.5  # what stays of a wall beside an opening
_ROOT_MM = 2.0  # wall behind an arm's root
_BESIDE_MM = 3.0  # of a lug beside its screw's head, both sides together


class Bent(NamedTuple):
    """Thickness of an arm, and how far it bends as its nose passes the body, mm."""

    arm: float
    catch: float


class TrayForm(NamedTuple):
    """Layout of a tray, mm; the middle of the tray's floor plan is the origin.

    `pockets` are their middles; `half_x`, `half_y` half a pocket; `free` the slot behind an arm;
    `arm` its length, `tip` the y of its tip from the pocket's middle; `length`, `width` of the
    walls over all; `high` their height.
    """

    pockets: tuple[tuple[float, float], ...]
    half_x: float
    half_y: float
    free: float
    arm: float
    tip: float
    length: float
    width: float
    high: float


@dataclass(frozen=True, kw_only=True)
class ClipTraySizes(SizeSet):
    """Sizes of a clip tray that must fit."""

    pocket_length: FitSize
    pocket_width: FitSize
    under_the_nose: FitSize
    screw_hole: FitSize | None = None
    screw_spacing_x: FitSize | None = None
    screw_spacing_y: FitSize | None = None


class ClipTray(Template):
    """Tray of snap pockets for rectangular bodies."""

    title: ClassVar[str] = "clip tray"
    summary: ClassVar[str] = "Rows and columns of snap pockets for terminal blocks or relays."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(feature="body length", note="over the body's two ends, where its moulding is"),
            Reading(feature="body width", note="over the two sides at which the arms will stand"),
            Reading(
                feature="body height",
                note="from its underside up to the face that the noses will catch",
            ),
        ),
        sizes=(
            FromReadings(parameter="body_length", text="body_length"),
            FromReadings(parameter="body_width", text="body_width"),
            FromReadings(parameter="body_height", text="body_height"),
        ),
        often=("columns", "rows", "wires", "fixing", "label"),
    )
    used_when: ClassVar[UsedWhen] = {"screw": {"fixing": ("lugs", "floor")}}

    body_length: Length = size(
        "24 mm", low="12 mm", high="120 mm", measured=True, help="Body along y, over its ends."
    )
    body_width: Length = size(
        "16 mm", low="6 mm", high="80 mm", measured=True, help="Body along x, between the arms."
    )
    body_height: Length = size(
        "12 mm", low="3 mm", high="50 mm", measured=True, help="Body from floor to the noses."
    )
    columns: Annotated[int, Field(ge=1, le=8)] = choice(3, "Pockets along x.")
    rows: Annotated[int, Field(ge=1, le=6)] = choice(1, "Pockets along y.")
    row_gap: Length = size("8 mm", low="4 mm", high="40 mm", help="Channel for wires between rows.")
    wall: Length = size("2 mm", low="1.6 mm", high="6 mm", help="Walls round the pockets.")
    floor: Length = size("2.4 mm", low="1.2 mm", high="8 mm", help="Floor.")
    arm: Length | None = usual_size(
        low=f"{_LEAST_ARM_MM} mm",
        high="4 mm",
        help="Thickness of an arm; 1.6 mm, or less beside a short body, if not given.",
        group="Arms",
    )
    catch: Length | None = usual_size(
        low=f"{_LEAST_CATCH_MM} mm",
        high="2 mm",
        help="How far a nose reaches over; 0.6 mm, or less over a short body, if not given.",
        group="Arms",
    )
    strain: Annotated[float, Field(ge=0.3, le=6)] = choice(
        0.9, "Strain that an arm may see at its root, in %.", "Arms", label="strain, %"
    )
    wires: Literal["front", "both", "none"] = choice(
        "front", "Side by which wires leave.", "Openings"
    )
    finger: Length = size(
        "8 mm",
        low="0 mm",
        high="30 mm",
        help="Gap in the back wall for a finger; 0 for none.",
        group="Openings",
    )
    fixing: Literal["lugs", "floor", "none"] = choice(
        "lugs", "Countersunk holes in lugs, or in the floor of the outer pockets.", "Fixing"
    )
    screw: Screw = choice("M3", "Screws that hold the tray down.", "Fixing")

    def must_fit(self) -> ClipTraySizes:
        """Declare the pocket, the height under the noses and the screw hole."""

        def pocket(value: float, of: str, axis: Axis) -> FitSize:
            return FitSize(
                nominal_mm=value,
                of=of,
                kind=POCKET,
                axis=axis,
                sense=1,
                pair="object in pocket",
                behaviour="slides",
                coated_faces=2,
            )

        sizes = ClipTraySizes(
            pocket_length=pocket(self.body_length, "body_length", "y"),
            pocket_width=pocket(self.body_width, "body_width", "x"),
            under_the_nose=FitSize(
                nominal_mm=self.body_height + _PLAY_MM, of="body_height", kind=HEIGHT, axis="z"
            ),
            screw_hole=screw_fit(self.screw) if self.fixing != "none" else None,
        )
        return self._with_spacing(sizes) if self.fixing == "lugs" else sizes

    def _with_spacing(self, sizes: ClipTraySizes) -> ClipTraySizes:
        """Add how far the lugs' screws are apart, where the tray is laid out at nominal sizes."""
        try:
            form = self.form(sizes)
        except FaultList:
            return sizes  # building it tells
        head = self._head(sizes)[0]
        x, y = self._spots(form, head, head + _BESIDE_MM)[-1]
        hole = sizes.screw_hole
        names = ("screw spacing x", *(("screw spacing y",) if y else ()))
        return replace(
            sizes,
            screw_hole=marked(hole, names) if hole else None,
            screw_spacing_x=FitSize(
                name="screw spacing x", nominal_mm=2 * x, kind=CENTRES, axis="x"
            ),
            screw_spacing_y=FitSize(
                name="screw spacing y", nominal_mm=2 * y, kind=CENTRES, axis="y"
            )
            if y
            else None,
        )

    def _head(self, sizes: ClipTraySizes) -> tuple[float, float]:
        """Diameters of the screws' heads and of their holes, mm."""
        hole = drawn_mm(sizes.screw_hole, 0.0)
        return max(head_mm(self.screw), hole), hole

    @cached_property
    def bent(self) -> Bent:
        """Thickness of the arms and how far they catch: as given, or as the body allows."""
        arm = catch = 0.0
        for tried in _CATCHES_MM if self.catch is None else (self.catch,):
            catch, free = tried, tried + _FREE_MM
            room = self._room(self.body_length / 2, free) - _SLACK_MM
            arm = _ARM_MM if self.arm is None else self.arm
            while self.arm is None and arm > _LEAST_ARM_MM and not self._bears(arm, catch, room):
                arm = max(arm - 0.05, _LEAST_ARM_MM)
            if self._bears(arm, catch, room):
                break
        return Bent(arm, catch)

    @staticmethod
    def _room(half_y: float, free: float) -> float:
        """What there is for an arm along the pocket, mm."""
        return 2 * half_y - _CUT_MM - 1.0 - free

    def _strain(self, arm: float, free: float) -> float:
        """What an arm may be bent to as a plain one, below what the corner at its root adds."""
        return self.strain / 100 / notch_factor(free, arm)

    def _bears(self, arm: float, catch: float, room: float) -> bool:
        strain = self._strain(arm, catch + _FREE_MM)
        return arm_length_mm(arm, catch, strain) <= room

    def form(self, sizes: ClipTraySizes) -> TrayForm:
        """Lay out the tray for drawn sizes.

        Raises
        ------
        FaultList
            If arms that bear their strain do not fit along the body, or openings leave no wall.
        """
        half_x, half_y = sizes.pocket_width.drawn_mm / 2, sizes.pocket_length.drawn_mm / 2
        free = self.bent.catch + _FREE_MM
        # The slot behind an arm ends in a quarter round as wide as it is: the arm's root.
        room = self._room(half_y, free)
        strain = self._strain(self.bent.arm, free)
        needed = arm_length_mm(self.bent.arm, self.bent.catch, strain)
        rules = Rules(self.title)
        rules.at_most(
            "arm",
            self.bent.arm,
            self.bent.arm if needed <= room else arm_thickness_mm(room, self.bent.catch, strain),
            f"to bend by {self.bent.catch:g} mm at {self.strain:g} % strain an arm so thick must "
            f"be {needed:.1f} mm long, and the body leaves {room:.1f} mm",
            "Make the arm thinner or the catch smaller.",
        )
        if self.fixing == "floor":
            rules.at_least(
                "body_width",
                2 * half_x,
                head_mm(self.screw) + 4.0,
                "a screw head in the pocket's floor needs that",
                "Take lugs, or a smaller screw.",
            )
        rules.refuse()
        # As long as there is room for, up to a tenth more than needed: longer arms bend easier.
        arm = min(room, max(1.1 * needed, 5.0))
        step_x = 2 * (half_x + self.bent.arm + free) + self.wall
        step_y = 2 * half_y + 2 * self.wall + self.row_gap
        pockets = tuple(
            (step_x * (i - (self.columns - 1) / 2), step_y * (j - (self.rows - 1) / 2))
            for j in range(self.rows)
            for i in range(self.columns)
        )
        return TrayForm(
            pockets=pockets,
            half_x=half_x,
            half_y=half_y,
            free=free,
            arm=arm,
            tip=-half_y + 1.0 + _CUT_MM,
            length=step_x * self.columns + self.wall,
            width=step_y * (self.rows - 1) + 2 * half_y + 2 * self.wall,
            high=self.floor + sizes.under_the_nose.drawn_mm,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the tray on its floor, bodies in their pockets."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        form, (head, hole) = self.form(sizes), self._head(sizes)
        name = "tray"
        ear = head + _BESIDE_MM if self.fixing == "lugs" else 0.0
        plate = rectangle(form.length + 2 * ear, form.width, radius=2.0)
        floor = extrude(plate.with_holes(*self.slots(form)), self.floor)
        rim = (form.length + 2 * ear) / 2, form.width / 2
        # Outer edge only: the slots are narrow, and nothing sits in them.
        outer = edges(
            floor,
            z=0.0,
            where=lambda low, high: (
                max(-low[0], high[0]) > rim[0] - 1e-3 or max(-low[1], high[1]) > rim[1] - 1e-3
            ),
        )
        floor, findings = chamfer(floor, outer, BED_EDGE_MM, name="chamfer at the bed", body=name)
        shape = fuse(floor, *self.uprights(form, radius=0.0 if ear else 2.0))
        spots = [
            (
                math.copysign(drawn_mm(sizes.screw_spacing_x, 2 * abs(u)) / 2, u),
                math.copysign(drawn_mm(sizes.screw_spacing_y, 2 * abs(v)) / 2, v),
            )
            for u, v in self._spots(form, head, ear)
        ]
        shape, left_off = drilled(
            shape,
            spots,
            hole=hole,
            top=self.floor,
            head=head_mm(self.screw),
            edge=BED_EDGE_MM,
            body=name,
        )
        from fitkit.solids.label import sink_text

        (x, y), strip = form.pockets[-1], 2 * form.half_x - 2 * _CUT_MM - 2
        shape, said = sink_text(
            shape,
            self.label,
            # Along the pocket's floor, clear of a screw in its middle.
            room=(2 * form.half_y - 2, strip / 2 - (head / 2 if spots and not ear else 0)),
            at=(x - strip / 4 - (head / 4 if spots and not ear else 0), y),
            turn=90,
            z=self.floor,
            body=name,
        )
        x, y = form.pockets[0]
        z = self.floor + self.body_height / 2
        a, b = form.half_x, form.half_y
        dimensions = [
            KeyDimension.of(
                sizes.pocket_length,
                body=name,
                start=(x + a - 0.5, y - b, self.floor),
                end=(x + a - 0.5, y + b, self.floor),
            ),
            KeyDimension.of(
                sizes.pocket_width,
                body=name,
                start=(x - a, y, z),
                end=(x + a, y, z),
            ),
            KeyDimension.of(
                sizes.under_the_nose,
                body=name,
                start=(x - a, y + form.tip + 1, self.floor),
                end=(x - a, y + form.tip + 1, form.high),
            ),
        ]
        if sizes.screw_hole:
            u, v = spots[0]
            dimensions.append(
                KeyDimension.of(
                    sizes.screw_hole,
                    body=name,
                    start=(u - hole / 2, v, BED_EDGE_MM),
                    end=(u + hole / 2, v, BED_EDGE_MM),
                )
            )
        if sizes.screw_spacing_x:
            u, v = spots[0]
            dimensions.append(
                KeyDimension.of(
                    sizes.screw_spacing_x, body=name, start=(u, v, 0.0), end=(-u, v, 0.0)
                )
            )
        if sizes.screw_spacing_y:
            u, v = spots[0]
            dimensions.append(
                KeyDimension.of(
                    sizes.screw_spacing_y, body=name, start=(u, v, 0.0), end=(u, -v, 0.0)
                )
            )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name=name, solid=checked(shape, name)),),
            ghosts=tuple(
                Body(
                    name=f"body {i + 1}",
                    solid=checked(
                        box(
                            (
                                u - self.body_width / 2,
                                v - self.body_length / 2,
                                self.floor + 0.01,
                            ),
                            (
                                u + self.body_width / 2,
                                v + self.body_length / 2,
                                self.floor + self.body_height,
                            ),
                        ),
                        "body",
                    ),
                )
                for i, (u, v) in enumerate(form.pockets)
            ),
            insertion=(0.0, 0.0, -1.0),
            dimensions=tuple(dimensions),
            walls=(
                Wall(
                    name="side wall",
                    body=name,
                    thickness_mm=self.wall,
                    at=(-form.length / 2 + self.wall / 2, 0, z),
                ),
                Wall(name="floor", body=name, thickness_mm=self.floor, at=(x, y, self.floor / 2)),
                Wall(
                    name="arm",
                    body=name,
                    thickness_mm=self.bent.arm,
                    at=(x + a + self.bent.arm / 2, y, z),
                ),
            ),
            arms=tuple(
                self.snap_arm(form, number, side)
                for number in range(len(form.pockets))
                for side in (1, -1)
            ),
            lugs=tuple(
                Lug(
                    name=f"lug {i + 1}",
                    body=name,
                    reach_mm=head / 2 + 2.0,
                    width_mm=form.width,
                    thickness_mm=self.floor,
                    hole_mm=hole,
                    at=(u, v, self.floor / 2),
                    along=(1.0 if u > 0 else -1.0, 0.0, 0.0),
                )
                for i, (u, v) in enumerate(spots)
            )
            if ear
            else (),
            findings=(*findings, *left_off, *said),
            buys=countersunk(self.screw, len(spots), self.fixing),
        )

    def slots(self, form: TrayForm) -> list[Loop]:
        """Outlines of the slots that set the arms free from the floor."""
        return [self._slot(form, x, y, side) for x, y in form.pockets for side in (1, -1)]

    def uprights(self, form: TrayForm, *, radius: float = 0.0) -> list[Shape]:
        """Give what stands on the floor: the walls with arms and openings, and the arms' noses."""
        walls = rectangle(form.length, form.width, radius=radius)
        block = extrude(
            walls.with_holes(*(self._pocket(form, x, y) for x, y in form.pockets)),
            form.high - self.floor,
            z=self.floor,
        )
        block = cut(block, *self._openings(form))
        noses = [self._nose(form, x, y, side) for x, y in form.pockets for side in (1, -1)]
        return [block, *noses]

    def top_mm(self, form: TrayForm) -> float:
        """Height of the noses' tops over the bed."""
        return form.high + 2.2 * self.bent.catch + _NOSE_MM

    def snap_arm(self, form: TrayForm, number: int, side: int) -> SnapArm:
        """One arm for the checks, at the middle of its nose, where it meets the body."""
        x, y = form.pockets[number]
        return SnapArm(
            name=f"{'left' if side < 0 else 'right'} arm {number + 1}",
            body="tray",
            length_mm=form.arm,
            thickness_mm=self.bent.arm,
            root_radius_mm=form.free,
            width_mm=form.high,
            deflection_mm=self.bent.catch,
            at=(x + side * form.half_x, y + form.tip + self._nose_mm(form) / 2, form.high),
            lead_angle_deg=40.0,
            release_angle_deg=45.0,
            along=(0.0, -1.0, 0.0),
        )

    @staticmethod
    def _nose_mm(form: TrayForm) -> float:
        return min(max(form.arm / 3, 2.5), 8.0)

    def _pocket(self, form: TrayForm, x: float, y: float) -> Loop:
        """Outline of a pocket in the walls: the body's room and the slots round both arms."""
        a, b, h = form.half_x, form.half_y, self.bent.arm
        far, tip, root, end = a + h + form.free, form.tip, form.tip + form.arm, form.tip - _CUT_MM
        right = [
            (a, end, 0.0),
            (far, end, 0.0),
            (far, root + form.free, QUARTER),
            (a + h, root, 0.0),
            (a + h, tip, 0.0),
            (a, tip, 0.0),
        ]
        # The left side is the right one mirrored and run backwards: each side keeps its bulge.
        bulges = [0.0, *(bulge for _, _, bulge in right[:-1])]
        left = [(-u, v, bulges[i]) for i, (u, v, _) in reversed(list(enumerate(right)))]
        line = ((-a, -b, 0.0), (a, -b, 0.0), *right, (a, b, 0.0), (-a, b, 0.0), *left)
        return Loop(line).moved(x, y)

    def _slot(self, form: TrayForm, x: float, y: float, side: int) -> Loop:
        """Outline of the slot in the floor round one arm, also under the pocket's edge."""
        a, h = form.half_x, self.bent.arm
        far, tip, root, end = a + h + form.free, form.tip, form.tip + form.arm, form.tip - _CUT_MM
        near = a - _CUT_MM
        # Beside the arm the floor is free to behind its root, where the wall is thick.
        free = root + form.free
        line = (
            (near, end, 0.0),
            (far, end, 0.0),
            (far, free, QUARTER),
            (a + h, root, 0.0),
            (a + h, tip, 0.0),
            (a, tip, 0.0),
            (a, free - _CUT_MM / 2, 1.0),
            (near, free - _CUT_MM / 2, 0.0),
        )
        loop = Loop(line)
        return (loop if side > 0 else loop.mirrored()).moved(x, y)

    def _nose(self, form: TrayForm, x: float, y: float, side: int) -> Shape:
        """Nose on an arm's tip, drawn in (x, z) and stretched along y."""
        c, h, low = self.bent.catch, self.bent.arm, form.high
        long = self._nose_mm(form)
        top = low + c + _NOSE_MM + 1.2 * c
        line = [(0.0, low), (-c, low + c), (-c, low + c + _NOSE_MM), (0.0, top), (h, top), (h, low)]
        flat = polygon([(side * (form.half_x + u), v) for u, v in line])
        return moved(turned(extrude(flat, long), x=90), x, y + form.tip + long)

    def _finger_gap(self, form: TrayForm) -> float:
        """Width of the gap in the back wall: less where the wall must keep a stop at each side."""
        return min(self.finger, 2 * form.half_x - 2 * _STOP_MM)

    def _openings(self, form: TrayForm) -> list[Shape]:
        """Tools: wires' openings and finger gaps in the front and back walls, channels between."""
        tools, low, high = [], self.floor, form.high + 1
        wires = form.half_x - _STOP_MM
        for x, y in form.pockets:
            front, back = y - form.half_y, y + form.half_y
            reach = self.wall + 0.5
            if self.wires in ("front", "both"):
                tools.append(box((x - wires, front - reach, low), (x + wires, front + 0.3, high)))
            if self.wires == "both":
                tools.append(box((x - wires, back - 0.3, low), (x + wires, back + reach, high)))
            elif self._finger_gap(form) > 0.5:
                half = self._finger_gap(form) / 2
                tools.append(box((x - half, back - 0.3, low), (x + half, back + reach, high)))
        for j in range(self.rows - 1):
            y = form.pockets[j * self.columns][1] + form.half_y + self.wall
            far = form.length / 2 + 1
            tools.append(box((-far, y, low), (far, y + self.row_gap, high)))
        return tools

    def _spots(self, form: TrayForm, head: float, ear: float) -> list[tuple[float, float]]:
        if self.fixing == "none":
            return []
        if self.fixing == "lugs":
            x = form.length / 2 + ear - head / 2 - 1.5
            y = form.width / 2 - head / 2 - 2.0
            rows = (-y, y) if y > head else (0.0,)
            return [(side * x, v) for side in (-1, 1) for v in rows]
        return list(dict.fromkeys((form.pockets[0], form.pockets[-1])))
