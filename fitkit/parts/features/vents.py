"""Vents on any side: slots or hexagons round a middle, as many as an area of air needs.

Slots are as narrow as those of a case's own vents: bridged without support, too narrow for a
finger. In a wall that a lid's lip stands behind they end below the lip.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, ClassVar, Literal

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.contract import Area, Bridge, Length, Vent, size
from fitkit.parts.feature import WALLS, Feature, Side, SideName, Taken, Work
from fitkit.parts.forms import choice

if TYPE_CHECKING:
    from fitkit.parts.fit_size import SizeSet
    from fitkit.solids.profiles import Profile

__all__ = ["Vents"]

_OVER_MM = 1.0  # past both faces
_BESIDE_MM = 1.6  # plastic round the field. Common practice, no source.
_LIP_MM = 4.0  # what a lid's lip takes of a wall's inside, from its top
_LEAST_MM = 3.0  # height of a field


class Vents(Feature):
    """A field of openings for air."""

    title: ClassVar[str] = "vents"
    summary: ClassVar[str] = "Slots or hexagons for air, as many as an area needs."
    sides: ClassVar[tuple[SideName, ...]] = (*WALLS, "lid", "floor")

    area: Area = size(
        "200 mm²", low="5 mm²", high="20000 mm²", group="Feature", help="Free area for air."
    )
    style: Literal["slots", "hex"] = choice("slots", "Upright slots, or hexagons.", "Feature")
    high: Length = size(
        "12 mm",
        low="3 mm",
        high="60 mm",
        group="Feature",
        help="Of the field: up a wall, along y on lid and floor.",
    )
    above: Length | None = choice(
        None, "Foot of the field over the bed, in a wall; just over the floor if not given.",
        "Feature",
    )  # fmt: skip
    across: Length | None = choice(
        None, "Middle along y, on lid and floor; the first free place if not given.", "Feature"
    )

    def _strip(self, side: Side) -> tuple[float, float]:
        """Foot and height of the field, mm."""
        if not side.is_wall:
            return (self.across or 0.0) - self.high / 2, self.high
        low = side.foot_mm + 1.0 if self.above is None else self.above
        top = side.high_mm - (_LIP_MM if side.lid_mm else 1.0)
        high = min(self.high, top - low)
        if high < _LEAST_MM:
            raise PartError(
                f"from {low:.1f} mm over the bed to {top:.1f} mm there is no height for vents on "
                f"the {side.name}",
                at=("above",) if self.above is not None else ("on",),
                code="feature.side-too-low",
                remedy="Put them lower, or on another side.",
            )
        return low, high

    def _field(self, side: Side) -> tuple[list[Profile], float]:
        """Openings about 0 along the side, whole columns to both sides, and their area."""
        from fitkit.parts.designs.board_case.openings import vent_places

        low, high = self._strip(side)
        half = side.long_mm / 2 - _BESIDE_MM
        found: list[Profile] = []
        free = 0.0
        places = vent_places(self.style, half, low, high)
        for _, column in groupby(places, key=lambda place: round(abs(place[0]), 6)):
            if free >= self.area - 1e-6:
                break
            for x, y, flat in column:
                found.append(flat.moved(x, y))
                free += flat.area
        return found, free

    def room(self, sizes: SizeSet, side: Side) -> Taken:
        """Give the field with plastic round it."""
        boxes = [flat.box for flat in self._field(side)[0]]
        if not boxes:
            raise PartError(
                f"the {side.name} is {side.long_mm:.1f} mm long, too short for vents",
                at=("on",),
                code="feature.no-room",
                remedy="Choose another side.",
            )
        low, bottom = min(b[0] for b in boxes), min(b[1] for b in boxes)
        high, top = max(b[2] for b in boxes), max(b[3] for b in boxes)
        more = _BESIDE_MM
        # Below a field in a wall the floor's edge may be near; air comes in there.
        down = min(more, bottom) if side.is_wall else more
        return Taken(low - more, bottom - down, high + more, top + (0 if side.is_wall else more))

    def work(self, sizes: SizeSet, side: Side, at: float) -> Work:
        """Give the openings' tools, and the area that they leave free."""
        found, free = self._field(side)
        up = 1.0 if side.is_wall else side.stretch_up
        placed = [flat.moved(at, (self.across or 0.0) * (up - 1.0)) for flat in found]
        tools = tuple(
            side.prism(flat, inward=side.thick_mm + _OVER_MM, outward=_OVER_MM) for flat in placed
        )
        middle = sum(f.area * (f.box[1] + f.box[3]) / 2 for f in placed) / free
        place = side.at_face(at, middle)
        height = side.point(place)[2]
        bridges: tuple[Bridge, ...] = ()
        if side.is_wall and self.style == "slots":
            left, _, right, top = placed[0].box
            bridges = (Bridge(name="", body="", span_mm=right - left, at=(0.0, at, top)),)
        said: tuple[Finding, ...] = ()
        if free < 0.95 * self.area:
            said = (
                Finding(
                    check="build",
                    severity="warn",
                    text=f"vents of {free:.0f} mm² find room on the {side.name}, of "
                    f"{self.area:.0f} mm².",
                    value=free,
                    limit=self.area,
                    unit="mm²",
                    basis="geometry of this part",
                    at=(place,),
                    remedy="Ask for less or a higher field, or put more on another side.",
                ),
            )
        return Work(
            cut=tools,
            vents=(Vent(name="", body="", free_area_mm2=free, height_mm=height, at=place),),
            bridges=bridges,
            findings=said,
        )
