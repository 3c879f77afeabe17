"""A foot for a 35 mm top-hat rail: two hooks behind its flanges, slid on from the rail's end.

The rail is that of EN 60715, TH 35: 35 mm wide over its flanges, 1 mm thick; its hat is 7.5 or
15 mm deep and 27 mm wide, so that 4 mm of each flange are free behind (35 mm, 7.5 and 15 mm and
1 mm: Wikipedia, Mounting rail; 27 mm from memory). The rail runs upwards along the wall, as the
part prints; the same section all the way needs no support. Left out: a spring that snaps on, for
which there is no room to bend between wall and rail's ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from fitkit.core.errors import PartError
from fitkit.core.sizes import INSIDE
from fitkit.parts.contract import KeyDimension, Length, size
from fitkit.parts.feature import Feature, Side, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet

__all__ = ["RailFoot"]

RAIL_MM, SHEET_MM, HAT_MM, DEEP_MM = 35.0, 1.0, 27.0, 7.5
_HOOK_MM = 3.0  # plastic beside and behind the flange. Common practice, no source.
_REACH_MM = 3.0  # of a hook behind the flange, of the 4 mm that are free
_LEAST_HIGH_MM = 8.0


@dataclass(frozen=True, kw_only=True)
class RailSizes(SizeSet):
    """Sizes of a rail foot that must fit."""

    rail_width: FitSize
    flange: FitSize


class RailFoot(Feature):
    """Two hooks that hold a 35 mm rail."""

    title: ClassVar[str] = "rail foot"
    summary: ClassVar[str] = "Hooks for a 35 mm top-hat rail (EN 60715), slid on from its end."

    height: Length = size(
        "20 mm", low="8 mm", high="200 mm", group="Feature", help="Of the hooks, along the rail."
    )

    def must_fit(self, *, stands: bool) -> RailSizes:
        """Declare the room between the hooks for the rail, and for its flanges."""
        return RailSizes(
            rail_width=FitSize(
                nominal_mm=RAIL_MM,
                kind=INSIDE,
                axis="xy",
                sense=1,
                pair="tab and slot",
                behaviour="slides",
            ),
            flange=FitSize(
                nominal_mm=SHEET_MM,
                kind=INSIDE,
                axis="xy",
                sense=1,
                pair="tab and slot",
                behaviour="slides",
            ),
        )

    def room(self, sizes: Any, side: Side) -> Taken:
        """The rail with both hooks, all the way up: the rail passes there."""
        if side.high_mm < _LEAST_HIGH_MM:
            raise PartError(
                f"the {side.name} is {side.high_mm:.1f} mm high, and the hooks need "
                f"{_LEAST_HIGH_MM:.0f} mm",
                at=("on",),
                code="feature.side-too-low",
                remedy="Put it on a higher side; a flat plate is better held by ears.",
            )
        half = sizes.rail_width.drawn_mm / 2 + _HOOK_MM
        return Taken(-half, 0.0, half, side.high_mm)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the two hooks."""
        from fitkit.solids.bodies import extrude, moved
        from fitkit.solids.profiles import polygon

        half, deep = sizes.rail_width.drawn_mm / 2, sizes.flange.drawn_mm
        high = min(self.height, side.high_mm)
        root, end = -0.75 * side.thick_mm, deep + _HOOK_MM
        out, lip = half + _HOOK_MM, half - _REACH_MM
        section = [(root, half), (deep, half), (deep, lip), (end, lip), (end, out), (root, out)]
        hooks = [
            extrude(polygon([(x, sign * y) for x, y in section][::sign]), high) for sign in (1, -1)
        ]
        return Work(
            add=tuple(moved(hook, 0.0, at) for hook in hooks),
            dimensions=(
                KeyDimension.of(
                    sizes.rail_width,
                    body="",
                    start=(deep / 2, at - half, high / 2),
                    end=(deep / 2, at + half, high / 2),
                ),
                KeyDimension.of(
                    sizes.flange,
                    body="",
                    start=(0.0, at + half - _REACH_MM / 2, high / 2),
                    end=(deep, at + half - _REACH_MM / 2, high / 2),
                ),
            ),
        )
