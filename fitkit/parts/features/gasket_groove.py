"""A groove for a cord of rubber in the walls' top, under the lid's plate.

The plate lies on the walls, so that the groove's depth alone says how far the cord is pressed. A
solid cord is pressed by a quarter of its thickness and fills no more than four fifths of the groove
(face seals of solid rubber: squeeze 20 to 30 %, fill up to 85 %: seal makers' handbooks, from
memory); a sponge cord, which gives way inside, by two fifths. The screws stand outside the cord.
Left out: the force that closing takes, and whether printed walls are tight at all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.core.sizes import INSIDE
from fitkit.parts.buys import seal_cord
from fitkit.parts.contract import KeyDimension, Length, size
from fitkit.parts.feature import Feature, Reach, Side, SideName, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice

__all__ = ["GasketGroove"]

_LAND_MM = 0.8  # wall on either side of the groove: two lines of a nozzle of 0.4 mm
# Of the cord's thickness, and share of the groove that it fills when pressed. From memory.
_SQUEEZE = {"solid": 0.25, "sponge": 0.4}
_FILL = {"solid": 0.8, "sponge": 0.95}
_BENDS = 1.0  # least inner radius of the groove's corners, in cords. Common practice, no source.
_OVER_MM = 1.0
_PLAY_MM = 0.2  # by which a rim is wider than its walls' inside
_SHORT_MM = 0.2  # by which a wall may come out thinner, and still do


@dataclass(frozen=True, kw_only=True)
class GrooveSizes(SizeSet):
    """Sizes of a gasket's groove."""

    groove_width: FitSize
    groove_depth: FitSize


class GasketGroove(Feature):
    """A groove for a sealing cord round the lid."""

    title: ClassVar[str] = "gasket groove"
    summary: ClassVar[str] = "Groove for a sealing cord in the walls' top, under a screwed lid."
    sides: ClassVar[tuple[SideName, ...]] = ("lid",)

    on: SideName = "lid"
    cord: Length = size(
        "2 mm", low="1 mm", high="3.2 mm", group="Feature", measured=True, help="Thickness of it."
    )
    rubber: Literal["solid", "sponge"] = choice("solid", "What the cord is made of.", "Feature")

    @property
    def _deep(self) -> float:
        return (1 - _SQUEEZE[self.rubber]) * self.cord

    @property
    def _wide(self) -> float:
        squeezed = _SQUEEZE[self.rubber] if self.rubber == "sponge" else 0.0
        # Sponge loses what it is pressed by; solid rubber keeps its volume and goes aside.
        area = math.pi / 4 * self.cord**2 * (1 - squeezed)
        return max(area / _FILL[self.rubber] / self._deep, 1.05 * self.cord)

    @property
    def rim_mm(self) -> float:
        """Width of the walls' top that it needs, mm."""
        return self._wide + 2 * _LAND_MM + _PLAY_MM

    def must_fit(self, *, stands: bool) -> GrooveSizes:
        """Declare the groove's width and depth."""
        return GrooveSizes(
            groove_width=FitSize(nominal_mm=self._wide, kind=INSIDE),
            groove_depth=FitSize(nominal_mm=self._deep, kind=INSIDE, axis="z"),
        )

    def room(self, sizes: Any, side: Side) -> tuple[Taken, ...]:
        """Take nothing of the lid's plate itself."""
        rim = side.rim
        if rim is None or not rim.screwed:
            raise PartError(
                "a cord must be pressed all round, and this lid is not held by screws",
                at=("kind",),
                code="feature.not-screwed",
                remedy='Write lid_fixing = "screws" on a case.',
            )
        wide = (rim.outside[1] - rim.inside[1]) / 2
        need = sizes.groove_width.drawn_mm + 2 * _LAND_MM
        if wide < need - _SHORT_MM:
            raise PartError(
                f"a cord of {self.cord:g} mm needs walls of {self.rim_mm:.1f} mm, and their top is "
                f"{wide:.1f} mm wide",
                at=("cord",),
                code="feature.wall-too-thin",
                remedy=f'Write wall = "{math.ceil(10 * self.rim_mm) / 10:.1f} mm", or take a '
                "thinner cord.",
            )
        if rim.opened:
            raise PartError(
                f"{', '.join(rim.opened)} reaches up to the walls' top, where the groove runs",
                at=("kind",),
                code="feature.in-the-way",
                remedy="Make the case higher, or close that opening at its top.",
            )
        return (Taken(0.0, 0.0, 0.0, 0.0),)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the groove's tool in the tray, and what it means."""
        from fitkit.solids.bodies import extrude
        from fitkit.solids.profiles import rectangle

        rim = side.rim
        assert rim is not None
        wide, deep = sizes.groove_width.drawn_mm, sizes.groove_depth.drawn_mm
        land = ((rim.outside[1] - rim.inside[1]) / 2 - wide) / 2
        long, across = (x - 2 * land for x in rim.outside)
        r = max(rim.corner - land, 0.0)
        within = max(r - wide, 0.0)
        ring = rectangle(long, across, radius=r).with_holes(
            rectangle(long - 2 * wide, across - 2 * wide, radius=within)
        )
        # The lid's frame has its outer face at 0; the walls end below the plate.
        top = -side.thick_mm
        tool = extrude(ring, deep + _OVER_MM, z=top - deep)
        y = across / 2
        middle = 2 * (long + across - 2 * wide) - (8 - 2 * math.pi) * (r + within) / 2
        said = [
            Finding(
                check="build",
                severity="note",
                text=f"the cord of {self.cord:g} mm is pressed to {deep:.2f} mm, by "
                f"{100 * (1 - deep / self.cord):.0f} %. Join its ends with their cut faces glued. "
                "Ports, vents and cable holes are not sealed by it, and printed walls may leak: "
                "no protection against water is promised.",
                value=100 * (1 - deep / self.cord),
                unit="%",
                untold=("value",),
                basis="seal makers' handbooks, from memory",
                remedy="Try it with paper inside before water can do harm.",
            )
        ]
        if within < _BENDS * self.cord:
            said.append(
                Finding(
                    check="build",
                    severity="warn",
                    text=f"the groove's corners have an inner radius of {within:.1f} mm, and the "
                    f"cord bends round {_BENDS * self.cord:.1f} mm.",
                    value=within,
                    limit=_BENDS * self.cord,
                    unit="mm",
                    basis="common practice, no source",
                    remedy="Make corner_radius larger.",
                )
            )
        return Work(
            to=(Reach(body="tray", cut=(tool,)),),
            dimensions=(
                KeyDimension.of(
                    sizes.groove_width,
                    body="tray",
                    start=(0.0, y - wide, top),
                    end=(0.0, y, top),
                ),
                KeyDimension.of(
                    sizes.groove_depth,
                    body="tray",
                    start=(0.0, y - wide / 2, top - deep),
                    end=(0.0, y - wide / 2, top),
                ),
            ),
            buys=seal_cord(self.cord, middle, self.rubber, ""),
            findings=tuple(said),
        )
