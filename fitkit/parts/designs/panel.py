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
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple

from pydantic import Field

from fitkit.core.finding import Finding
from fitkit.core.models import StrictModel
from fitkit.core.sizes import CENTRES, D_BORE, HOLE, POCKET
from fitkit.parts.buys import countersunk
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
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, countersink_mm, head_mm, screw_fit
from fitkit.solids.bodies import checked, extrude, turned
from fitkit.solids.bores import BoreShape, bore
from fitkit.solids.profiles import Profile, circle, rectangle
from fitkit.solids.terraces import Terrace, from_profiles, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.sizes import Axis, SizeKind
    from fitkit.parts.contract import Held

__all__ = ["Cutout", "Panel"]

_IN_LINE_MM = 1.0  # nearer to the middle than this, a place is no size to compensate
_APART_MM = 1.6  # least plate between two openings or pockets


class Cutout(StrictModel):
    """An opening in the panel and what sits in it."""

    shape: BoreShape = choice("round", "Outline of the opening.", "Cut-out")
    x: Length = size(
        "0 mm", low="-200 mm", high="200 mm", help="From the panel's middle.", group="Cut-out"
    )
    y: Length = size(
        "0 mm", low="-200 mm", high="200 mm", help="From the panel's middle.", group="Cut-out"
    )
    width: Length = size(
        "16 mm",
        low="2 mm",
        high="200 mm",
        measured=True,
        group="Cut-out",
        help="Diameter of the device's neck, or its width along x.",
    )
    across: Length = size(
        "14 mm",
        low="1 mm",
        high="200 mm",
        measured=True,
        group="Cut-out",
        help="From flat to round (D), over both flats (double D), height along y (rectangle).",
    )
    fixing: Literal["none", "nut", "snap"] = choice(
        "none", "Held by a nut, by snap tongues, or otherwise.", "Cut-out"
    )
    grip: Length = size(
        "2 mm",
        low="1 mm",
        high="10 mm",
        group="Cut-out",
        help="Panel thickness that nut or tongues ask for.",
    )
    around: Length = size(
        "3 mm",
        low="1 mm",
        high="20 mm",
        group="Cut-out",
        help="Room for nut or tongues round the opening.",
    )
    bezel: Length = size(
        "0 mm",
        low="0 mm",
        high="20 mm",
        group="Cut-out",
        help="How far the panel's front covers the module's edge; 0 for none.",
    )
    behind: Length = size(
        "10 mm",
        low="0 mm",
        high="150 mm",
        measured=True,
        group="Cut-out",
        help="How far the device reaches behind the panel's front.",
    )


class _Place(NamedTuple):
    """Drawn form of one cut-out, from the front: opening, and pocket from behind to a level."""

    opening: Profile
    pocket: Profile | None
    level: float

    @property
    def most(self) -> Profile:
        return self.pocket or self.opening

    def reach_past(self, x: float, y: float) -> float:
        """How far it reaches past both ±x and ±y, mm: where the plate's corners are round."""
        past = ((abs(u) - x, abs(v) - y) for u, v in self.most.outer.points())
        return max((math.hypot(u, v) for u, v in past if u > 0 and v > 0), default=0.0)


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
            self.place(number, cutout, sizes.cutouts[number])
            for number, cutout in enumerate(self.cutouts)
        ]
        spots = self._screw_spots(hole, sizes)
        self._refuse(places, spots, hole)
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
            dimensions=self._dimensions(sizes, spots),
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
            buys=countersunk(self.screw, len(spots), "corners"),
        )

    def _flat(self, places: Sequence[_Place]) -> Flat:
        """What a finger can press of it, its edges on a case; webs of devices count as open."""
        share = cut_share((place.most.box for place in places), self.length, self.width)
        held: tuple[Held, Held, Held, Held] = ("simple", "simple", "simple", "simple")
        return Flat(along_mm=self.length, across_mm=self.width, held=held, open_share=share)

    def place(self, number: int, cutout: Cutout, sizes: CutoutSizes) -> _Place:
        """Draw one cut-out, seen from the front."""
        t = self.thickness
        flat = cutout.shape == "rectangle"
        wide, other = sizes.wide.drawn_mm, drawn_mm(sizes.other, 0.0)
        if not flat and cutout.shape != "round":
            rules = Rules(self.title)
            rules.at_most(
                ("cutouts", number, "across"),
                other,
                wide - 0.1,
                "a flat lies within the diameter",
                "Measure from the flat to the round side, or take a round cut-out.",
            )
            rules.at_least(
                ("cutouts", number, "across"),
                other,
                0.3 * wide,
                "so little of the neck is left",
                "Check the reading.",
            )
            rules.refuse()
        whole = bore(cutout.shape, wide, other)
        opening, pocket, level = whole, None, 0.0
        if cutout.bezel:
            b, level = 2 * cutout.bezel, min(cutout.grip, t - 0.4)
            rules = Rules(self.title)
            rules.at_most(
                ("cutouts", number, "bezel"),
                cutout.bezel,
                min(wide, other if cutout.shape != "round" else wide) / 2 - 1.0,
                "the bezel would close the opening",
                "Make it narrower.",
            )
            rules.refuse()
            pocket = whole
            opening = bore(cutout.shape, wide - b, other - b)
        elif cutout.fixing != "none" and cutout.grip < t - 0.2:
            level, ring = cutout.grip, 2 * cutout.around
            pocket = rectangle(wide + ring, other + ring) if flat else circle(wide + ring)
        shift = sizes.place(cutout)
        return _Place(opening.moved(*shift), pocket.moved(*shift) if pocket else None, level)

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
        self, places: list[_Place], hole: float
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

    def _refuse(self, places: list[_Place], spots: list[tuple[float, float]], hole: float) -> None:
        rules = Rules(self.title)
        a, b = self.length / 2 - _APART_MM, self.width / 2 - _APART_MM
        radius = self._radius()
        big = max(head_mm(self.screw), hole) / 2 + _APART_MM
        if spots:
            for name, side, (u, v) in (
                ("length", self.length, (spots[0][0], spots[1][0])),
                ("width", self.width, (spots[0][1], spots[2][1])),
            ):
                rules.at_least(
                    name,
                    side,
                    side - (v - u) + 2 * big - _APART_MM,
                    "the heads of the corner screws would meet",
                    "Make the panel larger or the screws smaller, or set screws to false.",
                )
        for number, place in enumerate(places):
            x0, y0, x1, y1 = place.most.box
            for name, over, bound in (
                ("x", max(-x0, x1), a),
                ("y", max(-y0, y1), b),
            ):
                rules.at_most(
                    ("cutouts", number, name),
                    over,
                    bound,
                    "the opening with its room reaches that far from the middle",
                    "Move it inwards, or make the panel larger.",
                )
            rules.at_most(
                ("cutouts", number, "x"),
                place.reach_past(self.length / 2 - radius, self.width / 2 - radius),
                max(radius - _APART_MM, 0.0),
                "the opening with its room reaches that far into a round corner",
                "Move it inwards, or make the corners less round.",
            )
            for sx, sy in spots:
                gap = math.hypot(max(x0 - sx, sx - x1, 0), max(y0 - sy, sy - y1, 0))
                rules.at_least(
                    ("cutouts", number, "x"),
                    gap,
                    big,
                    "that is all there is to the middle of a corner screw",
                    "Move it away from the corner, or set screws to false.",
                )
        for (i, one), (j, two) in combinations(enumerate(places), 2):
            p, q = one.most.box, two.most.box
            gap = math.hypot(max(p[0] - q[2], q[0] - p[2], 0.0), max(p[1] - q[3], q[1] - p[3], 0.0))
            rules.at_least(
                ("cutouts", j, "x"),
                gap,
                _APART_MM,
                f"that is all there is between cut-outs {i + 1} and {j + 1} with their room",
                "Move them apart.",
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
        ghosts = []
        for number, (cutout, fits) in enumerate(zip(self.cutouts, sizes.cutouts, strict=True)):
            if cutout.behind < 0.5:
                continue
            # With a bezel the module lies behind the web; otherwise its neck passes the panel.
            top = -min(cutout.grip, self.thickness - 0.4) if cutout.bezel else 0.0
            if -top > cutout.behind - 0.5:
                continue
            shape = bore(cutout.shape, cutout.width, cutout.across).moved(*fits.place(cutout))
            name = f"device {number + 1}"
            prism = extrude(shape, cutout.behind + top, z=-cutout.behind)
            ghosts.append(Body(name=name, solid=checked(prism, name, proved=True)))
        return tuple(ghosts)

    def _dimensions(
        self, sizes: PanelSizes, spots: list[tuple[float, float]]
    ) -> tuple[KeyDimension, ...]:
        found = []
        for cutout, fits in zip(self.cutouts, sizes.cutouts, strict=True):
            wide, z = fits.wide.drawn_mm / 2, -self.thickness if cutout.bezel else 0.0
            x, y = fits.place(cutout)
            start, end = (x, y - wide, z), (x, y + wide, z)
            if cutout.shape == "rectangle":
                start, end = (x - wide, y, z), (x + wide, y, z)
            found.append(KeyDimension.of(fits.wide, body="panel", start=start, end=end))
            if fits.other:
                other = fits.other.drawn_mm
                start, end = (x - other / 2, y, z), (x + other / 2, y, z)
                if cutout.shape == "rectangle":
                    start, end = (x, y - other / 2, z), (x, y + other / 2, z)
                elif cutout.shape == "D":
                    start, end = (x - wide, y, z), (x - wide + other, y, z)
                found.append(KeyDimension.of(fits.other, body="panel", start=start, end=end))
            # Places count from the panel's middle.
            for place, start in ((fits.x, (0.0, y, z)), (fits.y, (x, 0.0, z))):
                if place:
                    found.append(KeyDimension.of(place, body="panel", start=start, end=(x, y, z)))
        for spacing, i, j in ((sizes.screw_spacing_x, 0, 1), (sizes.screw_spacing_y, 0, 3)):
            if spacing:
                start, end = ((*spots[n], -self.thickness) for n in (i, j))
                found.append(KeyDimension.of(spacing, body="panel", start=start, end=end))
        if sizes.screw_hole:
            (x, y), r = spots[0], sizes.screw_hole.drawn_mm / 2
            start, end = (x - r, y, -self.thickness), (x + r, y, -self.thickness)
            found.append(KeyDimension.of(sizes.screw_hole, body="panel", start=start, end=end))
        return tuple(found)


def _terrace(place: _Place) -> Terrace:
    """Region of a cut-out in the print, mirrored since the front lies on the bed."""
    through = Terrace(place.opening.mirrored().outer, 0.0, edge=BED_EDGE_MM)
    if place.pocket is None:
        return through
    return Terrace(place.pocket.mirrored().outer, place.level, (through,))


def _fits(number: int, cutout: Cutout) -> CutoutSizes:
    """Sizes of a cut-out that must let its device pass."""

    def fit(what: str, value: float, of: str, kind: SizeKind, axis: Axis) -> FitSize:
        return FitSize(
            name=f"cut-out {number + 1} {what}",
            nominal_mm=value,
            of=f"cutouts.{number}.{of}",
            kind=kind,
            axis=axis,
            sense=1,
            pair="object in pocket",
            behaviour="slides",
            coated_faces=2,
            placed_by=tuple(one.name for one in (x, y) if one and axis in (one.axis, "xy")),
            counterpart="hangs there",
        )

    def place(axis: Literal["x", "y"], at: float) -> FitSize | None:
        if abs(at) < _IN_LINE_MM:
            return None
        name, of = f"cut-out {number + 1} {axis}", f"cutouts.{number}.{axis}"
        return FitSize(name=name, nominal_mm=abs(at), kind=CENTRES, axis=axis, of=of)

    x, y = place("x", cutout.x), place("y", cutout.y)
    if cutout.shape == "rectangle":
        return CutoutSizes(
            wide=fit("width", cutout.width, "width", POCKET, "x"),
            other=fit("height", cutout.across, "across", POCKET, "y"),
            x=x,
            y=y,
        )
    kind = D_BORE if cutout.shape == "D" else POCKET
    flat = fit("flat", cutout.across, "across", kind, "x") if cutout.shape != "round" else None
    return CutoutSizes(
        wide=fit("diameter", cutout.width, "width", HOLE, "xy"), other=flat, x=x, y=y
    )
