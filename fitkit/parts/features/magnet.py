"""A round magnet in a pocket that opens outwards, measured by calipers and glued or pressed in.

Behind the pocket a bit of plastic is left; where wall or plate is too thin for that, a pad inside
carries it. In a wall the pocket lies in the print, and the pad has its 45° underside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from fitkit.core.finding import Finding
from fitkit.core.sizes import HOLE, HOLE_LYING
from fitkit.parts.buys import magnets
from fitkit.parts.contract import Bridge, KeyDimension, Length, Wall, size
from fitkit.parts.feature import WALLS, Feature, Side, SideName, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice

__all__ = ["Magnet"]

_BEHIND_MM = 1.0  # plastic behind the pocket. Common practice, no source.
_ROUND_MM = 1.6  # and round it, in a pad
_GLUE_MM = 0.15  # under the magnet, so that it comes out level with the face
_OVER_MM = 1.0
_ROOT_MM = 0.5  # how far a pad is let into the wall or plate


@dataclass(frozen=True, kw_only=True)
class MagnetSizes(SizeSet):
    """The size of a magnet's pocket that must fit."""

    pocket: FitSize


class Magnet(Feature):
    """A pocket for a round magnet."""

    title: ClassVar[str] = "magnet"
    summary: ClassVar[str] = "Pocket for a round magnet, open to the outside."
    sides: ClassVar[tuple[SideName, ...]] = (*WALLS, "lid", "floor")

    diameter: Length = size(
        "8 mm", low="2 mm", high="30 mm", group="Feature", measured=True, help="Of the magnet."
    )
    thickness: Length = size(
        "3 mm", low="1 mm", high="12 mm", group="Feature", measured=True, help="Of the magnet."
    )
    fits: Literal["snug by hand", "press by tool"] = choice(
        "snug by hand", "Put in by hand and glued, or pressed in.", "Feature"
    )
    above: Length | None = choice(
        None, "Its middle over the bed, in a wall; half way up if not given.", "Feature"
    )
    across: Length | None = choice(
        None, "Along y, on lid and floor; the first free place if not given.", "Feature"
    )

    def must_fit(self, *, stands: bool) -> MagnetSizes:
        """Declare the pocket."""
        return MagnetSizes(
            pocket=FitSize(
                nominal_mm=self.diameter,
                of="diameter",
                kind=HOLE_LYING if stands else HOLE,
                sense=1,
                pair="peg and hole",
                behaviour=self.fits,
            )
        )

    @property
    def _deep(self) -> float:
        return self.thickness + _GLUE_MM

    def _pad(self, side: Side) -> bool:
        return side.thick_mm < self._deep + _BEHIND_MM - 1e-9

    def _up(self, side: Side) -> float:
        if side.is_wall:
            return side.high_mm / 2 if self.above is None else self.above
        return self.across or 0.0

    def room(self, sizes: Any, side: Side) -> Taken:
        """Give the pocket with the plastic round it; in a wall its pad reaches lower."""
        up, r = self._up(side), sizes.pocket.drawn_mm / 2 + _ROUND_MM
        low = up - (1.1 * r if side.is_wall else r)
        return Taken(-r, max(low, 0.0) if side.is_wall else low, r, up + r)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the pocket, and the pad where one is needed."""
        from fitkit.solids.profiles import circle, teardrop

        wide = sizes.pocket.drawn_mm
        up = self._up(side) * (1.0 if side.is_wall else side.stretch_up)
        deep, back = self._deep, self._deep + _BEHIND_MM
        # Lying, the pocket has its roof; a pad hangs on the wall, and its point looks down.
        hole = (teardrop if side.is_wall else circle)(wide, at=(at, up))
        tool = side.prism(hole, inward=deep, outward=_OVER_MM)
        add: tuple[Any, ...] = ()
        if self._pad(side):
            over = wide + 2 * _ROUND_MM
            if side.is_wall:
                pad = teardrop(over).turned(180).moved(at, up)
            else:
                pad = circle(over, at=(at, up))
            # From the middle of wall or plate inwards.
            add = (side.prism(pad, inward=back, outward=-(side.thick_mm - _ROOT_MM)),)
        left = max(side.thick_mm, back) - deep
        start, end = side.at_face(at - wide / 2, up), side.at_face(at + wide / 2, up)
        behind = side.at_face(at, up, -deep)
        return Work(
            add=add,
            cut=(tool,),
            dimensions=(KeyDimension.of(sizes.pocket, body="", start=start, end=end),),
            walls=(Wall(name="behind it", body="", thickness_mm=left, at=behind),),
            bridges=()
            if side.is_wall
            else (Bridge(name="over it", body="", span_mm=wide, at=behind),),
            buys=magnets(self.diameter, self.thickness, 1, ""),
            findings=(
                Finding(
                    check="build",
                    severity="note",
                    text="two magnets hold each other only with unlike poles facing. Let them snap "
                    "together first, mark both outer faces, and glue each with its mark outwards "
                    "or inwards as they lay.",
                    basis="magnets attract by unlike poles",
                    at=(start,),
                    remedy="Keep small magnets away from children: swallowed, two of them do harm.",
                ),
            ),
        )
