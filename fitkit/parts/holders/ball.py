"""A ball in a cup, or between four arms: the ball seat's, let into any plate."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from fitkit.parts.contract import Body, KeyDimension, Length, Wall
from fitkit.parts.designs.ball_seat import BallSeat
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space, taken_from
from fitkit.parts.measuring import Measuring  # noqa: TC001 - pydantic reads the annotation

if TYPE_CHECKING:
    from fitkit.parts.designs.ball_seat import BallSeatSizes, Cup
    from fitkit.solids.let_in import Piece

__all__ = ["BallInCup"]

_RIM_MM = 1.5  # of plate round the cup


class BallInCup(Holder):
    """A ball gripped beyond its equator."""

    title: ClassVar[str] = "ball in a cup"
    summary: ClassVar[str] = "A ball that snaps into a slit cup or between four arms."
    measuring: ClassVar[Measuring] = BallSeat.measuring

    ball: Length = taken_from(BallSeat, "ball")
    style: Literal["cup", "arms"] = taken_from(BallSeat, "style")
    retention: Length = taken_from(BallSeat, "retention")
    wall: Length = taken_from(BallSeat, "wall")
    slits: Annotated[int, Field(ge=0, le=12)] = taken_from(BallSeat, "slits")
    slit: Length = taken_from(BallSeat, "slit")
    arm: Length = taken_from(BallSeat, "arm")
    strain: Annotated[float, Field(ge=0.3, le=6)] = taken_from(BallSeat, "strain")

    @cached_property
    def _as_seat(self) -> BallSeat:
        names = set(type(self).model_fields) & set(BallSeat.model_fields)
        return BallSeat.model_construct(**{name: getattr(self, name) for name in names}, screws=0)

    def _seat(self, base: Base) -> BallSeat:
        return self._as_seat.model_copy(update={"plate": base.thickness_mm})

    def must_fit(self, base: Base) -> BallSeatSizes:
        """Declare the sphere and the mouth."""
        return self._seat(base).must_fit()

    def space(self, base: Base) -> Space:
        """The cup and the ball, which is wider than its mouth."""
        half = max(self.ball / 2 + self.wall + _RIM_MM, self.ball / 2) + AIR_MM
        cup = self._seat(base).lay_out(self.ball, self.ball - self.retention)
        return Space(
            body=(-half, -half, half, half),
            height_mm=cup.centre + self.ball / 2 - base.thickness_mm,
        )

    def fixture(self, sizes: BallSeatSizes, base: Base) -> Fixture:
        """Make the cup as one piece of plate."""
        seat, mouth, t = sizes.seat.drawn_mm, sizes.mouth.drawn_mm, base.thickness_mm
        tray = self._seat(base)
        cup = tray.lay_out(seat, mouth)
        outer = seat / 2 + self.wall
        middle, lip = cup.centre - t, cup.lip - t
        return Fixture(
            pieces=(_piece(tray, seat, mouth, cup),),
            ghosts=(_ghost(self.ball, middle - (seat - self.ball) / 2 + 0.01),),
            dimensions=(
                KeyDimension.of(
                    sizes.seat, body="", start=(-seat / 2, 0, middle), end=(seat / 2, 0, middle)
                ),
                KeyDimension.of(
                    sizes.mouth, body="", start=(-mouth / 2, 0, lip), end=(mouth / 2, 0, lip)
                ),
            ),
            walls=(
                Wall(
                    name="cup at the equator",
                    body="",
                    thickness_mm=self.wall,
                    at=(0.0, outer - self.wall / 2, middle),
                ),
            ),
            arms=tuple(
                replace(arm, body="", at=(arm.at[0], arm.at[1], arm.at[2] - t))
                for arm in tray.lips(cup, seat, mouth)
            ),
        )


@lru_cache(maxsize=16)
def _piece(tray: BallSeat, seat: float, mouth: float, cup: Cup) -> Piece:
    """Cup on a round bit of plate, its upper face at z = 0; made and analysed once."""
    from fitkit.solids.bodies import checked, moved, raw
    from fitkit.solids.let_in import Piece
    from fitkit.solids.profiles import circle

    wide = seat + 2 * (tray.wall + _RIM_MM)
    shape = tray.on_plate(cup, seat, mouth, wide)
    solid = checked(moved(shape, z=-tray.plate), "ball in a cup")
    return Piece(raw(solid), circle(wide).outer)


@lru_cache(maxsize=16)
def _ghost(ball: float, z: float) -> Body:
    from fitkit.solids.bodies import checked, sphere

    return Body(name="ball", solid=checked(sphere(ball, at=(0, 0, z)), "ball"))
