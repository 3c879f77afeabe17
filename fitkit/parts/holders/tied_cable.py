"""A cable that enters by a round hole in the wall and is tied down to a bridge behind it.

A pull at the cable ends at the tie, not at the joint inside. The tie goes through the tunnel under
the bridge and round the cable; its notches then bear on the bridge's edge. Behind the tie the cable
keeps room to bend: a radius of four cable diameters unless another is given.

In its own frame the cable leaves at the front; the carrier lays that side against a wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, ClassVar

from fitkit.core.sizes import HOLE_LYING, INSIDE
from fitkit.parts.buys import cable_ties
from fitkit.parts.contract import Body, Bridge, KeyDimension, Length, size
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space, WallOpening
from fitkit.parts.measuring import FromReadings, Measuring, Reading

if TYPE_CHECKING:
    from fitkit.solids.let_in import Piece

__all__ = ["TiedCable"]

_POST_MM = 2.0  # of the bridge, on either side of the tie. Common practice, no source.
_ROOF_MM = 2.0  # over the tie. Common practice, no source.
_OVER_TIE_MM = 0.8  # over the tie's thickness, so that it can be threaded
_RIM_MM = 1.0  # of plate round the bridge
_LEAD_MM = 4.0  # from the wall to the bridge
_LEAST_WIDE_MM = 4.0  # of the bridge
_THREAD_MM = 5.0  # beside the bridge, to thread the tie
_HEAD_MM = 4.0  # of a tie's head over the cable
# Least radius of a bend that stays, in cable diameters; a cable's data sheet wins over it.
# Common practice, no source.
_BEND = 4.0


@dataclass(frozen=True, kw_only=True)
class TiedSizes(SizeSet):
    """Sizes of a tied cable that must fit."""

    cable_hole: FitSize
    tie_slot: FitSize


class TiedCable(Holder):
    """A cable through the wall, tied to a bridge."""

    title: ClassVar[str] = "cable under a tie"
    summary: ClassVar[str] = "A cable through the wall, tied to a bridge: strain relief."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="cable diameter",
                round=True,
                note="jaws just touching, so that the sheath is not pressed flat",
            ),
        ),
        sizes=(FromReadings(parameter="cable", text="cable_diameter"),),
    )

    cable: Length = size(
        "5 mm",
        low="1.5 mm",
        high="16 mm",
        group="Cable",
        measured=True,
        help="Diameter of its sheath.",
    )
    bend_radius: Length | None = choice(
        None, "Room for its bend behind the tie; four diameters if not given.", "Cable"
    )
    tie_width: Length = size(
        "2.5 mm", low="2 mm", high="9 mm", group="Tie", help="Width of the cable tie."
    )
    tie_thickness: Length = size(
        "1.1 mm", low="0.8 mm", high="2 mm", group="Tie", help="Thickness of the cable tie."
    )

    def must_fit(self, base: Base) -> TiedSizes:
        """Declare the hole for the cable, and the tunnel for the tie."""
        return TiedSizes(
            cable_hole=FitSize(
                nominal_mm=self.cable,
                of="cable",
                kind=HOLE_LYING,
                sense=1,
                pair="peg and hole",
                behaviour="slides",
            ),
            tie_slot=FitSize(
                nominal_mm=self.tie_width,
                kind=INSIDE,
                axis="y",
                sense=1,
                pair="tab and slot",
                behaviour="rotates freely",
            ),
        )

    @property
    def _rest(self) -> float:
        """Height of the bridge's top, on which the cable lies, mm."""
        return self.tie_thickness + _OVER_TIE_MM + _ROOF_MM

    @property
    def _wide(self) -> float:
        return max(self.cable, _LEAST_WIDE_MM)

    def _long(self, slot: float) -> float:
        return slot + 2 * _POST_MM

    @property
    def _edge(self) -> float:
        """From the middle of the bridge to the wall, mm."""
        return self._long(self.tie_width) / 2 + _RIM_MM + _LEAD_MM

    def space(self, base: Base) -> Space:
        """Give the bridge up to the wall; free room beside it for the tie, behind it for a bend."""
        bend = _BEND * self.cable if self.bend_radius is None else self.bend_radius
        half = self._wide / 2 + _RIM_MM + AIR_MM
        back = self._long(self.tie_width) / 2 + _RIM_MM + AIR_MM
        beside = half + _THREAD_MM
        return Space(
            body=(-half, -self._edge, half, back),
            free=(-beside, -self._edge, beside, back + bend),
            height_mm=self._rest + self.cable + max(_HEAD_MM, self.tie_thickness),
            ties=("front",),
        )

    def fixture(self, sizes: TiedSizes, base: Base) -> Fixture:
        """Make the bridge as a piece of plate, and say where the cable passes the wall."""
        from fitkit.parts.designs.board_case.parameters import Port
        from fitkit.parts.designs.board_case.sizes import PortSizes

        slot = sizes.tie_slot.drawn_mm
        tunnel = self.tie_thickness + _OVER_TIE_MM
        middle = self._rest + self.cable / 2
        # A port's own parameters bound it no tighter than the cable's do.
        port = Port.model_construct(
            **{name: field.default for name, field in Port.model_fields.items()}
            | {"wall": "front", "shape": "round", "width": self.cable, "height": self.cable}
        )
        piece = _bridge(self._wide, self._long(slot), slot, tunnel, self._rest, base.thickness_mm)
        return Fixture(
            pieces=(piece,),
            ghosts=_ghost(self.cable, -self._edge, self._long(self.tie_width) / 2, middle),
            openings=(
                WallOpening(
                    port=port,
                    sizes=PortSizes(diameter=sizes.cable_hole),
                    along_mm=0.0,
                    above_mm=middle,
                    edge_mm=self._edge,
                    path=("cable", 0),
                ),
            ),
            dimensions=(
                KeyDimension.across(sizes.cable_hole, (0.0, -self._edge, middle)),
                KeyDimension.across(sizes.tie_slot, (self._wide / 2, 0.0, tunnel / 2), "y"),
            ),
            bridges=(Bridge(name="tie bridge", body="", span_mm=slot, at=(0.0, 0.0, tunnel)),),
            buys=cable_ties(self.tie_width, 1, ""),
        )


@lru_cache(maxsize=16)
def _bridge(
    wide: float, long: float, slot: float, tunnel: float, high: float, plate: float
) -> Piece:
    """Bridge on its bit of plate, whose upper face is at z = 0; made and analysed once."""
    from fitkit.solids.bodies import checked, extrude, fuse, moved, raw, turned
    from fitkit.solids.let_in import Piece
    from fitkit.solids.profiles import polygon, rectangle

    rooted = min(0.5, plate / 2)
    a, b = long / 2, slot / 2
    section = polygon(
        [(-a, -rooted), (-b, -rooted), (-b, tunnel), (b, tunnel), (b, -rooted), (a, -rooted),
         (a, high), (-a, high)]
    )  # fmt: skip
    arch = moved(turned(extrude(section, wide), x=90, z=90), -wide / 2)
    outline = rectangle(wide + 2 * _RIM_MM, long + 2 * _RIM_MM)
    slab = extrude(outline, plate, z=-plate)
    return Piece(raw(checked(fuse(slab, arch), "bridge")), outline.outer)


@lru_cache(maxsize=16)
def _ghost(diameter: float, front: float, back: float, z: float) -> tuple[Body, ...]:
    """Cable from outside the wall to behind the bridge; it is pushed in along itself."""
    from fitkit.solids.bodies import checked, extrude, moved, turned
    from fitkit.solids.profiles import circle

    out = 12.0
    rod = turned(extrude(circle(diameter), back - front + out), x=-90)
    solid = checked(moved(rod, 0.0, front - out, z + 0.01), "cable", proved=True)
    return (Body(name="cable", solid=solid, insertion=(0.0, 1.0, 0.0)),)
