"""A channel for a cable in a given shape: a straight round bore, as deep as it is said to be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from fitkit.core.sizes import HOLE
from fitkit.parts.contract import KeyDimension, Length, size
from fitkit.parts.fit_size import FitSize, SizeSet, holding
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.parts.on_shape import ShapeFeature, Worked

if TYPE_CHECKING:
    from fitkit.parts.holder import Base

__all__ = ["CableChannel"]


@dataclass(frozen=True, kw_only=True)
class ChannelSizes(SizeSet):
    """The bore that the cable passes."""

    channel: FitSize


class CableChannel(ShapeFeature):
    """A straight bore for a cable, into the shape along its frame's z."""

    title: ClassVar[str] = "cable channel"
    summary: ClassVar[str] = (
        "A straight round bore for a cable, through the shape or into a hollow."
    )
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="cable diameter",
                round=True,
                note="over the sheath, jaws closed without squeezing it",
            ),
        ),
        sizes=(FromReadings(parameter="cable", text="cable_diameter"),),
    )

    cable: Length = size(
        "5 mm",
        low="1 mm",
        high="40 mm",
        measured=True,
        group="Channel",
        help="Diameter of the cable, or over its plug if that must pass.",
    )
    deep: Length = size(
        "30 mm", low="1 mm", high="600 mm", group="Channel", help="How far it goes in."
    )

    def must_fit(self, base: Base) -> ChannelSizes:
        """Declare the bore."""
        return ChannelSizes(channel=holding(self.cable, "cable", HOLE))

    def fixture(self, sizes: ChannelSizes, base: Base) -> Worked:
        """Cut the bore."""
        from fitkit.solids.bodies import extrude
        from fitkit.solids.profiles import circle

        wide = sizes.channel.drawn_mm
        # Over the surface it stands out, where that is not flat.
        over = wide
        return Worked(
            cuts=(extrude(circle(wide), self.deep + over, z=-self.deep),),
            through=True,
            dimensions=(KeyDimension.across(sizes.channel, (0.0, 0.0, 0.0)),),
        )
