"""Clip tray: rows and columns of pockets that hold rectangular bodies, such as terminal blocks.

A preset of `holders.block`: its pockets on a floor of their own, with lugs or holes in the floor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from fitkit.core.errors import FaultList
from fitkit.core.sizes import CENTRES
from fitkit.parts.contract import Body, FitSize, Length, Part, Wall, size
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice
from fitkit.parts.holders.block import CUT_MM, PocketForm, Pockets, PocketSizes
from fitkit.parts.measuring import UsedWhen  # noqa: TC001 - pydantic reads the annotation
from fitkit.parts.preset import Preset
from fitkit.parts.screws import Screw, ScrewHoles, head_mm, screw_fit
from fitkit.solids.bodies import chamfer, checked, edges, extrude, fuse
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["ClipTray"]

_BESIDE_MM = 3.0  # of a lug beside its screw's head, both sides together


@dataclass(frozen=True, kw_only=True)
class ClipTraySizes(PocketSizes):
    """Sizes of a clip tray that must fit."""

    screw_hole: FitSize | None = None
    screw_spacing_x: FitSize | None = None
    screw_spacing_y: FitSize | None = None


class ClipTray(Pockets, Preset):
    """Tray of snap pockets for rectangular bodies."""

    title: ClassVar[str] = "clip tray"
    summary: ClassVar[str] = "Rows and columns of snap pockets for terminal blocks or relays."
    used_when: ClassVar[UsedWhen] = {"screw": {"fixing": ("lugs", "floor")}}

    floor: Length = size("2.4 mm", low="1.2 mm", high="8 mm", help="Floor.")
    fixing: Literal["lugs", "floor", "none"] = choice(
        "lugs", "Countersunk holes in lugs, or in the floor of the outer pockets.", "Fixing"
    )
    screw: Screw = choice("M3", "Screws that hold the tray down.", "Fixing")

    def must_fit(self) -> ClipTraySizes:
        """Declare the pocket, the height under the noses, the screw holes and how far apart."""
        pockets = self.pocket_sizes()
        sizes = ClipTraySizes(
            pocket_length=pockets.pocket_length,
            pocket_width=pockets.pocket_width,
            under_the_nose=pockets.under_the_nose,
            screw_hole=screw_fit(self.screw) if self.fixing != "none" else None,
        )
        if self.fixing != "lugs":
            return sizes
        try:
            form = self.form(sizes)
        except FaultList:
            return sizes  # building it tells
        x, y = self._spots(form, sizes)[-1]
        names = ("screw spacing x", *(("screw spacing y",) if y else ()))
        return replace(
            sizes,
            screw_hole=screw_fit(self.screw, name="screw hole", spacing=names),
            screw_spacing_x=FitSize(
                name="screw spacing x", nominal_mm=2 * x, kind=CENTRES, axis="x"
            ),
            screw_spacing_y=FitSize(
                name="screw spacing y", nominal_mm=2 * y, kind=CENTRES, axis="y"
            )
            if y
            else None,
        )

    def rules(self, half_x: float) -> Rules:
        """Refuse a screw that a pocket's floor has no room for."""
        rules = Rules(self.title)
        if self.fixing == "floor":
            rules.at_least(
                "body_width", 2 * half_x, head_mm(self.screw) + 4.0, "screw in the pocket"
            )
        return rules

    def _head(self, sizes: ClipTraySizes) -> float:
        """Diameter of the screws' heads, or of their holes if those are wider, mm."""
        return max(head_mm(self.screw), drawn_mm(sizes.screw_hole, 0.0))

    def _ear(self, sizes: ClipTraySizes) -> float:
        """How far a lug stands out, mm."""
        return self._head(sizes) + _BESIDE_MM if self.fixing == "lugs" else 0.0

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the tray on its floor, bodies in their pockets."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        form, t, ear, name = self.form(sizes), self.floor, self._ear(sizes), "tray"
        plate = rectangle(form.length + 2 * ear, form.width, radius=2.0)
        floor = extrude(plate.with_holes(*self.slots(form)), t)
        rim = (form.length + 2 * ear) / 2, form.width / 2
        # Outer edge only: the slots are narrow, and nothing sits in them.
        outer = edges(
            floor,
            z=0.0,
            where=lambda low, high: (
                max(-low[0], high[0]) > rim[0] - 1e-3 or max(-low[1], high[1]) > rim[1] - 1e-3
            ),
        )
        floor, findings = chamfer(floor, outer, BED_EDGE_MM, name="chamfer at the bed", body=name)
        shape = fuse(floor, *self.uprights(form, z=t, radius=0.0 if ear else 2.0))
        spots = [
            (
                math.copysign(drawn_mm(sizes.screw_spacing_x, 2 * abs(u)) / 2, u),
                math.copysign(drawn_mm(sizes.screw_spacing_y, 2 * abs(v)) / 2, v),
            )
            for u, v in self._spots(form, sizes)
        ]
        holes = ScrewHoles(screw=self.screw, size=sizes.screw_hole, spots=spots, top=t, body=name)
        shape, left_off = holes.into(shape)
        from fitkit.solids.label import sink_text

        (x, y), strip = form.pockets[-1], 2 * form.half_x - 2 * CUT_MM - 2
        # Along the pocket's floor, clear of a screw in its middle.
        beside = holes.head_mm if spots and not ear else 0.0
        shape, said = sink_text(
            shape,
            self.label,
            room=(2 * form.half_y - 2, strip / 2 - beside / 2),
            at=(x - strip / 4 - beside / 4, y),
            turn=90,
            z=t,
            body=name,
        )
        (x, y), lugs = form.pockets[0], [f"lug {i + 1}" for i in range(len(spots))]
        return self.joined(
            title,
            self.standing(sizes, form, t, "side wall"),
            Body(name=name, solid=checked(shape, name)),
            up_mm=t,
            insertion=(0.0, 0.0, -1.0),
            dimensions=holes.dimensions(sizes.screw_spacing_x, sizes.screw_spacing_y),
            walls=(Wall(name="floor", body=name, thickness_mm=t, at=(x, y, t / 2)),),
            lugs=holes.lugs(holes.head_mm / 2 + 2.0, form.width, names=lugs) if ear else (),
            findings=(*findings, *left_off, *said),
            buys=holes.buys(self.fixing),
        )

    def _spots(self, form: PocketForm, sizes: ClipTraySizes) -> list[tuple[float, float]]:
        if self.fixing == "none":
            return []
        if self.fixing == "lugs":
            head = self._head(sizes)
            x = form.length / 2 + self._ear(sizes) - head / 2 - 1.5
            y = form.width / 2 - head / 2 - 2.0
            rows = (-y, y) if y > head else (0.0,)
            return [(side * x, v) for side in (-1, 1) for v in rows]
        return list(dict.fromkeys((form.pockets[0], form.pockets[-1])))
