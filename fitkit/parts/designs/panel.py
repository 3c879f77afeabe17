"""Panel: a plate with cut-outs for buttons, switches, displays and sockets.

Cut-outs are round, D, double D or rectangular, held by a nut or by snap tongues that ask for a
certain panel thickness: there the plate is thinned from behind. A bezel makes the opening smaller
than the module, which then lies in a pocket from behind. Positions count from the panel's middle,
seen from the front. It prints front down: the show face is as smooth as the bed, and pockets open
upwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from fitkit.core.finding import Finding
from fitkit.core.models import StrictModel
from fitkit.core.sizes import CENTRES
from fitkit.parts.contract import (
    Body,
    FitSize,
    Flat,
    KeyDimension,
    Length,
    Part,
    Template,
    Wall,
    size,
)
from fitkit.parts.cut_away import cut_share
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice, foot_mm
from fitkit.parts.holders.device import Cut, Opening, device
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, ScrewHoles, countersink_mm, head_mm, screw_fit
from fitkit.solids.bodies import checked, turned
from fitkit.solids.profiles import circle, rectangle
from fitkit.solids.terraces import Terrace, from_profiles, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.sizes import Axis
    from fitkit.parts.contract import Held

__all__ = ["Cutout", "Panel"]

_IN_LINE_MM = 1.0  # nearer to the middle than this, a place is no size to compensate
_APART_MM = 1.6  # least plate between two openings or pockets


class _Placed(StrictModel):
    """Where something lies on the panel."""

    x: Length = size(
        "0 mm", low="-200 mm", high="200 mm", help="From the panel's middle.", group="Cut-out"
    )
    y: Length = size(
        "0 mm", low="-200 mm", high="200 mm", help="From the panel's middle.", group="Cut-out"
    )


class Cutout(Opening, _Placed):
    """An opening in the panel and what sits in it."""


@dataclass(frozen=True, kw_only=True)
class CutoutSizes(SizeSet):
    """Width or diameter of a cut-out, and its height or the size over its flat."""

    wide: FitSize
    other: FitSize | None = None
    x: FitSize | None = None  # from the panel's middle; None in line with it
    y: FitSize | None = None

    def place(self, cutout: Cutout) -> tuple[float, float]:
        """Middle of the cut-out as drawn, from the panel's middle, mm."""
        return (
            math.copysign(drawn_mm(self.x, abs(cutout.x)), cutout.x),
            math.copysign(drawn_mm(self.y, abs(cutout.y)), cutout.y),
        )


@dataclass(frozen=True, kw_only=True)
class PanelSizes(SizeSet):
    """Sizes of a panel that must fit."""

    cutouts: tuple[CutoutSizes, ...]
    screw_hole: FitSize | None = None
    screw_spacing_x: FitSize | None = None
    screw_spacing_y: FitSize | None = None


class Panel(Template):
    """Plate with cut-outs for devices."""

    title: ClassVar[str] = "panel"
    summary: ClassVar[str] = "Panel with round, D, double-D and rectangular cut-outs."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(feature="front length", note="over the front that the panel covers, along x"),
            Reading(feature="front width", note="over the front that the panel covers, along y"),
            Reading(
                feature="device neck",
                round=True,
                note="over the neck or thread that goes through the panel, where it is widest",
            ),
            Reading(
                feature="device behind front",
                mode="depth",
                note="rod from the shoulder that rests on the front back to the device's end",
            ),
        ),
        sizes=(
            FromReadings(parameter="length", text="front_length"),
            FromReadings(parameter="width", text="front_width"),
            FromReadings(parameter="cutouts.0.width", text="device_neck"),
            FromReadings(parameter="cutouts.0.behind", text="device_behind_front"),
        ),
        starts_with={"cutouts": ({"shape": "round", "x": "0 mm", "y": "0 mm", "fixing": "nut"},)},
        often=("thickness", "room_behind", "screws", "label", "cutouts"),
    )
    used_when: ClassVar[UsedWhen] = {"screw": {"screws": (True,)}}

    length: Length = size("100 mm", low="20 mm", high="400 mm", help="Panel along x.")
    width: Length = size("60 mm", low="20 mm", high="400 mm", help="Panel along y.")
    thickness: Length = size("3 mm", low="1.6 mm", high="10 mm", help="Panel thickness.")
    corner_radius: Length = size("4 mm", low="0 mm", high="30 mm", help="Outer corners.")
    cutouts: tuple[Cutout, ...] = Field(
        default=(),
        max_length=40,
        description="Openings and what sits in them.",
        json_schema_extra={"group": "Cut-outs"},
    )
    room_behind: Length = size(
        "40 mm", low="0 mm", high="300 mm", help="Free depth behind the panel's front."
    )
    screws: bool = choice(True, "Countersunk screw holes in the four corners.", "Fixing")
    screw: Screw = choice("M3", "Screws in the corners.", "Fixing")

    def must_fit(self) -> PanelSizes:
        """Declare width (and height or flat) of each cut-out, and the screw holes."""
        spacing_x = self._spacing(self.length, "x")
        spacing_y = self._spacing(self.width, "y")
        return PanelSizes(
            cutouts=tuple(_fits(number, cutout) for number, cutout in enumerate(self.cutouts)),
            screw_hole=screw_fit(
                self.screw,
                spacing=tuple(
                    f"screw spacing {axis}"
                    for axis, one in (("x", spacing_x), ("y", spacing_y))
                    if one
                ),
            )
            if self.screws
            else None,
            screw_spacing_x=spacing_x,
            screw_spacing_y=spacing_y,
        )

    def _spacing(self, side: float, axis: Axis) -> FitSize | None:
        """Between the corner screws' middles, which meet what the panel is screwed to."""
        if not self.screws:
            return None
        spacing = side - 2 * self._screw_inset(screw_fit(self.screw).nominal_mm)
        if spacing < 1.0:  # told by the rule on the screws' heads
            return None
        return FitSize(nominal_mm=spacing, kind=CENTRES, axis=axis)

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the panel with its front towards +z, at z = 0."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        t, hole = self.thickness, drawn_mm(sizes.screw_hole, 0.0)
        places = [
            self._cut(number, cutout, sizes.cutouts[number])
            for number, cutout in enumerate(self.cutouts)
        ]
        spots = self._screw_spots(hole, sizes)
        holes = ScrewHoles(
            screw=self.screw, size=sizes.screw_hole, spots=spots, top=t, body="panel"
        )
        self._refuse(places, spots, holes.head_mm)
        # Drawn as it prints: front on the bed, seen from behind, so x is mirrored.
        from fitkit.solids.label import fitted_text

        room, at = self._label_room(places, hole)
        letters, said = fitted_text(self.label, room=room, at=at, caps=4.0, body="panel")
        sunk, left_off = 0.0, tuple[Finding, ...]()
        if spots:
            sunk, left_off = countersink_mm(
                hole=hole, head=head_mm(self.screw), plate=t, body="panel"
            )
        outline = rectangle(self.length, self.width, radius=self._radius()).outer
        foot, findings = foot_mm(outline, body="panel")
        # The heads lie in the show face: at the bed, where a plain hole has a small chamfer.
        root = Terrace(
            outline,
            t,
            (
                *(_terrace(place) for place in places),
                *(
                    Terrace(circle(hole, at=spot).outer, 0.0, edge=sunk or BED_EDGE_MM)
                    for spot in spots
                ),
                *from_profiles(letters, t - 0.4, t),
            ),
            edge=foot,
        )
        # To the assembly: front up, at z = 0.
        solid = checked(turned(terraces(root), y=180), "panel", volume=root.volume())
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="panel", solid=solid, print_turn=(0, 180, 0)),),
            ghosts=self._ghosts(sizes),
            insertion=(0.0, 0.0, 1.0),
            dimensions=self._dimensions(sizes, holes),
            walls=(
                Wall(
                    name="panel",
                    body="panel",
                    thickness_mm=t,
                    at=(-self.length / 2 + 1, 0, -t / 2),
                    # Held along its edges by the case; without screws nothing says how.
                    flat=self._flat(places) if self.screws else None,
                ),
                *(
                    Wall(
                        name=f"web of cut-out {i + 1}",
                        body="panel",
                        thickness_mm=place.level,
                        at=(self.cutouts[i].x, self.cutouts[i].y, -place.level / 2),
                    )
                    for i, place in enumerate(places)
                    if place.pocket
                ),
            ),
            findings=(*findings, *left_off, *said, *self._depth_findings()),
            buys=holes.buys("corners"),
        )

    def _flat(self, places: Sequence[Cut]) -> Flat:
        """What a finger can press of it, its edges on a case; webs of devices count as open."""
        share = cut_share((place.most.box for place in places), self.length, self.width)
        held: tuple[Held, Held, Held, Held] = ("simple", "simple", "simple", "simple")
        return Flat(along_mm=self.length, across_mm=self.width, held=held, open_share=share)

    def _cut(self, number: int, cutout: Cutout, sizes: CutoutSizes) -> Cut:
        """Draw one cut-out in its place, seen from the front."""
        wide, other, path = sizes.wide.drawn_mm, drawn_mm(sizes.other, 0.0), ("cutouts", number)
        drawn = cutout.cut(wide, other, self.thickness, title=self.title, path=path)
        return drawn.moved(*sizes.place(cutout))

    def _screw_spots(self, hole: float, sizes: PanelSizes) -> list[tuple[float, float]]:
        if not self.screws:
            return []
        inset = self._screw_inset(hole)
        x = drawn_mm(sizes.screw_spacing_x, self.length - 2 * inset) / 2
        y = drawn_mm(sizes.screw_spacing_y, self.width - 2 * inset) / 2
        return [(-x, -y), (x, -y), (x, y), (-x, y)]

    def _screw_inset(self, hole: float) -> float:
        """Distance of a corner screw from both sides: its head stays 2 mm inside the rounding."""
        room, radius = max(head_mm(self.screw), hole) / 2 + 2.0, self._radius()
        return max(room, radius - max(radius - room, 0.0) / math.sqrt(2))

    def _radius(self) -> float:
        return min(self.corner_radius, min(self.length, self.width) / 2 - 0.5)

    def _label_room(
        self, places: list[Cut], hole: float
    ) -> tuple[tuple[float, float], tuple[float, float]]:
        """Widest free strip at the lower or upper edge, in the print's mirrored view."""
        inset = max(3.0, self._radius())
        if self.screws:
            inset = max(inset, self._screw_inset(hole) + head_mm(self.screw) / 2 + 4.0)
        low = min((p.most.box[1] for p in places), default=0.0) + self.width / 2
        high = self.width / 2 - max((p.most.box[3] for p in places), default=0.0)
        free = min(max(low, high) - 3.0, 12.0)
        y = self.width / 2 - 1.5 - max(free, 0.1) / 2
        return (self.length - 2 * inset, max(free, 0.1)), (0.0, -y if low >= high else y)

    def _refuse(self, places: list[Cut], spots: list[tuple[float, float]], head: float) -> None:
        rules = Rules(self.title)
        a, b = self.length / 2 - _APART_MM, self.width / 2 - _APART_MM
        radius = self._radius()
        big = head / 2 + _APART_MM
        if spots:
            for name, side, (u, v) in (
                ("length", self.length, (spots[0][0], spots[1][0])),
                ("width", self.width, (spots[0][1], spots[2][1])),
            ):
                rules.at_least(
                    name, side, side - (v - u) + 2 * big - _APART_MM, "corner screws meet"
                )
        for number, place in enumerate(places):
            x0, y0, x1, y1 = place.most.box
            for name, over, bound in (
                ("x", max(-x0, x1), a),
                ("y", max(-y0, y1), b),
            ):
                rules.at_most(("cutouts", number, name), over, bound, "cut-out over the edge")
            rules.at_most(
                ("cutouts", number, "x"),
                place.reach_past(self.length / 2 - radius, self.width / 2 - radius),
                max(radius - _APART_MM, 0.0),
                "cut-out in a round corner",
            )
            for sx, sy in spots:
                gap = math.hypot(max(x0 - sx, sx - x1, 0), max(y0 - sy, sy - y1, 0))
                rules.at_least(("cutouts", number, "x"), gap, big, "cut-out at a corner screw")
        for (i, one), (j, two) in combinations(enumerate(places), 2):
            p, q = one.most.box, two.most.box
            gap = math.hypot(max(p[0] - q[2], q[0] - p[2], 0.0), max(p[1] - q[3], q[1] - p[3], 0.0))
            rules.at_least(
                ("cutouts", j, "x"), gap, _APART_MM, "between cut-outs", one=i + 1, two=j + 1
            )
        rules.refuse()

    def _depth_findings(self) -> tuple[Finding, ...]:
        return tuple(
            Finding(
                check="rear clearance",
                severity="stop",
                text=f"What sits in cut-out {number + 1} reaches {cutout.behind:.1f} mm behind the "
                f"front, but only {self.room_behind:.1f} mm are free.",
                value=cutout.behind,
                limit=self.room_behind,
                unit="mm",
                basis="measured sizes",
                body="panel",
                at=((cutout.x, cutout.y, -cutout.behind),),
                remedy="Move it, or deepen the case.",
            )
            for number, cutout in enumerate(self.cutouts)
            if cutout.behind > self.room_behind
        )

    def _ghosts(self, sizes: PanelSizes) -> tuple[Body, ...]:
        t, found = self.thickness, zip(self.cutouts, sizes.cutouts, strict=True)
        return tuple(
            device(
                cutout.shape,
                cutout.width,
                cutout.across,
                -cutout.behind,
                # With a bezel the module lies behind the web; otherwise its neck passes the panel.
                -cutout.web_mm(t),
                at=fits.place(cutout),
                name=f"device {number}",
            )
            for number, (cutout, fits) in enumerate(found, start=1)
            if cutout.stands_behind(t)
        )

    def _dimensions(self, sizes: PanelSizes, holes: ScrewHoles) -> tuple[KeyDimension, ...]:
        found = []
        for cutout, fits in zip(self.cutouts, sizes.cutouts, strict=True):
            (x, y), z = fits.place(cutout), -self.thickness if cutout.bezel else 0.0
            found += cutout.dimensions(fits.wide, fits.other, (x, y, z), "panel")
            # Places count from the panel's middle.
            for place, start in ((fits.x, (0.0, y, z)), (fits.y, (x, 0.0, z))):
                if place:
                    found.append(KeyDimension.of(place, body="panel", start=start, end=(x, y, z)))
        spacings = sizes.screw_spacing_x, sizes.screw_spacing_y
        return (*found, *holes.dimensions(*spacings, z_mm=-self.thickness))


def _terrace(place: Cut) -> Terrace:
    """Region of a cut-out in the print, mirrored since the front lies on the bed."""
    through = Terrace(place.opening.mirrored().outer, 0.0, edge=BED_EDGE_MM)
    if place.pocket is None:
        return through
    return Terrace(place.pocket.mirrored().outer, place.level, (through,))


def _fits(number: int, cutout: Cutout) -> CutoutSizes:
    """Sizes of a cut-out that must let its device pass, and those of its place."""

    def place(axis: Literal["x", "y"], at: float) -> FitSize | None:
        if abs(at) < _IN_LINE_MM:
            return None
        name, of = f"cut-out {number + 1} {axis}", f"cutouts.{number}.{axis}"
        return FitSize(name=name, nominal_mm=abs(at), kind=CENTRES, axis=axis, of=of)

    x, y = place("x", cutout.x), place("y", cutout.y)
    wide, other = cutout.fits(
        f"cut-out {number + 1}", f"cutouts.{number}.", [one for one in (x, y) if one]
    )
    return CutoutSizes(wide=wide, other=other, x=x, y=y)
