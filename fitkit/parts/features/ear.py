"""A screw-down ear on any wall: round hole, or a keyhole that drops over a screw's head.

It lies on the bed and stands out from the wall. With a keyhole the part hangs by the side that the
ear is on: the wide end lies near the wall, the slot runs outwards, and the part slides down until
the screw stands at the slot's end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from fitkit.core.sizes import HOLE, INSIDE
from fitkit.parts.buys import flat_headed
from fitkit.parts.contract import KeyDimension, Length, Lug
from fitkit.parts.feature import Feature, Side, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice
from fitkit.parts.screws import Screw, flat_head_mm, screw_fit, screw_mm

__all__ = ["ScrewEar"]

_ROOT_MM = 0.75  # share of the wall that the ear is let into
_BESIDE_MM = 2.0  # plastic beside a hole. Common practice, no source.
_LEAST_MM = 3.0  # thickness
_HEAD_ROOM_MM = 1.0  # over the screw's head, so that it passes without aiming. A choice of ours.
_SLIDE = 1.0  # how far it slides behind the head, in heads


@dataclass(frozen=True, kw_only=True)
class EarSizes(SizeSet):
    """Sizes of an ear that must fit."""

    screw_hole: FitSize | None = None
    slot: FitSize | None = None
    head_hole: FitSize | None = None


class ScrewEar(Feature):
    """An ear with a hole for a screw."""

    title: ClassVar[str] = "ear"
    summary: ClassVar[str] = "Screw-down ear, with a round hole or a keyhole."

    hole: Literal["round", "keyhole"] = choice(
        "round", "For a screw through it, or to hang over a screw's head.", "Feature"
    )
    screw: Screw = choice("M4", "The screw.", "Feature")
    thickness: Length | None = choice(
        None, "Of the ear; the plate's, or 3 mm, if not given.", "Feature"
    )

    def must_fit(self, *, stands: bool) -> EarSizes:
        """Declare the hole, or the keyhole's two widths."""
        if self.hole == "round":
            return EarSizes(screw_hole=screw_fit(self.screw, name="screw hole"))
        return EarSizes(
            slot=FitSize(
                nominal_mm=screw_mm(self.screw),
                kind=INSIDE,
                axis="xy",
                sense=1,
                pair="screw hole",
                behaviour="rotates freely",
            ),
            head_hole=FitSize(
                nominal_mm=flat_head_mm(self.screw) + _HEAD_ROOM_MM, kind=HOLE, axis="xy"
            ),
        )

    def _form(self, sizes: EarSizes) -> tuple[float, float, float]:
        """Width, and places of the first and the last hole from the wall, mm."""
        if sizes.screw_hole is not None:
            wide = max(sizes.screw_hole.drawn_mm, flat_head_mm(self.screw)) + 2 * _BESIDE_MM
            return wide, wide / 2, wide / 2
        assert sizes.head_hole is not None
        head = sizes.head_hole.drawn_mm
        first = head / 2 + _BESIDE_MM
        return head + 2 * _BESIDE_MM, first, first + _SLIDE * head

    def _thick(self, side: Side) -> float:
        return self.thickness or max(_LEAST_MM, side.foot_mm)

    def room(self, sizes: Any, side: Side) -> Taken:
        """Its width along the wall, and the way of a screwdriver over it."""
        half = self._form(sizes)[0] / 2
        return Taken(-half, 0.0, half, min(self._thick(side), side.high_mm))

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the ear with its hole, joined to the wall's foot."""
        from fitkit.parts.designs.board_case.shell import footed
        from fitkit.solids.bodies import moved
        from fitkit.solids.profiles import Loop, Profile, circle

        wide, first, last = self._form(sizes)
        thick, root, r = self._thick(side), _ROOT_MM * side.thick_mm, wide / 2
        far = root + last
        outline = Loop(((0.0, -r, 0.0), (far, -r, 1.0), (far, r, 0.0), (0.0, r, 0.0)))
        if sizes.screw_hole is not None:
            hole = sizes.screw_hole.drawn_mm
            opening = circle(hole, at=(far, 0.0))
            names = [KeyDimension.of(
                sizes.screw_hole, body="", start=(last, at - hole / 2, thick),
                end=(last, at + hole / 2, thick),
            )]  # fmt: skip
        else:
            hole = sizes.slot.drawn_mm
            opening = _keyhole(sizes.head_hole.drawn_mm, hole, root + first, far)
            big = sizes.head_hole.drawn_mm / 2
            names = [
                KeyDimension.of(
                    sizes.slot, body="", start=(last, at - hole / 2, thick),
                    end=(last, at + hole / 2, thick),
                ),
                KeyDimension.of(
                    sizes.head_hole, body="", start=(first, at - big, thick),
                    end=(first, at + big, thick),
                ),
            ]  # fmt: skip
        ear, said = footed(Profile(outline).with_holes(opening), thick, side.body)
        return Work(
            add=(moved(ear, -root, at),),
            dimensions=tuple(names),
            lugs=(
                Lug(
                    name="",
                    body="",
                    reach_mm=last,
                    width_mm=wide,
                    thickness_mm=thick,
                    hole_mm=hole,
                    at=(last, at, thick),
                    along=(1.0, 0.0, 0.0),
                ),
            ),
            buys=flat_headed(self.screw, 1, ""),
            findings=said,
        )


def _keyhole(head: float, slot: float, first: float, last: float) -> Any:
    """Round hole at `first` with a slot to a half-round end about `last`, both on the x axis."""
    from fitkit.solids.profiles import Loop, Profile

    r, s = head / 2, slot / 2
    x = first + math.sqrt(r * r - s * s)  # where the slot leaves the round
    angle = math.asin(s / r)
    # The round runs the long way from the slot's upper side to its lower one.
    bulge = math.tan((2 * math.pi - 2 * angle) / 4)
    return Profile(Loop(((x, s, bulge), (x, -s, 0.0), (last, -s, 1.0), (last, s, 0.0))))
