"""Lid for an existing box that was measured with calipers: a rounded rectangle.

The lid's skirt goes over the box's outside, or its rim goes into the box's inside. The corner
radius is given, or follows from a diagonal read over two opposite corners (`rounded`). It prints
upside down, so that its show face lies on the bed and nothing hangs over air.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from fitkit.core.sizes import OUTSIDE, POCKET
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
from fitkit.parts.fit_size import SizeSet, holding
from fitkit.parts.forms import Rules, choice, told_at
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.solids.bodies import checked, extrude, turned
from fitkit.solids.profiles import rectangle
from fitkit.solids.rounded import corner_radius_mm
from fitkit.solids.terraces import Terrace, from_profiles, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping


__all__ = ["BoxLid"]

_OVER, _INTO = {"fits": ("over",)}, {"fits": ("into",)}
_EDGE_MM = 0.5  # chamfer of the show face, which lies on the bed


@dataclass(frozen=True, kw_only=True)
class BoxLidSizes(SizeSet):
    """Sizes of a lid that must fit."""

    length: FitSize
    width: FitSize


class BoxLid(Template):
    """Lid for a box that exists."""

    title: ClassVar[str] = "box lid"
    summary: ClassVar[str] = "Lid that goes over, or into, a box measured with calipers."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(feature="box length", note="over the outside of the box near its rim, along x"),
            Reading(feature="box width", note="over the outside of the box near its rim, along y"),
            Reading(
                feature="box diagonal",
                note="over two opposite corners of the outside, at the greatest reading",
            ),
            Reading(
                feature="box inside length",
                mode="inside",
                note="inside jaws between its walls near the rim, along x",
            ),
            Reading(
                feature="box inside width",
                mode="inside",
                note="inside jaws between its walls near the rim, along y",
            ),
            Reading(
                feature="box inside diagonal",
                mode="inside",
                note="inside jaws from corner to opposite corner, at the greatest reading",
            ),
        ),
        sizes=(
            FromReadings(parameter="box_length", text="box_length", when=_OVER),
            FromReadings(parameter="box_length", text="box_inside_length", when=_INTO),
            FromReadings(parameter="box_width", text="box_width", when=_OVER),
            FromReadings(parameter="box_width", text="box_inside_width", when=_INTO),
            FromReadings(
                parameter="diagonal", text="box_diagonal", when=_OVER, spares=("corner_radius",)
            ),
            FromReadings(
                parameter="diagonal",
                text="box_inside_diagonal",
                when=_INTO,
                spares=("corner_radius",),
            ),
        ),
        often=("depth", "wall", "overlap", "label"),
    )
    used_when: ClassVar[UsedWhen] = {"overlap": {"fits": ("into",)}}

    box_length: Length = size(
        "100 mm",
        low="15 mm",
        high="350 mm",
        measured=True,
        help="Box along x: outside if the lid goes over it, inside if it goes in.",
    )
    box_width: Length = size(
        "60 mm", low="15 mm", high="350 mm", measured=True, help="Likewise along y."
    )
    corner_radius: Length = size(
        "6 mm", low="0 mm", high="100 mm", measured=True, help="Round corners of the box."
    )
    diagonal: Length | None = Field(
        default=None,
        description="Greatest reading over two opposite corners; then the radius follows from it.",
        json_schema_extra={"group": "Sizes", "measured": True},
    )
    fits: Literal["over", "into"] = choice("over", "Skirt over the box, or rim into it.")
    depth: Length = size("8 mm", low="2 mm", high="60 mm", help="Depth of the skirt or rim.")
    wall: Length = size("2 mm", low="1.2 mm", high="6 mm", help="Thickness of skirt or rim.")
    plate: Length = size("2 mm", low="1.2 mm", high="8 mm", help="Thickness of the top.")
    overlap: Length = size(
        "2 mm", low="1 mm", high="20 mm", help="How far the top stands over the box's walls (into)."
    )

    def radius_mm(self) -> float:
        """Corner radius of the box, mm: from the diagonal if that is given."""
        if self.diagonal is None:
            return self.corner_radius
        with told_at(self.title, "diagonal"):
            return corner_radius_mm(self.box_length, self.box_width, self.diagonal)

    def must_fit(self) -> BoxLidSizes:
        """Declare the two sizes of skirt or rim."""
        kind = POCKET if self.fits == "over" else OUTSIDE
        return BoxLidSizes(
            length=holding(self.box_length, "box_length", kind, "x", pair="lid and rim"),
            width=holding(self.box_width, "box_width", kind, "y", pair="lid and rim"),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the lid; the top of the box is its ghost."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        length, width, t = sizes.length.drawn_mm, sizes.width.drawn_mm, self.wall
        radius, short = self.radius_mm(), min(length, width)
        over = self.fits == "over"
        rules = Rules(self.title)
        rules.at_most(
            "corner_radius" if self.diagonal is None else "diagonal",
            radius,
            short / 2,
            "box corners",
        )
        rules.at_least(
            "box_width" if width < length else "box_length", short, 2 * t + 6.0, "room in the rim"
        )
        rules.refuse()
        from fitkit.solids.label import fitted_text

        # The label is inside the lid, where it faces up in the print.
        letters, said = fitted_text(
            self.label, room=(length - 2 * t - 6, width - 2 * t - 6), caps=6.0, body="lid"
        )
        sunk = from_profiles(letters, self.plate - 0.4, self.plate)
        high = self.plate + self.depth
        if over:
            outer = rectangle(length + 2 * t, width + 2 * t, radius=radius + t if radius else 1.0)
            pocket = Terrace(rectangle(length, width, radius=radius).outer, self.plate, sunk)
            root = Terrace(outer.outer, high, (pocket,), edge=_EDGE_MM)
        else:
            o = self.overlap
            outer = rectangle(length + 2 * o, width + 2 * o, radius=radius + o)
            inner = rectangle(length - 2 * t, width - 2 * t, radius=max(radius - t, 0.0))
            rim = Terrace(
                rectangle(length, width, radius=radius).outer,
                high,
                (Terrace(inner.outer, self.plate, sunk),),
            )
            root = Terrace(outer.outer, self.plate, (rim,), edge=_EDGE_MM)
        # To the assembly: the show face up, the skirt's mouth at z = 0.
        shape = turned(terraces(root), x=180, about=(0, 0, high / 2))
        # Over: the box's outside under the top. Into: the box's mouth is a wall round the rim.
        half = min(self.box_length, self.box_width) / 2
        mouth = rectangle(self.box_length, self.box_width, radius=min(radius, half))
        if not over:
            w = self.overlap
            collar = rectangle(self.box_length + 2 * w, self.box_width + 2 * w, radius=radius + w)
            mouth = collar.with_holes(mouth)
        deep, middle = max(self.depth, 10.0), (0.0, 0.0, self.depth / 2)
        ghost = extrude(mouth, deep, z=self.depth - deep)
        side = length / 2 + (t / 2 if over else -t / 2)
        pressed = Flat(
            along_mm=length, across_mm=width, held=("simple", "simple", "simple", "simple")
        )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(
                Body(
                    name="lid",
                    solid=checked(shape, "lid", volume=root.volume()),
                    print_turn=(180, 0, 0),
                ),
            ),
            ghosts=(Body(name="box", solid=checked(ghost, "box", proved=True)),),
            insertion=(0.0, 0.0, 1.0),
            dimensions=(
                KeyDimension.across(sizes.length, middle, "x", body="lid"),
                KeyDimension.across(sizes.width, middle, "y", body="lid"),
            ),
            walls=(
                Wall(
                    name="skirt" if over else "rim",
                    body="lid",
                    thickness_mm=t,
                    at=(side, 0, self.depth / 2),
                ),
                Wall(
                    name="top",
                    body="lid",
                    thickness_mm=self.plate,
                    at=(0, 0, high - self.plate / 2),
                    flat=pressed,
                ),
            ),
            findings=said,
        )
