"""Cradle for round bodies that lie side by side: batteries, tubes, bottles.

Its section has one cup a body, on a common base. Arms reach round beyond the middle and snap over
the body, or the cups end at the middle and a strap in a groove under the base holds all. It prints
standing on one end: the section then lies in the layer plane, and so do the arms when they bend.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.finding import Finding
from fitkit.core.sizes import CENTRES, HOLE, INSIDE
from fitkit.parts.arms import SHARP_MM, arc_lever, arm_strain, bends_as, notch_factor
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
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, drilled, head_mm, screw_fit
from fitkit.solids.bevelled import bevelled
from fitkit.solids.bodies import checked, cut, extrude, fuse, moved, turned
from fitkit.solids.profiles import Loop, Profile, circle, polygon

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "Cradle",
    "Grasp",
    "arm_bends_as",
    "arm_reach_mm",
    "cradle_root_mm",
    "cradle_section",
    "cup_strain",
    "no_arms",
    "usual_arms",
]

_STRAP_MM = 2.0  # depth of the groove for a strap
_BESIDE_HEAD_MM = 2.0  # plastic beside a screw's head, to the groove and the end together
_LEAST_WALL_MM, _LEAST_GRIP_MM = 1.2, 0.2
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
class CradleSizes(SizeSet):
    """Sizes of a cradle that must fit."""

    cup: FitSize
    mouth: FitSize | None = None
    screw_hole: FitSize | None = None
    screw_spacing: FitSize | None = None


class Cradle(Template):
    """Cradle for one or more lying round bodies."""

    title: ClassVar[str] = "cradle"
    summary: ClassVar[str] = "Cups side by side for batteries or tubes, with arms or a strap."
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
        often=("count", "length", "hold", "stop", "lugs", "label"),
    )
    used_when: ClassVar[UsedWhen] = {
        "grip": {"hold": ("auto", "arms")},
        "strain": {"hold": ("auto", "arms")},
        "strap": {"hold": ("auto", "strap")},
        "screw": {"lugs": (True,)},
    }

    diameter: Length = size(
        "18.5 mm", low="6 mm", high="90 mm", measured=True, help="Diameter of the body."
    )
    body_length: Length = size(
        "65 mm", low="8 mm", high="300 mm", measured=True, help="Length of the body."
    )
    length: Length = size("30 mm", low="6 mm", high="250 mm", help="Length of the cradle.")
    count: Annotated[int, Field(ge=1, le=8)] = choice(2, "Bodies side by side.")
    gap: Length = size("3 mm", low="1.5 mm", high="40 mm", help="Between the cups, for fingers.")
    wall: Length | None = usual_size(
        "2 mm",
        low=f"{_LEAST_WALL_MM} mm",
        high="6 mm",
        help="Thickness of cups and arms; 2 mm, or less round a thin body, if not given.",
    )
    base: Length = size("4 mm", low="2 mm", high="15 mm", help="Thickness of the base.")
    hold: Literal["auto", "arms", "strap"] = choice(
        "auto",
        "Snap arms, or a strap round all. Auto takes arms, unless the body is so thin that they "
        "would break.",
        "Holding",
    )
    grip: Length | None = usual_size(
        "0.4 mm",
        low=f"{_LEAST_GRIP_MM} mm",
        high="4 mm",
        group="Holding",
        help="How far each arm reaches over the body: it must give way by as much; 0.4 mm, or "
        "less over a thin body, if not given.",
    )
    strain: Annotated[float, Field(ge=0.3, le=6)] = choice(
        0.9, "Strain that an arm may see at its root, in %.", "Holding", label="strain, %"
    )
    strap: Length = size(
        "8 mm", low="3 mm", high="40 mm", help="Width of the strap.", group="Holding"
    )
    stop: bool = choice(False, "Close one end, so that bodies cannot slide out.", "Holding")
    lugs: bool = choice(True, "Screw-down ears at both sides.", "Fixing")
    screw: Screw = choice("M3", "Countersunk screw through each ear.", "Fixing")

    @cached_property
    def grasp(self) -> Grasp:
        """By what bodies are held, with wall and grip: as given, or as arms bear them."""
        found = usual_arms(self.diameter, self.strain, wall=self.wall, grip=self.grip)
        by: str = self.hold
        if by == "auto":  # who gives a grip wants arms, and is told if they would break
            by = "arms" if found or self.grip is not None else "strap"
        if by == "strap":
            return Grasp("strap", self.wall or _TRIED_MM[0][0], 0.0)
        wall, grip = found or _TRIED_MM[-1]
        return Grasp("arms", self.wall or wall, self.grip or grip)

    def must_fit(self) -> CradleSizes:
        """Declare the cup, the arms' mouth and the screw hole."""
        # Less than the body by the grip of both arms; no gap, since it must not go freely.
        mouth = FitSize(
            nominal_mm=self.diameter - 2 * self.grasp.grip,
            of="diameter",
            kind=INSIDE,
            coated_faces=2,
        )
        return CradleSizes(
            cup=FitSize(
                nominal_mm=self.diameter,
                of="diameter",
                kind=HOLE,
                sense=1,
                pair="object in pocket",
                behaviour="snug by hand",
                coated_faces=2,
            ),
            mouth=mouth if self.grasp.by == "arms" else None,
            screw_hole=screw_fit(self.screw, lying=True, spacing=("screw spacing",))
            if self.lugs
            else None,
            screw_spacing=FitSize(
                nominal_mm=2 * self._out(self.diameter / 2, screw_fit(self.screw).nominal_mm),
                kind=CENTRES,
                axis="x",  # the cups lie along the print's x
            )
            if self.lugs
            else None,
        )

    def _centres(self, inner: float) -> list[float]:
        """Middles of the cups, mm."""
        pitch = 2 * (inner + self.grasp.wall) + self.gap
        return [pitch * (i - (self.count - 1) / 2) for i in range(self.count)]

    def _ear(self, hole: float) -> float:
        """How far an ear stands out, mm."""
        return max(head_mm(self.screw), hole + 1) + 3.0

    def _out(self, inner: float, hole: float) -> float:
        """Distance of the ears' screws from the middle, mm."""
        outside = self._centres(inner)[-1] + inner + self.grasp.wall
        return outside + self._ear(hole) - max(head_mm(self.screw), hole + 1) / 2 - 1.0

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the cradle: bodies lie along x, the base is at z = 0."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        inner, hole = sizes.cup.drawn_mm / 2, drawn_mm(sizes.screw_hole, 0.0)
        mouth = drawn_mm(sizes.mouth, sizes.cup.drawn_mm)
        self._refuse(inner, mouth, hole)
        half_open = math.asin(min(mouth / 2 / inner, 1.0))
        base = max(self.base, _STRAP_MM + 1.2) if self.grasp.by == "strap" else self.base
        outer = inner + self.grasp.wall
        centres = self._centres(inner)
        head = max(head_mm(self.screw), hole + 1)
        ear = self._ear(hole) if self.lugs else 0.0
        ends = centres[-1] + outer + ear
        draw = partial(
            cradle_section,
            centres,
            inner,
            self.grasp.wall,
            base=base,
            ends=ends,
            half_open=half_open,
            root=cradle_root_mm(inner, self.grasp.wall),
        )
        section, foot = draw(), draw(inset=BED_EDGE_MM)
        shape = checked(
            bevelled(foot.outer, section.outer, BED_EDGE_MM, self.length),
            "cradle",
            volume=(section.area * (self.length - BED_EDGE_MM), section.area * self.length),
            proved=True,
        )
        floor = 0.0
        if self.stop:
            floor = self.grasp.wall
            discs = [
                extrude(circle(2 * inner + self.grasp.wall, at=(x, base + inner)), floor)
                for x in centres
            ]
            shape = fuse(shape, *discs)
        middle = floor + (self.length - floor) / 2
        out = ends - head / 2 - 1.0
        places = self._screw_places(floor, drawn_mm(sizes.screw_spacing, 2 * out) / 2)
        left_off: tuple[Finding, ...] = ()
        if self.lugs:
            # Drilled with the base's upper face up; the print's upper side is then at -y.
            ears = [(y, -x) for x, y in places]
            shape, left_off = drilled(
                turned(shape, x=90),
                ears,
                hole=hole,
                top=base,
                head=head_mm(self.screw),
                lying=True,
                body="cradle",
            )
            shape = turned(shape, x=-90)
        if self.grasp.by == "strap":
            shape = cut(shape, _groove(2 * ends, self.strap, self._strap_middle(floor)))
        from fitkit.solids.label import sink_text

        # On the upper end of the base, seen when the cradle stands on the bed.
        shape, said = sink_text(
            shape,
            self.label,
            room=(2 * ends - 3, base - 0.4),
            at=(0.0, base / 2),
            z=self.length,
            body="cradle",
        )
        # To the assembly: the print's x to y, its y up, its z along x.
        shape = turned(shape, x=90, z=90)
        up = base + inner
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="cradle", solid=checked(shape, "cradle"), print_turn=(0, -90, 0)),),
            ghosts=self._ghosts(centres, up, floor),
            insertion=(0.0, 0.0, -1.0),
            dimensions=self._dimensions(sizes, centres[0], up, half_open, middle, places[-1]),
            walls=(
                Wall(
                    name="cup",
                    body="cradle",
                    thickness_mm=self.grasp.wall,
                    at=(middle, centres[0] - inner - self.grasp.wall / 2, up),
                ),
                Wall(name="base", body="cradle", thickness_mm=base, at=(middle, 0, base / 2)),
            ),
            arms=self._arms(inner, mouth, half_open, centres, up, middle),
            lugs=tuple(
                Lug(
                    name=name,
                    body="cradle",
                    reach_mm=head / 2 + 2.0,
                    width_mm=self.length,
                    thickness_mm=base,
                    hole_mm=hole,
                    at=(x, y, base / 2),
                    along=(0.0, math.copysign(1.0, y), 0.0),
                )
                for name, (x, y) in zip(("left ear", "right ear"), places, strict=True)
            )
            if self.lugs
            else (),
            findings=(*self._no_arms(), *left_off, *said),
            buys=countersunk(self.screw, len(places) if self.lugs else 0, "ears"),
        )

    def _no_arms(self) -> tuple[Finding, ...]:
        """Say that arms were wanted if they last, and a strap was taken."""
        if self.hold != "auto" or self.grasp.by == "arms":
            return ()
        return (no_arms(self.diameter, self.strain, "a strap holds it"),)

    def _arms(
        self,
        inner: float,
        mouth: float,
        half_open: float,
        centres: Sequence[float],
        up: float,
        middle: float,
    ) -> tuple[SnapArm, ...]:
        if self.grasp.by != "arms":
            return ()
        # One entry an arm, at its tip, where it meets the body.
        rise = inner * math.cos(half_open)
        thickness, width = arm_bends_as(inner, self.grasp.wall, self.length, half_open)
        return tuple(
            SnapArm(
                name=f"{'left' if side < 0 else 'right'} arm {number + 1}",
                body="cradle",
                length_mm=arm_reach_mm(inner, self.grasp.wall, half_open),
                thickness_mm=self.grasp.wall,
                width_mm=self.length,
                deflection_mm=self.grasp.grip,
                at=(middle, y + side * mouth / 2, up + rise),
                # The body meets the tip at the same slope on its way in and out.
                lead_angle_deg=max(90 - math.degrees(half_open), 1.0),
                release_angle_deg=max(90 - math.degrees(half_open), 1.0),
                along=(0.0, 0.0, 1.0),
                root_radius_mm=cradle_root_mm(inner, self.grasp.wall),
                root_thickness_mm=self.grasp.wall,
                bending_thickness_mm=thickness,
                bending_width_mm=width,
            )
            for number, y in enumerate(centres)
            for side in (-1, 1)
        )

    def _most_wall(self, inner: float, half_open: float) -> float:
        """Greatest wall up to the asked one whose arms bear their strain, mm; a bit of 0 if none.

        A thinner arm is longer for its thickness, so that its strain falls with its wall.
        """

        def bears(wall: float) -> bool:
            return cup_strain(inner, wall, half_open, self.grasp.grip) <= self.strain

        low, high = 0.1, self.grasp.wall
        if bears(high):
            return high
        for _ in range(12):
            middle = (low + high) / 2
            low, high = (middle, high) if bears(middle) else (low, middle)
        return low

    def _strap_middle(self, floor: float) -> float:
        """Middle of the strap along the cradle: both sides of its groove have as much room."""
        return floor + (self.length - floor - _STRAP_MM) / 2

    def _beside_strap(self, floor: float) -> float:
        """Room along the cradle on either side of the strap's groove, mm."""
        return self._strap_middle(floor) - self.strap / 2 - floor

    def _screw_places(self, floor: float, out: float) -> list[tuple[float, float]]:
        """Places (along, across) of the ears' screws, the left one first.

        A strap runs under the ears too: the screws then stand on its two sides, one at each end, so
        that the cradle is still held at both.
        """
        if self.grasp.by == "strap":
            half = self._beside_strap(floor) / 2
            return [(floor + half, -out), (self.length - half, out)]
        middle = floor + (self.length - floor) / 2
        return [(middle, -out), (middle, out)]

    def _ghosts(self, centres: Sequence[float], up: float, floor: float) -> tuple[Body, ...]:
        """Bodies as measured, on the floors of their cups."""
        rest = up - (self.must_fit().cup.nominal_mm - self.diameter) / 2
        start = floor + 0.02 if self.stop else (self.length - self.body_length) / 2
        ghosts = []
        for number, y in enumerate(centres):
            rod = turned(extrude(circle(self.diameter), self.body_length), x=90, z=90)
            solid = checked(moved(rod, start, y, rest), "body")
            ghosts.append(Body(name=f"body {number + 1}", solid=solid))
        return tuple(ghosts)

    def _dimensions(
        self,
        sizes: CradleSizes,
        y: float,
        up: float,
        half_open: float,
        middle: float,
        screw_at: tuple[float, float],
    ) -> tuple[KeyDimension, ...]:
        r = sizes.cup.drawn_mm / 2
        found = [
            KeyDimension.of(
                sizes.cup,
                body="cradle",
                start=(middle, y - r, up),
                end=(middle, y + r, up),
            )
        ]
        if sizes.mouth:
            z, half = up + r * math.cos(half_open), sizes.mouth.drawn_mm / 2
            found.append(
                KeyDimension.of(
                    sizes.mouth,
                    body="cradle",
                    start=(middle, y - half, z),
                    end=(middle, y + half, z),
                )
            )
        if sizes.screw_hole:
            # At the underside: the upper face has the countersink.
            half, (x, at) = sizes.screw_hole.drawn_mm / 2, screw_at
            found.append(
                KeyDimension.of(
                    sizes.screw_hole,
                    body="cradle",
                    start=(x, at - half, 0.0),
                    end=(x, at + half, 0.0),
                )
            )
        if sizes.screw_spacing:
            x, at = screw_at
            found.append(
                KeyDimension.of(
                    sizes.screw_spacing, body="cradle", start=(x, -at, 0.0), end=(x, at, 0.0)
                )
            )
        return tuple(found)

    def _refuse(self, inner: float, mouth: float, hole: float) -> None:
        rules = Rules(self.title)
        if self.grasp.by == "arms":
            half_open = math.asin(min(mouth / 2 / inner, 1.0))
            rules.at_most(
                "grip",
                self.grasp.grip,
                0.15 * self.diameter,
                "arms that reach so far over cannot be pushed open",
                "Give a smaller grip.",
            )
            rules.at_most(
                "grip",
                inner - mouth / 2 if mouth / 2 < inner else inner + 1,
                inner * 0.25,
                "the mouth, as drawn, is too narrow or wider than the cup",
                "Give a grip that leaves the mouth between 75 % and all of the cup.",
            )
            length = arm_reach_mm(inner, self.grasp.wall, half_open)
            bound = self._most_wall(inner, half_open)
            rules.at_most(
                "wall",
                self.grasp.wall,
                bound,
                f"arms of {length:.1f} mm that give way by {self.grasp.grip:.2f} mm would be "
                f"strained by more than {self.strain:g} %",
                "Make the wall thinner or the grip smaller, or take a strap."
                if bound >= _LEAST_WALL_MM
                else "Make the grip smaller, or take a strap.",
            )
        else:
            rules.at_most(
                "strap",
                self.strap,
                self.length - 2 * _STRAP_MM - 2.0 - (self.grasp.wall if self.stop else 0.0),
                f"its groove must lie within the cradle's {self.length:.1f} mm",
                "Make the cradle longer, or take a narrower strap.",
            )
            if self.lugs:
                floor = self.grasp.wall if self.stop else 0.0
                taken = self.length - 2 * self._beside_strap(floor)
                rules.at_least(
                    "length",
                    self.length,
                    taken + 2 * (max(head_mm(self.screw), hole + 1) + _BESIDE_HEAD_MM),
                    "the strap's groove runs under the ears, and a screw must stand on each side "
                    "of it",
                    "Make the cradle longer, the strap narrower or the screws smaller, or leave "
                    "the ears off.",
                )
        if self.lugs:
            rules.at_least(
                "length",
                self.length,
                head_mm(self.screw) + 3.0 + (self.grasp.wall if self.stop else 0.0),
                "the screw's head needs that",
                "Make the cradle longer, or the screws smaller.",
            )
        if self.stop:
            rules.at_least(
                "length",
                self.length,
                2 * self.grasp.wall + 2.0,
                "the end takes up its part",
                "Make the cradle longer.",
            )
        rules.refuse()


def _groove(length: float, width: float, middle: float) -> object:
    """Tool for a strap's groove across the underside; its upper flank is cut at 45°.

    Drawn in the print's frame: the base's underside is at y = 0, the flank faces up the print.
    """
    low, high = middle - width / 2, middle + width / 2
    d = _STRAP_MM
    line = polygon([(-1, low), (d, low), (d, high), (0, high + d), (-1, high + d)])
    # Section in (y, z), drawn along x.
    prism = extrude(line, length + 2)
    return moved(turned(prism, x=90, z=90), -length / 2 - 1)
