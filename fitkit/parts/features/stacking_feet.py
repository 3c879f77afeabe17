"""Four feet under the floor, and four recesses in the lid that take the feet of the case above.

Floor and lid both print with their outer face on the bed, so no foot can grow there: the feet are
printed apart, each a head with a shank that is pressed into a hole in the floor. The recesses lie
over the holes, drawn by the same stretch, so that cases of one sheet stand on one another.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from fitkit.core.errors import PartError
from fitkit.core.sizes import HOLE, PEG
from fitkit.parts.contract import Bridge, KeyDimension, Length, Wall, size
from fitkit.parts.feature import Feature, Loose, Reach, Side, SideName, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import BED_EDGE_MM

__all__ = ["StackingFeet"]

_IN_MM = 3.0  # from a foot's edge to the end of the floor's free part. Common practice, no source.
_LEFT_MM = 0.8  # of the lid over a recess: two lines of a nozzle of 0.4 mm
_OVER_MM = 1.0
_BESIDE_MM = 1.0


@dataclass(frozen=True, kw_only=True)
class FeetSizes(SizeSet):
    """Sizes of feet and recesses that must fit."""

    shank: FitSize
    foot_hole: FitSize
    foot: FitSize
    recess: FitSize | None = None


class StackingFeet(Feature):
    """Feet below, recesses for such feet above."""

    title: ClassVar[str] = "stacking feet"
    summary: ClassVar[str] = "Four feet under the floor, and recesses for them in the lid."
    sides: ClassVar[tuple[SideName, ...]] = ("floor",)

    on: SideName = "floor"
    diameter: Length = size("10 mm", low="6 mm", high="30 mm", group="Feature", help="Of a foot.")
    height: Length = size(
        "4 mm", low="2 mm", high="20 mm", group="Feature", help="Of a foot below the floor."
    )
    recess: Length = size(
        "1 mm",
        low="0 mm",
        high="5 mm",
        group="Feature",
        help="How deep a foot stands in the lid below it; 0 for none.",
    )

    def must_fit(self, *, stands: bool) -> FeetSizes:
        """Declare shank and hole, foot and recess."""
        shank = self.diameter / 2
        return FeetSizes(
            shank=FitSize(nominal_mm=shank, kind=PEG),
            foot_hole=FitSize(
                nominal_mm=shank,
                kind=HOLE,
                sense=1,
                pair="peg and hole",
                behaviour="press by tool",
                mate="shank",
            ),
            foot=FitSize(nominal_mm=self.diameter, kind=PEG),
            recess=FitSize(
                nominal_mm=self.diameter,
                kind=HOLE,
                sense=1,
                pair="peg and hole",
                behaviour="rotates freely",
                mate="foot",
            )
            if self.recess
            else None,
        )

    def _places(self, sizes: FeetSizes, side: Side) -> list[tuple[float, float]]:
        """Middles of the feet at nominal stretch, from the case's middle.

        As near to the corners as what stands on the floor lets their shanks pass.
        """
        x = side.long_mm / 2 - self.diameter / 2 - _IN_MM
        y = side.high_mm / 2 - self.diameter / 2 - _IN_MM
        least = self.diameter / 2 + _BESIDE_MM
        if min(x, y) < least:
            raise PartError(
                f"four feet of {self.diameter:.1f} mm do not stand apart on {side.long_mm:.1f} x "
                f"{side.high_mm:.1f} mm",
                at=("diameter",),
                code="feature.no-room",
                remedy="Make the feet smaller, or the case larger.",
            )
        r = sizes.foot_hole.drawn_mm / 2 + _BESIDE_MM + 0.5
        steps = [(a, b) for a in range(int(x - least) + 1) for b in range(int(y - least) + 1)]
        for a, b in sorted(steps, key=lambda step: (step[0] + step[1], step)):
            found = [(s * (x - a), t * (y - b)) for s in (-1, 1) for t in (-1, 1)]
            rooms = [Taken(u - r, v - r, u + r, v + r) for u, v in found]
            if not any(one.meets(room) for one in side.taken for room in rooms):
                return found
        return [(s * x, t * y) for s in (-1, 1) for t in (-1, 1)]

    def room(self, sizes: Any, side: Side) -> tuple[Taken, ...]:
        """Give the shanks' places on the floor."""
        r = sizes.foot_hole.drawn_mm / 2 + _BESIDE_MM
        return tuple(Taken(x - r, y - r, x + r, y + r) for x, y in self._places(sizes, side))

    def also(self, sizes: Any, side: Side, at: float) -> tuple[tuple[SideName, Taken], ...]:
        """Give the recesses' places in the lid."""
        if sizes.recess is None:
            return ()
        r = sizes.recess.drawn_mm / 2 + _BESIDE_MM
        return tuple(
            ("lid", Taken(at + x - r, y - r, at + x + r, y + r))
            for x, y in self._places(sizes, side)
        )

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give holes, feet and recesses."""
        from fitkit.solids.bodies import extrude, moved, revolve
        from fitkit.solids.profiles import circle, polygon

        # Shanks end below the floor's inside, and stand a little off the hole's chamfer.
        into, hole = side.thick_mm - 0.2, sizes.foot_hole.drawn_mm
        r, s, edge = sizes.foot.drawn_mm / 2, sizes.shank.drawn_mm / 2, BED_EDGE_MM
        section = [
            (0.0, -self.height),
            (r - edge, -self.height),
            (r, -self.height + edge),
            (r, 0.0),
            (s, 0.0),
            (s, into - edge),
            (s - edge, into),
            (0.0, into),
        ]
        foot = revolve(polygon(section))
        mouth = [
            (0.0, -_OVER_MM),
            (hole / 2 + edge + _OVER_MM, -_OVER_MM),
            (hole / 2, edge),
            (hole / 2, side.thick_mm + _OVER_MM),
            (0.0, side.thick_mm + _OVER_MM),
        ]
        drill = revolve(polygon(mouth))
        middle, up = at, side.stretch_up
        places = [(middle + x * side.stretch, y * up) for x, y in self._places(sizes, side)]
        x0, y0 = places[0]
        to: tuple[Reach, ...] = ()
        dimensions = [
            KeyDimension.of(
                sizes.foot_hole,
                body="",
                start=(x0 - hole / 2, y0, side.thick_mm),
                end=(x0 + hole / 2, y0, side.thick_mm),
            ),
            KeyDimension.of(
                sizes.shank, body="1", start=(x0 - s, y0, into / 2), end=(x0 + s, y0, into / 2)
            ),
            KeyDimension.of(
                sizes.foot,
                body="1",
                start=(x0 - r, y0, -self.height / 2),
                end=(x0 + r, y0, -self.height / 2),
            ),
        ]
        walls: tuple[Wall, ...] = ()
        bridges: tuple[Bridge, ...] = ()
        if sizes.recess is not None:
            top, wide = side.over_mm, sizes.recess.drawn_mm
            left = side.lid_mm - self.recess
            if left < _LEFT_MM - 1e-9:
                raise PartError(
                    f"a recess of {self.recess:g} mm leaves {left:.2g} mm of the lid, and "
                    f"{_LEFT_MM:g} mm are needed",
                    at=("recess",),
                    code="feature.too-deep",
                    remedy="Make it less deep, or the lid thicker.",
                )
            tool = extrude(circle(wide), self.recess + _OVER_MM, z=top - self.recess)
            to = (Reach(body="lid", cut=tuple(moved(tool, x, y) for x, y in places)),)
            dimensions.append(
                KeyDimension.of(
                    sizes.recess,
                    body="lid",
                    start=(x0 - wide / 2, y0, top),
                    end=(x0 + wide / 2, y0, top),
                )
            )
            under = (x0, y0, top - self.recess)
            walls = (Wall(name="under a recess", body="lid", thickness_mm=left, at=under),)
            bridges = (Bridge(name="over a recess", body="lid", span_mm=wide, at=under),)
        return Work(
            cut=tuple(moved(drill, x, y) for x, y in places),
            to=to,
            loose=tuple(
                Loose(name=f"{number}", shape=moved(foot, x, y))
                for number, (x, y) in enumerate(places, start=1)
            ),
            dimensions=tuple(dimensions),
            walls=walls,
            bridges=bridges,
        )
