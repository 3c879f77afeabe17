"""A round cell lying in saddles: ribs across it, whose arms snap over it, and a stop at each end.

The saddles stand upright in the print, so layers lie across their arms: these bear less bending
than the arms of a cradle that prints on its end, and the part says so to the checks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from fitkit.core.sizes import HOLE_LYING, INSIDE
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, SnapArm, Wall, size
from fitkit.parts.designs.cradle import (
    Cradle,
    Grasp,
    arm_bends_as,
    arm_reach_mm,
    cradle_root_mm,
    cradle_section,
    no_arms,
    usual_arms,
)
from fitkit.parts.fit_size import SizeSet, drawn_mm
from fitkit.parts.forms import Rules, choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space, taken_from
from fitkit.parts.measuring import Measuring  # noqa: TC001 - pydantic reads the annotation

if TYPE_CHECKING:
    from fitkit.solids.let_in import Piece

__all__ = ["CellInSaddles"]

# Strain in % that arms with layers across them bear again and again in each material of the table:
# the low end of PLA's, the least of all. A test holds it against the table.
_STRAIN = 0.36
_RIM_MM = 1.0  # of plate round a saddle
_FOOT_MM = 1.0  # from the plate to the cell
_STOP_MM = 2.4  # thickness of an end stop


@dataclass(frozen=True, kw_only=True)
class SaddleSizes(SizeSet):
    """Sizes of saddles and stops that must fit."""

    cup: FitSize
    mouth: FitSize | None = None
    between_stops: FitSize | None = None


class CellInSaddles(Holder):
    """Round bodies that lie side by side along x."""

    title: ClassVar[str] = "round cell in saddles"
    summary: ClassVar[str] = "Batteries or tubes lying in two saddles, with a stop at each end."
    measuring: ClassVar[Measuring] = Cradle.measuring

    diameter: Length = taken_from(Cradle, "diameter")
    body_length: Length = taken_from(Cradle, "body_length")
    count: Annotated[int, Field(ge=1, le=8)] = choice(1, "Bodies side by side.")
    gap: Length = taken_from(Cradle, "gap")
    saddle: Length = size("8 mm", low="4 mm", high="60 mm", help="Length of a saddle along x.")
    wall: Length | None = taken_from(Cradle, "wall")
    hold: Literal["auto", "arms", "rest"] = choice(
        "auto",
        "Snap arms, or half cups in which the body only rests. Auto takes arms, unless the body is "
        "so thin that they would break.",
        "Holding",
    )
    grip: Length | None = taken_from(Cradle, "grip")
    stops: bool = choice(True, "A stop at each end, so that bodies cannot slide out.", "Holding")
    cell: bool = choice(
        True, "It is a battery, so that the caution for batteries is shown.", "Thing"
    )

    @cached_property
    def grasp(self) -> Grasp:
        """Whether arms hold it, with wall and grip: as given, or as arms bear them."""
        found = usual_arms(self.diameter, _STRAIN, wall=self.wall, grip=self.grip)
        by: str = self.hold
        if by == "auto":  # who gives a grip wants arms, and is told if they would break
            by = "arms" if found or self.grip is not None else "rest"
        if by == "rest":
            return Grasp("rest", self.wall or 2.0, 0.0)
        wall, grip = found or (1.2, 0.2)
        return Grasp("arms", self.wall or wall, self.grip or grip)

    def must_fit(self, base: Base) -> SaddleSizes:
        """Declare the cup, the arms' mouth and the room between the stops."""
        return SaddleSizes(
            cup=FitSize(
                nominal_mm=self.diameter,
                of="diameter",
                kind=HOLE_LYING,
                axis="y",
                sense=1,
                pair="object in pocket",
                behaviour="snug by hand",
                coated_faces=2,
            ),
            # The grip is chosen, so the mouth takes no gap.
            mouth=FitSize(
                nominal_mm=self.diameter - 2 * self.grasp.grip,
                of="diameter",
                kind=INSIDE,
                axis="y",
                coated_faces=2,
            )
            if self.grasp.by == "arms"
            else None,
            between_stops=FitSize(
                nominal_mm=self.body_length,
                of="body_length",
                kind=INSIDE,
                axis="x",
                sense=1,
                pair="object in pocket",
                behaviour="slides",
                coated_faces=2,
            )
            if self.stops
            else None,
        )

    @cached_property
    def _pitch(self) -> float:
        return self.diameter + 2 * self.grasp.wall + self.gap

    def space(self, base: Base) -> Space:
        """Saddles, stops and bodies; fingers reach them from above."""
        half_y = (
            (self._pitch * (self.count - 1) + self.diameter) / 2
            + self.grasp.wall
            + _RIM_MM
            + AIR_MM
        )
        half_x = self.body_length / 2 + (_STOP_MM + AIR_MM if self.stops else 0.0) + AIR_MM
        return Space(
            body=(-half_x, -half_y, half_x, half_y), height_mm=_FOOT_MM + self.diameter + AIR_MM
        )

    def fixture(self, sizes: SaddleSizes, base: Base) -> Fixture:
        """Make two saddles as pieces of plate, and the stops."""
        from fitkit.solids.profiles import rectangle
        from fitkit.solids.terraces import Terrace

        inner = sizes.cup.drawn_mm / 2
        mouth = drawn_mm(sizes.mouth, 2 * inner)
        self._refuse(inner, mouth)
        half_open = math.asin(min(mouth / 2 / inner, 1.0))
        centres = tuple(self._pitch * (i - (self.count - 1) / 2) for i in range(self.count))
        piece = _saddle(centres, inner, self.grasp.wall, half_open, self.saddle, base.thickness_mm)
        off = self._off()
        up = _FOOT_MM + inner
        room = drawn_mm(sizes.between_stops, self.body_length)
        wide = centres[-1] - centres[0] + self.diameter
        high = _FOOT_MM + 0.6 * self.diameter
        rest = up - (inner - self.diameter / 2)
        return Fixture(
            levels=tuple(
                Terrace(
                    rectangle(_STOP_MM, wide, at=(side * (room + _STOP_MM) / 2, 0.0)).outer, high
                )
                for side in (-1, 1)
            )
            if self.stops
            else (),
            pieces=tuple(piece.placed(side * off, 0.0) for side in (-1, 1)),
            ghosts=_ghosts(centres, self.diameter, self.body_length, rest + 0.01),
            dimensions=self._dimensions(sizes, centres[0], up, half_open, room),
            walls=(
                Wall(
                    name="cup",
                    body="",
                    thickness_mm=self.grasp.wall,
                    at=(off, centres[0] - inner - self.grasp.wall / 2, up),
                ),
            ),
            arms=self._arms(inner, mouth, half_open, centres, up),
            cautions=("battery",) if self.cell else (),
            findings=(no_arms(self.diameter, _STRAIN, "it only rests in its saddles"),)
            if self.hold == "auto" and self.grasp.by == "rest"
            else (),
        )

    def _off(self) -> float:
        """From the middle to the middle of a saddle, mm."""
        return max(0.3 * self.body_length, self.saddle / 2 + _RIM_MM + 0.5)

    def _arms(
        self,
        inner: float,
        mouth: float,
        half_open: float,
        centres: tuple[float, ...],
        up: float,
    ) -> tuple[SnapArm, ...]:
        if self.grasp.by != "arms":
            return ()
        rise = inner * math.cos(half_open)
        reach = arm_reach_mm(inner, self.grasp.wall, half_open)
        thickness, width = arm_bends_as(inner, self.grasp.wall, self.saddle, half_open)
        return tuple(
            SnapArm(
                name=f"{'left' if side < 0 else 'right'} arm {number + 1} of saddle {saddle}",
                body="",
                length_mm=reach,
                thickness_mm=self.grasp.wall,
                width_mm=self.saddle,
                deflection_mm=self.grasp.grip,
                at=(x, y + side * mouth / 2, up + rise),
                # The body meets the tip at the same slope on its way in and out.
                lead_angle_deg=max(90 - math.degrees(half_open), 1.0),
                release_angle_deg=max(90 - math.degrees(half_open), 1.0),
                layers_across=True,
                along=(0.0, 0.0, 1.0),
                root_radius_mm=cradle_root_mm(inner, self.grasp.wall),
                root_thickness_mm=self.grasp.wall,
                bending_thickness_mm=thickness,
                bending_width_mm=width,
            )
            for saddle, x in ((1, -self._off()), (2, self._off()))
            for number, y in enumerate(centres)
            for side in (-1, 1)
        )

    def _dimensions(
        self, sizes: SaddleSizes, y: float, up: float, half_open: float, room: float
    ) -> tuple[KeyDimension, ...]:
        r, x = sizes.cup.drawn_mm / 2, self._off()
        found = [KeyDimension.of(sizes.cup, body="", start=(x, y - r, up), end=(x, y + r, up))]
        if sizes.mouth:
            z, half = up + r * math.cos(half_open), sizes.mouth.drawn_mm / 2
            found.append(
                KeyDimension.of(sizes.mouth, body="", start=(x, y - half, z), end=(x, y + half, z))
            )
        if sizes.between_stops:
            found.append(
                KeyDimension.of(
                    sizes.between_stops,
                    body="",
                    start=(-room / 2, 0.0, _FOOT_MM),
                    end=(room / 2, 0.0, _FOOT_MM),
                )
            )
        return tuple(found)

    def _refuse(self, inner: float, mouth: float) -> None:
        rules = Rules(self.title)
        rules.at_least(
            "body_length",
            self.body_length,
            2 * self.saddle + 4 * _RIM_MM + 2.0,
            "two saddles with their bits of plate stand along it",
            "Make the saddles shorter.",
        )
        if self.grasp.by == "arms":
            rules.at_most(
                "grip",
                self.grasp.grip,
                0.15 * self.diameter,
                "arms that reach so far over cannot be pushed open",
                "Give a smaller grip.",
            )
            rules.at_most(
                "grip",
                inner - mouth / 2 if mouth / 2 < inner else inner + 1,
                inner * 0.25,
                "the mouth, as drawn, is too narrow or wider than the cup",
                "Give a grip that leaves the mouth between 75 % and all of the cup.",
            )
        rules.refuse()


@lru_cache(maxsize=16)
def _saddle(
    centres: tuple[float, ...],
    inner: float,
    wall: float,
    half_open: float,
    length: float,
    plate: float,
) -> Piece:
    """One saddle on its bit of plate, whose upper face is at z = 0; made and analysed once."""
    from fitkit.solids.bodies import checked, extrude, fuse, moved, raw, turned
    from fitkit.solids.let_in import Piece
    from fitkit.solids.profiles import rectangle

    ends = centres[-1] + inner + wall
    rooted = min(0.5, plate / 2)
    section = cradle_section(
        centres,
        inner,
        wall,
        base=_FOOT_MM + rooted,
        ends=ends,
        half_open=half_open,
        root=cradle_root_mm(inner, wall),
    )
    # The section's x to y, its y up, its z along x.
    rib = turned(extrude(section, length), x=90, z=90)
    outline = rectangle(length + 2 * _RIM_MM, 2 * (ends + _RIM_MM))
    slab = extrude(outline, plate, z=-plate)
    shape = fuse(slab, moved(rib, -length / 2, 0.0, -rooted))
    return Piece(raw(checked(shape, "saddle")), outline.outer)


@lru_cache(maxsize=16)
def _ghosts(
    centres: tuple[float, ...], diameter: float, length: float, z: float
) -> tuple[Body, ...]:
    from fitkit.solids.bodies import checked, extrude, moved, turned
    from fitkit.solids.profiles import circle

    rod = turned(extrude(circle(diameter), length), x=90, z=90)
    return tuple(
        Body(
            name=f"body {number}",
            solid=checked(moved(rod, -length / 2, y, z), "body", proved=True),
        )
        for number, y in enumerate(centres, start=1)
    )
