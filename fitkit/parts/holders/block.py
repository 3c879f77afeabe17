"""Blocks between clip arms: rows and columns of pockets, each with an arm at either side.

Each block lies in its pocket with its long side along y. An arm lies along the pocket and reaches
down to the bed, cut free from wall and plate by slots, so that it bends in the layer plane; the
nose at its tip reaches over the block with a 45° underside. The arms' length follows from the
strain that they may see, raised by what the corner at the root still does, though the slot behind
the arm ends round there. Wires leave through the open front side; a gap in the back lets a finger
lift the block.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.models import StrictModel
from fitkit.core.sizes import HEIGHT, POCKET
from fitkit.parts.arms import arm_length_mm, arm_thickness_mm, notch_factor
from fitkit.parts.contract import (
    Body,
    FitSize,
    KeyDimension,
    Length,
    SnapArm,
    Wall,
    size,
    usual_size,
)
from fitkit.parts.fit_size import SizeSet, holding
from fitkit.parts.forms import Rules, box, choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bodies import Shape, checked, cut, extrude, fuse, moved, raw, turned
from fitkit.solids.let_in import Piece
from fitkit.solids.profiles import QUARTER, Loop, polygon, rectangle

__all__ = ["BlockBetweenArms", "PocketForm", "PocketSizes", "Pockets"]

_ARM_MM, _LEAST_ARM_MM = 1.6, 1.2
_CATCHES_MM = (0.6, 0.5, 0.4, 0.3)  # usual, and what a short body's arms bear
_LEAST_CATCH_MM = _CATCHES_MM[-1]
_SLACK_MM = 0.3  # by which a pocket may be drawn shorter than its body
_FREE_MM = 0.4  # behind an arm, beyond what it bends
CUT_MM = 0.6  # width of the slots round an arm: two neighbouring faces must not fuse
_PLAY_MM = 0.2  # from the block's upper face to the nose's underside
_NOSE_MM = 0.8  # upright face of the nose
_STOP_MM = 1.5  # what stays of a wall beside an opening
_RIM_MM = 1.0  # of plate round the pockets' walls, so that nothing stands on the piece's outline
_FINGER_MM = 10.0  # free behind a finger gap, or before wires; common practice, no source


class Bent(NamedTuple):
    """Thickness of an arm, and how far it bends as its nose passes the body, mm."""

    arm: float
    catch: float


def _room(half_y: float, free: float) -> float:
    """What there is for an arm along a pocket, mm."""
    return 2 * half_y - CUT_MM - 1.0 - free


class PocketForm(NamedTuple):
    """Layout of pockets, mm; the middle of their plan is the origin.

    `pockets` are their middles; `half_x`, `half_y` half a pocket; `free` the slot behind an arm;
    `arm` its length, `tip` the y of its tip from the pocket's middle; `length`, `width` of the
    walls over all; `high` their height over the plate.
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

    @property
    def nose(self) -> float:
        """Length of a nose along the arm, mm."""
        return min(max(self.arm / 3, 2.5), 8.0)


@dataclass(frozen=True, kw_only=True)
class PocketSizes(SizeSet):
    """Sizes of pockets that must fit."""

    pocket_length: FitSize
    pocket_width: FitSize
    under_the_nose: FitSize


class Pockets(StrictModel):
    """Snap pockets for rectangular blocks, on a plate whose upper face is at z = 0."""

    title: ClassVar[str]
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
    arm: Length | None = usual_size(
        "1.6 mm",
        low=f"{_LEAST_ARM_MM} mm",
        high="4 mm",
        help="Thickness of an arm; 1.6 mm, or less beside a short body, if not given.",
        group="Arms",
    )
    catch: Length | None = usual_size(
        "0.6 mm",
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

    def pocket_sizes(self) -> PocketSizes:
        """Declare the pocket and the height under the noses."""
        return PocketSizes(
            pocket_length=holding(self.body_length, "body_length", POCKET, "y"),
            pocket_width=holding(self.body_width, "body_width", POCKET, "x"),
            under_the_nose=FitSize(
                nominal_mm=self.body_height + _PLAY_MM, of="body_height", kind=HEIGHT, axis="z"
            ),
        )

    def rules(self, half_x: float) -> Rules:
        """Begin to gather what is refused; a preset knows more of it than the holder."""
        return Rules(self.title)

    @cached_property
    def bent(self) -> Bent:
        """Thickness of the arms and how far they catch: as given, or as the body allows."""
        arm = catch = 0.0
        for tried in _CATCHES_MM if self.catch is None else (self.catch,):
            catch = tried
            arm = _ARM_MM if self.arm is None else self.arm
            while self.arm is None and arm > _LEAST_ARM_MM and not self._bears(arm, catch):
                arm = max(arm - 0.05, _LEAST_ARM_MM)
            if self._bears(arm, catch):
                break
        return Bent(arm, catch)

    def _plain_strain(self, arm: float, free: float) -> float:
        """What an arm may be bent to as a plain one, below what the corner at its root adds."""
        return self.strain / 100 / notch_factor(free, arm)

    def _bears(self, arm: float, catch: float) -> bool:
        """Tell whether such an arm finds room, also where a pocket is drawn a little short."""
        free = catch + _FREE_MM
        room = _room(self.body_length / 2, free) - _SLACK_MM
        return arm_length_mm(arm, catch, self._plain_strain(arm, free)) <= room

    def form(self, sizes: PocketSizes) -> PocketForm:
        """Lay out the pockets for drawn sizes.

        Raises
        ------
        FaultList
            If arms that bear their strain do not fit along the body, or openings leave no wall.
        """
        half_x, half_y = sizes.pocket_width.drawn_mm / 2, sizes.pocket_length.drawn_mm / 2
        free = self.bent.catch + _FREE_MM
        # The slot behind an arm ends in a quarter round as wide as it is: the arm's root.
        room = _room(half_y, free)
        strain = self._plain_strain(self.bent.arm, free)
        needed = arm_length_mm(self.bent.arm, self.bent.catch, strain)
        rules = self.rules(half_x)
        rules.at_most(
            "arm",
            self.bent.arm,
            self.bent.arm if needed <= room else arm_thickness_mm(room, self.bent.catch, strain),
            "clip arm strained",
            catch=self.bent.catch,
            strain=self.strain,
            needed=needed,
            room=room,
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
        return PocketForm(
            pockets=pockets,
            half_x=half_x,
            half_y=half_y,
            free=free,
            arm=arm,
            tip=-half_y + 1.0 + CUT_MM,
            length=step_x * self.columns + self.wall,
            width=step_y * (self.rows - 1) + 2 * half_y + 2 * self.wall,
            high=sizes.under_the_nose.drawn_mm,
        )

    def slots(self, form: PocketForm) -> list[Loop]:
        """Outlines of the slots that set the arms free from the plate."""
        return [self._slot(form, x, y, side) for x, y in form.pockets for side in (1, -1)]

    def uprights(self, form: PocketForm, *, z: float = 0.0, radius: float = 0.0) -> list[Shape]:
        """Give what stands on the plate, its face at z: walls with arms and openings, and noses."""
        walls = rectangle(form.length, form.width, radius=radius)
        block = extrude(
            walls.with_holes(*(self._pocket(form, x, y) for x, y in form.pockets)), form.high, z=z
        )
        block = cut(block, *self._openings(form, z))
        noses = [self._nose(form, x, y, z, side) for x, y in form.pockets for side in (1, -1)]
        return [block, *noses]

    def top_mm(self, form: PocketForm) -> float:
        """Height of the noses' tops over the plate."""
        return form.high + 2.2 * self.bent.catch + _NOSE_MM

    def _pocket(self, form: PocketForm, x: float, y: float) -> Loop:
        """Outline of a pocket in the walls: the body's room and the slots round both arms."""
        a, b, h = form.half_x, form.half_y, self.bent.arm
        far, tip, root, end = a + h + form.free, form.tip, form.tip + form.arm, form.tip - CUT_MM
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

    def _slot(self, form: PocketForm, x: float, y: float, side: int) -> Loop:
        """Outline of the slot in the floor round one arm, also under the pocket's edge."""
        a, h = form.half_x, self.bent.arm
        far, tip, root, end = a + h + form.free, form.tip, form.tip + form.arm, form.tip - CUT_MM
        near = a - CUT_MM
        # Beside the arm the floor is free to behind its root, where the wall is thick.
        free = root + form.free
        line = (
            (near, end, 0.0),
            (far, end, 0.0),
            (far, free, QUARTER),
            (a + h, root, 0.0),
            (a + h, tip, 0.0),
            (a, tip, 0.0),
            (a, free - CUT_MM / 2, 1.0),
            (near, free - CUT_MM / 2, 0.0),
        )
        loop = Loop(line)
        return (loop if side > 0 else loop.mirrored()).moved(x, y)

    def _nose(self, form: PocketForm, x: float, y: float, z: float, side: int) -> Shape:
        """Nose on an arm's tip, drawn in (x, z) and stretched along y."""
        c, h, low = self.bent.catch, self.bent.arm, form.high
        long = form.nose
        top = low + c + _NOSE_MM + 1.2 * c
        line = [(0.0, low), (-c, low + c), (-c, low + c + _NOSE_MM), (0.0, top), (h, top), (h, low)]
        flat = polygon([(side * (form.half_x + u), v) for u, v in line])
        return moved(turned(extrude(flat, long), x=90), x, y + form.tip + long, z)

    def _finger_gap(self, form: PocketForm) -> float:
        """Width of the gap in the back wall: less where the wall must keep a stop at each side."""
        return min(self.finger, 2 * form.half_x - 2 * _STOP_MM)

    def _openings(self, form: PocketForm, low: float) -> list[Shape]:
        """Tools: wires' openings and finger gaps in the front and back walls, channels between."""
        tools, high = [], low + form.high + 1
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

    def standing(
        self, sizes: PocketSizes, form: PocketForm, plate_mm: float, wall: str = "pocket wall"
    ) -> Fixture:
        """Give what the pockets hold, and their numbers; arms are as wide as they are high."""
        (x, y), a, z = form.pockets[0], form.half_x, self.body_height / 2
        return Fixture(
            ghosts=_ghosts(form.pockets, (self.body_width, self.body_length, self.body_height)),
            dimensions=(
                KeyDimension.across(sizes.pocket_length, (x + a - 0.5, y, 0.0), "y"),
                KeyDimension.across(sizes.pocket_width, (x, y, z)),
                KeyDimension.across(
                    sizes.under_the_nose, (x - a, y + form.tip + 1, form.high / 2), "z"
                ),
            ),
            walls=(
                Wall(
                    name=wall,
                    body="",
                    thickness_mm=self.wall,
                    at=(-form.length / 2 + self.wall / 2, 0.0, z),
                ),
                Wall(
                    name="arm",
                    body="",
                    thickness_mm=self.bent.arm,
                    at=(x + a + self.bent.arm / 2, y, z),
                ),
            ),
            arms=tuple(
                SnapArm(
                    name=f"{'left' if side < 0 else 'right'} arm {number}",
                    body="",
                    length_mm=form.arm,
                    thickness_mm=self.bent.arm,
                    root_radius_mm=form.free,
                    width_mm=plate_mm + form.high,
                    deflection_mm=self.bent.catch,
                    at=(x + side * a, y + form.tip + form.nose / 2, form.high),
                    lead_angle_deg=40.0,
                    release_angle_deg=45.0,
                    along=(0.0, -1.0, 0.0),
                )
                for number, (x, y) in enumerate(form.pockets, start=1)
                for side in (1, -1)
            ),
        )


class BlockBetweenArms(Pockets, Holder):
    """Rectangular bodies, each held by an arm at either side."""

    title: ClassVar[str] = "block between arms"
    summary: ClassVar[str] = "Terminal blocks or relays in rows and columns of snap pockets."

    def must_fit(self, base: Base) -> PocketSizes:
        """Declare the pocket and the height under the noses."""
        return self.pocket_sizes()

    def space(self, base: Base) -> Space:
        """The pockets, and room before the wires and behind the finger gaps."""
        form = self.form(self.pocket_sizes())
        half_x = form.length / 2 + _RIM_MM + AIR_MM
        half_y = form.width / 2 + _RIM_MM + AIR_MM
        front = _FINGER_MM if self.wires != "none" else 0.0
        back = _FINGER_MM if self.wires == "both" or self.finger > 0.5 else 0.0
        return Space(
            body=(-half_x, -half_y, half_x, half_y),
            free=(-half_x, -half_y - front, half_x, half_y + back),
            height_mm=self.top_mm(form),
        )

    def fixture(self, sizes: PocketSizes, base: Base) -> Fixture:
        """Make pockets and arms as one piece of plate."""
        form, t = self.form(sizes), base.thickness_mm
        return replace(self.standing(sizes, form, t), pieces=(_piece(self, form, t),))


@lru_cache(maxsize=16)
def _piece(pockets: Pockets, form: PocketForm, plate: float) -> Piece:
    """Pockets on their bit of plate, its upper face at z = 0; made and analysed once."""
    flat = rectangle(form.length + 2 * _RIM_MM, form.width + 2 * _RIM_MM)
    floor = extrude(flat.with_holes(*pockets.slots(form)), plate, z=-plate)
    shape = fuse(floor, *pockets.uprights(form))
    return Piece(raw(checked(shape, "block between arms")), flat.outer)


@lru_cache(maxsize=16)
def _ghosts(
    pockets: tuple[tuple[float, float], ...], size: tuple[float, float, float]
) -> tuple[Body, ...]:
    half_x, half_y, high = size[0] / 2, size[1] / 2, size[2]
    corners = [((u - half_x, v - half_y), (u + half_x, v + half_y)) for u, v in pockets]
    return tuple(
        Body(
            name=f"body {number}",
            solid=checked(box((*low, 0.01), (*far, high)), "body", proved=True),
        )
        for number, (low, far) in enumerate(corners, start=1)
    )
