"""Angle bracket: two legs at a right angle with a gusset, screwed through both.

It prints lying on its side, so that its layers run round the corner and a load on a leg never
pulls layers apart. The corner between the legs is rounded, since a load bends them there. The
gusset lies on the bed; screw holes lie in the print and have a 45° roof.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from fitkit.core.sizes import CENTRES, OUTSIDE
from fitkit.parts.buys import flat_headed
from fitkit.parts.contract import (
    Body,
    FitSize,
    KeyDimension,
    Length,
    Lug,
    Part,
    Template,
    Wall,
    size,
)
from fitkit.parts.fit_size import SizeSet
from fitkit.parts.forms import Rules, bed_edge, choice
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.screws import Screw, flat_head_mm, marked, screw_fit
from fitkit.solids.bodies import checked, extrude, fuse, turned
from fitkit.solids.profiles import QUARTER, Loop, Profile, polygon, teardrop
from fitkit.solids.sunk import sink

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.core.sizes import Axis

__all__ = ["Bracket"]

_EDGE_MM = 2.0
_ROUND_MM = 2.0  # of the inner corner; no more than what stays free beside a screw's head


def hole_places(leg: float, thickness: float, head: float, count: int) -> list[float]:
    """Middles of `count` holes along a leg, from the corner's outer face, mm.

    The first clears the other leg by half a head, the last the leg's end; those between are even.

    Examples
    --------
    >>> hole_places(40, 4, 8, 2)
    [10.0, 34.0]
    """
    low, high = thickness + head / 2 + _EDGE_MM, leg - head / 2 - _EDGE_MM
    if count == 1:
        return [(low + high) / 2]
    return [low + (high - low) * i / (count - 1) for i in range(count)]


def _apart(places: list[float], spacing: FitSize | None) -> list[float]:
    """Move holes so that the first and the last are apart as drawn, about their middle."""
    if spacing is None:
        return places
    middle, factor = (places[0] + places[-1]) / 2, spacing.drawn_mm / (places[-1] - places[0])
    return [middle + factor * (place - middle) for place in places]


@dataclass(frozen=True, kw_only=True)
class BracketSizes(SizeSet):
    """Sizes of a bracket that must fit."""

    screw_hole: FitSize
    level_spacing: FitSize | None = None  # from the first hole of a leg to its last
    upright_spacing: FitSize | None = None


class Bracket(Template):
    """Angle bracket with a gusset."""

    title: ClassVar[str] = "bracket"
    summary: ClassVar[str] = "Right-angled bracket with a gusset and screw holes in both legs."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="level room",
                mode="depth",
                note="rod along the level piece: from the corner as far as the leg may reach",
            ),
            Reading(
                feature="upright room",
                mode="depth",
                note="rod along the upright piece: from the corner as far as the leg may reach",
            ),
            Reading(feature="edge width", note="over the narrower of the two pieces that it joins"),
        ),
        sizes=(
            FromReadings(parameter="leg", text="level_room"),
            FromReadings(parameter="upright", text="upright_room"),
            FromReadings(parameter="width", text="edge_width"),
        ),
        often=("thickness", "holes", "screw", "label"),
    )

    leg: Length = size("40 mm", low="12 mm", high="200 mm", help="Level leg, over the corner.")
    upright: Length = size("40 mm", low="12 mm", high="200 mm", help="Upright leg, likewise.")
    width: Length = size("20 mm", low="10 mm", high="80 mm", help="Width of both legs.")
    thickness: Length = size("4 mm", low="2 mm", high="12 mm", help="Thickness of both legs.")
    gusset: Length = size(
        "3 mm", low="0 mm", high="10 mm", help="Thickness of the web; 0 for none."
    )
    holes: Annotated[int, Field(ge=1, le=4)] = choice(2, "Screw holes in each leg.", "Fixing")
    screw: Screw = choice("M4", "Screws through the legs.", "Fixing")

    def must_fit(self) -> BracketSizes:
        """Declare the screw holes and how far those of a leg are apart."""
        hole = screw_fit(self.screw, lying=True)
        head = max(flat_head_mm(self.screw), hole.nominal_mm + 1.0)

        def spacing(leg: float, axis: Axis) -> FitSize | None:
            places = hole_places(leg, self.thickness, head, self.holes)
            apart = places[-1] - places[0]
            if apart < 1.0:  # one hole; or a leg that is too short, which building it tells
                return None
            return FitSize(nominal_mm=apart, kind=CENTRES, axis=axis)

        # Both legs lie flat in the print: the upright one along its y.
        sizes = BracketSizes(
            screw_hole=hole,
            level_spacing=spacing(self.leg, "x"),
            upright_spacing=spacing(self.upright, "y"),
        )
        names = tuple(s.name for s in (sizes.level_spacing, sizes.upright_spacing) if s)
        return replace(sizes, screw_hole=marked(hole, names)) if names else sizes

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the bracket: level leg along x, upright leg along z, width along y."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        hole = sizes.screw_hole.drawn_mm
        a, b, t, w, g = self.leg, self.upright, self.thickness, self.width, self.gusset
        head = max(flat_head_mm(self.screw), hole + 1.0)
        self._refuse(head)
        # Drawn as it prints: legs along x and y, the width upwards.
        r = _ROUND_MM
        corners = ((0, 0, 0), (a, 0, 0), (a, t, 0), (t + r, t, -QUARTER), (t, t + r, 0), (t, b, 0))
        legs = Profile(Loop((*corners, (0, b, 0))))
        shape = extrude(legs, w)
        reach = 0.8 * (min(a, b) - t)
        if g:
            # The web overlaps the legs, so that no two faces only touch.
            web = polygon(
                [
                    (t / 2, t / 2),
                    (t + reach, t / 2),
                    (t + reach, t),
                    (t, t + reach),
                    (t / 2, t + reach),
                ]
            )
            shape = fuse(shape, extrude(web, g), tidy=True)
        volume = legs.area * w + g * (reach**2 / 2 - (1 - math.pi / 4) * r**2)
        solid = checked(shape, "bracket", volume=volume, box=(a, b, w), proved=True)
        shape, findings = bed_edge(solid, body="bracket", before=volume)
        mid = (g + w) / 2
        along = _apart(hole_places(a, t, head, self.holes), sizes.level_spacing)
        up = _apart(hole_places(b, t, head, self.holes), sizes.upright_spacing)
        # Each leg in turn is laid with its inner face up, and its holes are let in there.
        drop = teardrop(hole)
        level = [drop.turned(180).moved(x, -mid) for x in along]
        shape = turned(sink(turned(shape, x=90), level, z=t, depth=t), x=-90)
        upright = [drop.turned(90).moved(-mid, y) for y in up]
        shape = turned(sink(turned(shape, y=-90), upright, z=t, depth=t), y=90)
        from fitkit.solids.label import sink_text

        # On the upper flank of the level leg: as long as the leg, as wide as it is thick.
        shape, said = sink_text(
            shape, self.label, room=(a - 4, t - 0.4), at=(a / 2, t / 2), z=w, body="bracket"
        )
        # To the assembly: print's y up, its z towards -y.
        shape = turned(shape, x=90)
        last, top, body, side = along[-1], up[-1], "bracket", -w / 2
        dimensions = [KeyDimension.across(sizes.screw_hole, (last, -mid, t), body=body)]
        for shown, start, end in (
            (sizes.level_spacing, (along[0], -mid, t), (last, -mid, t)),
            (sizes.upright_spacing, (t, -mid, up[0]), (t, -mid, top)),
            (FitSize(name="leg", nominal_mm=a, kind=OUTSIDE), (0, side, 0), (a, side, 0)),
            (FitSize(name="upright", nominal_mm=b, kind=OUTSIDE), (0, side, 0), (0, side, b)),
        ):
            if shown:
                dimensions.append(KeyDimension.of(shown, body=body, start=start, end=end))
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="bracket", solid=checked(shape, "bracket"), print_turn=(-90, 0, 0)),),
            dimensions=tuple(dimensions),
            walls=(
                Wall(name="leg", body="bracket", thickness_mm=t, at=(a / 2, -w / 2, t / 2)),
                *(
                    (Wall(name="gusset", body="bracket", thickness_mm=g, at=(t, -g / 2, t)),)
                    if g
                    else ()
                ),
            ),
            lugs=tuple(
                Lug(
                    name=name,
                    body="bracket",
                    reach_mm=reach_mm,
                    width_mm=w,
                    thickness_mm=t,
                    hole_mm=hole,
                    at=at,
                    along=axis,
                )
                for name, reach_mm, at, axis in (
                    ("level leg", last - t, (last, -mid, t / 2), (1.0, 0.0, 0.0)),
                    ("upright leg", top - t, (t / 2, -mid, top), (0.0, 0.0, 1.0)),
                )
            ),
            findings=(*findings, *said),
            buys=flat_headed(self.screw, 2 * self.holes, "legs"),
        )

    def _refuse(self, head: float) -> None:
        rules = Rules(self.title)
        room = self.holes * (head + 1.0) - 1.0 + 2 * _EDGE_MM + self.thickness
        for name, value in (("leg", self.leg), ("upright", self.upright)):
            rules.at_least(
                name,
                value,
                room,
                f"{self.holes} screws with heads of {head:.1f} mm need that",
                "Make it longer, or take fewer or smaller screws.",
            )
        rules.at_least(
            "width",
            self.width,
            self.gusset + head + _EDGE_MM,
            "the heads must pass beside the gusset",
            "Make it wider, the gusset thinner, or the screws smaller.",
        )
        if self.gusset:
            rules.at_least(
                "gusset", self.gusset, 1.2, "a thinner web prints as one line", "Give 0 for none."
            )
        rules.refuse()
