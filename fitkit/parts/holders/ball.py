"""A ball in a cup that grips it beyond its equator, or between four arms that do.

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
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.models import StrictModel
from fitkit.core.sizes import HOLE
from fitkit.parts.arms import arm_strain, bends_as, notch_factor, ring_segment
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, SnapArm, Wall, size
from fitkit.parts.fit_size import SizeSet, holding
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bodies import Shape, checked, cut, extrude, moved, raw, revolve, sphere, turned
from fitkit.solids.let_in import Piece
from fitkit.solids.profiles import QUARTER, Loop, Profile, circle, polygon, rectangle

__all__ = [
    "BallInCup",
    "Cup",
    "Cupped",
    "CuppedSizes",
    "base_section",
    "cup_form",
    "lip_section",
    "whole_section",
]

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
_RIM_MM = 1.5  # of plate round the cup of a holder


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
class CuppedSizes(SizeSet):
    """Sizes of a cup that must fit."""

    seat: FitSize
    mouth: FitSize


class Cupped(StrictModel):
    """A ball gripped beyond its equator, by what stands on a plate whose face is at z = 0."""

    title: ClassVar[str]
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

    def cup_sizes(self) -> CuppedSizes:
        """Declare the seat's sphere and its mouth."""
        return CuppedSizes(
            seat=holding(self.ball, "ball", HOLE, pair="ball and seat"),
            # The mouth's interference is chosen, so it takes no gap.
            mouth=FitSize(
                nominal_mm=self.ball - self.retention, of="ball", kind=HOLE, coated_faces=2
            ),
        )

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

    def lay_out(self, seat: float, mouth: float, plate: float) -> Cup:
        """Lay out the cup on a plate, its pad as high as the lip's strain asks, mm.

        Parameters
        ----------
        seat, mouth, plate : float, mm
            As drawn; heights of the cup are over the plate's underside.

        Returns
        -------
        Cup

        Raises
        ------
        FaultList
            If no cup can be made of these sizes.
        """
        self._refuse(seat, mouth)
        lowest = max(plate - 1.0, _UNDER_MM) if plate > 2.5 else plate
        floor = plate + _FOOT_MM

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

    def standing(self, sizes: CuppedSizes, cup: Cup, plate: float) -> Fixture:
        """Give the ball, and the numbers of what holds it: one arm a piece of the lip."""
        seat, mouth = sizes.seat.drawn_mm, sizes.mouth.drawn_mm
        middle, lip = cup.centre - plate, cup.lip - plate
        count, lead = self._arm_count(seat), max(math.degrees(cup.lean), 1.0)
        first = self.first_angle(count)
        angles = [first + 2 * math.pi * i / count for i in range(count)]
        thickness, width = self._bends_as(seat, cup)
        at = (0.0, seat / 2 + self.wall / 2, middle)
        return Fixture(
            ghosts=(_ghost(self.ball, middle - (seat - self.ball) / 2 + 0.01),),
            dimensions=(
                KeyDimension.across(sizes.seat, (0, 0, middle)),
                KeyDimension.across(sizes.mouth, (0, 0, lip)),
            ),
            walls=(Wall(name="cup at the equator", body="", thickness_mm=self.wall, at=at),),
            arms=tuple(
                SnapArm(
                    name=f"lip {number}",
                    body="",
                    length_mm=cup.length,
                    thickness_mm=self.wall,
                    width_mm=self._arm_width(seat),
                    deflection_mm=self.retention / 2,
                    # At its upper edge, where the ball goes past it.
                    at=(mouth / 2 * math.cos(angle), mouth / 2 * math.sin(angle), lip),
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
            ),
        )

    def first_angle(self, count: int) -> float:
        """Where the middle of a piece lies, radians from x.

        Opposite the middle of a piece lies another one, or, of an odd number, a slit: these are
        turned by a quarter of a piece, so that the x axis meets a piece on both sides.
        """
        return 0.0 if count % 2 == 0 else math.pi / (2 * count)

    def slit_tools(self, seat: float, cup: Cup) -> list[Shape]:
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
        first = math.degrees(self.first_angle(n)) + 180.0 / n
        return [turned(tool, z=first + 360.0 * i / n) for i in range(n)]

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


class BallInCup(Cupped, Holder):
    """A ball gripped beyond its equator."""

    title: ClassVar[str] = "ball in a cup"
    summary: ClassVar[str] = "A ball that snaps into a slit cup or between four arms."

    def must_fit(self, base: Base) -> CuppedSizes:
        """Declare the sphere and the mouth."""
        return self.cup_sizes()

    def space(self, base: Base) -> Space:
        """The cup and the ball, which is wider than its mouth."""
        half = max(self.ball / 2 + self.wall + _RIM_MM, self.ball / 2) + AIR_MM
        cup = self.lay_out(self.ball, self.ball - self.retention, base.thickness_mm)
        return Space(
            body=(-half, -half, half, half),
            height_mm=cup.centre + self.ball / 2 - base.thickness_mm,
        )

    def fixture(self, sizes: CuppedSizes, base: Base) -> Fixture:
        """Make the cup as one piece of plate."""
        seat, mouth, t = sizes.seat.drawn_mm, sizes.mouth.drawn_mm, base.thickness_mm
        cup = self.lay_out(seat, mouth, t)
        found = self.standing(sizes, cup, t)
        return replace(found, pieces=(_piece(self, seat, mouth, cup, t),))


@lru_cache(maxsize=16)
def _piece(held: Cupped, seat: float, mouth: float, cup: Cup, plate: float) -> Piece:
    """Cup on a round bit of plate, its upper face at z = 0; made and analysed once."""
    outer = seat / 2 + held.wall
    wide = 2 * (outer + _RIM_MM)
    section, volume = whole_section(cup, seat, mouth, outer, plate, wide, edge=0.0)
    whole = checked(revolve(section), "cup", volume=volume, proved=True)
    shape = cut(whole, *held.slit_tools(seat, cup))
    return Piece(raw(checked(moved(shape, z=-plate), "ball in a cup")), circle(wide).outer)


@lru_cache(maxsize=16)
def _ghost(ball: float, z: float) -> Body:
    return Body(name="ball", solid=checked(sphere(ball, at=(0, 0, z)), "ball"))


def lip_section(cup: Cup, mouth: float, outer: float) -> Profile:
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


def base_section(cup: Cup, seat: float, outer: float, plate: float, wide: float) -> Profile:
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


def whole_section(
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
