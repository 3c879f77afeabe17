"""Cradle for round bodies that lie side by side: batteries, tubes, bottles.

A preset of `holders.cups`: its section stretched along the bodies, on a common base with ears. Arms
snap over the body, or a strap in a groove under the base holds all. It prints standing on one end:
the section then lies in the layer plane, and so do the arms when they bend.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from fitkit.core.sizes import CENTRES, HOLE
from fitkit.parts.contract import Body, FitSize, Length, Part, Wall, size
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.holders.cups import (
    LEAST_WALL_MM,
    Cups,
    CupSizes,
    Lying,
    arm_reach_mm,
    cradle_root_mm,
    cradle_section,
    cup_strain,
    rods,
)
from fitkit.parts.measuring import Measuring, UsedWhen  # noqa: TC001 - pydantic reads them
from fitkit.parts.preset import Preset
from fitkit.parts.screws import Screw, ScrewHoles, head_mm, screw_fit
from fitkit.solids.bevelled import bevelled
from fitkit.solids.bodies import checked, cut, extrude, fuse, moved, turned
from fitkit.solids.profiles import circle, polygon

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Cradle"]

_STRAP_MM = 2.0  # depth of the groove for a strap
_BESIDE_HEAD_MM = 2.0  # plastic beside a screw's head, to the groove and the end together


@dataclass(frozen=True, kw_only=True)
class CradleSizes(CupSizes):
    """Sizes of a cradle that must fit."""

    screw_hole: FitSize | None = None
    screw_spacing: FitSize | None = None


class Cradle(Cups, Preset):
    """Cradle for one or more lying round bodies."""

    title: ClassVar[str] = "cradle"
    summary: ClassVar[str] = "Cups side by side for batteries or tubes, with arms or a strap."
    instead: ClassVar[tuple[str, str]] = ("strap", "a strap holds it")
    measuring: ClassVar[Measuring] = replace(
        Cups.measuring, often=("count", "length", "hold", "stop", "lugs", "label")
    )
    used_when: ClassVar[UsedWhen] = {
        "grip": {"hold": ("auto", "arms")},
        "strain": {"hold": ("auto", "arms")},
        "strap": {"hold": ("auto", "strap")},
        "screw": {"lugs": (True,)},
    }

    length: Length = size("30 mm", low="6 mm", high="250 mm", help="Length of the cradle.")
    count: Annotated[int, Field(ge=1, le=8)] = choice(2, "Bodies side by side.")
    base: Length = size("4 mm", low="2 mm", high="15 mm", help="Thickness of the base.")
    hold: Literal["auto", "arms", "strap"] = choice(
        "auto",
        "Snap arms, or a strap round all. Auto takes arms, unless the body is so thin that they "
        "would break.",
        "Holding",
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

    def bears(self) -> float:
        """Strain that arms may see, in %."""
        return self.strain

    def must_fit(self) -> CradleSizes:
        """Declare the cup, the arms' mouth and the screw hole."""
        cups, lugs = self.cup_sizes(HOLE), self.lugs
        out = self._out(self.diameter / 2, screw_fit(self.screw).nominal_mm)
        hole = screw_fit(self.screw, lying=True, spacing=("screw spacing",))
        return CradleSizes(
            cup=cups.cup,
            mouth=cups.mouth,
            screw_hole=hole if lugs else None,
            # The cups lie along the print's x.
            screw_spacing=FitSize(nominal_mm=2 * out, kind=CENTRES, axis="x") if lugs else None,
        )

    def _head(self, hole: float) -> float:
        return max(head_mm(self.screw), hole + 1)

    def _out(self, inner: float, hole: float) -> float:
        """Distance of the ears' screws from the middle, mm."""
        outside = self.centres(inner)[-1] + inner + self.grasp.wall
        return outside + self._head(hole) / 2 + 2.0

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the cradle: bodies lie along x, the base is at z = 0."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        form = self.form(sizes, self.centres(sizes.cup.drawn_mm / 2))
        hole, name, wall = drawn_mm(sizes.screw_hole, 0.0), "cradle", self.grasp.wall
        self._refuse(form, hole)
        inner, half_open, centres, _ = form
        by_strap = self.grasp.by == "strap"
        base = max(self.base, _STRAP_MM + 1.2) if by_strap else self.base
        ends = centres[-1] + inner + wall + (self._head(hole) + 3.0 if self.lugs else 0.0)
        draw = partial(
            cradle_section,
            centres,
            inner,
            wall,
            base=base,
            ends=ends,
            half_open=half_open,
            root=cradle_root_mm(inner, wall),
        )
        section, foot = draw(), draw(inset=BED_EDGE_MM)
        shape = checked(
            bevelled(foot.outer, section.outer, BED_EDGE_MM, self.length),
            name,
            volume=(section.area * (self.length - BED_EDGE_MM), section.area * self.length),
            proved=True,
        )
        floor = wall if self.stop else 0.0
        if self.stop:
            up_print = [circle(2 * inner + wall, at=(x, base + inner)) for x in centres]
            shape = fuse(shape, *(extrude(disc, floor) for disc in up_print))
        middle, spots = floor + (self.length - floor) / 2, []
        if self.lugs:
            spots = self._screw_places(floor, drawn_mm(sizes.screw_spacing) / 2)
        holes = ScrewHoles(
            screw=self.screw, size=sizes.screw_hole, spots=spots, top=base, body=name, lying=True
        )
        # Drilled with the base's upper face up; the print's upper side is then at -y.
        shape, left_off = holes.into(turned(shape, x=90), [(y, -x) for x, y in spots])
        shape = turned(shape, x=-90)
        if by_strap:
            shape = cut(shape, _groove(2 * ends, self.strap, self._strap_middle(floor)))
        from fitkit.solids.label import sink_text

        # On the upper end of the base, seen when the cradle stands on the bed.
        shape, said = sink_text(
            shape,
            self.label,
            room=(2 * ends - 3, base - 0.4),
            at=(0.0, base / 2),
            z=self.length,
            body=name,
        )
        # To the assembly: the print's x to y, its y up, its z along x.
        shape = turned(shape, x=90, z=90)
        up, spacing = base + inner, sizes.screw_spacing
        start = floor + 0.02 if self.stop else (self.length - self.body_length) / 2
        found = self.lying(
            sizes,
            form,
            (middle,),
            up,
            self.length,
            lambda side, number, _: f"{side} arm {number}",
            layers_across=False,
        )
        reach = self._head(hole) / 2 + 2.0
        return self.joined(
            title,
            replace(found, ghosts=rods(centres, self.diameter, self.body_length, start, up)),
            Body(name=name, solid=checked(shape, name), print_turn=(0, -90, 0)),
            insertion=(0.0, 0.0, -1.0),
            dimensions=holes.dimensions(spacing and replace(spacing, axis="y"), along="y"),
            walls=(Wall(name="base", body=name, thickness_mm=base, at=(middle, 0, base / 2)),),
            lugs=holes.lugs(reach, self.length, names=("left ear", "right ear"), out="y")
            if self.lugs
            else (),
            findings=(*self.without_arms(), *left_off, *said),
            buys=holes.buys("ears"),
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

    def _refuse(self, form: Lying, hole: float) -> None:
        rules, wall = Rules(self.title), self.grasp.wall
        floor, head = wall if self.stop else 0.0, self._head(hole)
        self.refuse_grip(rules, form.inner, form.mouth)
        if self.grasp.by == "arms":
            bound = self._most_wall(form.inner, form.half_open)
            rules.at_most(
                "wall",
                wall,
                bound,
                "arms strained" if bound >= LEAST_WALL_MM else "arms strained at any wall",
                length=arm_reach_mm(form.inner, wall, form.half_open),
                grip=self.grasp.grip,
                strain=self.strain,
            )
        else:
            room = self.length - 2 * _STRAP_MM - 2.0 - floor
            rules.at_most("strap", self.strap, room, "groove of the strap", length=self.length)
            if self.lugs:
                taken = self.length - 2 * self._beside_strap(floor)
                least = taken + 2 * (head + _BESIDE_HEAD_MM)
                rules.at_least("length", self.length, least, "screws beside the strap")
        if self.lugs:
            least = head_mm(self.screw) + 3.0 + floor
            rules.at_least("length", self.length, least, "screw in the ear")
        if self.stop:
            rules.at_least("length", self.length, 2 * wall + 2.0, "end of the cradle")
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
