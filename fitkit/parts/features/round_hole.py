"""A round hole through a wall, the lid or the floor: a light pipe, a cable, a rod.

On a wall it lies in the print and has a 45° roof; its place counts from the bed. On lid and floor
`at` counts along x and `across` along y, from the middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from fitkit.core.sizes import HOLE, HOLE_LYING
from fitkit.parts.contract import KeyDimension, Length, size
from fitkit.parts.feature import WALLS, Feature, Side, SideName, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice

__all__ = ["RoundHole"]

_BESIDE_MM = 1.5  # plastic round it that nothing else takes. Common practice, no source.
_OVER_MM = 5.0  # past both faces


@dataclass(frozen=True, kw_only=True)
class HoleSizes(SizeSet):
    """The size of a round hole that must fit."""

    hole: FitSize


class RoundHole(Feature):
    """A round hole for something that was measured."""

    title: ClassVar[str] = "round hole"
    summary: ClassVar[str] = "Round hole for a light pipe, a cable or a rod."
    sides: ClassVar[tuple[SideName, ...]] = (*WALLS, "lid", "floor")

    diameter: Length = size(
        "3 mm",
        low="1 mm",
        high="40 mm",
        group="Feature",
        measured=True,
        help="Of what goes through.",
    )
    fits: Literal["slides", "snug by hand", "press by tool"] = choice(
        "slides", "How it should sit: a cable slides, a light pipe is pressed in.", "Feature"
    )
    above: Length | None = choice(
        None, "Its middle over the bed, in a wall; half way up if not given.", "Feature"
    )
    across: Length = size(
        "0 mm", low="-200 mm", high="200 mm", group="Feature", help="Along y, on lid and floor."
    )

    def must_fit(self, *, stands: bool) -> HoleSizes:
        """Declare the hole."""
        return HoleSizes(
            hole=FitSize(
                nominal_mm=self.diameter,
                of="diameter",
                kind=HOLE_LYING if stands else HOLE,
                axis="xy",
                sense=1,
                pair="peg and hole",
                behaviour=self.fits,
            )
        )

    def _up(self, side: Side) -> float:
        if side.is_wall:
            return side.high_mm / 2 if self.above is None else self.above
        return self.across

    def room(self, sizes: Any, side: Side) -> Taken:
        """The hole with some plastic round it."""
        up, r = self._up(side), sizes.hole.drawn_mm / 2 + _BESIDE_MM
        if side.is_wall:
            return Taken(-r, up - r, r, up + 1.1 * r)
        # Of a plate heights count from its middle, as its room does.
        return Taken(-r, up - r, r, up + r)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the hole's tool."""
        from fitkit.parts.screws import lying_hole
        from fitkit.solids.bodies import extrude
        from fitkit.solids.profiles import circle

        wide = sizes.hole.drawn_mm
        up = self._up(side) * (1.0 if side.is_wall else side.stretch_up)
        long = side.thick_mm + 2 * _OVER_MM
        if side.is_wall:
            tool = lying_hole(wide, long, at=(-side.thick_mm - _OVER_MM, at, up), along="x")
            start, end = (0.0, at - wide / 2, up), (0.0, at + wide / 2, up)
        else:
            low = -_OVER_MM - (side.thick_mm if side.name == "lid" else 0.0)
            tool = extrude(circle(wide, at=(at, up)), long, z=low)
            start, end = (at - wide / 2, up, 0.0), (at + wide / 2, up, 0.0)
        return Work(
            cut=(tool,), dimensions=(KeyDimension.of(sizes.hole, body="", start=start, end=end),)
        )
