"""Blocks between clip arms: the pockets of the clip tray, with their own bit of plate."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field

from fitkit.parts.contract import Body, KeyDimension, Length, Wall
from fitkit.parts.designs.clip_tray import ClipTray
from fitkit.parts.forms import box
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space, taken_from
from fitkit.parts.measuring import Measuring  # noqa: TC001 - pydantic reads the annotation

if TYPE_CHECKING:
    from fitkit.parts.designs.clip_tray import ClipTraySizes, TrayForm
    from fitkit.solids.let_in import Piece

__all__ = ["BlockBetweenArms"]

_RIM_MM = 1.0  # of plate round the pockets' walls, so that nothing stands on the piece's outline
_FINGER_MM = 10.0  # free behind a finger gap, or before wires; common practice, no source


class BlockBetweenArms(Holder):
    """Rectangular bodies, each held by an arm at either side."""

    title: ClassVar[str] = "block between arms"
    summary: ClassVar[str] = "Terminal blocks or relays in rows and columns of snap pockets."
    measuring: ClassVar[Measuring] = ClipTray.measuring

    body_length: Length = taken_from(ClipTray, "body_length")
    body_width: Length = taken_from(ClipTray, "body_width")
    body_height: Length = taken_from(ClipTray, "body_height")
    columns: Annotated[int, Field(ge=1, le=8)] = taken_from(ClipTray, "columns")
    rows: Annotated[int, Field(ge=1, le=6)] = taken_from(ClipTray, "rows")
    row_gap: Length = taken_from(ClipTray, "row_gap")
    wall: Length = taken_from(ClipTray, "wall")
    arm: Length | None = taken_from(ClipTray, "arm")
    catch: Length | None = taken_from(ClipTray, "catch")
    strain: Annotated[float, Field(ge=0.3, le=6)] = taken_from(ClipTray, "strain")
    wires: Literal["front", "both", "none"] = taken_from(ClipTray, "wires")
    finger: Length = taken_from(ClipTray, "finger")

    @cached_property
    def _as_tray(self) -> ClipTray:
        names = set(type(self).model_fields) & set(ClipTray.model_fields)
        values = {name: getattr(self, name) for name in names}
        return ClipTray.model_construct(**values, fixing="none")

    def _tray(self, base: Base) -> ClipTray:
        return self._as_tray.model_copy(update={"floor": base.thickness_mm})

    def must_fit(self, base: Base) -> ClipTraySizes:
        """Declare the pocket and the height under the noses."""
        return self._tray(base).must_fit()

    def space(self, base: Base) -> Space:
        """The pockets, and room before the wires and behind the finger gaps."""
        tray = self._tray(base)
        form = tray.form(tray.must_fit())
        half_x = form.length / 2 + _RIM_MM + AIR_MM
        half_y = form.width / 2 + _RIM_MM + AIR_MM
        front = _FINGER_MM if self.wires != "none" else 0.0
        back = _FINGER_MM if self.wires == "both" or self.finger > 0.5 else 0.0
        return Space(
            body=(-half_x, -half_y, half_x, half_y),
            free=(-half_x, -half_y - front, half_x, half_y + back),
            height_mm=tray.top_mm(form) - base.thickness_mm,
        )

    def fixture(self, sizes: ClipTraySizes, base: Base) -> Fixture:
        """Make pockets and arms as one piece of plate."""
        tray = self._tray(base)
        form = tray.form(sizes)
        t, a, b = base.thickness_mm, form.half_x, form.half_y
        x, y = form.pockets[0]
        z = self.body_height / 2
        arms = (
            tray.snap_arm(form, number, side)
            for number in range(len(form.pockets))
            for side in (1, -1)
        )
        from dataclasses import replace

        return Fixture(
            pieces=(_piece(tray, form),),
            ghosts=_ghosts(form.pockets, (self.body_width, self.body_length, self.body_height)),
            dimensions=(
                KeyDimension.of(
                    sizes.pocket_length,
                    body="",
                    start=(x + a - 0.5, y - b, 0.0),
                    end=(x + a - 0.5, y + b, 0.0),
                ),
                KeyDimension.of(
                    sizes.pocket_width, body="", start=(x - a, y, z), end=(x + a, y, z)
                ),
                KeyDimension.of(
                    sizes.under_the_nose,
                    body="",
                    start=(x - a, y + form.tip + 1, 0.0),
                    end=(x - a, y + form.tip + 1, form.high - t),
                ),
            ),
            walls=(
                Wall(
                    name="pocket wall",
                    body="",
                    thickness_mm=self.wall,
                    at=(-form.length / 2 + self.wall / 2, 0.0, z),
                ),
                Wall(
                    name="arm",
                    body="",
                    thickness_mm=tray.bent.arm,
                    at=(x + a + tray.bent.arm / 2, y, z),
                ),
            ),
            arms=tuple(
                replace(arm, body="", at=(arm.at[0], arm.at[1], arm.at[2] - t)) for arm in arms
            ),
        )


@lru_cache(maxsize=16)
def _piece(tray: ClipTray, form: TrayForm) -> Piece:
    """Pockets on their bit of plate, its upper face at z = 0; made and analysed once."""
    from fitkit.solids.bodies import checked, extrude, fuse, moved, raw
    from fitkit.solids.let_in import Piece
    from fitkit.solids.profiles import rectangle

    plate = rectangle(form.length + 2 * _RIM_MM, form.width + 2 * _RIM_MM)
    floor = extrude(plate.with_holes(*tray.slots(form)), tray.floor)
    shape = fuse(floor, *tray.uprights(form))
    solid = checked(moved(shape, z=-tray.floor), "block between arms")
    return Piece(raw(solid), plate.outer)


@lru_cache(maxsize=16)
def _ghosts(
    pockets: tuple[tuple[float, float], ...], size: tuple[float, float, float]
) -> tuple[Body, ...]:
    from fitkit.solids.bodies import checked

    wide, long, high = size
    return tuple(
        Body(
            name=f"body {number}",
            solid=checked(
                box(
                    (u - wide / 2, v - long / 2, 0.01),
                    (u + wide / 2, v + long / 2, high),
                ),
                "body",
                proved=True,
            ),
        )
        for number, (u, v) in enumerate(pockets, start=1)
    )
