"""A round cell lying in saddles: ribs across it, whose arms snap over it, and a stop at each end.

The saddles stand upright in the print, so layers lie across their arms: these bear less bending
than the arms of a cradle that prints on its end, and the part says so to the checks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar, Literal

from fitkit.core.sizes import HOLE_LYING, INSIDE
from fitkit.parts.contract import FitSize, KeyDimension, Length, size
from fitkit.parts.fit_size import drawn_mm, holding
from fitkit.parts.forms import Rules, choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space
from fitkit.parts.holders.cups import (
    Cups,
    CupSizes,
    Lying,
    cradle_root_mm,
    cradle_section,
    rods,
)
from fitkit.solids.bodies import checked, extrude, fuse, moved, raw, turned
from fitkit.solids.let_in import Piece
from fitkit.solids.profiles import rectangle
from fitkit.solids.terraces import Terrace

__all__ = ["CellInSaddles"]

# Strain in % that arms with layers across them bear again and again in each material of the table:
# the low end of PLA's, the least of all. A test holds it against the table.
_STRAIN = 0.36
_RIM_MM = 1.0  # of plate round a saddle
_FOOT_MM = 1.0  # from the plate to the cell
_STOP_MM = 2.4  # thickness of an end stop


@dataclass(frozen=True, kw_only=True)
class SaddleSizes(CupSizes):
    """Sizes of saddles and stops that must fit."""

    between_stops: FitSize | None = None


class CellInSaddles(Cups, Holder):
    """Round bodies that lie side by side along x."""

    title: ClassVar[str] = "round cell in saddles"
    summary: ClassVar[str] = "Batteries or tubes lying in two saddles, with a stop at each end."
    instead: ClassVar[tuple[str, str]] = ("rest", "it only rests in its saddles")

    saddle: Length = size("8 mm", low="4 mm", high="60 mm", help="Length of a saddle along x.")
    hold: Literal["auto", "arms", "rest"] = choice(
        "auto",
        "Snap arms, or half cups in which the body only rests. Auto takes arms, unless the body is "
        "so thin that they would break.",
        "Holding",
    )
    stops: bool = choice(True, "A stop at each end, so that bodies cannot slide out.", "Holding")
    cell: bool = choice(
        True, "It is a battery, so that the caution for batteries is shown.", "Thing"
    )

    def bears(self) -> float:
        """Strain that arms may see, in %."""
        return _STRAIN

    def must_fit(self, base: Base) -> SaddleSizes:
        """Declare the cup, the arms' mouth and the room between the stops."""
        cups = self.cup_sizes(HOLE_LYING, "y")
        room = holding(self.body_length, "body_length", INSIDE, "x")
        return SaddleSizes(
            cup=cups.cup, mouth=cups.mouth, between_stops=room if self.stops else None
        )

    def space(self, base: Base) -> Space:
        """Saddles, stops and bodies; fingers reach them from above."""
        centres = self.centres(self.diameter / 2)
        half_y = centres[-1] + self.diameter / 2 + self.grasp.wall + _RIM_MM + AIR_MM
        half_x = self.body_length / 2 + (_STOP_MM + AIR_MM if self.stops else 0.0) + AIR_MM
        return Space(
            body=(-half_x, -half_y, half_x, half_y), height_mm=_FOOT_MM + self.diameter + AIR_MM
        )

    def fixture(self, sizes: SaddleSizes, base: Base) -> Fixture:
        """Make two saddles as pieces of plate, and the stops."""
        form = self.form(sizes, self.centres(self.diameter / 2))
        rules, long = Rules(self.title), self.body_length
        least = 2 * self.saddle + 4 * _RIM_MM + 2.0
        rules.at_least("body_length", long, least, "two saddles along the body")
        self.refuse_grip(rules, form.inner, form.mouth)
        rules.refuse()
        piece = _saddle(form, self.grasp.wall, self.saddle, base.thickness_mm)
        off, up = max(0.3 * long, self.saddle / 2 + _RIM_MM + 0.5), _FOOT_MM + form.inner
        found = self.lying(
            sizes,
            form,
            (-off, off),
            up,
            self.saddle,
            lambda side, number, saddle: f"{side} arm {number} of saddle {saddle}",
            layers_across=True,
        )
        levels: tuple[Terrace, ...] = ()
        if sizes.between_stops:
            middle = (drawn_mm(sizes.between_stops) + _STOP_MM) / 2
            wide = form.centres[-1] - form.centres[0] + self.diameter
            levels = tuple(
                Terrace(
                    rectangle(_STOP_MM, wide, at=(side * middle, 0.0)).outer,
                    _FOOT_MM + 0.6 * self.diameter,
                )
                for side in (-1, 1)
            )
            between = KeyDimension.across(sizes.between_stops, (0.0, 0.0, _FOOT_MM))
            found = replace(found, dimensions=(*found.dimensions, between))
        rest = _FOOT_MM + self.diameter / 2 + 0.01
        return replace(
            found,
            levels=levels,
            pieces=tuple(piece.placed(side * off, 0.0) for side in (-1, 1)),
            ghosts=rods(form.centres, self.diameter, long, -long / 2, rest),
            cautions=("battery",) if self.cell else (),
            findings=self.without_arms(),
        )


@lru_cache(maxsize=16)
def _saddle(form: Lying, wall: float, length: float, plate: float) -> Piece:
    """One saddle on its bit of plate, whose upper face is at z = 0; made and analysed once."""
    ends, rooted = form.centres[-1] + form.inner + wall, min(0.5, plate / 2)
    section = cradle_section(
        form.centres,
        form.inner,
        wall,
        base=_FOOT_MM + rooted,
        ends=ends,
        half_open=form.half_open,
        root=cradle_root_mm(form.inner, wall),
    )
    # The section's x to y, its y up, its z along x.
    rib = turned(extrude(section, length), x=90, z=90)
    outline = rectangle(length + 2 * _RIM_MM, 2 * (ends + _RIM_MM))
    slab = extrude(outline, plate, z=-plate)
    shape = fuse(slab, moved(rib, -length / 2, 0.0, -rooted))
    return Piece(raw(checked(shape, "saddle")), outline.outer)
