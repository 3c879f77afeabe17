"""A clip for a 35 mm top-hat rail with a spring hook, printed apart and screwed to a side.

The rail is that of EN 60715, TH 35: 35 mm over its flanges, 1 mm thick, hat 27 mm wide, 7.5 or
15 mm deep (35, 7.5, 15 and 1 mm: Wikipedia, Mounting rail; 27 mm from memory). One hook is fixed;
the other stands on a leg that bends outwards as the rail is pushed in and carries a pulling rail
along itself, stiffly. The leg is as long as its strain asks for, and so the clip as thick. Printed
on its section, it bends within its layers. A tab lets a screwdriver pull the leg open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from pydantic import Field

from fitkit.core.errors import PartError
from fitkit.core.sizes import HOLE_LYING, INSIDE
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.arms import arm_length_mm, notch_factor
from fitkit.parts.buys import into_plastic
from fitkit.parts.contract import Boss, Buy, KeyDimension, Length, SnapArm, size
from fitkit.parts.feature import WALLS, Feature, Loose, Side, SideName, Taken, Work
from fitkit.parts.features.rail_foot import RAIL_MM, SHEET_MM
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice
from fitkit.parts.screws import Screw, countersink_mm, head_mm, lying_hole, screw_fit, screw_mm

if TYPE_CHECKING:
    from fitkit.solids.bodies import Shape
    from fitkit.solids.mesh import FloatArray
    from fitkit.solids.profiles import Profile

__all__ = ["RailClip"]

_HOOK_MM = 3.0  # plastic beside and behind the fixed flange. Common practice, no source.
_REACH_MM = 3.0  # of the fixed hook behind the flange, of the 4 mm that are free
_FOOT_MM = 3.0  # of the plate from which the leg rises
_SLOT_MM = 1.2  # between leg and block; its ground is half round
_TAB_MM = 6.0
_TOOTH_MM = 2.4  # height of the sprung hook at its root
_AT_MM = 10.0  # of the screws, from the clip's middle
_ROUND_MM = 2.0  # plastic round a screw's pilot, at least. Common practice, no source.
_BESIDE_MM = 1.5  # round a screw's head
_LEAD_DEG = 40.0  # of the sprung hook's slope, from the way in


@dataclass(frozen=True, kw_only=True)
class ClipSizes(SizeSet):
    """Sizes of a rail clip that must fit."""

    rail_width: FitSize
    flange: FitSize
    screw_pilot: FitSize
    screw_hole: FitSize


class RailClip(Feature):
    """A sprung clip that is pushed onto a 35 mm rail."""

    title: ClassVar[str] = "rail clip"
    summary: ClassVar[str] = "Clip with a spring for a 35 mm top-hat rail, printed apart."
    sides: ClassVar[tuple[SideName, ...]] = (*WALLS, "floor")

    rail: Literal["along", "up"] = choice(
        "along", "How the rail runs: along the side (x under the floor), or up it (y).", "Feature"
    )
    width: Length = size(
        "12 mm", low="8 mm", high="60 mm", group="Feature", help="Of the clip, along the rail."
    )
    grip: Length = size(
        "1.2 mm",
        low="0.6 mm",
        high="2.5 mm",
        group="Feature",
        help="How far the sprung hook reaches behind the flange.",
    )
    leg: Length = size(
        "1.6 mm", low="1.2 mm", high="4 mm", group="Feature", help="Thickness of the leg."
    )
    strain: float = Field(
        default=1.5,
        ge=0.2,
        le=4.0,
        description="Strain that its leg may bear, in percent.",
        json_schema_extra={"group": "Feature"},
    )
    screw: Screw = choice("M3", "Two screws hold it, from inside.", "Feature")
    above: Length | None = choice(
        None, "Its middle over the bed, on a wall; half way up if not given.", "Feature"
    )
    across: Length | None = choice(
        None, "Along y, under the floor; the first free place if not given.", "Feature"
    )

    def must_fit(self, *, stands: bool) -> ClipSizes:
        """Declare the rail's room between the hooks, and the screws' holes."""
        return ClipSizes(
            rail_width=FitSize(
                nominal_mm=RAIL_MM, kind=INSIDE, sense=1, pair="tab and slot", behaviour="slides"
            ),
            flange=FitSize(
                nominal_mm=SHEET_MM, kind=INSIDE, sense=1, pair="tab and slot", behaviour="slides"
            ),
            screw_pilot=FitSize(nominal_mm=hold_in_plastic(self.screw).pilot_mm, kind=HOLE_LYING),
            screw_hole=screw_fit(self.screw, lying=stands),
        )

    def _long(self) -> float:
        """Length of the leg from its root to where the rail pushes it, mm."""
        notch = notch_factor(_SLOT_MM / 2, self.leg)
        return arm_length_mm(self.leg, self.grip, self.strain / 100 / notch)

    def _rest(self, sizes: ClipSizes) -> float:
        """Height over the side at which the rail lies, mm; deep enough for the screws too."""
        leg = _FOOT_MM + self._long() - sizes.flange.drawn_mm - _TOOTH_MM / 2
        return max(leg, hold_in_plastic(self.screw).engage_mm + 2.0)

    def _up(self, side: Side) -> float:
        if side.is_wall:
            return side.high_mm / 2 if self.above is None else self.above
        return self.across or 0.0

    def _screws(self, side: Side) -> list[tuple[float, float]]:
        """Middles of the screws along and up the side, from the clip's own middle."""
        across = [(-_AT_MM, 0.0), (_AT_MM, 0.0)]
        # A rail that runs along has the clip's two screws one above the other.
        return [(b, a) for a, b in across] if self.rail == "along" else across

    def room(self, sizes: Any, side: Side) -> tuple[Taken, ...]:
        """Give the screws' places; on a wall, what of the clip's foot lies on it."""
        least = sizes.screw_pilot.drawn_mm + 2 * _ROUND_MM
        if self.width < least:
            raise PartError(
                f"{self.width:.1f} mm wide, it leaves less than {_ROUND_MM:g} mm round its screws",
                at=("width",),
                code="feature.too-narrow",
                remedy=f"Make it {least:.1f} mm wide, or the screws smaller.",
            )
        up = self._up(side)
        r = head_mm(self.screw) / 2 + _BESIDE_MM
        found = [Taken(u - r, up + v - r, u + r, up + v + r) for u, v in self._screws(side)]
        if side.is_wall:
            half = sizes.rail_width.drawn_mm / 2 + _HOOK_MM
            far = half - _HOOK_MM + self.leg + _TAB_MM
            a, b = (self.width / 2, half) if self.rail == "along" else (half, self.width / 2)
            low, high = -b, (far if self.rail == "along" else b)
            found.append(
                Taken(
                    -(far if self.rail == "up" else a),
                    max(up + low, 0.0),
                    a,
                    min(up + high, side.high_mm),
                )
            )
        return tuple(found)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the clip, its screws' holes in the side, and what checks need."""
        from fitkit.parts.on_shape import angles_of
        from fitkit.solids.bodies import cut, extrude, moved, turned

        up = self._up(side) * (1.0 if side.is_wall else side.stretch_up)
        rest, pilot = self._rest(sizes), sizes.screw_pilot.drawn_mm
        hold = hold_in_plastic(self.screw)
        section = self._section(sizes, rest)
        half, flange = sizes.rail_width.drawn_mm / 2, sizes.flange.drawn_mm
        deep = min(hold.engage_mm + 1.0, rest - 1.0)
        raw_clip = extrude(section, self.width)
        tools = [
            lying_hole(pilot, deep + 1.0, at=(u, -1.0, self.width / 2), along="y")
            for u in (-_AT_MM, _AT_MM)
        ]
        clip = moved(cut(raw_clip, *tools), 0.0, 0.0, -self.width / 2)
        axes = self._axes(side)
        a, b, c = angles_of(axes)
        place = side.at_face(at, up)
        hole = sizes.screw_hole.drawn_mm
        sunk, said = countersink_mm(
            hole=hole, head=head_mm(self.screw), plate=side.thick_mm, body=side.body
        )
        places = [(at + u, up + v) for u, v in self._screws(side)]

        def point(u: float, w: float, v: float = 0.0) -> tuple[float, float, float]:
            x, y, z = (axes @ [u, w, v] + place).tolist()
            return x, y, z

        along = axes @ [0.0, 1.0, 0.0]
        name = "clip"
        tooth = rest + flange + _TOOTH_MM / 2
        first = places[0]
        return Work(
            cut=tuple(_screw_hole(side, u, v, hole, sunk) for u, v in places),
            loose=(
                Loose(
                    name=name,
                    shape=moved(turned(clip, x=a, y=b, z=c), *place),
                    print_turn=angles_of(axes.T),
                ),
            ),
            dimensions=(
                KeyDimension.of(
                    sizes.rail_width,
                    body=name,
                    start=point(-half, rest + flange / 2),
                    end=point(half, rest + flange / 2),
                ),
                KeyDimension.of(
                    sizes.flange,
                    body=name,
                    start=point(1.0 - half, rest),
                    end=point(1.0 - half, rest + flange),
                ),
                KeyDimension.of(
                    sizes.screw_pilot,
                    body=name,
                    start=point(-_AT_MM - pilot / 2, 0.0),
                    end=point(-_AT_MM + pilot / 2, 0.0),
                ),
                KeyDimension.of(
                    sizes.screw_hole,
                    body="",
                    start=side.at_face(first[0] - hole / 2, first[1]),
                    end=side.at_face(first[0] + hole / 2, first[1]),
                ),
            ),
            arms=(
                SnapArm(
                    name="spring",
                    body=name,
                    length_mm=tooth - _FOOT_MM,
                    thickness_mm=self.leg,
                    width_mm=self.width,
                    deflection_mm=self.grip,
                    at=point(half, tooth),
                    lead_angle_deg=_LEAD_DEG,
                    release_angle_deg=80.0,
                    along=(float(along[0]), float(along[1]), float(along[2])),
                    root_radius_mm=_SLOT_MM / 2,
                    root_thickness_mm=self.leg,
                ),
            ),
            bosses=tuple(
                Boss(
                    name=f"screw {number}",
                    body=name,
                    outer_mm=self.width,
                    hole_mm=pilot,
                    depth_mm=deep,
                    screw_mm=screw_mm(self.screw),
                    at=point(u, 0.0),
                )
                for number, u in enumerate((-_AT_MM, _AT_MM), start=1)
            ),
            buys=_screws(self.screw, side.thick_mm, sunk=bool(sunk)),
            findings=said,
        )

    def _section(self, sizes: ClipSizes, rest: float) -> Profile:
        """Section across the rail: u across it, w away from the side, the rail's middle at 0."""
        from fitkit.solids.profiles import Loop, Profile

        half, flange = sizes.rail_width.drawn_mm / 2, sizes.flange.drawn_mm
        leg, out = half + self.leg, half + _HOOK_MM
        lip = rest + flange
        tooth = lip + _TOOTH_MM
        # The tooth's slope leaves the rail's way by its lead angle.
        tip = min(_TOOTH_MM - 0.4, self.grip / math.tan(math.radians(_LEAD_DEG)))
        corners = [
            (-out, 0.0, 0.0),
            (leg, 0.0, 0.0),
            (leg, lip, 0.0),
            (leg + _TAB_MM, lip, 0.0),
            (leg + _TAB_MM, lip + 2.0, 0.0),
            (leg, tooth, 0.0),
            (half, tooth, 0.0),
            (half - self.grip, tooth - tip, 0.0),
            (half - self.grip, lip, 0.0),
            (half, lip, 0.0),
            # Down the leg, round the slot's ground, and up the block that the rail lies on.
            (half, _FOOT_MM + _SLOT_MM / 2, -1.0),
            (half - _SLOT_MM, _FOOT_MM + _SLOT_MM / 2, 0.0),
            (half - _SLOT_MM, rest, 0.0),
            (-half, rest, 0.0),
            (-half, lip, 0.0),
            (-half + _REACH_MM, lip, 0.0),
            (-half + _REACH_MM, lip + _HOOK_MM, 0.0),
            (-out, lip + _HOOK_MM, 0.0),
        ]
        return Profile(Loop(tuple(corners)))

    def _axes(self, side: Side) -> FloatArray:
        """Where the section's u and w, and the way along the rail, point in the side's frame."""
        import numpy as np

        columns: tuple[tuple[float, float, float], ...]
        if side.is_wall:
            columns = (
                ((0, 0, 1), (1, 0, 0), (0, 1, 0))
                if self.rail == "along"
                else ((0, -1, 0), (1, 0, 0), (0, 0, 1))
            )
        else:
            columns = (
                ((0, -1, 0), (0, 0, -1), (1, 0, 0))
                if self.rail == "along"
                else ((1, 0, 0), (0, 0, -1), (0, 1, 0))
            )
        return np.array(columns, float).T


def _screw_hole(side: Side, along: float, up: float, hole: float, sunk: float) -> Shape:
    """Give the tool of a hole through a side with its countersink inside."""
    from fitkit.solids.bodies import fuse, moved, revolve, turned
    from fitkit.solids.profiles import circle, polygon, teardrop

    over, thick, r = 1.0, side.thick_mm, hole / 2
    flat = teardrop(hole, at=(along, up)) if side.is_wall else circle(hole, at=(along, up))
    tool = side.prism(flat, inward=thick + over, outward=over)
    if not sunk:
        return tool
    # Its cone, from within the hole to past the inner face, along +z.
    start = min(r / 2, 0.3)
    cone = revolve(
        polygon(
            [
                (0.0, thick - sunk - start),
                (r - start, thick - sunk - start),
                (r + sunk + over, thick + over),
                (0.0, thick + over),
            ]
        )
    )
    if side.is_wall:
        return fuse(tool, moved(turned(cone, y=-90), 0.0, along, up))
    return fuse(tool, moved(cone, along, up))


def _screws(screw: str, clamped: float, *, sunk: bool) -> tuple[Buy, ...]:
    (buy,) = into_plastic(screw_mm(screw), clamped, 2, "")
    return (replace(buy, what=f"countersunk {buy.what}") if sunk else buy,)
