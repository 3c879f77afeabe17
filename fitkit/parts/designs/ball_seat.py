"""Ball seat: a cup that grips a ball beyond its equator, or four arms that do, on a wall plate.

The ball stands on a pad in the middle, and a groove round the pad leaves a lip that is free from
its edge down to the groove's floor. Its inside is a part of a sphere, whose mouth is narrower than
the ball by the chosen retention; slits let it give way: each piece bends as a beam whose section is
a segment of a ring. How long the lip must be follows from the strain that it may see: the pad is as
high as that asks. The corner at the lip's root is rounded, and the strain there is raised by what
the corner still does. Four wide gaps instead of slits leave four arms, which show more of the ball.

It prints plate down: the lip leans inwards by less than 45° and needs no support, but it bends
across the layers, which the part says to the checks. The strain of the default is what the weakest
of the published materials bears for sure in this way, often: 1.5 % of PLA, 0.6 of that for repeated
use and 0.4 of that across the layers (`materials.csv`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.sizes import CENTRES, HOLE
from fitkit.parts.arms import arm_strain, bends_as, notch_factor, ring_segment
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
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice, ring_room
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, drilled, head_mm, screw_fit
from fitkit.solids.bodies import Shape, checked, cut, extrude, fuse, revolve, sphere, turned
from fitkit.solids.profiles import QUARTER, Loop, Profile, polygon, rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["BallSeat", "cup_form"]

_UNDER_MM = 0.8  # least plate under the ball
_STEEPEST = math.radians(42.0)  # lean of the lip that still prints without support
_FOLLOWS = math.radians(15.0)  # how far below the equator the lip follows the sphere
_PAD = 0.6  # radius of the pad over the sphere's: it centres the ball and leaves a wide groove
_DISH = 1.1  # radius of the pad's dish over the sphere's: the ball touches its middle first
_FOOT_MM = 0.8  # from the plate up to the groove's floor and the ground of the slits
_ROOT_MM = 1.0  # radius of the corner at the lip's root, where the groove has room for it
_ROOT_SHARE = 0.4  # of the groove's width, at most
_PIECE_MM = 5.0  # width of a piece of the lip where the slits are not counted by hand
_MOST_SLITS = 12
_LEAST_PAD_MM, _HIGHEST_PAD_MM = 0.2, 30.0


class Cup(NamedTuple):
    """Heights, radii and angle of a cup, mm and radians.

    Attributes
    ----------
    centre, lip : float, mm
        Heights of the ball's middle and of the mouth's edge over the plate's underside.
    lean : float, radians
        From the equator up to that edge, seen from the ball's middle.
    low, bore : float, mm
        Height at which the lip leaves the sphere, and its inner radius from there down.
    pad, top : float, mm
        Radius of the pad, and height of its edge.
    floor, root : float, mm
        Height of the groove's floor, and radius of the corner between it and the lip.
    """

    centre: float
    lip: float
    lean: float
    low: float
    bore: float
    pad: float
    top: float
    floor: float
    root: float

    @property
    def length(self) -> float:
        """From the rounded root to the lip's edge, mm: what bends."""
        return self.lip - self.floor - self.root

    def hollow(self, seat: float) -> float:
        """Volume of the groove and of the sphere's part that lies in the cup, mm³.

        Parameters
        ----------
        seat : float, mm
            The sphere's diameter.

        Returns
        -------
        float, mm³
            By the volumes of spherical segments and cylinders; the ring in the rounded corner is
            its area, (1 - pi / 4) r², times the way round of its centroid.
        """
        r = seat / 2

        def segment(z: float) -> float:  # of the sphere, from its middle up to z
            return math.pi * (r * r * z - z**3 / 3)

        above = segment(self.lip - self.centre) - segment(self.low - self.centre)
        bored = math.pi * self.bore**2 * (self.low - self.floor)
        # A cap of height h of a sphere of radius R: pi h² (3 R - h) / 3.
        deep = self.top - (self.centre - r)
        dish = math.pi * deep**2 * (3 * _DISH * r - deep) / 3
        pad = math.pi * self.pad**2 * (self.top - self.floor) - dish
        area = (1 - math.pi / 4) * self.root**2
        # A spandrel's centroid lies (10 - 3 pi) / (12 - 3 pi) r from either side of its corner.
        away = (10 - 3 * math.pi) / (12 - 3 * math.pi) * self.root
        return above + bored - pad - 2 * math.pi * (self.bore - away) * area


def cup_form(seat: float, mouth: float, under: float, floor: float) -> Cup:
    """Lay out a cup: sphere of diameter `seat`, cut off where it has narrowed to `mouth`, mm.

    Parameters
    ----------
    seat, mouth : float, mm
        Diameters of the sphere and of the mouth; a mouth as wide as the sphere ends at the equator.
    under : float, mm
        Height of the sphere's lowest point.
    floor : float, mm
        Height of the groove's floor.

    Returns
    -------
    Cup

    Examples
    --------
    >>> cup = cup_form(20.0, 19.0, 2.0, 3.8)
    >>> round(cup.centre, 3), round(cup.lip - cup.centre, 3), round(math.degrees(cup.lean), 1)
    (12.0, 3.122, 18.2)
    """
    r = seat / 2
    rise = math.sqrt(max(r * r - mouth * mouth / 4, 0.0))
    centre, bore, pad = under + r, r * math.cos(_FOLLOWS), _PAD * r
    return Cup(
        centre=centre,
        lip=centre + rise,
        lean=math.atan2(rise, mouth / 2),
        low=centre - r * math.sin(_FOLLOWS),
        bore=bore,
        pad=pad,
        top=under + _DISH * r - math.sqrt((_DISH * r) ** 2 - pad * pad),
        floor=floor,
        root=min(_ROOT_MM, _ROOT_SHARE * (bore - pad)),
    )


@dataclass(frozen=True, kw_only=True)
class BallSeatSizes(SizeSet):
    """Sizes of a ball seat that must fit."""

    seat: FitSize
    mouth: FitSize
    screw_hole: FitSize | None = None
    screw_spacing: FitSize | None = None


class BallSeat(Template):
    """Seat that holds a ball on a wall plate."""

    title: ClassVar[str] = "ball seat"
    summary: ClassVar[str] = "Cup or four arms that hold a ball beyond its equator, on a plate."
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
    used_when: ClassVar[UsedWhen] = {
        "slits": {"style": ("cup",)},
        "slit": {"style": ("cup",)},
        "arm": {"style": ("arms",)},
        "screw": {"screws": (1, 2, 3, 4)},
    }

    ball: Length = size(
        "25 mm", low="8 mm", high="80 mm", measured=True, help="Diameter of the ball."
    )
    style: Literal["cup", "arms"] = choice("cup", "Slit cup, or four arms.")
    retention: Length = size(
        "0.4 mm",
        low="0.1 mm",
        high="4 mm",
        help="How much narrower than the ball the mouth is.",
        group="Holding",
    )
    wall: Length = size("2 mm", low="1.2 mm", high="6 mm", help="Least wall of the cup.")
    slits: Annotated[int, Field(ge=0, le=_MOST_SLITS)] = choice(
        0,
        "Slits that let a cup give way, the more, the easier; 0 for as many as leave pieces "
        "about 5 mm wide.",
        "Holding",
    )
    slit: Length = size(
        "1.2 mm", low="0.8 mm", high="4 mm", help="Width of a slit.", group="Holding"
    )
    arm: Length = size(
        "8 mm", low="3 mm", high="40 mm", help="Width of each of four arms.", group="Holding"
    )
    strain: Annotated[float, Field(ge=0.3, le=6)] = choice(
        0.35,
        "Strain that the lip may see, in %; the less, the longer it is and the higher the ball.",
        "Holding",
        label="strain, %",
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
            screw_hole=screw_fit(self.screw, spacing=("screw spacing",) if self.screws > 1 else ())
            if self.screws
            else None,
            screw_spacing=FitSize(
                nominal_mm=2
                * self._ring(self.ball / 2 + self.wall, screw_fit(self.screw).nominal_mm)
                * math.sin(math.pi / self.screws),
                kind=CENTRES,
            )
            if self.screws > 1
            else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the seat, its plate at z = 0, the ball on top."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        seat, mouth = sizes.seat.drawn_mm, sizes.mouth.drawn_mm
        hole = drawn_mm(sizes.screw_hole, 0.0)
        outer = seat / 2 + self.wall
        self._refuse(seat, mouth)
        cup = self._cup(seat, mouth)
        body = "seat"
        wide, spots = self._plate(outer, hole, sizes.screw_spacing)
        tools = self._slit_tools(seat, cup)
        if self.style == "cup":
            # One piece of the lip, cut from its neighbours, and its copies on the base: a boolean
            # of the whole lip with all slits takes longer.
            count = len(tools)
            first = math.degrees(self._first_angle(count))
            lip = revolve(_lip(cup, mouth, outer), angle=360.0 / count)
            piece = cut(turned(lip, z=first - 180.0 / count), tools[0], tools[-1])
            pieces = [turned(piece, z=360.0 * i / count) for i in range(count)]
            base = revolve(_base(cup, seat, outer, self.plate, wide))
            shape = fuse(base, *pieces, touching=True)
        else:
            section, volume = _section(cup, seat, mouth, outer, self.plate, wide)
            shape = cut(checked(revolve(section), body, volume=volume, proved=True), *tools)
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

        head = max(head_mm(self.screw), hole) / 2
        room, label_y = ring_room(
            self.label, inner=outer, outer=wide / 2, keep_off=[(x, y, head) for x, y in spots]
        )
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
        if sizes.screw_spacing:
            (x, y), (u, v) = spots[:2]
            dimensions.append(
                KeyDimension.of(sizes.screw_spacing, body=body, start=(x, y, 0.0), end=(u, v, 0.0))
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
                Wall(
                    name="under the ball",
                    body=body,
                    thickness_mm=cup.centre - seat / 2,
                    at=(0, 0, (cup.centre - seat / 2) / 2),
                ),
            ),
            arms=self._arms(seat, mouth, cup),
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
            buys=countersunk(self.screw, len(spots), "plate"),
        )

    # --- for whoever lets a cup into another plate ------------------------------------------------

    def lay_out(self, seat: float, mouth: float) -> Cup:
        """Lay out the cup over the plate, or raise what cannot be made of these sizes, mm."""
        self._refuse(seat, mouth)
        return self._cup(seat, mouth)

    def on_plate(self, cup: Cup, seat: float, mouth: float, wide: float) -> Shape:
        """Draw the cup with its slits on a round bit of plate of a diameter, without chamfer."""
        outer = seat / 2 + self.wall
        section, volume = _section(cup, seat, mouth, outer, self.plate, wide, edge=0.0)
        whole = checked(revolve(section), "cup", volume=volume, proved=True)
        return cut(whole, *self._slit_tools(seat, cup))

    def lips(self, cup: Cup, seat: float, mouth: float) -> tuple[SnapArm, ...]:
        """Give the lip's pieces for the checks, heights over the plate's underside."""
        return self._arms(seat, mouth, cup)

    def _arm_count(self, seat: float) -> int:
        if self.style == "arms":
            return 4
        # An even count leaves a piece opposite each other one, for the jaws of calipers.
        even = 2 * int(math.pi * seat / (_PIECE_MM + self.slit) / 2)
        return self.slits or min(max(even, 4), _MOST_SLITS)

    def _arm_width(self, seat: float) -> float:
        if self.style == "arms":
            return self.arm
        return math.pi * seat / self._arm_count(seat) - self.slit

    def _cup(self, seat: float, mouth: float) -> Cup:
        """Lay out the cup, its pad as high as the lip's strain asks."""
        lowest = max(self.plate - 1.0, _UNDER_MM) if self.plate > 2.5 else self.plate
        floor = self.plate + _FOOT_MM

        def cup(lift: float) -> Cup:
            return cup_form(seat, mouth, lowest + lift, floor)

        def bears(lift: float) -> bool:
            return 100 * self._strain(seat, cup(lift)) <= self.strain

        # The groove ends below the pad's edge and the place where the lip leaves the sphere.
        flat = cup(0.0)
        least = max(0.0, floor + flat.root - flat.low, floor + _LEAST_PAD_MM - flat.top)
        if bears(least):
            return cup(least)
        low, high = least, _HIGHEST_PAD_MM
        strain = 100 * self._strain(seat, cup(high))
        rules = Rules(self.title)
        rules.at_most(
            "retention",
            self.retention,
            self.retention * self.strain / strain,
            "ball arms strained",
            count=self._arm_count(seat),
            high=cup(high).length,
            half=self.retention / 2,
            bent=strain,
            strain=self.strain,
        )
        rules.refuse()
        for _ in range(14):  # to 0.002 mm
            middle = (low + high) / 2
            low, high = (low, middle) if bears(middle) else (middle, high)
        return cup(high)

    def _strain(self, seat: float, cup: Cup) -> float:
        """Greatest strain of the lip, at its rounded root, as a fraction."""
        thickness, _ = self._bends_as(seat, cup)
        notch = notch_factor(cup.root, thickness)
        return notch * arm_strain(cup.length, thickness, self.retention / 2)

    def _bends_as(self, seat: float, cup: Cup) -> tuple[float, float]:
        """Rectangle that bends as a piece of the lip: a ring's segment, thinnest at the equator."""
        outer, count = seat / 2 + self.wall, self._arm_count(seat)

        def section(down: float) -> tuple[float, float]:
            height = cup.lip - down
            inner = cup.bore
            if height > cup.low:
                inner = math.sqrt(seat**2 / 4 - (height - cup.centre) ** 2)
            middle = (inner + outer) / 2
            if self.style == "arms":
                half = math.asin(min(self.arm / 2 / middle, 1.0))
            else:
                half = math.pi / count - math.asin(self.slit / 2 / middle)
            return ring_segment(inner, outer, half)

        return bends_as(cup.length, section)

    def _arms(self, seat: float, mouth: float, cup: Cup) -> tuple[SnapArm, ...]:
        """One entry a piece of the lip, at its upper edge, where the ball goes past it."""
        count, lead = self._arm_count(seat), max(math.degrees(cup.lean), 1.0)
        first = self._first_angle(count)
        angles = [first + 2 * math.pi * i / count for i in range(count)]
        thickness, width = self._bends_as(seat, cup)
        return tuple(
            SnapArm(
                name=f"lip {number}",
                body="seat",
                length_mm=cup.length,
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
                root_radius_mm=cup.root,
            )
            for number, angle in enumerate(angles, start=1)
        )

    def _first_angle(self, count: int) -> float:
        """Where the middle of a piece lies, radians from x.

        Opposite the middle of a piece lies another one, or, of an odd number, a slit: these are
        turned by a quarter of a piece, so that the x axis meets a piece on both sides.
        """
        return 0.0 if count % 2 == 0 else math.pi / (2 * count)

    def _slit_tools(self, seat: float, cup: Cup) -> list[object]:
        """Slits as slots from the groove outwards, or four sectors that leave arms between."""
        n, high, outer = self._arm_count(seat), cup.lip + 1 - cup.floor, seat / 2 + self.wall
        if self.style == "cup":
            # Not from the middle: the boolean would meet each slot with all the others there, and
            # the pad stays whole. Nor from within the corner's round.
            start = (cup.pad + cup.bore - cup.root) / 2
            slot = rectangle(outer + 2 - start, self.slit, at=((outer + 2 + start) / 2, 0.0))
        else:
            # Between two arms, bounded by lines parallel to each arm's middle.
            half, far, turn = self.arm / 2, 2 * (outer + 2), math.pi / n
            corner = half / math.sin(turn)
            x, y = corner + far * math.cos(turn), far * math.sin(turn)
            slot = polygon([(corner, 0.0), (x, -y), (corner + far, 0.0), (x, y)])
        tool = extrude(slot, high, z=cup.floor)
        first = math.degrees(self._first_angle(n)) + 180.0 / n
        return [turned(tool, z=first + 360.0 * i / n) for i in range(n)]

    def _ring(self, outer: float, hole: float) -> float:
        """Radius of the circle on which the screws stand, mm."""
        return outer + max(head_mm(self.screw), hole) / 2 + 1.5

    def _plate(
        self, outer: float, hole: float, spacing: FitSize | None
    ) -> tuple[float, list[tuple[float, float]]]:
        """Diameter of the plate, with a strip for the label round the cup, and its screws."""
        if not self.screws:
            return 2 * outer + 12, []
        head = max(head_mm(self.screw), hole)
        ring = self._ring(outer, hole)
        wide = 2 * (ring + head / 2 + 2.0)
        if spacing is not None:
            ring = spacing.drawn_mm / 2 / math.sin(math.pi / self.screws)
        turn = {1: 90.0, 2: 0.0, 3: 90.0, 4: 45.0}[self.screws]
        spots = []
        for i in range(self.screws):
            angle = math.radians(turn + 360.0 * i / self.screws)
            spots.append((ring * math.cos(angle), ring * math.sin(angle)))
        return wide, spots

    def _refuse(self, seat: float, mouth: float) -> None:
        rules = Rules(self.title)
        rules.at_most(
            "retention",
            self.retention,
            self.ball - seat * math.cos(_STEEPEST) if mouth < seat else self.retention,
            "lip leans in",
        )
        rules.at_most("retention", mouth, seat - 0.05, "mouth below seat")
        rules.at_least("retention", mouth, 0.5 * seat, "mouth as drawn")
        if self.style == "arms":
            rules.at_most("arm", self.arm, 0.6 * seat, "arms close to a cup")
        else:
            rules.at_least("slits", self._arm_width(seat), 2.0, "lip between slits")
        rules.refuse()


def _lip(cup: Cup, mouth: float, outer: float) -> Profile:
    """Half section (radius, height) of the lip alone, on the groove's floor."""
    corners = (
        (cup.bore - cup.root, cup.floor, 0.0),
        (outer, cup.floor, 0.0),
        (outer, cup.lip, 0.0),
        (mouth / 2, cup.lip, -math.tan((cup.lean + _FOLLOWS) / 4)),
        (cup.bore, cup.low, 0.0),
        (cup.bore, cup.floor + cup.root, -QUARTER),
    )
    return Profile(Loop(corners))


def _base(cup: Cup, seat: float, outer: float, plate: float, wide: float) -> Profile:
    """Half section (radius, height) of what carries the lip: plate, foot and pad."""
    r, edge = wide / 2, BED_EDGE_MM
    corners = (
        (0.0, 0.0, 0.0),
        (r - edge, 0.0, 0.0),
        (r, edge, 0.0),
        (r, plate, 0.0),
        (outer, plate, 0.0),
        (outer, cup.floor, 0.0),
        (cup.pad, cup.floor, 0.0),
        (cup.pad, cup.top, -math.tan(math.asin(_PAD / _DISH) / 4)),
        (0.0, cup.centre - seat / 2, 0.0),
    )
    return Profile(Loop(corners))


def _section(
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
    # The cup's inside runs down from the mouth's edge, leaves the sphere, goes round the groove and
    # over the pad's edge to the ball's lowest point.
    lip = -math.tan((cup.lean + _FOLLOWS) / 4)
    dish = -math.tan(math.asin(_PAD / _DISH) / 4)
    corners = (
        (0.0, 0.0, 0.0),
        *foot,
        (r, plate, 0.0),
        (outer, plate, 0.0),
        (outer, cup.lip, 0.0),
        (mouth / 2, cup.lip, lip),
        (cup.bore, cup.low, 0.0),
        (cup.bore, cup.floor + cup.root, -QUARTER),
        (cup.bore - cup.root, cup.floor, 0.0),
        (cup.pad, cup.floor, 0.0),
        (cup.pad, cup.top, dish),
        (0.0, cup.centre - seat / 2, 0.0),
    )
    cut_off = math.pi * edge**2 * (r - edge / 3)  # triangle's area times its centroid's way round
    volume = math.pi * (r**2 * plate + outer**2 * (cup.lip - plate)) - cup.hollow(seat) - cut_off
    return Profile(Loop(corners)), volume
