"""Round cups side by side: how bodies lie in them, and how their arms bend, on any base.

Arms reach round beyond the middle and snap over the body, or the cups end at the middle and the
body only rests. The cradle and the saddles draw the same section: one stretched along the print's
z, so that its arms bend in the layers, the other standing on a plate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Annotated, ClassVar, NamedTuple

from pydantic import Field

from fitkit.core.finding import Finding
from fitkit.core.models import StrictModel
from fitkit.core.sizes import INSIDE
from fitkit.parts.arms import SHARP_MM, arc_lever, arm_strain, bends_as, notch_factor
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
from fitkit.parts.fit_size import SizeSet, drawn_mm, holding
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.holder import Fixture
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bodies import checked, extrude, moved, turned
from fitkit.solids.profiles import Loop, Profile, circle

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fitkit.core.sizes import Axis, SizeKind

__all__ = [
    "LEAST_WALL_MM",
    "CupSizes",
    "Cups",
    "Grasp",
    "Lying",
    "arm_bends_as",
    "arm_reach_mm",
    "cradle_root_mm",
    "cradle_section",
    "cup_strain",
    "no_arms",
    "rods",
    "usual_arms",
]

LEAST_WALL_MM, _LEAST_GRIP_MM = 1.2, 0.2
# Wall and grip of arms, from what is usual to what a thin body takes. Choices of ours.
_TRIED_MM = ((2.0, 0.4), (1.6, 0.4), (1.6, 0.3), (1.2, 0.3), (1.2, 0.2))
_ROOT_SHARE = 0.75  # of the wall
# From the round at a cup's root to straight below the cup's outside: the base may end there, with
# its edge at the bed.
_PAST_MM = BED_EDGE_MM + 0.4


def cradle_section(
    centres: Sequence[float],
    inner: float,
    wall: float,
    *,
    base: float,
    ends: float,
    half_open: float,
    root: float = 0.0,
    inset: float = 0.0,
) -> Profile:
    """Section of a cradle: base from -ends to +ends, a cup at each centre, mm.

    Parameters
    ----------
    centres : sequence of float, mm
        Middles of the cups, rising, their outer rounds apart.
    inner, wall : float, mm
        Radius inside the cup, and its thickness; the cup's floor lies at the base's upper face.
    base, ends : float, mm
    half_open : float, radians
        From straight up to where the arms end.
    root : float, mm
        Radius of the corner between the base and a cup's outside, as from `cradle_root_mm`; 0 for a
        sharp one.
    inset : float, mm
        Draws every face this much further in, side by side alike: the edge at the bed.
    """
    up = base + inner
    foot = math.asin((inner - root) / (inner + wall + root))  # where the outer round ends, below
    inner, outer, base, ends = inner + inset, inner + wall - inset, base - inset, ends - inset
    if root:
        x_foot = (outer + root + inset) * math.cos(foot)  # where the corner's round meets the base
    else:
        foot = math.asin((up - base) / outer)
        x_foot = outer * math.cos(foot)
    tip = math.pi / 2 - half_open
    corners: list[tuple[float, float, float]] = [
        (-ends, inset, 0),
        (ends, inset, 0),
        (ends, base, 0),
    ]
    out_bulge = math.tan((tip + foot) / 4)
    in_bulge = -math.tan((math.pi / 2 + tip) / 4)

    def at(x: float, radius: float, angle: float, bulge: float) -> tuple[float, float, float]:
        return (x + radius * math.cos(angle), up + radius * math.sin(angle), bulge)

    # The corner's round runs clockwise: a quarter, and what the outer round ends below level.
    round_bulge = -math.tan((math.pi / 2 + foot) / 4)
    for x in reversed(centres):
        if root:
            corners.append((x + x_foot, base, round_bulge))
            corners.append(at(x, outer, -foot, out_bulge))
        else:
            corners.append((x + x_foot, base, out_bulge))
        corners += [
            at(x, outer, tip, 0.0),
            at(x, inner, tip, in_bulge),
            at(x, inner, -math.pi / 2, in_bulge),
            at(x, inner, math.pi - tip, 0.0),
            at(x, outer, math.pi - tip, out_bulge),
        ]
        if root:
            corners.append(at(x, outer, math.pi + foot, round_bulge))
        corners.append((x - x_foot, base, 0.0))
    corners.append((-ends, base, 0))
    return Profile(Loop(tuple(corners)))


def cradle_root_mm(inner: float, wall: float) -> float:
    """Radius of the corner between the base and a cup's outside, mm; 0 where it has no room.

    Three quarters of the wall, since a larger one stiffens the arm as much as it spares it; less
    where it would reach past the cup's outside: the next cup, the end of the base or a screw's head
    may be there.

    Parameters
    ----------
    inner, wall : float, mm
        Radius inside the cup, and its thickness.

    Returns
    -------
    float, mm

    Notes
    -----
    A round of radius r between the base and a circle of radius R, whose middle is i above the base,
    meets the base at sqrt((R + r)² - (i - r)²) from that middle.

    Examples
    --------
    >>> round(cradle_root_mm(9.25, 2.0), 3), round(cradle_root_mm(3.0, 2.0), 3)
    (1.5, 0.0)
    """
    outer = inner + wall
    most = ((outer - _PAST_MM) ** 2 / (outer + inner) - wall) / 2
    root = min(_ROOT_SHARE * wall, most)
    # One that is hardly rounder than what a sharp corner prints as spares nothing.
    return root if root >= 2 * SHARP_MM else 0.0


def arm_bends_as(inner: float, wall: float, width: float, half_open: float) -> tuple[float, float]:
    """Straight even arm that is strained and pushes back as a cup's curved one does.

    Parameters
    ----------
    inner, wall, width : float, mm
        Radius inside the cup, its thickness, and its length along the body.
    half_open : float, radians
        From straight up to where the arm ends.

    Returns
    -------
    thickness, width : float, mm
        Of the rectangle; it is as long as `arm_reach_mm` says. The arm is thicker where the corner
        at its root is rounded.
    """
    root, middle = cradle_root_mm(inner, wall), inner + wall / 2
    # Middle of the corner's round, seen from the cup's.
    away = math.sqrt((wall + 2 * root) * (2 * inner + wall))
    below = inner - root

    def section(down: float) -> tuple[float, float]:
        angle = down / middle - (math.pi / 2 - half_open)  # below level
        thick = wall
        if root and angle > math.asin(below / (inner + wall + root)):
            aside = away * math.sin(angle) - below * math.cos(angle)
            far = away * math.cos(angle) + below * math.sin(angle)
            thick = 2 * wall  # past the round, in the base
            if aside < root:
                thick = min(thick, far - math.sqrt(root**2 - aside**2) - inner)
        return thick / 2, width * thick**3 / 12

    reach = arm_reach_mm(inner, wall, half_open)
    return bends_as(reach, section, arc_lever(middle, math.pi / 2 - half_open))


def arm_reach_mm(inner: float, wall: float, half_open: float) -> float:
    """Length of an arm along its middle, from where it leaves the base to its tip, mm."""
    foot = math.asin(inner / (inner + wall))
    return (inner + wall / 2) * (math.pi / 2 - half_open + foot)


def cup_strain(inner: float, wall: float, half_open: float, grip: float) -> float:
    """Strain of a cup's arms in the corner at their root, in %, when they give way by the grip.

    Parameters
    ----------
    inner, wall : float, mm
        Radius inside the cup, and its thickness.
    half_open : float, radians
        From straight up to where an arm ends.
    grip : float, mm

    Returns
    -------
    float
    """
    thickness, _ = arm_bends_as(inner, wall, 1.0, half_open)
    strain = arm_strain(arm_reach_mm(inner, wall, half_open), thickness, grip)
    return 100 * notch_factor(cradle_root_mm(inner, wall), wall) * strain


def usual_arms(
    diameter: float, strain: float, *, wall: float | None = None, grip: float | None = None
) -> tuple[float, float] | None:
    """Wall and grip of arms that a body of this diameter does not strain too much, mm.

    Parameters
    ----------
    diameter : float, mm
    strain : float
        That they may see, in %.
    wall, grip : float or None, mm
        What is given, and kept.

    Returns
    -------
    (wall, grip) or None
        The strongest of the usual ones that bear it; None if none does.

    Examples
    --------
    >>> usual_arms(18.5, 0.9), usual_arms(12.0, 0.9), usual_arms(7.0, 0.9)
    ((1.6, 0.4), (1.2, 0.2), None)
    """
    inner = diameter / 2
    for one, two in _TRIED_MM:
        thick, over = wall or one, grip or two
        if over >= inner:
            continue
        half_open = math.asin((inner - over) / inner)
        # Cup and mouth are drawn a little larger or smaller: a twentieth is left for that.
        if cup_strain(inner, thick, half_open, over) <= 0.95 * strain:
            return thick, over
    return None


def no_arms(diameter: float, strain: float, instead: str) -> Finding:
    """Say why a thin body gets no arms.

    Parameters
    ----------
    diameter : float, mm
    strain : float
        That arms may see, in %.
    instead : str
        What there is in their place: ends a sentence.

    Returns
    -------
    Finding
    """
    wall, grip = _TRIED_MM[-1]
    inner = diameter / 2
    bent = cup_strain(inner, wall, math.asin((inner - grip) / inner), grip)
    return Finding(
        check="build",
        severity="note",
        text=f"Arms round a body of {diameter:.1f} mm would be strained by {bent:.1f} %, more than "
        f"the {strain:g} % that they may see: {instead}.",
        value=bent,
        limit=strain,
        unit="%",
        basis="curved cantilever with the corner at its root",
        remedy='Choose hold = "arms" all the same if it is put in once and stays.',
    )


class Grasp(NamedTuple):
    """By what a body is held; thickness of the cup and how far its arms reach over, mm."""

    by: str
    wall: float
    grip: float


@dataclass(frozen=True, kw_only=True)
class CupSizes(SizeSet):
    """Sizes of cups that must fit."""

    cup: FitSize
    mouth: FitSize | None = None


class Lying(NamedTuple):
    """Bodies in their cups as drawn, mm and radians.

    Attributes
    ----------
    inner, half_open : float
        Radius inside a cup, and from straight up to where its arms end.
    centres : tuple of float, mm
        Middles of the cups, rising.
    mouth : float, mm
        Between the tips of a cup's arms.
    """

    inner: float
    half_open: float
    centres: tuple[float, ...]
    mouth: float


class Cups(StrictModel):
    """Cups for lying round bodies: parameters, sizes and numbers, about the x axis."""

    title: ClassVar[str]
    # What holds a body so thin that arms would break, and how that is told.
    instead: ClassVar[tuple[str, str]]
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="body diameter",
                round=True,
                note="over the body with its sleeve, at places a third of a turn apart",
            ),
            Reading(feature="body length", note="over its two ends, knobs and rims included"),
        ),
        sizes=(
            FromReadings(parameter="diameter", text="body_diameter"),
            FromReadings(parameter="body_length", text="body_length"),
        ),
    )

    diameter: Length = size(
        "18.5 mm", low="6 mm", high="90 mm", measured=True, help="Diameter of the body."
    )
    body_length: Length = size(
        "65 mm", low="8 mm", high="300 mm", measured=True, help="Length of the body."
    )
    count: Annotated[int, Field(ge=1, le=8)] = choice(1, "Bodies side by side.")
    gap: Length = size("3 mm", low="1.5 mm", high="40 mm", help="Between the cups, for fingers.")
    wall: Length | None = usual_size(
        "2 mm",
        low=f"{LEAST_WALL_MM} mm",
        high="6 mm",
        help="Thickness of cups and arms; 2 mm, or less round a thin body, if not given.",
    )
    hold: str = choice("auto", "By arms, or otherwise.", "Holding")
    grip: Length | None = usual_size(
        "0.4 mm",
        low=f"{_LEAST_GRIP_MM} mm",
        high="4 mm",
        group="Holding",
        help="How far each arm reaches over the body: it must give way by as much; 0.4 mm, or "
        "less over a thin body, if not given.",
    )

    def bears(self) -> float:
        """Strain that arms may see, in %."""
        raise NotImplementedError

    @cached_property
    def grasp(self) -> Grasp:
        """By what bodies are held, with wall and grip: as given, or as arms bear them."""
        found = usual_arms(self.diameter, self.bears(), wall=self.wall, grip=self.grip)
        by = self.hold
        if by == "auto":  # who gives a grip wants arms, and is told if they would break
            by = "arms" if found or self.grip is not None else self.instead[0]
        if by == self.instead[0]:
            return Grasp(by, self.wall or _TRIED_MM[0][0], 0.0)
        wall, grip = found or _TRIED_MM[-1]
        return Grasp("arms", self.wall or wall, self.grip or grip)

    def without_arms(self) -> tuple[Finding, ...]:
        """Say that arms were wanted if they last, and something else was taken."""
        if self.hold != "auto" or self.grasp.by == "arms":
            return ()
        return (no_arms(self.diameter, self.bears(), self.instead[1]),)

    def cup_sizes(self, kind: SizeKind, axis: Axis = "xy") -> CupSizes:
        """Declare the cup, and the arms' mouth, which has no gap: it must not go freely."""
        mouth = FitSize(
            nominal_mm=self.diameter - 2 * self.grasp.grip,
            of="diameter",
            kind=INSIDE,
            axis=axis,
            coated_faces=2,
        )
        return CupSizes(
            cup=holding(self.diameter, "diameter", kind, axis, behaviour="snug by hand"),
            mouth=mouth if self.grasp.by == "arms" else None,
        )

    def centres(self, inner: float) -> tuple[float, ...]:
        """Middles of the cups, rising, mm."""
        pitch = 2 * (inner + self.grasp.wall) + self.gap
        return tuple(pitch * (i - (self.count - 1) / 2) for i in range(self.count))

    def refuse_grip(self, rules: Rules, inner: float, mouth: float) -> None:
        """Refuse arms that cannot be pushed open, or do not hold."""
        if self.grasp.by != "arms":
            return
        rules.at_most("grip", self.grasp.grip, 0.15 * self.diameter, "arms reach far over")
        narrow = inner - mouth / 2 if mouth / 2 < inner else inner + 1
        rules.at_most("grip", narrow, inner * 0.25, "mouth of the cup")

    def lying(
        self,
        sizes: CupSizes,
        form: Lying,
        at: Sequence[float],
        up: float,
        width: float,
        named: Callable[[str, int, int], str],
        *,
        layers_across: bool,
    ) -> Fixture:
        """Give bodies, cups and arms as numbers.

        Parameters
        ----------
        sizes : CupSizes
            As drawn.
        form : Lying
        at : sequence of float, mm
            Middles of the saddles along x; the last is measured.
        up : float, mm
            Height of the cups' middles.
        width : float, mm
            Of a saddle along x.
        named : callable
            Given side, number of the body and of the saddle: name of the arm.
        layers_across : bool
            As printed.

        Returns
        -------
        Fixture
        """
        inner, half_open, centres, mouth = form
        wall, y, x = self.grasp.wall, centres[0], at[-1]
        rise = inner * math.cos(half_open)
        found = [KeyDimension.across(sizes.cup, (x, y, up), "y")]
        arms: tuple[SnapArm, ...] = ()
        if sizes.mouth:
            found.append(KeyDimension.across(sizes.mouth, (x, y, up + rise), "y"))
            thickness, broad = arm_bends_as(inner, wall, width, half_open)
            # The body meets the tip at the same slope on its way in and out.
            lead = max(90 - math.degrees(half_open), 1.0)
            arms = tuple(
                SnapArm(
                    name=named("left" if side < 0 else "right", number, saddle),
                    body="",
                    length_mm=arm_reach_mm(inner, wall, half_open),
                    thickness_mm=wall,
                    width_mm=width,
                    deflection_mm=self.grasp.grip,
                    at=(x, y + side * mouth / 2, up + rise),
                    lead_angle_deg=lead,
                    release_angle_deg=lead,
                    layers_across=layers_across,
                    along=(0.0, 0.0, 1.0),
                    root_radius_mm=cradle_root_mm(inner, wall),
                    root_thickness_mm=wall,
                    bending_thickness_mm=thickness,
                    bending_width_mm=broad,
                )
                for saddle, x in enumerate(at, start=1)
                for number, y in enumerate(centres, start=1)
                for side in (-1, 1)
            )
        cup = Wall(
            name="cup", body="", thickness_mm=wall, at=(x, centres[0] - inner - wall / 2, up)
        )
        return Fixture(dimensions=tuple(found), walls=(cup,), arms=arms)

    def form(self, sizes: CupSizes, centres: tuple[float, ...]) -> Lying:
        """Lay the cups out for drawn sizes."""
        inner = sizes.cup.drawn_mm / 2
        mouth = drawn_mm(sizes.mouth, sizes.cup.drawn_mm)
        return Lying(inner, math.asin(min(mouth / 2 / inner, 1.0)), centres, mouth)


@lru_cache(maxsize=16)
def rods(
    centres: tuple[float, ...], diameter: float, length: float, start: float, z: float
) -> tuple[Body, ...]:
    """Give bodies as ghosts, from x = start on, their middles at z."""
    rod = turned(extrude(circle(diameter), length), x=90, z=90)
    return tuple(
        Body(name=f"body {number}", solid=checked(moved(rod, start, y, z), "body", proved=True))
        for number, y in enumerate(centres, start=1)
    )
