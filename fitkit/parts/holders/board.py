"""A circuit board on standoffs, its plugs through the wall beside it, windows over its parts.

Standoffs, ports and windows are those of the board case: places on the board count from its left
front corner, heights from its upper face. The board's underside is drawn in whole layers from the
bed, and its ports count from there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from fitkit.core.sizes import HEIGHT
from fitkit.parts.contract import Boss, KeyDimension, Length, Wall, Warm
from fitkit.parts.designs.board_case.buys import board_buys
from fitkit.parts.designs.board_case.ghosts import board_blocks
from fitkit.parts.designs.board_case.measuring import BOARD
from fitkit.parts.designs.board_case.parameters import Hole, Parameters, Port, Window
from fitkit.parts.designs.board_case.practice import GROW_RING_MM
from fitkit.parts.designs.board_case.sizes import (
    Distance,
    Place,
    PortSizes,
    board_hold,
    board_screw_mm,
    board_z_mm,
    bore_floor_mm,
    case_sizes,
    placed,
)
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm
from fitkit.parts.forms import Rules, choice
from fitkit.parts.holder import AIR_MM, Base, Fixture, Holder, Space, WallOpening, taken_from
from fitkit.parts.measuring import Measuring  # noqa: TC001 - pydantic reads the annotation

if TYPE_CHECKING:
    from fitkit.parts.holder import WallName

__all__ = ["BoardOnStandoffs"]

_BORE_MORE_MM = 0.8  # by which a bore may be drawn wider than it should print
_INSIDE_MM = 0.1  # from a standoff to the edge of the board's room
_LONGEST_MM = 12.0  # of thread in a standoff
_WALLS: tuple[WallName, ...] = ("left", "right", "front", "back")


@dataclass(frozen=True, kw_only=True)
class BoardSizes(SizeSet):
    """Sizes of standoffs, ports and windows that must fit."""

    underside: FitSize
    distances: tuple[Distance, ...] = ()
    standoff_spacing_x: FitSize | None = None
    standoff_spacing_y: FitSize | None = None
    screw_pilot: FitSize | None = None
    insert_hole: FitSize | None = None
    ports: tuple[PortSizes, ...] = ()
    windows: tuple[Place, ...] = ()

    @property
    def spacing(self) -> tuple[float, float]:
        """Spacing of the standoffs along x and y as drawn, mm; 0 where there is none."""
        return drawn_mm(self.standoff_spacing_x, 0.0), drawn_mm(self.standoff_spacing_y, 0.0)


class BoardOnStandoffs(Holder):
    """A board held by its mounting holes."""

    title: ClassVar[str] = "board on standoffs"
    summary: ClassVar[str] = "A circuit board screwed down by its mounting holes."
    measuring: ClassVar[Measuring] = BOARD

    board_length: Length = taken_from(Parameters, "board_length")
    board_width: Length = taken_from(Parameters, "board_width")
    board_thickness: Length = taken_from(Parameters, "board_thickness")
    tallest_part: Length = taken_from(Parameters, "tallest_part")
    below_board: Length = taken_from(Parameters, "below_board")
    hole_spacing_x: Length = taken_from(Parameters, "hole_spacing_x")
    hole_spacing_y: Length = taken_from(Parameters, "hole_spacing_y")
    hole_diameter: Length = taken_from(Parameters, "hole_diameter")
    hole_offset_x: Length = taken_from(Parameters, "hole_offset_x")
    hole_offset_y: Length = taken_from(Parameters, "hole_offset_y")
    holes: tuple[Hole, ...] = taken_from(Parameters, "holes")
    standoff: Literal["screw", "heat-set"] = choice(
        "screw", "Screws that form their thread, or heat-set inserts.", "Holding"
    )
    screw: Literal["auto", "M2", "M2.5", "M3", "M4", "M5"] = taken_from(Parameters, "screw")
    insert: Length | None = taken_from(Parameters, "insert")
    insert_length: Length | None = taken_from(Parameters, "insert_length")
    standoff_height: Length | None = taken_from(Parameters, "standoff_height")
    ports: tuple[Port, ...] = taken_from(Parameters, "ports")
    windows: tuple[Window, ...] = taken_from(Parameters, "windows")

    @cached_property
    def _as_case(self) -> Parameters:
        """The same board as the board case takes it."""
        names = set(type(self).model_fields) & set(Parameters.model_fields)
        return Parameters.model_construct(**{name: getattr(self, name) for name in names})

    def _on(self, base: Base) -> Parameters:
        """The same board on a floor as thick as the plate."""
        return self._as_case.model_copy(update={"floor": base.thickness_mm})

    def must_fit(self, base: Base) -> BoardSizes:
        """Declare the board's height in the print, its standoffs, ports and windows."""
        case = self._on(base)
        sizes = case_sizes(case)
        return BoardSizes(
            underside=FitSize(nominal_mm=board_z_mm(case), kind=HEIGHT, axis="z"),
            distances=sizes.distances,
            standoff_spacing_x=sizes.standoff_spacing_x,
            standoff_spacing_y=sizes.standoff_spacing_y,
            screw_pilot=sizes.screw_pilot,
            insert_hole=sizes.insert_hole,
            ports=sizes.ports,
            windows=sizes.windows,
        )

    def space(self, base: Base) -> Space:
        """The board with its tallest part; the walls where it has ports."""
        half_x, half_y = self._half(base)
        upper = board_z_mm(self._on(base)) - base.thickness_mm + self.board_thickness
        top = upper + self.tallest_part
        for port in self.ports:
            top = max(top, upper + port.above + port.height / 2)
        walls = {port.wall for port in self.ports}
        return Space(
            body=(-half_x, -half_y, half_x, half_y),
            height_mm=top,
            ties=tuple(wall for wall in _WALLS if wall in walls),
        )

    def _half(self, base: Base) -> tuple[float, float]:
        """Half of the room along x and y: the board with its air, or its standoffs."""
        from fitkit.parts.designs.board_case.levels import standoffs

        case = self._on(base)
        sizes = case_sizes(case)
        bore = drawn_mm(sizes.screw_pilot or sizes.insert_hole) + _BORE_MORE_MM
        least = bore / 2 + GROW_RING_MM + _INSIDE_MM
        places = standoffs(case, sizes)
        return (
            max([self.board_length / 2 + AIR_MM, *(abs(x) + least for x, _ in places)]),
            max([self.board_width / 2 + AIR_MM, *(abs(y) + least for _, y in places)]),
        )

    def fixture(self, sizes: BoardSizes, base: Base) -> Fixture:
        """Make the standoffs, and say where plugs pass the wall."""
        from fitkit.parts.designs.board_case.levels import standoffs
        from fitkit.parts.designs.board_case.rules import thread_room
        from fitkit.solids.profiles import circle
        from fitkit.solids.terraces import Terrace

        case = self._on(base)
        under = sizes.underside.drawn_mm - base.thickness_mm
        places = standoffs(case, sizes)
        bore = drawn_mm(sizes.screw_pilot or sizes.insert_hole)
        self._refuse(places, bore, under)
        hold = board_hold(case)
        boss = hold.insert_boss_mm if self.standoff == "heat-set" else hold.pilot_boss_mm
        wanted = max(boss / 2, bore / 2 + GROW_RING_MM)
        apart = [math.dist(a, b) / 2 - 0.3 for a, b in combinations(places, 2)]
        # They stay within the board's own room, so that they meet no wall and no neighbour.
        half = self._half(base)
        beside = [h - abs(c) - _INSIDE_MM for at in places for h, c in zip(half, at, strict=True)]
        radius = min([wanted, *apart, *beside])
        low = bore_floor_mm(case) - base.thickness_mm
        upper = under + self.board_thickness
        return Fixture(
            warm=Warm(
                at=(0.0, 0.0, upper),
                half_x_mm=self.board_length / 2,
                half_y_mm=self.board_width / 2,
            ),
            levels=tuple(
                Terrace(
                    circle(2 * radius, at=at).outer,
                    under,
                    (Terrace(circle(bore, at=at).outer, low),),
                    root=self._root(radius, under, at, places, base),
                )
                for at in places
            ),
            ghosts=board_blocks(
                (self.board_length, self.board_width, self.board_thickness),
                self.tallest_part,
                self.hole_diameter,
                places,
                under,
            ),
            openings=tuple(
                self._opening(number, port, sizes.ports[number], upper)
                for number, port in enumerate(self.ports)
            ),
            windows=tuple(
                window.model_copy(
                    update={
                        "x": placed(case, "x", window.x, place.x),
                        "y": placed(case, "y", window.y, place.y),
                        "above": upper + window.above,
                    }
                )
                for window, place in zip(self.windows, sizes.windows, strict=True)
            ),
            dimensions=self._dimensions(sizes, places, under),
            walls=(
                Wall(
                    name="standoff",
                    body="",
                    thickness_mm=radius - bore / 2,
                    at=(places[0][0] + radius, places[0][1], under),
                ),
            ),
            findings=tuple(thread_room(case)),
            buys=board_buys(case, len(places), ""),
            bosses=tuple(
                Boss(
                    name=f"standoff {number}",
                    body="",
                    outer_mm=2 * radius,
                    hole_mm=bore,
                    depth_mm=under - low,
                    screw_mm=board_screw_mm(case),
                    at=(x, y, under),
                    insert_mm=bore if self.standoff == "heat-set" else None,
                )
                for number, (x, y) in enumerate(places, start=1)
            ),
        )

    def _root(self, radius: float, under: float, at: Any, places: Any, base: Base) -> float:
        """Radius of the corner at a standoff's foot, within the board's own room."""
        from fitkit.parts.designs.board_case.tray import root_mm

        half = self._half(base)
        beside = [half[0] - abs(at[0]), half[1] - abs(at[1])]
        beside += [math.dist(at, other) / 2 for other in places if other != at]
        return root_mm(radius, under, beside)

    def _refuse(self, places: Any, bore: float, under: float) -> None:
        rules = Rules(self.title)
        beside = bore / 2 + 0.8
        for (i, a), (j, b) in combinations(enumerate(places), 2):
            at: Any = ("holes", j) if self.holes else "hole_spacing_x"
            if not self.holes and abs(a[0] - b[0]) < abs(a[1] - b[1]):
                at = "hole_spacing_y"
            rules.at_least(
                at, math.dist(a, b), 2 * beside + 1.0, "between board holes", one=i + 1, two=j + 1
            )
        for number, (x, y) in enumerate(places):
            for axis, at_mm, side in (("x", x, self.board_length), ("y", y, self.board_width)):
                rules.at_most(
                    ("holes", number, axis) if self.holes else f"hole_spacing_{axis}",
                    abs(at_mm),
                    side / 2,
                    "board hole off the board",
                )
        if self.standoff_height is not None:
            rules.at_least(
                "standoff_height",
                self.standoff_height,
                self.below_board + 0.2,
                "parts below the board",
            )
        rules.refuse()

    def _opening(self, number: int, port: Port, sizes: PortSizes, upper: float) -> WallOpening:
        axis: Literal["x", "y"] = "x" if port.wall in ("front", "back") else "y"
        across = self.board_width if axis == "x" else self.board_length
        return WallOpening(
            port=port,
            sizes=sizes,
            along_mm=placed(self._as_case, axis, port.along, sizes.along),
            above_mm=upper + port.above,
            edge_mm=across / 2,
            path=("ports", number),
        )

    def _dimensions(self, sizes: BoardSizes, places: Any, under: float) -> tuple[KeyDimension, ...]:
        found = []
        bore = sizes.screw_pilot or sizes.insert_hole
        x, y = places[0]
        if bore:
            half = bore.drawn_mm / 2
            found.append(
                KeyDimension.of(bore, body="", start=(x - half, y, under), end=(x + half, y, under))
            )
        for axis, spacing in enumerate((sizes.standoff_spacing_x, sizes.standoff_spacing_y)):
            if spacing:
                middle = [x, y]
                middle[axis] = (self.hole_offset_x, self.hole_offset_y)[axis]
                along: Literal["x", "y"] = "y" if axis else "x"
                found.append(KeyDimension.across(spacing, (middle[0], middle[1], under), along))
        return tuple(found)
