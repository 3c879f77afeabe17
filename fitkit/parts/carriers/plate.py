"""A plate that carries several things, with lugs for screws at its left and right ends.

What the case puts on its floor, a plate carries as well: standoffs, arms, saddles, cups. Its sides
take the part of walls: a board whose plugs go in from the front lies along the front edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from pydantic import Field

from fitkit.core.errors import PartError
from fitkit.core.sizes import CENTRES, OUTSIDE
from fitkit.parts.carrier import Carrier, Pose, as_shared, placed_levels, placed_piece
from fitkit.parts.contract import Body, KeyDimension, Length, Part, Wall, size
from fitkit.parts.feature import Asked, Side, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.forms import choice, foot_mm
from fitkit.parts.holder import Base
from fitkit.parts.layout import Arranged, arrange
from fitkit.parts.screws import (
    Screw,
    ScrewHoles,
    head_mm,
    screw_fit,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.parts.feature import Feature, SideName
    from fitkit.parts.holder import Box, Face, Fixture
    from fitkit.solids.terraces import Terrace

__all__ = ["MountingPlate"]

_ROOT_MM = 4.0  # how far a feature of an edge is let into the plate
_BESIDE_MM = 1.5  # plastic beside a screw's head; common practice, no source


@dataclass(frozen=True, kw_only=True)
class PlateSizes(SizeSet):
    """A plate's own sizes: its extent, which places count by, and its screws."""

    plate_length: FitSize
    plate_width: FitSize
    screw_hole: FitSize | None = None
    screw_spacing: FitSize | None = None


class MountingPlate(Carrier):
    """Plate with lugs for several measured things."""

    title: ClassVar[str] = "plate"
    summary: ClassVar[str] = "Plate with lugs that carries several things, each held in its way."

    length: Length | None = choice(
        None, "Along x without its lugs; as long as the things need if not given.", "Plate"
    )
    width: Length | None = choice(
        None, "Along y; as wide as the things need if not given.", "Plate"
    )
    thickness: Length = size(
        "3 mm", low="1.6 mm", high="10 mm", group="Plate", help="Thickness of the plate."
    )
    corner_radius: Length = size(
        "3 mm", low="0 mm", high="20 mm", group="Plate", help="Outer corners."
    )
    gap: Length = size(
        "1 mm", low="0 mm", high="40 mm", group="Plate", help="Least distance of two things."
    )
    fixing: Literal["lugs", "none"] = choice("lugs", "Countersunk screws in lugs.", "Fixing")
    screw: Screw = choice("M3", "Screws that hold the plate.", "Fixing")

    features: tuple[Asked, ...] = Field(
        default=(),
        max_length=24,
        description="What it has on its sides: ears, keyholes, holes.",
        json_schema_extra={"group": "Features"},
    )

    def asked_features(self) -> tuple[Feature, ...]:
        """Give what it is asked for on its sides."""
        return self.features

    def base(self, face: Face) -> Base:
        """Give the plate; it has no lid."""
        if face == "lid":
            raise PartError(
                "a plate has no lid",
                at=("on",),
                code="carrier.no-lid",
                remedy='Write carrier = "case", or leave the thing out.',
            )
        return Base(face="floor", thickness_mm=self.thickness)

    @cached_property
    def layout(self) -> Arranged:
        """Extent without lugs, and the place of each thing, at nominal sizes."""
        if not self.things:
            raise self.without_things()
        items = self.items(gap_mm=self.gap)
        self.refuse_outside(items, self.length, self.width)
        found = arrange(items, length=self.length, width=self.width)
        if found is None:
            raise self.no_room({"length": self.length, "width": self.width})
        self.refuse_in_one_place(items, found)
        return found

    def places(self) -> Any:
        """Give the place of each thing."""
        return self.layout.places

    def _ear(self) -> float:
        """How far a lug stands out at either end, mm."""
        if self.fixing == "none":
            return 0.0
        return max(head_mm(self.screw), screw_fit(self.screw).nominal_mm + 1.0) + 2 * _BESIDE_MM

    def own_sizes(self) -> PlateSizes:
        """Declare the extent, and the screws with their distance."""
        plan, lugs = self.layout, self.fixing == "lugs"
        return PlateSizes(
            plate_length=FitSize(nominal_mm=plan.length, kind=CENTRES, axis="x"),
            plate_width=FitSize(nominal_mm=plan.width, kind=CENTRES, axis="y"),
            screw_hole=screw_fit(self.screw, spacing=("screw spacing",)) if lugs else None,
            screw_spacing=FitSize(nominal_mm=plan.length + self._ear(), kind=CENTRES, axis="x")
            if lugs
            else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the plate, the things in their places."""
        from fitkit.solids.bodies import checked, volume_of
        from fitkit.solids.label import fitted_text
        from fitkit.solids.let_in import let_in
        from fitkit.solids.profiles import rectangle
        from fitkit.solids.terraces import Terrace, from_profiles, terraces

        every = self.must_fit().drawn(drawn, where=self.title)
        own = as_shared(every)
        assert isinstance(own, PlateSizes)
        poses = self.stretched(
            self.layout, own.plate_length, own.plate_width, lambda _: (self.thickness, False)
        )
        fixtures = self.fixtures(every, poses)
        long, wide = own.plate_length.drawn_mm + 2 * self._ear(), own.plate_width.drawn_mm
        t, name = self.thickness, "plate"
        levels, boxes = self._levels(fixtures, poses)
        half = (own.plate_length.drawn_mm / 2, wide / 2)
        room, at = self.free_strip(boxes, half)
        letters, said = fitted_text(self.label, room=room, at=at, body=name)
        outline = rectangle(long, wide, radius=min(self.corner_radius, min(long, wide) / 2 - 0.5))
        foot, findings = foot_mm(outline.outer, body=name)
        text = from_profiles(letters, t - 0.4, t)
        root = Terrace(outline.outer, t, (*levels, *text), edge=foot)
        shape = terraces(root)
        pieces = [
            placed_piece(piece, pose, t)
            for fixture, pose in zip(fixtures, poses, strict=True)
            for piece in fixture.pieces
        ]
        expected = root.volume() + sum(piece.volume(t) for piece in pieces)
        shape = let_in(shape, pieces, top=t)
        checked(shape, name, volume=expected, tolerance=1e-6, proved=True)
        spots = self._spots(own)
        holes = ScrewHoles(screw=self.screw, size=own.screw_hole, spots=spots, top=t, body=name)
        shape, left_off = holes.into(shape)
        most = volume_of(shape) * 1.0001
        solid = checked(shape, name, volume=(0.5 * most, most), proved=True)
        more = Work()
        if self.features:
            on_face = [
                Taken(*box, thing.name) for box, thing in zip(boxes, self.things, strict=True)
            ]
            if self.label:
                (x, y), (a, b) = at, (room[0] / 2, room[1] / 2)
                on_face.append(Taken(x - a, y - b, x + a, y + b, "label"))
            sides = self._sides(own, on_face, spots)
            made, more = self.with_features({name: solid}, every, sides)
            solid = made[name]
        part = Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name=name, solid=solid),),
            ghosts=tuple(ghost for fixture in fixtures for ghost in fixture.ghosts),
            insertion=(0.0, 0.0, -1.0),
            dimensions=(
                *self._outside(own),
                *holes.dimensions(own.screw_spacing),
                *self.numbers_of(fixtures, "dimensions", name),
            ),
            walls=(
                Wall(name="plate", body=name, thickness_mm=t, at=(-half[0] + 0.5, 0.0, t / 2)),
                *self.numbers_of(fixtures, "walls", name),
            ),
            arms=self.numbers_of(fixtures, "arms", name),
            lugs=holes.lugs(
                self._ear() / 2,
                wide / max(len(spots) // 2, 1),
                names=[f"lug {number + 1}" for number in range(len(spots))],
            ),
            bosses=self.numbers_of(fixtures, "bosses", name),
            vents=self.numbers_of(fixtures, "vents", name),
            bridges=self.numbers_of(fixtures, "bridges", name),
            findings=(
                *findings,
                *left_off,
                *said,
                *self.told_places(self.layout, name),
                *self.numbers_of(fixtures, "findings", name),
            ),
            cautions=tuple(dict.fromkeys(c for fixture in fixtures for c in fixture.cautions)),
            buys=(
                *holes.buys("lugs"),
                *(buy for fixture in fixtures for buy in fixture.buys),
            ),
        )
        return more.on(part)

    def _sides(
        self, own: PlateSizes, on_face: Sequence[Taken], spots: Sequence[tuple[float, float]]
    ) -> dict[str, Side]:
        """Give its four edges, and its face as floor, with what is taken of them."""
        t, head = self.thickness, head_mm(self.screw) / 2 + _BESIDE_MM
        long, wide = own.plate_length.drawn_mm + 2 * self._ear(), own.plate_width.drawn_mm
        corner = min(self.corner_radius, min(long, wide) / 2 - 0.5)
        plan = self.layout
        stretch = (own.plate_length.drawn_mm / plan.length, wide / plan.width)
        sides: dict[str, Side] = {}
        names: tuple[SideName, ...] = ("left", "right", "front", "back")
        for name in names:
            upright = name in ("left", "right")
            out = (long if upright else wide) / 2
            near = []
            for number, (x, y) in enumerate(spots, start=1):
                far, u = {"right": (x, y), "left": (-x, -y), "back": (y, -x), "front": (-y, x)}[
                    name
                ]
                if far + head > out - _ROOT_MM:
                    near.append(Taken(u - head, 0.0, u + head, t, f"lug {number}"))
            sides[name] = Side(
                name=name,
                body="plate",
                out_mm=out,
                long_mm=(wide if upright else long) - 2 * corner,
                high_mm=t,
                thick_mm=_ROOT_MM,
                foot_mm=t,
                taken=tuple(near),
                stretch=stretch[1 if upright else 0],
            )
        heads = [
            Taken(x - head, y - head, x + head, y + head, f"lug {number}")
            for number, (x, y) in enumerate(spots, start=1)
        ]
        sides["floor"] = Side(
            name="floor",
            body="plate",
            out_mm=0.0,
            long_mm=long - 2 * _BESIDE_MM,
            high_mm=wide - 2 * _BESIDE_MM,
            thick_mm=t,
            foot_mm=t,
            taken=(*on_face, *heads),
            stretch=stretch[0],
            stretch_up=stretch[1],
            over_mm=t,
        )
        return sides

    def _levels(
        self, fixtures: Sequence[Fixture], poses: Sequence[Pose]
    ) -> tuple[list[Terrace], list[Box]]:
        """Regions of the plate's face, and what the things take of it."""
        levels: list[Terrace] = []
        boxes: list[Box] = []
        for thing, fixture, pose in zip(self.things, fixtures, poses, strict=True):
            levels += placed_levels(fixture.levels, pose, self.thickness)
            boxes.append(pose.box(thing.space(self.base("floor")).body))
        return levels, boxes

    def _spots(self, own: PlateSizes) -> list[tuple[float, float]]:
        """Places of the lugs' screws: one at either end, two where the plate is wide."""
        if own.screw_spacing is None:
            return []
        x, head = own.screw_spacing.drawn_mm / 2, head_mm(self.screw)
        y = own.plate_width.drawn_mm / 2 - head / 2 - 2 * _BESIDE_MM
        rows = (-y, y) if y > head else (0.0,)
        return [(side * x, v) for side in (-1, 1) for v in rows]

    def _outside(self, own: PlateSizes) -> tuple[KeyDimension, ...]:
        """Show length and width over all."""
        long, wide = own.plate_length.drawn_mm + 2 * self._ear(), own.plate_width.drawn_mm
        middle = (0.0, 0.0, self.thickness / 2)
        length = FitSize(name="outside length", nominal_mm=long, kind=OUTSIDE)
        width = FitSize(name="outside width", nominal_mm=wide, kind=OUTSIDE)
        return (
            KeyDimension.across(length, middle, "x", body="plate"),
            KeyDimension.across(width, middle, "y", body="plate"),
        )
