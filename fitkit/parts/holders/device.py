"""A button, switch, jack or display in a cut-out: round, D, double D or rectangular.

Held by a nut or by snap tongues that ask for a certain thickness of plate, it has the plate thinned
from behind. A bezel makes the opening smaller than the module, which then lies in a pocket from
behind. The holder's frame stands on the plate's inner face, so the device hangs along +z; its front
is the plate's outer face, which prints on the bed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple

from fitkit.core.models import StrictModel
from fitkit.core.sizes import D_BORE, HOLE, POCKET
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, Wall, size
from fitkit.parts.fit_size import SizeSet, drawn_mm, holding
from fitkit.parts.forms import Rules, choice
from fitkit.parts.holder import AIR_MM, Base, Face, Fixture, Holder, Space
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bodies import checked, extrude
from fitkit.solids.bores import BoreShape, bore
from fitkit.solids.profiles import Profile, circle, rectangle
from fitkit.solids.terraces import Terrace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.core.sizes import Axis, SizeKind
    from fitkit.parts.contract import Point

__all__ = ["Cut", "DeviceInCutout", "Opening", "device"]

_LEFT_MM = 0.4  # least plate in front of a module


class Cut(NamedTuple):
    """Drawn form of a cut-out, from the front: opening, and pocket from behind to a level."""

    opening: Profile
    pocket: Profile | None
    level: float

    @property
    def most(self) -> Profile:
        """The wider of the two."""
        return self.pocket or self.opening

    def moved(self, x: float, y: float) -> Cut:
        """Give the same in another place, mm."""
        pocket = self.pocket and self.pocket.moved(x, y)
        return Cut(self.opening.moved(x, y), pocket, self.level)

    def reach_past(self, x: float, y: float) -> float:
        """How far it reaches past both ±x and ±y, mm: where the plate's corners are round."""
        past = ((abs(u) - x, abs(v) - y) for u, v in self.most.outer.points())
        return max((math.hypot(u, v) for u, v in past if u > 0 and v > 0), default=0.0)


class Opening(StrictModel):
    """An opening in a plate and what sits in it, about the origin."""

    shape: BoreShape = choice("round", "Outline of the opening.", "Cut-out")
    width: Length = size(
        "16 mm",
        low="2 mm",
        high="200 mm",
        measured=True,
        group="Cut-out",
        help="Diameter of the device's neck, or its width along x.",
    )
    across: Length = size(
        "14 mm",
        low="1 mm",
        high="200 mm",
        measured=True,
        group="Cut-out",
        help="From flat to round (D), over both flats (double D), height along y (rectangle).",
    )
    fixing: Literal["none", "nut", "snap"] = choice(
        "none", "Held by a nut, by snap tongues, or otherwise.", "Cut-out"
    )
    grip: Length = size(
        "2 mm",
        low="1 mm",
        high="10 mm",
        group="Cut-out",
        help="Panel thickness that nut or tongues ask for.",
    )
    around: Length = size(
        "3 mm",
        low="1 mm",
        high="20 mm",
        group="Cut-out",
        help="Room for nut or tongues round the opening.",
    )
    bezel: Length = size(
        "0 mm",
        low="0 mm",
        high="20 mm",
        group="Cut-out",
        help="How far the panel's front covers the module's edge; 0 for none.",
    )
    behind: Length = size(
        "10 mm",
        low="0 mm",
        high="150 mm",
        measured=True,
        group="Cut-out",
        help="How far the device reaches behind the panel's front.",
    )

    def fits(
        self, named: str = "", path: str = "", places: Sequence[FitSize] = ()
    ) -> tuple[FitSize, FitSize | None]:
        """Declare its width or diameter, and its height or the size over its flat.

        Parameters
        ----------
        named : str
            What comes before the names of both; none have a name if empty.
        path : str
            What comes before the names of its parameters.
        places : sequence of FitSize
            Those that say where it lies.

        Returns
        -------
        FitSize, FitSize or None
        """

        def fit(what: str, value: float, of: str, kind: SizeKind, axis: Axis) -> FitSize:
            return holding(
                value,
                path + of,
                kind,
                axis,
                name=f"{named} {what}" if named else "",
                placed_by=tuple(one.name for one in places if axis in (one.axis, "xy")),
                counterpart="hangs there",
            )

        if self.shape == "rectangle":
            return (
                fit("width", self.width, "width", POCKET, "x"),
                fit("height", self.across, "across", POCKET, "y"),
            )
        kind = D_BORE if self.shape == "D" else POCKET
        flat = fit("flat", self.across, "across", kind, "x") if self.shape != "round" else None
        return fit("diameter", self.width, "width", HOLE, "xy"), flat

    def cut(
        self,
        wide: float,
        other: float,
        plate: float,
        *,
        title: str,
        path: tuple[str | int, ...] = (),
    ) -> Cut:
        """Draw it for sizes as drawn, in a plate of a thickness, mm.

        Parameters
        ----------
        wide, other, plate : float, mm
        title : str
            Of what refuses it.
        path : tuple
            Of its parameters there.

        Returns
        -------
        Cut

        Raises
        ------
        FaultList
            If a flat or a bezel does not go with its width.
        """
        flat = self.shape == "rectangle"
        rules = Rules(title)
        if not flat and self.shape != "round":
            rules.at_most((*path, "across"), other, wide - 0.1, "flat within the neck")
            rules.at_least((*path, "across"), other, 0.3 * wide, "neck beside the flat")
            rules.refuse()
        whole = bore(self.shape, wide, other)
        if self.bezel:
            rules.at_most(
                (*path, "bezel"),
                self.bezel,
                min(wide, other if self.shape != "round" else wide) / 2 - 1.0,
                "bezel closes the opening",
            )
            rules.refuse()
            b = 2 * self.bezel
            return Cut(bore(self.shape, wide - b, other - b), whole, self.web_mm(plate))
        if self.fixing == "none" or self.grip >= plate - 0.2:
            return Cut(whole, None, 0.0)
        ring = 2 * self.around
        room = rectangle(wide + ring, other + ring) if flat else circle(wide + ring)
        return Cut(whole, room, self.grip)

    def web_mm(self, plate: float) -> float:
        """What stands in front of a module behind a bezel, in a plate of a thickness, mm."""
        return min(self.grip, plate - _LEFT_MM) if self.bezel else 0.0

    def stands_behind(self, plate: float) -> bool:
        """Tell whether enough of the device is behind its front or its bezel to be shown."""
        return self.behind - self.web_mm(plate) >= 0.5

    def dimensions(
        self, wide: FitSize, other: FitSize | None, at: Point, body: str = ""
    ) -> list[KeyDimension]:
        """Show both sizes, as drawn, about a point of the face that they are read on."""
        x, y, z = at
        flat = self.shape == "rectangle"
        found = [KeyDimension.across(wide, at, "x" if flat else "y", body=body)]
        if other:
            # From the flat of a D to its round side.
            aside = (other.drawn_mm - wide.drawn_mm) / 2 if self.shape == "D" else 0.0
            along: Literal["x", "y"] = "y" if flat else "x"
            found.append(KeyDimension.across(other, (x + aside, y, z), along, body=body))
        return found


@dataclass(frozen=True, kw_only=True)
class DeviceSizes(SizeSet):
    """Sizes of a cut-out that must let its device pass."""

    cut_out: FitSize
    cut_out_across: FitSize | None = None


class DeviceInCutout(Opening, Holder):
    """A device whose neck passes the plate, or that lies behind a bezel."""

    title: ClassVar[str] = "device in a cut-out"
    summary: ClassVar[str] = "A button, switch, socket or display in the lid."
    faces: ClassVar[tuple[Face, ...]] = ("lid",)
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="device neck",
                round=True,
                note="over the neck or thread that goes through the lid, where it is widest",
            ),
            Reading(
                feature="device behind front",
                mode="depth",
                note="rod from the shoulder that rests on the front back to the device's end",
            ),
        ),
        sizes=(
            FromReadings(parameter="width", text="device_neck"),
            FromReadings(parameter="behind", text="device_behind_front"),
        ),
    )

    def must_fit(self, base: Base) -> DeviceSizes:
        """Declare its width or diameter, and its height or the size over its flat."""
        wide, other = self.fits()
        return DeviceSizes(cut_out=wide, cut_out_across=other)

    def space(self, base: Base) -> Space:
        """The device behind the lid, with the room round it for its nut or its tongues."""
        across = self.across if self.shape == "rectangle" else self.width
        ring = 0.0 if self.bezel else 2 * self.around
        long, wide = (self.width + ring) / 2 + AIR_MM, (across + ring) / 2 + AIR_MM
        return Space(
            body=(-long, -wide, long, wide),
            height_mm=max(self.behind - base.thickness_mm, 0.0) + AIR_MM,
        )

    def fixture(self, sizes: DeviceSizes, base: Base) -> Fixture:
        """Cut it out, and thin the plate from behind where nut, tongues or module need that."""
        t, other = base.thickness_mm, sizes.cut_out_across
        place = self.cut(sizes.cut_out.drawn_mm, drawn_mm(other, 0.0), t, title=self.title)
        through = Terrace(place.opening.outer, -t)
        levels: tuple[Terrace, ...] = (through,)
        walls: tuple[Wall, ...] = ()
        if place.pocket is not None:
            levels = (Terrace(place.pocket.outer, place.level - t, (through,)),)
            at = (place.most.box[0] + 0.2, 0.0, -t + place.level / 2)
            web = Wall(name="web of the cut-out", body="", thickness_mm=place.level, at=at)
            walls = (web,)
        ghosts: tuple[Body, ...] = ()
        if self.stands_behind(t):
            # From the front it goes in towards the inside; behind a bezel it comes from there.
            way = (0.0, 0.0, -1.0 if self.bezel else 1.0)
            low = self.web_mm(t) - t
            ghosts = (device(self.shape, self.width, self.across, low, self.behind - t, way),)
        return Fixture(
            levels=levels,
            ghosts=ghosts,
            dimensions=tuple(
                self.dimensions(sizes.cut_out, other, (0.0, 0.0, 0.0 if self.bezel else -t))
            ),
            walls=walls,
        )


@lru_cache(maxsize=32)
def device(
    shape: BoreShape,
    width: float,
    across: float,
    low: float,
    high: float,
    way: Point | None = None,
    at: tuple[float, float] = (0.0, 0.0),
    name: str = "device",
) -> Body:
    """Give a device as a ghost: a prism between two heights, and its own way in, if it has one."""
    prism = extrude(bore(shape, width, across).moved(*at), high - low, z=low)
    return Body(name=name, solid=checked(prism, name, proved=True), insertion=way)
