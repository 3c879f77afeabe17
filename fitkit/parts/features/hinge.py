"""A hinge between a wall and the lid: knuckles on both, a pin of round steel through them.

The wall's knuckles stand on a 45° gusset, the lid's lie with its plate on the bed, so that neither
needs support. The pin is held in the wall's knuckles and turns in the lid's; between knuckles there
is a gap as for any tab in its slot. The pin's axis lies a knuckle's half below the lid's top, so
that lid and wall pass each other all the way round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal, NamedTuple

from fitkit.core.errors import PartError
from fitkit.core.sizes import HOLE_LYING, INSIDE, OUTSIDE
from fitkit.parts.buys import pins
from fitkit.parts.contract import KeyDimension, Length, Wall, size
from fitkit.parts.feature import Feature, Reach, Side, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice

if TYPE_CHECKING:
    from fitkit.solids.bodies import Shape

__all__ = ["Hinge"]

_ROUND_MM = 1.4  # plastic round the pin. Common practice, no source.
_PASS_MM = 0.3  # between what turns and what stands
_BELOW_MM = 0.3  # of the gusset below the lid's joint
_INTO_LID_MM = 2.5
_T = math.tan(math.radians(22.5))  # of an octagon: half a side over half its width
_CORNER = 1 / math.cos(math.radians(22.5))
_LEAST_KNUCKLE_MM = 4.0


@dataclass(frozen=True, kw_only=True)
class HingeSizes(SizeSet):
    """Sizes of a hinge that must fit."""

    lid_knuckle: FitSize
    between_knuckles: FitSize
    pin_hole: FitSize
    turning_hole: FitSize


class _Form(NamedTuple):
    """A hinge's numbers in the wall's frame, mm."""

    r: float  # half a knuckle's width
    x: float  # of the axis
    z: float
    foot: float  # where the gusset ends on the wall


class Hinge(Feature):
    """Knuckles on wall and lid."""

    title: ClassVar[str] = "hinge"
    summary: ClassVar[str] = "Hinge of the lid on a wall, on a pin of round steel."

    pin: Length = size(
        "2 mm", low="1 mm", high="5 mm", group="Feature", measured=True, help="Of the pin."
    )
    length: Length = size(
        "36 mm", low="12 mm", high="300 mm", group="Feature", help="Over all knuckles."
    )
    knuckles: Literal[3, 5, 7] = choice(3, "How many; the lid has one less than half.", "Feature")

    @property
    def _cell(self) -> float:
        return self.length / self.knuckles

    def must_fit(self, *, stands: bool) -> HingeSizes:
        """Declare the lid's knuckles with their room, and both holes of the pin."""

        def hole(behaviour: str) -> FitSize:
            return FitSize(
                nominal_mm=self.pin,
                of="pin",
                kind=HOLE_LYING,
                sense=1,
                pair="peg and hole",
                behaviour=behaviour,
            )

        return HingeSizes(
            lid_knuckle=FitSize(nominal_mm=self._cell, kind=OUTSIDE),
            between_knuckles=FitSize(
                nominal_mm=self._cell,
                kind=INSIDE,
                sense=1,
                pair="tab and slot",
                behaviour="rotates freely",
                mate="lid knuckle",
            ),
            pin_hole=hole("snug by hand"),
            turning_hole=hole("rotates freely"),
        )

    def _form(self, sizes: HingeSizes, side: Side) -> _Form:
        if not side.lid_mm:
            raise PartError(
                "a lid that slides in a groove, or none, has no hinge",
                at=("kind",),
                code="feature.no-lid-to-turn",
                remedy="Fix the lid by its rim, screws or snap arms.",
            )
        hole = max(sizes.pin_hole.drawn_mm, sizes.turning_hole.drawn_mm)
        r = max(0.55 * hole + _ROUND_MM, 0.8 * side.lid_mm)
        x = _CORNER * r + _PASS_MM
        z = side.high_mm + side.lid_mm - r
        return _Form(r, x, z, z - r * _T - (x + r))

    def room(self, sizes: Any, side: Side) -> Taken:
        """Give the gussets' and the knuckles' place on the wall."""
        if self._cell < _LEAST_KNUCKLE_MM:
            raise PartError(
                f"{self.knuckles} knuckles on {self.length:.1f} mm are {self._cell:.1f} mm long, "
                f"and {_LEAST_KNUCKLE_MM:g} mm are needed",
                at=("length",),
                code="feature.too-many",
                remedy="Make the hinge longer, or ask for fewer.",
            )
        form = self._form(sizes, side)
        if form.foot < 0:
            raise PartError(
                f"the {side.name} is {side.high_mm:.1f} mm high, and the hinge's gussets need "
                f"{side.high_mm - form.foot:.1f} mm",
                at=("on",),
                code="feature.side-too-low",
                remedy="Make the pin thinner, or the case higher.",
            )
        half = self.length / 2
        return Taken(-half, form.foot, half, side.high_mm)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give both leaves' knuckles, and the pin's holes."""
        from fitkit.parts.screws import lying_hole
        from fitkit.solids.bodies import moved, turned

        form = self._form(sizes, side)
        cell, wide, room = (
            self._cell,
            sizes.lid_knuckle.drawn_mm,
            sizes.between_knuckles.drawn_mm,
        )
        start = at - self.length / 2
        lids = [start + (2 * i + 1.5) * cell for i in range(self.knuckles // 2)]
        edges = [start, *(m + s * room / 2 for m in lids for s in (-1, 1)), start + self.length]
        stands = [
            _prism(_of_wall(form, side), low, high)
            for low, high in zip(edges[::2], edges[1::2], strict=True)
        ]
        turns = [_prism(_of_lid(form, side), m - wide / 2, m + wide / 2) for m in lids]
        long = self.length + 4.0

        def drill(size: FitSize, *, over: bool) -> Shape:
            tool = lying_hole(size.drawn_mm, long, at=(0.0, -long / 2, 0.0), along="y")
            # The lid prints turned over: its roof looks down here.
            return moved(turned(tool, y=180.0 if over else 0.0), form.x, at, form.z)

        x, z = form.x, form.z
        lid, middle = "lid", lids[0]
        a, b = sizes.pin_hole.drawn_mm / 2, sizes.turning_hole.drawn_mm / 2
        face = x + form.r
        first = (edges[0] + edges[1]) / 2
        return Work(
            # What is cut here out of the wall's body must not meet its own wall: it lies outside.
            add=tuple(stands),
            cut=(drill(sizes.pin_hole, over=False),),
            to=(Reach(body=lid, add=tuple(turns), cut=(drill(sizes.turning_hole, over=True),)),),
            dimensions=(
                KeyDimension.of(
                    sizes.lid_knuckle,
                    body=lid,
                    start=(face, middle - wide / 2, z),
                    end=(face, middle + wide / 2, z),
                ),
                KeyDimension.of(
                    sizes.between_knuckles,
                    body="",
                    start=(face, middle - room / 2, z),
                    end=(face, middle + room / 2, z),
                ),
                KeyDimension.of(
                    sizes.pin_hole, body="", start=(x - a, edges[0], z), end=(x + a, edges[0], z)
                ),
                KeyDimension.of(
                    sizes.turning_hole,
                    body=lid,
                    start=(x - b, middle - wide / 2, z),
                    end=(x + b, middle - wide / 2, z),
                ),
            ),
            walls=(
                Wall(
                    name="round the pin",
                    body="",
                    thickness_mm=form.r - 1.1 * a,
                    at=(x, first, z + form.r),
                ),
            ),
            buys=pins(self.pin, self.length, 1, ""),
        )


def _prism(section: list[tuple[float, float]], low: float, high: float) -> Shape:
    """Raise a section (x, z) along the wall from low to high."""
    from fitkit.solids.bodies import extrude, moved, turned
    from fitkit.solids.profiles import polygon

    # Turned up, a section's y becomes z, and what was raised runs to -y.
    return moved(turned(extrude(polygon(section), high - low), x=90), 0.0, high)


def _octagon(form: _Form) -> tuple[float, float, float, float, float]:
    """x, z, half its width, half a side."""
    return form.x, form.z, form.r, form.r * _T, form.foot


def _of_wall(form: _Form, side: Side) -> list[tuple[float, float]]:
    x, z, r, t, _ = _octagon(form)
    root = 0.5 * min(side.thick_mm, side.rim_mm or side.thick_mm)
    high = min(side.high_mm - _BELOW_MM, z + t - 0.05)
    return [
        (-root, form.foot - root),
        (x + r, z - t),
        (x + r, z + t),
        (x + t, z + r),
        (x - t, z + r),
        (x - r, z + t),
        (x - r, high),
        (-root, high),
    ]


def _of_lid(form: _Form, side: Side) -> list[tuple[float, float]]:
    x, z, r, t, _ = _octagon(form)
    return [
        (-_INTO_LID_MM, side.high_mm),
        (x - r, side.high_mm),
        (x - r, z - t),
        (x - t, z - r),
        (x + t, z - r),
        (x + r, z - t),
        (x + r, z + t),
        (x + t, z + r),
        (-_INTO_LID_MM, z + r),
    ]
