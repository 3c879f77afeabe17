"""Ball seat: a cup that grips a ball beyond its equator, or three arms that do, on a wall plate.

The cup's inside is a part of a sphere. Its mouth is narrower than the ball by the chosen retention;
slits let the lip give way: each piece bends as a beam whose section is a segment of a ring. Three
wide gaps instead leave a three-arm cradle that shows more of the ball. It prints plate down: the
lip leans inwards by less than 45° and needs no support, but the arms bend across the layers, which
the part says to the checks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.sizes import HOLE
from fitkit.parts.arms import arm_strain, bends_as, ring_segment
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
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.screws import Screw, drilled, head_mm, screw_fit
from fitkit.solids.bodies import checked, cut, extrude, revolve, sphere, turned
from fitkit.solids.profiles import Loop, Profile, polygon, rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["BallSeat", "cup_form"]

_UNDER_MM = 0.8  # least plate under the ball
_LABEL_CLEAR_MM = 0.8  # from the label to the cup, the rim and the screws' heads
_STEEPEST = math.radians(42.0)  # lean of the lip that still prints without support


class Cup(NamedTuple):
    """Heights and angle of a cup, mm and radians.

    `centre` is the ball's middle over the plate's underside, `lip` the mouth's edge, `lean` the
    angle from the equator up to that edge, `cap` the sphere's part that lies in the cup (volume).
    """

    centre: float
    lip: float
    lean: float
    cap: float


def cup_form(seat: float, mouth: float, under: float) -> Cup:
    """Lay out a cup: sphere of diameter `seat`, cut off where it has narrowed to `mouth`, mm.

    Examples
    --------
    >>> cup = cup_form(20.0, 19.0, 2.0)
    >>> round(cup.centre, 3), round(cup.lip - cup.centre, 3), round(math.degrees(cup.lean), 1)
    (12.0, 3.122, 18.2)
    """
    r = seat / 2
    rise = math.sqrt(max(r * r - mouth * mouth / 4, 0.0))
    high = r + rise  # of the spherical cap that the cup holds
    return Cup(
        under + r,
        under + r + rise,
        math.atan2(rise, mouth / 2),
        math.pi * high**2 * (3 * r - high) / 3,
    )


@dataclass(frozen=True, kw_only=True)
class BallSeatSizes(SizeSet):
    """Sizes of a ball seat that must fit."""

    seat: FitSize
    mouth: FitSize
    screw_hole: FitSize | None = None


class BallSeat(Template):
    """Seat that holds a ball on a wall plate."""

    title: ClassVar[str] = "ball seat"
    summary: ClassVar[str] = "Cup or three arms that hold a ball beyond its equator, on a plate."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="ball diameter",
                round=True,
                note="over its middle, at the largest reading; turn the ball between readings",
            ),
        ),
        sizes=(FromReadings(parameter="ball", text="ball_diameter"),),
        often=("style", "retention", "screws", "label"),
    )

    ball: Length = size(
        "25 mm", low="8 mm", high="80 mm", measured=True, help="Diameter of the ball."
    )
    style: Literal["cup", "arms"] = choice("cup", "Slit cup, or three arms.")
    retention: Length = size(
        "0.6 mm",
        low="0.1 mm",
        high="4 mm",
        help="How much narrower than the ball the mouth is.",
        group="Holding",
    )
    wall: Length = size("2.4 mm", low="1.6 mm", high="6 mm", help="Least wall of the cup.")
    slits: Annotated[int, Field(ge=2, le=12)] = choice(
        8, "Slits that let a cup give way; the more, the easier.", "Holding"
    )
    slit: Length = size(
        "1.2 mm", low="0.8 mm", high="4 mm", help="Width of a slit.", group="Holding"
    )
    arm: Length = size(
        "8 mm", low="3 mm", high="40 mm", help="Width of each of three arms.", group="Holding"
    )
    strain: Annotated[float, Field(ge=0.3, le=6)] = choice(
        1.5, "Strain that the lip may see, in %.", "Holding", label="strain, %"
    )
    plate: Length = size("3 mm", low="2 mm", high="10 mm", help="Wall plate.", group="Plate")
    screws: Annotated[int, Field(ge=0, le=4)] = choice(2, "Screws in the plate.", "Plate")
    screw: Screw = choice("M3", "Screws in the plate.", "Plate")

    def must_fit(self) -> BallSeatSizes:
        """Declare the seat's sphere, its mouth and the screw holes."""
        return BallSeatSizes(
            seat=FitSize(
                nominal_mm=self.ball,
                of="ball",
                kind=HOLE,
                sense=1,
                pair="ball and seat",
                behaviour="slides",
                coated_faces=2,
            ),
            # The mouth's interference is chosen, so it takes no gap.
            mouth=FitSize(
                nominal_mm=self.ball - self.retention, of="ball", kind=HOLE, coated_faces=2
            ),
            screw_hole=screw_fit(self.screw) if self.screws else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the seat, its plate at z = 0, the ball on top."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        seat, mouth = sizes.seat.drawn_mm, sizes.mouth.drawn_mm
        hole = drawn_mm(sizes.screw_hole, 0.0)
        under = max(self.plate - 1.0, _UNDER_MM) if self.plate > 2.5 else self.plate
        cup = cup_form(seat, mouth, under)
        outer = seat / 2 + self.wall
        ground = self.slit_ground(cup)
        self.refuse(seat, mouth, cup, ground)
        body = "seat"
        wide, spots = self._plate(outer, hole)
        section, volume = cup_section(cup, seat, mouth, outer, self.plate, wide)
        whole = checked(revolve(section), body, volume=volume, proved=True)
        shape = cut(whole, *self.slit_tools(seat, mouth, cup, ground))
        shape, left_off = drilled(
            shape,
            spots,
            hole=hole,
            top=self.plate,
            head=head_mm(self.screw),
            edge=BED_EDGE_MM,
            body=body,
        )
        from fitkit.solids.label import sink_text

        room, label_y = self._label_room(outer, wide / 2, spots, max(head_mm(self.screw), hole))
        shape, said = sink_text(
            shape,
            self.label,
            room=room,
            at=(0.0, label_y),
            z=self.plate,
            body=body,
        )
        dimensions = [
            KeyDimension.of(
                sizes.seat,
                body=body,
                start=(-seat / 2, 0, cup.centre),
                end=(seat / 2, 0, cup.centre),
            ),
            KeyDimension.of(
                sizes.mouth,
                body=body,
                start=(-mouth / 2, 0, cup.lip),
                end=(mouth / 2, 0, cup.lip),
            ),
        ]
        if sizes.screw_hole:
            x, y = spots[0]
            dimensions.append(
                KeyDimension.of(
                    sizes.screw_hole,
                    body=body,
                    start=(x - hole / 2, y, BED_EDGE_MM),
                    end=(x + hole / 2, y, BED_EDGE_MM),
                )
            )
        ghost_z = cup.centre - (seat - self.ball) / 2
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name=body, solid=checked(shape, body)),),
            ghosts=(
                Body(
                    name="ball", solid=checked(sphere(self.ball, at=(0, 0, ghost_z + 0.01)), "ball")
                ),
            ),
            insertion=(0.0, 0.0, -1.0),
            dimensions=tuple(dimensions),
            walls=(
                Wall(
                    name="cup at the equator",
                    body=body,
                    thickness_mm=outer - seat / 2,
                    at=(0, outer - self.wall / 2, cup.centre),
                ),
                Wall(name="under the ball", body=body, thickness_mm=under, at=(0, 0, under / 2)),
            ),
            arms=self.arms(seat, mouth, cup, ground),
            lugs=tuple(
                Lug(
                    name=f"plate at screw {i + 1}",
                    body=body,
                    reach_mm=max(math.hypot(x, y) - outer, 0.5),
                    width_mm=2 * (hole + 2),
                    thickness_mm=self.plate,
                    hole_mm=hole,
                    at=(x, y, self.plate / 2),
                    along=(x / math.hypot(x, y), y / math.hypot(x, y), 0.0),
                )
                for i, (x, y) in enumerate(spots)
            ),
            findings=(*left_off, *said),
        )

    def _label_room(
        self, outer: float, rim: float, spots: list[tuple[float, float]], head: float
    ) -> tuple[tuple[float, float], float]:
        """Give the room (length, width) for the label on the plate's ring, and its middle's y, mm.

        Of all upright strips between cup and rim, clear of both and of the screws' heads, the one
        that takes the largest letters.
        """
        from fitkit.solids.label import fitting_caps

        rooms = []
        most = rim - outer - 2 * _LABEL_CLEAR_MM
        for share in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
            width = share * most
            near = outer + _LABEL_CLEAR_MM
            half = math.sqrt(max((rim - _LABEL_CLEAR_MM) ** 2 - (near + width) ** 2, 0.0))
            for x, y in spots:
                clear = head / 2 + _LABEL_CLEAR_MM
                if -(near + width) - clear < y < -near + clear:
                    half = min(half, max(abs(x) - clear, 0.0))
            rooms.append(((2 * half, width), -near - width / 2))
        return max(rooms, key=lambda each: fitting_caps(self.label, room=each[0], caps=5.0))

    def _arm_count(self) -> int:
        return self.slits if self.style == "cup" else 3

    def _arm_width(self, seat: float) -> float:
        if self.style == "arms":
            return self.arm
        return math.pi * seat / self.slits - self.slit

    def _bends_as(self, seat: float, cup: Cup, ground: float) -> tuple[float, float]:
        """Rectangle that bends as a piece of the lip: a ring's segment, thinnest at the equator."""
        outer = seat / 2 + self.wall

        def section(down: float) -> tuple[float, float]:
            inner = math.sqrt(seat**2 / 4 - (cup.lip - down - cup.centre) ** 2)
            middle = (inner + outer) / 2
            if self.style == "arms":
                half = math.asin(min(self.arm / 2 / middle, 1.0))
            else:
                half = math.pi / self.slits - math.asin(self.slit / 2 / middle)
            return ring_segment(inner, outer, half)

        return bends_as(cup.lip - ground, section)

    def arms(self, seat: float, mouth: float, cup: Cup, ground: float) -> tuple[SnapArm, ...]:
        """One entry a piece of the lip, at its upper edge, where the ball goes past it."""
        count, lead = self._arm_count(), max(math.degrees(cup.lean), 1.0)
        angles = [2 * math.pi * i / count for i in range(count)]
        thickness, width = self._bends_as(seat, cup, ground)
        return tuple(
            SnapArm(
                name=f"lip {number}",
                body="seat",
                length_mm=cup.lip - ground,
                thickness_mm=self.wall,
                width_mm=self._arm_width(seat),
                deflection_mm=self.retention / 2,
                at=(mouth / 2 * math.cos(angle), mouth / 2 * math.sin(angle), cup.lip),
                # The ball meets the lip's edge at the same slope on its way in and out.
                lead_angle_deg=lead,
                release_angle_deg=lead,
                layers_across=True,
                count=count,
                along=(0.0, 0.0, 1.0),
                bending_thickness_mm=thickness,
                bending_width_mm=width,
            )
            for number, angle in enumerate(angles, start=1)
        )

    def slit_ground(self, cup: Cup) -> float:
        """Height at which the slits end: as deep as the plate lets them."""
        return max(self.plate + 0.8, cup.centre - 0.7 * (cup.centre - self.plate))

    def slit_tools(self, seat: float, mouth: float, cup: Cup, ground: float) -> list[object]:
        """Slits as slots from the cup's room outwards, or three sectors that leave arms between."""
        n, high, outer = self._arm_count(), cup.lip + 1 - ground, seat / 2 + self.wall
        if self.style == "cup":
            # Not from the middle: the boolean would meet each slot with all the others there.
            room = min(math.sqrt(seat**2 / 4 - (cup.centre - ground) ** 2), mouth / 2)
            start = 0.9 * math.sqrt(max(room**2 - self.slit**2 / 4, 0.0))
            slot = rectangle(outer + 2 - start, self.slit, at=((outer + 2 + start) / 2, 0.0))
        else:
            # Between two arms 120° apart, bounded by lines parallel to each arm's middle.
            half, far = self.arm / 2, 2 * (outer + 2)
            corner = half / math.sin(math.radians(60))
            slot = polygon(
                [
                    (corner, 0.0),
                    (corner + far * math.cos(math.radians(60)), -far * math.sin(math.radians(60))),
                    (corner + far, 0.0),
                    (corner + far * math.cos(math.radians(60)), far * math.sin(math.radians(60))),
                ]
            )
        tool = extrude(slot, high, z=ground)
        # Turned off the x axis, where the key dimensions are read.
        first = 180.0 / n if self.style == "cup" else 60.0
        return [turned(tool, z=first + 360.0 * i / n) for i in range(n)]

    def _plate(self, outer: float, hole: float) -> tuple[float, list[tuple[float, float]]]:
        """Diameter of the plate, with a strip for the label round the cup, and its screws."""
        if not self.screws:
            return 2 * outer + 12, []
        head = max(head_mm(self.screw), hole)
        ring = outer + head / 2 + 1.5
        turn = {1: 90.0, 2: 0.0, 3: 90.0, 4: 45.0}[self.screws]
        spots = []
        for i in range(self.screws):
            angle = math.radians(turn + 360.0 * i / self.screws)
            spots.append((ring * math.cos(angle), ring * math.sin(angle)))
        return 2 * (ring + head / 2 + 2.0), spots

    def refuse(self, seat: float, mouth: float, cup: Cup, ground: float) -> None:
        """Raise what cannot be made of these sizes as drawn, naming the parameter."""
        rules = Rules(self.title)
        rules.at_most(
            "retention",
            self.retention,
            self.ball - seat * math.cos(_STEEPEST) if mouth < seat else self.retention,
            "a lip that leans in further needs support",
            "Give a smaller retention.",
        )
        rules.at_most(
            "retention",
            mouth,
            seat - 0.05,
            "that is the mouth, which must be narrower than the seat",
            "Give a larger retention, or a smaller gap of the seat.",
        )
        rules.at_least(
            "retention",
            mouth,
            0.5 * seat,
            "that is the mouth as drawn",
            "Give a smaller retention.",
        )
        if self.style == "arms":
            rules.at_most(
                "arm",
                self.arm,
                0.7 * seat,
                "the arms would close to a cup",
                "Make the arms narrower, or take a cup.",
            )
        else:
            rules.at_least(
                "slits",
                self._arm_width(seat),
                2.0,
                "so little of the lip is left between slits",
                "Take fewer slits.",
            )
        rules.refuse()
        length, give = cup.lip - ground, self.retention / 2
        strain = arm_strain(length, self._bends_as(seat, cup, ground)[0], give)
        rules.at_most(
            "retention",
            self.retention,
            self.retention * self.strain / 100 / strain,
            f"{self._arm_count()} pieces of a lip {length:.1f} mm high that give way by "
            f"{give:.2f} mm would be strained by {strain:.1%}, not {self.strain:g} %",
            "Make the retention smaller, the wall thinner, or the pieces narrower by more slits.",
        )
        rules.refuse()


def cup_section(
    cup: Cup,
    seat: float,
    mouth: float,
    outer: float,
    plate: float,
    wide: float,
    edge: float = BED_EDGE_MM,
) -> tuple[Profile, float]:
    """Half section (radius, height) of cup and plate, chamfered at the bed, and its volume."""
    r = wide / 2
    foot = ((r - edge, 0.0, 0.0), (r, edge, 0.0)) if edge else ((r, 0.0, 0.0),)
    # The cup's inside runs down from the mouth's edge to the ball's lowest point.
    bulge = -math.tan((math.pi / 2 + cup.lean) / 4)
    corners = (
        (0.0, 0.0, 0.0),
        *foot,
        (r, plate, 0.0),
        (outer, plate, 0.0),
        (outer, cup.lip, 0.0),
        (mouth / 2, cup.lip, bulge),
        (0.0, cup.centre - seat / 2, 0.0),
    )
    cut_off = math.pi * edge**2 * (r - edge / 3)  # triangle's area times its centroid's way round
    volume = math.pi * (r**2 * plate + outer**2 * (cup.lip - plate)) - cup.cap - cut_off
    return Profile(Loop(corners)), volume
