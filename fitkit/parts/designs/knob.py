"""Knob for a measured shaft: round with a set screw, D, double D, or splined.

The grip is fluted. It prints top down, so that the blind bore opens upwards; the set screw's hole
lies in the print and has its 45° roof on the print's upper side. A pointer line is sunk into the
top.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from fitkit.core.sizes import D_BORE, HOLE, HOLE_LYING, POCKET
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.buys import set_screws
from fitkit.parts.contract import (
    Angle,
    Body,
    FitSize,
    KeyDimension,
    Length,
    Part,
    Template,
    Wall,
    size,
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import Rules, choice, ring_room
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, lying_hole, screw_mm
from fitkit.solids.bodies import Shape, checked, cut, extrude, revolve, turned
from fitkit.solids.bores import bore, spline, spline_ways
from fitkit.solids.profiles import Loop, Profile, circle, polygon, rectangle
from fitkit.solids.sunk import sink
from fitkit.solids.wedges import all_round

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.core.sizes import SizeKind

__all__ = ["Knob", "flute_wedge", "fluted"]

_LEAST_WALL_MM = 1.6
_EDGE_MM = 0.6  # chamfer of the show face, which lies on the bed


def fluted(diameter: float, flutes: int, depth: float) -> Profile:
    """Circle with round flutes of a depth, evenly about it, mm; none gives a circle.

    Each flute is half as wide as its share of the rim.

    Examples
    --------
    >>> grip = fluted(30, 12, 1.0)
    >>> len(grip.outer.corners), grip.area < circle(30).area
    (24, True)
    """
    if flutes < 3 or depth <= 0:
        return circle(diameter)
    r, share = diameter / 2, 2 * math.pi / flutes
    # A flute spans half its share; its bulge is set so that it is `depth` deep from the rim.
    chord = 2 * r * math.sin(share / 4)
    sagitta = r * (1 - math.cos(share / 4))
    inward = -2 * max(depth - sagitta, 0.05) / chord
    outward = math.tan(share / 8)
    corners = []
    for i in range(flutes):
        at = i * share
        a, b = at - share / 4, at + share / 4
        corners.append((r * math.cos(a), r * math.sin(a), inward))
        corners.append((r * math.cos(b), r * math.sin(b), outward))
    return Profile(Loop(tuple(corners)))


def _across(size: FitSize, way: tuple[float, float], z: float) -> KeyDimension:
    """Give a size about the axis as a dimension along a way."""
    x, y = (size.drawn_mm / 2 * one for one in way)
    return KeyDimension.of(size, body="knob", start=(-x, -y, z), end=(x, y, z))


def flute_wedge(diameter: float, flutes: int, depth: float) -> Profile:
    """One share of a fluted circle: from the axis, the rim between the middles of two flutes, mm.

    Examples
    --------
    >>> abs(12 * flute_wedge(30, 12, 1.0).area - fluted(30, 12, 1.0).area) < 1e-9
    True
    """
    half = math.pi / flutes
    # The rim that `fluted` draws first, turned so that its middle is at +x, with half a flute at
    # either side. A flute's middle lies a bulge's part of half its chord in from the chord.
    (x, y, inward), (_, _, outward) = fluted(diameter, flutes, depth).outer.corners[:2]
    floor = x - inward * y
    bend = math.tan(math.atan(inward) / 2)
    u, v = floor * math.cos(half), floor * math.sin(half)
    a, b = diameter / 2 * math.cos(half / 2), diameter / 2 * math.sin(half / 2)
    return Profile(
        Loop(((0.0, 0.0, 0.0), (u, -v, bend), (a, -b, outward), (a, b, bend), (u, v, 0.0)))
    )


@dataclass(frozen=True, kw_only=True)
class KnobSizes(SizeSet):
    """Sizes of a knob that must fit."""

    shaft: FitSize
    flat: FitSize | None = None
    root: FitSize | None = None
    set_screw_pilot: FitSize | None = None


class Knob(Template):
    """Knob for a measured shaft."""

    title: ClassVar[str] = "knob"
    summary: ClassVar[str] = "Fluted knob with a D, double-D, splined or set-screw bore."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(feature="shaft", round=True, note="over the round part of the shaft"),
            Reading(
                feature="flat to round", note="from the flat to the round side opposite, squarely"
            ),
            Reading(feature="over flats", note="over the two flats, squarely"),
            Reading(
                feature="spline root",
                round=True,
                note="thin ends of the jaws in two grooves that face each other, at the least "
                "reading",
            ),
            Reading(
                feature="shaft length",
                mode="depth",
                note="rod along the shaft, from where the knob will end to the shaft's end",
            ),
        ),
        sizes=(
            FromReadings(parameter="shaft", text="shaft"),
            FromReadings(parameter="flat", text="flat_to_round", when={"bore": ("D",)}),
            FromReadings(parameter="flat", text="over_flats", when={"bore": ("double D",)}),
            FromReadings(parameter="root", text="spline_root", when={"bore": ("splined",)}),
            FromReadings(parameter="shaft_length", text="shaft_length"),
        ),
        often=("diameter", "flutes", "pointer", "set_screw", "label"),
    )
    used_when: ClassVar[UsedWhen] = {"teeth": {"bore": ("splined",)}}

    shaft: Length = size(
        "6 mm", low="3 mm", high="20 mm", measured=True, help="Diameter of the shaft."
    )
    bore: Literal["round", "D", "double D", "splined"] = choice("D", "Section of the shaft.")
    flat: Length = size(
        "4.5 mm",
        low="1.5 mm",
        high="19.5 mm",
        measured=True,
        help="From flat to round (D), or over both flats (double D).",
    )
    root: Length = size(
        "5.4 mm", low="2 mm", high="19.5 mm", measured=True, help="Root diameter of a spline."
    )
    teeth: Annotated[int, Field(ge=6, le=48)] = choice(18, "Teeth of a spline.")
    shaft_length: Length = size(
        "12 mm", low="4 mm", high="40 mm", measured=True, help="How far the shaft goes in."
    )
    diameter: Length = size(
        "28 mm", low="10 mm", high="90 mm", help="Diameter of the grip.", group="Grip"
    )
    top: Length = size(
        "3 mm", low="1.6 mm", high="10 mm", help="Top above the shaft.", group="Grip"
    )
    flutes: Annotated[int, Field(ge=0, le=48)] = choice(14, "Flutes round the grip.", "Grip")
    flute_depth: Length = size(
        "0.8 mm", low="0.2 mm", high="3 mm", help="Their depth.", group="Grip"
    )
    pointer: bool = choice(True, "A line sunk into the top.", "Grip")
    pointer_turn: Angle = size(
        "0 deg",
        low="-180 deg",
        high="180 deg",
        help="Turn of that line from the flat's side, counter-clockwise as seen from the top.",
        group="Grip",
    )
    set_screw: Screw | None = choice(None, "Screw that holds the shaft, in its own thread.", "Grip")

    def must_fit(self) -> KnobSizes:
        """Declare shaft bore, flat or spline root, and the set screw's pilot hole."""

        def inner(value: float, of: str, kind: SizeKind) -> FitSize:
            return FitSize(
                nominal_mm=value,
                of=of,
                kind=kind,
                sense=1,
                pair="peg and hole",
                behaviour="slides" if self.set_screw else "snug by hand",
            )

        flat = self.bore in ("D", "double D")
        return KnobSizes(
            shaft=inner(self.shaft, "shaft", HOLE),
            flat=inner(self.flat, "flat", D_BORE if self.bore == "D" else POCKET) if flat else None,
            root=inner(self.root, "root", HOLE) if self.bore == "splined" else None,
            # The table's hole already makes the screw form its thread: it takes no gap.
            set_screw_pilot=FitSize(
                nominal_mm=hold_in_plastic(self.set_screw).pilot_mm, kind=HOLE_LYING, axis="xy"
            )
            if self.set_screw
            else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the knob, its shaft coming from below."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        shaft = sizes.shaft.drawn_mm
        flat, root = drawn_mm(sizes.flat, 0.0), drawn_mm(sizes.root, 0.0)
        self._refuse(sizes)
        high = self.shaft_length + self.top
        depth = min(self.flute_depth, self._deepest_flute())
        hole = self._section(shaft, flat, root)
        grip = fluted(self.diameter, self.flutes, depth)
        # Drawn as it prints, top face on the bed.
        shape = sink(self._grip(depth, high), [hole], z=high, depth=self.shaft_length)
        # What edge, set screw, label and pointer may still take is far less than a quarter.
        most = grip.area * high - hole.area * self.shaft_length
        if sizes.set_screw_pilot:
            pilot = sizes.set_screw_pilot.drawn_mm
            shape = cut(
                shape,
                lying_hole(
                    pilot, self.diameter, at=(0, 0, self.top + self.shaft_length / 2), along="x"
                ),
            )
        from fitkit.solids.label import sink_text

        # Inside the flutes, and inside a chamfer where the grip ends.
        room, label_y = ring_room(
            self.label, inner=shaft / 2 + 0.2, outer=self.diameter / 2 - depth - 0.6
        )
        shape, said = sink_text(
            shape,
            self.label,
            room=room,
            at=(0.0, label_y),
            z=high,
            body="knob",
        )
        shape = turned(shape, x=180, about=(0, 0, high / 2))
        if self.pointer:
            line = rectangle(self.diameter / 4, 1.2, at=(self.diameter / 4 - 0.5, 0.0))
            line = line.turned(self.pointer_turn)
            shape = sink(shape, [line], z=high, depth=0.6)
        ghost = checked(
            extrude(
                self._section(self.shaft, self.flat, self.root),
                3 * self.shaft_length,
                z=-2 * self.shaft_length - 0.01,
            ),
            "shaft",
            proved=True,
        )
        at = self.shaft_length / 2
        over_tips, over_feet = (0.0, 1.0), (0.0, 1.0)
        if sizes.root:
            # From corner to corner, where the teeth are even in number.
            over_tips, over_feet = spline_ways(self.teeth)
        dimensions = [_across(sizes.shaft, over_tips, at)]
        if sizes.flat:
            far = -shaft / 2 if self.bore == "D" else -flat / 2
            dimensions.append(
                KeyDimension.of(
                    sizes.flat, body="knob", start=(far, 0, at), end=(far + flat, 0, at)
                )
            )
        if sizes.root:
            dimensions.append(_across(sizes.root, over_feet, at))
        wall = self.diameter / 2 - depth - shaft / 2
        if sizes.set_screw_pilot:
            out = (shaft + wall) / 2
            dimensions.append(
                KeyDimension.across(sizes.set_screw_pilot, (out, 0.0, at), "y", body="knob")
            )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(
                Body(
                    name="knob",
                    solid=checked(shape, "knob", volume=(0.75 * most, most)),
                    print_turn=(180, 0, 0),
                ),
            ),
            ghosts=(Body(name="shaft", solid=ghost),),
            insertion=(0.0, 0.0, 1.0),
            dimensions=tuple(dimensions),
            walls=(
                Wall(
                    name="round the shaft",
                    body="knob",
                    thickness_mm=wall,
                    at=(0, shaft / 2 + wall / 2, at),
                ),
                Wall(
                    name="top", body="knob", thickness_mm=self.top, at=(0, 0, high - self.top / 2)
                ),
            ),
            findings=said,
            buys=set_screws(self.set_screw),
        )

    def _grip(self, depth: float, high: float) -> Shape:
        """Fluted body with its edge at the bed turned off, without the bore."""
        r, c = self.diameter / 2, _EDGE_MM
        if self.flutes < 3:
            return revolve(polygon([(0, 0), (r - c, 0), (r, c), (r, high), (0, high)]))
        wedge = extrude(flute_wedge(self.diameter, self.flutes, depth), high)
        # The tool's seam lies away from the wedge.
        ring = turned(revolve(polygon([(r - 2 * c, -c), (r + c, -c), (r + c, 2 * c)])), z=180)
        return all_round(cut(wedge, ring), self.flutes)

    def _section(self, shaft: float, flat: float, root: float) -> Profile:
        if self.bore == "splined":
            return spline(shaft, root, self.teeth)
        return bore(self.bore, shaft, flat)

    def _deepest_flute(self) -> float:
        """Half a flute's width: deeper would undercut it."""
        if self.flutes < 3:
            return 0.0
        share = 2 * math.pi / self.flutes
        r = self.diameter / 2
        return 0.45 * 2 * r * math.sin(share / 4) + r * (1 - math.cos(share / 4))

    def _refuse(self, sizes: KnobSizes) -> None:
        rules = Rules(self.title)
        shaft = sizes.shaft.drawn_mm
        rules.at_least(
            "diameter",
            self.diameter,
            shaft + 2 * (min(self.flute_depth, self._deepest_flute()) + _LEAST_WALL_MM) + 1.0,
            "walls of the knob",
            shaft=shaft,
            least=_LEAST_WALL_MM,
        )
        if sizes.flat:
            rules.at_most("flat", sizes.flat.drawn_mm, shaft - 0.1, "flat below the shaft")
            rules.at_least(
                "flat",
                sizes.flat.drawn_mm,
                0.4 * shaft if self.bore == "D" else 0.3 * shaft,
                "shaft beside the flat",
            )
        if sizes.root:
            rules.at_most("root", sizes.root.drawn_mm, shaft - 0.2, "low teeth")
            rules.at_least("root", sizes.root.drawn_mm, 0.6 * shaft, "high teeth")
        if self.set_screw:
            rules.at_least(
                "shaft_length",
                self.shaft_length,
                screw_mm(self.set_screw) + 3.0,
                "set screw in the knob",
                screw=self.set_screw,
            )
        rules.refuse()
