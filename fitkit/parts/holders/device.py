"""A button, switch, jack or display in a cut-out of the lid: the panel's cut-outs in any plate.

Its frame stands on the plate's inner face, so the device hangs along +z; its front is the plate's
outer face, which prints on the bed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, ClassVar, Literal

from fitkit.parts.contract import Body, KeyDimension, Length, Wall
from fitkit.parts.designs.panel import Cutout, Panel
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.holder import AIR_MM, Base, Face, Fixture, Holder, Space, taken_from
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bores import BoreShape  # noqa: TC001 - pydantic reads the annotation

if TYPE_CHECKING:
    from fitkit.parts.designs.panel import CutoutSizes

__all__ = ["DeviceInCutout"]


@dataclass(frozen=True, kw_only=True)
class DeviceSizes(SizeSet):
    """Sizes of a cut-out that must let its device pass."""

    cut_out: FitSize
    cut_out_across: FitSize | None = None


class DeviceInCutout(Holder):
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

    shape: BoreShape = taken_from(Cutout, "shape")
    width: Length = taken_from(Cutout, "width")
    across: Length = taken_from(Cutout, "across")
    fixing: Literal["none", "nut", "snap"] = taken_from(Cutout, "fixing")
    grip: Length = taken_from(Cutout, "grip")
    around: Length = taken_from(Cutout, "around")
    bezel: Length = taken_from(Cutout, "bezel")
    behind: Length = taken_from(Cutout, "behind")

    @cached_property
    def _cutout(self) -> Cutout:
        names = set(type(self).model_fields) & set(Cutout.model_fields)
        values = {name: getattr(self, name) for name in names}
        return Cutout.model_construct(**values, x=0.0, y=0.0)

    def _panel(self, base: Base) -> Panel:
        return Panel.model_construct(thickness=base.thickness_mm, cutouts=(self._cutout,))

    def must_fit(self, base: Base) -> DeviceSizes:
        """Declare its width or diameter, and its height or the size over its flat."""
        (fits,) = self._panel(base).must_fit().cutouts

        def own(fit: FitSize) -> FitSize:
            of = (fit.of or "").rpartition(".")[2]
            return replace(fit, name="", of=of or None)

        return DeviceSizes(
            cut_out=own(fits.wide), cut_out_across=own(fits.other) if fits.other else None
        )

    def _sides(self) -> tuple[float, float]:
        """Length and width of all that it takes of the plate and below it, mm."""
        across = self.width if self.shape == "round" else self.across
        long, wide = self.width, across if self.shape == "rectangle" else self.width
        ring = 0.0 if self.bezel else 2 * self.around
        return long + ring, wide + ring

    def space(self, base: Base) -> Space:
        """The device behind the lid, with the room round it for its nut or its tongues."""
        long, wide = (side / 2 + AIR_MM for side in self._sides())
        return Space(
            body=(-long, -wide, long, wide),
            height_mm=max(self.behind - base.thickness_mm, 0.0) + AIR_MM,
        )

    def fixture(self, sizes: DeviceSizes, base: Base) -> Fixture:
        """Cut it out, and thin the plate from behind where nut, tongues or module need that."""
        from fitkit.solids.terraces import Terrace

        t = base.thickness_mm
        panel = self._panel(base)
        (fits,) = panel.must_fit().cutouts
        place = panel.place(0, self._cutout, _drawn(fits, sizes))
        through = Terrace(place.opening.outer, -t)
        levels: tuple[Terrace, ...] = (through,)
        if place.pocket is not None:
            levels = (Terrace(place.pocket.outer, place.level - t, (through,)),)
        return Fixture(
            levels=levels,
            ghosts=self._ghost(t),
            dimensions=self._dimensions(sizes, t),
            walls=(
                Wall(
                    name="web of the cut-out",
                    body="",
                    thickness_mm=place.level,
                    at=(place.most.box[0] + 0.2, 0.0, -t + place.level / 2),
                ),
            )
            if place.pocket
            else (),
        )

    def _ghost(self, t: float) -> tuple[Body, ...]:
        front = -t + (min(self.grip, t - 0.4) if self.bezel else 0.0)
        end = self.behind - t
        if end < front + 0.5:
            return ()
        # From the front it goes in towards the inside; behind a bezel it comes from there.
        way = (0.0, 0.0, -1.0 if self.bezel else 1.0)
        return (_device(self.shape, self.width, self.across, front, end, way),)

    def _dimensions(self, sizes: DeviceSizes, t: float) -> tuple[KeyDimension, ...]:
        half, z = sizes.cut_out.drawn_mm / 2, 0.0 if self.bezel else -t
        start, end = (0.0, -half, z), (0.0, half, z)
        if self.shape == "rectangle":
            start, end = (-half, 0.0, z), (half, 0.0, z)
        found = [KeyDimension.of(sizes.cut_out, body="", start=start, end=end)]
        if sizes.cut_out_across:
            other = sizes.cut_out_across.drawn_mm
            start, end = (-other / 2, 0.0, z), (other / 2, 0.0, z)
            if self.shape == "rectangle":
                start, end = (0.0, -other / 2, z), (0.0, other / 2, z)
            elif self.shape == "D":
                start, end = (-half, 0.0, z), (other - half, 0.0, z)
            found.append(KeyDimension.of(sizes.cut_out_across, body="", start=start, end=end))
        return tuple(found)


def _drawn(fits: CutoutSizes, sizes: DeviceSizes) -> CutoutSizes:
    """Give the panel's sizes as they are drawn here."""
    other = fits.other
    if other and sizes.cut_out_across:
        other = replace(other, given_mm=sizes.cut_out_across.drawn_mm)
    wide = replace(fits.wide, given_mm=sizes.cut_out.drawn_mm)
    return replace(fits, wide=wide, other=other)


@lru_cache(maxsize=32)
def _device(
    shape: str,
    width: float,
    across: float,
    low: float,
    high: float,
    way: tuple[float, float, float],
) -> Body:
    from fitkit.solids.bodies import checked, extrude
    from fitkit.solids.bores import bore

    prism = extrude(bore(shape, width, across), high - low, z=low)
    return Body(name="device", solid=checked(prism, "device", proved=True), insertion=way)
