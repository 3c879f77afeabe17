"""A boss on a given shape: a round post with a hole that a screw or an insert holds in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from fitkit.core.sizes import HOLE
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.contract import Boss, Buy, KeyDimension, Length, size
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm, holding
from fitkit.parts.forms import choice
from fitkit.parts.on_shape import ShapeFeature, Worked
from fitkit.parts.screws import Screw, insert_depth_mm, screw_mm

if TYPE_CHECKING:
    from fitkit.parts.holder import Base

__all__ = ["ScrewBoss"]

_UNDER_MM = 1.0  # the hole goes on below, for the end of the screw; common practice, no source
_WALL_MM = 1.2  # least plastic round the hole; common practice, no source


@dataclass(frozen=True, kw_only=True)
class BossSizes(SizeSet):
    """The hole of a boss: one of the two."""

    screw_pilot: FitSize | None = None
    insert_hole: FitSize | None = None


class ScrewBoss(ShapeFeature):
    """A post for a screw or an insert."""

    title: ClassVar[str] = "screw boss"
    summary: ClassVar[str] = "A round post with a hole for a screw or a heat-set insert."

    screw: Screw = choice("M3", "The screw.", "Boss")
    takes: Literal["screw", "insert"] = choice(
        "screw", "What holds in the hole: the screw itself, or a heat-set insert.", "Boss"
    )
    outer: Length | None = choice(None, "Its outside; as the screw needs if not given.", "Boss")
    high: Length = size(
        "4 mm", low="0 mm", high="60 mm", group="Boss", help="How far it stands out."
    )

    def must_fit(self, base: Base) -> BossSizes:
        """Declare the hole."""
        hold = hold_in_plastic(self.screw)
        if self.takes == "screw":  # the screw cuts its thread through any coat
            return BossSizes(screw_pilot=FitSize(nominal_mm=hold.pilot_mm, kind=HOLE))
        return BossSizes(
            insert_hole=holding(
                hold.insert_knurl_mm, None, HOLE, pair="heat-set insert", behaviour="press by tool"
            )
        )

    def fixture(self, sizes: BossSizes, base: Base) -> Worked:
        """Add a post, cut the hole."""
        from fitkit.solids.bodies import extrude
        from fitkit.solids.profiles import circle

        hold = hold_in_plastic(self.screw)
        fit = sizes.screw_pilot or sizes.insert_hole
        hole = drawn_mm(fit)
        screws = self.takes == "screw"
        deep = hold.engage_mm + _UNDER_MM if screws else insert_depth_mm(hold.insert_length_mm)
        outer = max(
            self.outer or (hold.pilot_boss_mm if self.takes == "screw" else hold.insert_boss_mm),
            hole + 2 * _WALL_MM,
        )
        foot = circle(outer)
        assert fit is not None
        buys = [
            Buy(what=f"screw {self.screw} that forms its thread in plastic", count=1, why="")
            if screws
            else Buy(
                what=f"heat-set insert {self.screw}, {hold.insert_length_mm:g} mm long",
                count=1,
                why="",
            )
        ]
        top = self.high
        return Worked(
            adds=(extrude(foot, top + 1.0, z=-1.0),) if top > 0 else (),
            cuts=(extrude(circle(hole), deep + 1.0, z=top - deep),),
            root=foot.outer,
            clear=foot.outer,
            clear_mm=top,
            dimensions=(KeyDimension.across(fit, (0.0, 0, top)),),
            bosses=(
                Boss(
                    name="boss",
                    body="",
                    outer_mm=outer,
                    hole_mm=hole,
                    depth_mm=deep,
                    screw_mm=screw_mm(self.screw),
                    at=(0.0, 0.0, top),
                    insert_mm=None if screws else hole,
                ),
            ),
            buys=tuple(buys),
        )
