"""Test strips: one to hang weights on, and thin ones to bend between the jaws of calipers.

They are printed by themselves or on the coupon's plate (`beside`), and used up: the bending strip
gives the spool's modulus, the snap strips the strain at which it breaks or stays bent
(`checks.strips`). They lie flat, so that both are those along the layers. They bear no label: it
would weaken them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field

from fitkit.core.sizes import HEIGHT, OUTSIDE
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, Part, Template, Wall, size
from fitkit.parts.fit_size import SizeSet
from fitkit.solids.bodies import checked, extrude
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Point

__all__ = ["BendStrips"]

_APART_MM = 4.0


@dataclass(frozen=True, kw_only=True)
class StripSizes(SizeSet):
    """Sizes that count in the formulas; they are read on the print, so none need be met."""

    bending_width: FitSize
    bending_thickness: FitSize
    snap_thickness: FitSize


class BendStrips(Template):
    """Strips that tell a spool's modulus and the strain that it bears."""

    title: ClassVar[str] = "test strips"
    summary: ClassVar[str] = "Strips to bend: a spool's modulus, and the strain that it bears."
    ordered_by: ClassVar[str] = "strips"

    length: Length = size(
        "100 mm", low="60 mm", high="180 mm", help="Of the bending strip.", group="Bending strip"
    )
    width: Length = size(
        "12 mm", low="6 mm", high="30 mm", help="Of the bending strip.", group="Bending strip"
    )
    thickness: Length = size(
        "2.4 mm", low="1.6 mm", high="5 mm", help="Of the bending strip.", group="Bending strip"
    )
    snaps: int = Field(
        default=4,
        ge=1,
        le=12,
        description="Snap strips.",
        json_schema_extra={"group": "Snap strips"},
    )
    snap_length: Length = size(
        "120 mm", low="60 mm", high="180 mm", help="Of a snap strip.", group="Snap strips"
    )
    snap_width: Length = size(
        "10 mm", low="5 mm", high="20 mm", help="Of a snap strip.", group="Snap strips"
    )
    snap_thickness: Length = size(
        "0.6 mm", low="0.4 mm", high="1.2 mm", help="Of a snap strip.", group="Snap strips"
    )

    @property
    def span_mm(self) -> float:
        """Distance between the edges on which the bending strip lies."""
        return 0.8 * self.length

    def must_fit(self) -> StripSizes:
        """Declare what is read for the formulas."""
        return StripSizes(
            bending_width=FitSize(nominal_mm=self.width, kind=OUTSIDE, axis="y", of="width"),
            bending_thickness=FitSize(
                nominal_mm=self.thickness, kind=HEIGHT, axis="z", of="thickness"
            ),
            snap_thickness=FitSize(
                nominal_mm=self.snap_thickness, kind=HEIGHT, axis="z", of="snap_thickness"
            ),
        )

    def beside(self, y_mm: float) -> Part:
        """Make the strips as drawn plainly, all of them from a line along x on, left ends at 0.

        Parameters
        ----------
        y_mm : float, mm
            Front edge of the first one.

        Returns
        -------
        Part
        """
        from fitkit.solids.bodies import moved

        part = self.build()
        x, y = max(self.length, self.snap_length) / 2, y_mm + self.width / 2

        def at(place: Point) -> Point:
            return place[0] + x, place[1] + y, place[2]

        return replace(
            part,
            bodies=tuple(
                replace(body, solid=checked(moved(body.solid, x, y), body.name, proved=True))
                for body in part.bodies
            ),
            dimensions=tuple(
                replace(row, start=at(row.start), end=at(row.end)) for row in part.dimensions
            ),
            walls=tuple(replace(wall, at=at(wall.at)) for wall in part.walls),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the strips, flat on the bed side by side."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        width, thick = sizes.bending_width.drawn_mm, sizes.bending_thickness.drawn_mm
        thin = sizes.snap_thickness.drawn_mm
        bodies = [_strip("bending strip", self.length, width, thick, 0.0)]
        walls = [Wall(name="bending strip", body="bending strip", thickness_mm=width, at=(0, 0, 0))]
        first = (width + self.snap_width) / 2 + _APART_MM
        for number in range(self.snaps):
            y = first + number * (self.snap_width + _APART_MM)
            name = f"snap strip {number + 1}"
            bodies.append(_strip(name, self.snap_length, self.snap_width, thin, y))
            walls.append(Wall(name=name, body=name, thickness_mm=self.snap_width, at=(0, y, 0)))
        half = self.length / 2
        dimensions = (
            KeyDimension.across(sizes.bending_width, (0, 0.0, thick), "y", body="bending strip"),
            KeyDimension.of(
                sizes.bending_thickness,
                body="bending strip",
                start=(half, 0, 0),
                end=(half, 0, thick),
            ),
            KeyDimension.of(
                sizes.snap_thickness,
                body="snap strip 1",
                start=(self.snap_length / 2, first, 0),
                end=(self.snap_length / 2, first, thin),
            ),
        )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=tuple(bodies),
            dimensions=dimensions,
            walls=tuple(walls),
        )


def _strip(name: str, length: float, width: float, thick: float, y: float) -> Body:
    outline = rectangle(length, width, at=(0.0, y))
    volume = length * width * thick
    return Body(name=name, solid=checked(extrude(outline, thick), name, volume=volume))
