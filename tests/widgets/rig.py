"""A template of the tests' own: a tray that holds a plate, with every kind of parameter."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import BaseModel, Field

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, Part, Template, size

if TYPE_CHECKING:
    from collections.abc import Mapping


class Slot(BaseModel):
    """A slot through the front wall."""

    name: str = Field(default="", description="What goes through it.")
    along: Length = size("0 mm", low="-60 mm", high="60 mm", help="Middle, from the tray's.")
    width: Length = size("9 mm", low="1 mm", high="40 mm", help="Clear width.")


class PlateTray(Template):
    """An open tray for a plate."""

    title: ClassVar[str] = "plate tray"
    summary: ClassVar[str] = "An open tray for a plate."

    plate_length: Length = size(
        "64 mm", low="10 mm", high="150 mm", help="Of the plate.", group="Plate", measured=True
    )
    plate_width: Length = size(
        "44 mm", low="10 mm", high="150 mm", help="Of the plate.", group="Plate", measured=True
    )
    wall: Length = size("2.4 mm", low="0.8 mm", high="6 mm", help="Wall thickness.", group="Tray")
    height: Length = size("18 mm", low="4 mm", high="60 mm", help="Outside.", group="Tray")
    round_to: Length = size(
        "0 mm", low="0 mm", high="40 mm", help="Radius of the upright edges.", group="Tray"
    )
    lid: bool = Field(default=False, description="With a lid.", json_schema_extra={"group": "Tray"})
    finish: Literal["as printed", "sanded"] = Field(
        default="as printed", description="Finish.", json_schema_extra={"group": "Tray"}
    )
    slots: tuple[Slot, ...] = Field(
        default=(), description="Openings.", json_schema_extra={"group": "Openings"}
    )

    def fit_sizes(self) -> tuple[FitSize, ...]:
        common = {"kind": "inside", "sense": 1, "pair": "object in pocket", "behaviour": "slides"}
        return (
            FitSize(
                name="pocket length", nominal_mm=self.plate_length, of="plate_length", **common
            ),
            FitSize(name="pocket width", nominal_mm=self.plate_width, of="plate_width", **common),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        from build123d import Solid

        from fitkit import solids as s
        from fitkit.solids import profiles as p

        if self.label == "crash":
            os.abort()
        sizes = self.drawn_sizes(drawn)
        length, width = sizes["pocket length"], sizes["pocket width"]
        long, deep = length + 2 * self.wall, width + 2 * self.wall
        if self.round_to > deep / 3:
            raise PartError(
                f"a radius of {self.round_to:g} mm leaves no wall",
                where=f"{self.title}, round_to",
                remedy=f"Give under {deep / 3:.0f} mm.",
            )
        block = s.extrude(p.rectangle(long, deep), self.height)
        tools = [s.extrude(p.rectangle(length, width), self.height, z=2)]
        for slot in self.slots:
            bar = s.extrude(p.rectangle(slot.width, 4 * self.wall), self.height, z=6)
            tools.append(s.moved(bar, x=slot.along, y=-deep / 2))
        tray = Solid(s.solids_in(s.cut(block, *tools))[0])
        plate = s.extrude(p.rectangle(self.plate_length, self.plate_width), 1.6, z=2.2)
        bodies = [Body(name="tray", solid=tray)]
        if self.lid:
            lid = s.fuse(
                s.extrude(p.rectangle(long, deep), 2, z=self.height + 8),
                s.extrude(p.rectangle(length - 0.4, width - 0.4), 4, z=self.height + 4),
            )
            bodies.append(
                Body(name="lid", solid=Solid(s.solids_in(lid)[0]), print_turn=(180.0, 0.0, 0.0))
            )
        middle = self.height - 1
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=tuple(bodies),
            ghosts=(Body(name="plate", solid=Solid(s.solids_in(plate)[0])),),
            insertion=(0.0, 0.0, -1.0),
            dimensions=(
                KeyDimension(
                    name="pocket length",
                    value_mm=length,
                    body="tray",
                    start=(-length / 2, 0, middle),
                    end=(length / 2, 0, middle),
                    kind="inside",
                ),
                KeyDimension(
                    name="pocket width",
                    value_mm=width,
                    body="tray",
                    start=(0, -width / 2, middle),
                    end=(0, width / 2, middle),
                    kind="inside",
                ),
                KeyDimension(
                    name="height",
                    value_mm=self.height,
                    body="tray",
                    start=(long / 2, -deep / 2, 0),
                    end=(long / 2, -deep / 2, self.height),
                    kind="height",
                ),
            ),
            findings=(
                Finding(
                    check="walls",
                    severity="warn" if self.wall < 1.2 else "note",
                    text="The thinnest wall is that of the pocket.",
                    value=self.wall,
                    limit=1.2,
                    unit="mm",
                    at=((long / 2 - self.wall / 2, 0.0, self.height),),
                    remedy="Thicken it if it must bear a knock." if self.wall < 1.2 else "",
                ),
            ),
        )
