"""Ball seat: a cup that grips a ball beyond its equator, or four arms that do, on a wall plate.

A preset of `holders.ball`: its cup on a round plate with screws.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from fitkit.core.sizes import CENTRES
from fitkit.parts.contract import Body, FitSize, Length, Part, Wall, size
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import choice, ring_room
from fitkit.parts.holders.ball import (
    Cupped,
    CuppedSizes,
    base_section,
    lip_section,
    whole_section,
)
from fitkit.parts.measuring import UsedWhen  # noqa: TC001 - pydantic reads the annotation
from fitkit.parts.preset import Preset
from fitkit.parts.screws import Screw, ScrewHoles, head_mm, screw_fit
from fitkit.solids.bodies import checked, cut, fuse, revolve, turned

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["BallSeat"]


@dataclass(frozen=True, kw_only=True)
class BallSeatSizes(CuppedSizes):
    """Sizes of a ball seat that must fit."""

    screw_hole: FitSize | None = None
    screw_spacing: FitSize | None = None


class BallSeat(Cupped, Preset):
    """Seat that holds a ball on a wall plate."""

    title: ClassVar[str] = "ball seat"
    summary: ClassVar[str] = "Cup or four arms that hold a ball beyond its equator, on a plate."
    used_when: ClassVar[UsedWhen] = {
        "slits": {"style": ("cup",)},
        "slit": {"style": ("cup",)},
        "arm": {"style": ("arms",)},
        "screw": {"screws": (1, 2, 3, 4)},
    }

    plate: Length = size("3 mm", low="2 mm", high="10 mm", help="Wall plate.", group="Plate")
    screws: Annotated[int, Field(ge=0, le=4)] = choice(2, "Screws in the plate.", "Plate")
    screw: Screw = choice("M3", "Screws in the plate.", "Plate")

    def must_fit(self) -> BallSeatSizes:
        """Declare the seat's sphere, its mouth and the screw holes."""
        cup, count = self.cup_sizes(), self.screws
        outer = self.ball / 2 + self.wall
        across = 2 * self._ring(outer, screw_fit(self.screw).nominal_mm)
        return BallSeatSizes(
            seat=cup.seat,
            mouth=cup.mouth,
            screw_hole=screw_fit(self.screw, spacing=("screw spacing",) if count > 1 else ())
            if count
            else None,
            screw_spacing=FitSize(nominal_mm=across * math.sin(math.pi / count), kind=CENTRES)
            if count > 1
            else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the seat, its plate at z = 0, the ball on top."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        seat, mouth, t = sizes.seat.drawn_mm, sizes.mouth.drawn_mm, self.plate
        hole, outer, body = drawn_mm(sizes.screw_hole, 0.0), seat / 2 + self.wall, "seat"
        cup = self.lay_out(seat, mouth, t)
        wide, spots = self._plate(outer, hole, sizes.screw_spacing)
        tools = self.slit_tools(seat, cup)
        if self.style == "cup":
            # One piece of the lip, cut from its neighbours, and its copies on the base: a boolean
            # of the whole lip with all slits takes longer.
            count = len(tools)
            first = math.degrees(self.first_angle(count))
            lip = revolve(lip_section(cup, mouth, outer), angle=360.0 / count)
            piece = cut(turned(lip, z=first - 180.0 / count), tools[0], tools[-1])
            pieces = [turned(piece, z=360.0 * i / count) for i in range(count)]
            base = revolve(base_section(cup, seat, outer, t, wide))
            shape = fuse(base, *pieces, touching=True)
        else:
            section, volume = whole_section(cup, seat, mouth, outer, t, wide)
            shape = cut(checked(revolve(section), body, volume=volume, proved=True), *tools)
        holes = ScrewHoles(screw=self.screw, size=sizes.screw_hole, spots=spots, top=t, body=body)
        shape, left_off = holes.into(shape)
        from fitkit.solids.label import sink_text

        head = holes.head_mm / 2
        room, label_y = ring_room(
            self.label, inner=outer, outer=wide / 2, keep_off=[(x, y, head) for x, y in spots]
        )
        shape, said = sink_text(shape, self.label, room=room, at=(0.0, label_y), z=t, body=body)
        low = cup.centre - seat / 2
        under = Wall(name="under the ball", body=body, thickness_mm=low, at=(0, 0, low / 2))
        return self.joined(
            title,
            self.standing(sizes, cup, t),
            Body(name=body, solid=checked(shape, body)),
            up_mm=t,
            insertion=(0.0, 0.0, -1.0),
            dimensions=holes.dimensions(sizes.screw_spacing),
            walls=(under,),
            lugs=holes.lugs(
                [max(math.hypot(x, y) - outer, 0.5) for x, y in spots],
                2 * (hole + 2),
                names=[f"plate at screw {i + 1}" for i in range(len(spots))],
                out="all",
            ),
            findings=(*left_off, *said),
            buys=holes.buys("plate"),
        )

    def _ring(self, outer: float, hole: float) -> float:
        """Radius of the circle on which the screws stand, mm."""
        return outer + max(head_mm(self.screw), hole) / 2 + 1.5

    def _plate(
        self, outer: float, hole: float, spacing: FitSize | None
    ) -> tuple[float, list[tuple[float, float]]]:
        """Diameter of the plate, with a strip for the label round the cup, and its screws."""
        if not self.screws:
            return 2 * outer + 12, []
        head = max(head_mm(self.screw), hole)
        ring = self._ring(outer, hole)
        wide = 2 * (ring + head / 2 + 2.0)
        if spacing is not None:
            ring = spacing.drawn_mm / 2 / math.sin(math.pi / self.screws)
        turn = {1: 90.0, 2: 0.0, 3: 90.0, 4: 45.0}[self.screws]
        spots = []
        for i in range(self.screws):
            angle = math.radians(turn + 360.0 * i / self.screws)
            spots.append((ring * math.cos(angle), ring * math.sin(angle)))
        return wide, spots
