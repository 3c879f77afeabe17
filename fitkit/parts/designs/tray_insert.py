"""Fitted tray for a drawer or box: outside sizes from the drawer's inside, divided in compartments.

Columns and rows are given as relative shares, so that a tray follows a corrected reading without
any other number being touched. Its corners are rounded as the drawer's are. It prints as it lies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from fitkit.core.sizes import OUTSIDE
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, Part, Template, Wall, size
from fitkit.parts.fit_size import SizeSet, holding
from fitkit.parts.forms import Rules, bed_edge, box
from fitkit.parts.measuring import FromReadings, Measuring, Reading
from fitkit.solids.bodies import checked
from fitkit.solids.profiles import rectangle
from fitkit.solids.terraces import Terrace, from_profiles, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.solids.profiles import Profile

__all__ = ["TrayInsert", "spans"]

_LEAST_COMPARTMENT_MM = 5.0
Share = Annotated[float, Field(ge=0.05, le=20)]
Span = tuple[float, float]


def spans(shares: Sequence[float], inside: float, divider: float) -> list[Span]:
    """Lowest and highest coordinate of each compartment along one axis, about the middle, mm.

    Examples
    --------
    >>> spans([1, 2], 64.0, 4.0)
    [(-32.0, -12.0), (-8.0, 32.0)]
    """
    free = inside - divider * (len(shares) - 1)
    whole, at, found = sum(shares), -inside / 2, []
    for share in shares:
        wide = free * share / whole
        found.append((at, at + wide))
        at += wide + divider
    return found


def _shares(text: str) -> Any:
    extra: dict[str, Any] = {"group": "Compartments"}
    return Field(
        default=(1.0, 1.0), min_length=1, max_length=12, description=text, json_schema_extra=extra
    )


@dataclass(frozen=True, kw_only=True)
class TrayInsertSizes(SizeSet):
    """Sizes of a tray insert that must fit."""

    length: FitSize
    width: FitSize


class TrayInsert(Template):
    """Tray with compartments for a drawer or box."""

    title: ClassVar[str] = "tray insert"
    summary: ClassVar[str] = "Fitted tray with compartments for a drawer or box."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="drawer length",
                mode="inside",
                note="inside jaws between its walls along x, low down and at the top: the least",
            ),
            Reading(
                feature="drawer width",
                mode="inside",
                note="inside jaws between its walls along y, likewise",
            ),
            Reading(
                feature="drawer diagonal",
                mode="inside",
                note="inside jaws from corner to opposite corner, at the greatest reading",
            ),
        ),
        sizes=(
            FromReadings(parameter="drawer_length", text="drawer_length"),
            FromReadings(parameter="drawer_width", text="drawer_width"),
            # The diagonal of a rounded rectangle is d = hypot(l - 2 r, w - 2 r) + 2 r.
            FromReadings(
                parameter="corner_radius",
                text="max(0 mm, drawer_length + drawer_width - drawer_diagonal - sqrt(2 * "
                "(drawer_diagonal - drawer_length) * (drawer_diagonal - drawer_width))) / 2",
            ),
        ),
        often=("height", "columns", "rows", "label"),
    )

    drawer_length: Length = size(
        "120 mm", low="30 mm", high="400 mm", measured=True, help="Inside of the drawer along x."
    )
    drawer_width: Length = size(
        "80 mm", low="30 mm", high="400 mm", measured=True, help="Inside of the drawer along y."
    )
    height: Length = size("30 mm", low="8 mm", high="150 mm", help="Height of the tray.")
    corner_radius: Length = size(
        "4 mm", low="0 mm", high="40 mm", measured=True, help="Corners of the drawer's inside."
    )
    wall: Length = size("1.6 mm", low="1.2 mm", high="5 mm", help="Outer walls.")
    divider: Length = size("1.6 mm", low="0.8 mm", high="5 mm", help="Walls between compartments.")
    floor: Length = size("1.4 mm", low="1 mm", high="5 mm", help="Floor.")
    inner_radius: Length = size(
        "2 mm", low="0 mm", high="10 mm", help="Upright corners of the compartments."
    )
    columns: tuple[Share, ...] = _shares("Relative widths of the columns, left to right.")
    rows: tuple[Share, ...] = _shares("Relative widths of the rows, front to back.")

    def must_fit(self) -> TrayInsertSizes:
        """Declare the outside sizes, which go into the drawer."""
        return TrayInsertSizes(
            length=holding(self.drawer_length, "drawer_length", OUTSIDE, "x"),
            width=holding(self.drawer_width, "drawer_width", OUTSIDE, "y"),
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the tray; the drawer's inside is its ghost."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        length, width = sizes.length.drawn_mm, sizes.width.drawn_mm
        across = spans(self.columns, length - 2 * self.wall, self.divider)
        deep = spans(self.rows, width - 2 * self.wall, self.divider)
        self._refuse(across, deep, length, width)
        # A little larger than the drawer's, since a round corner in a square one always goes in.
        radius = min(self.corner_radius + 0.2, min(length, width) / 2 - self.wall)
        from fitkit.solids.label import fitted_text

        (a, b), (c, d) = across[0], deep[0]
        letters, said = fitted_text(
            self.label,
            room=(b - a - 3, d - c - 3),
            at=((a + b) / 2, (c + d) / 2),
            body="tray",
        )
        sunk = from_profiles(letters, self.floor - 0.4, self.floor)
        pockets = tuple(
            Terrace(
                self._pocket(x, y, radius, length, width).outer,
                self.floor,
                sunk if (i, j) == (0, 0) else (),
            )
            for i, x in enumerate(across)
            for j, y in enumerate(deep)
        )
        root = Terrace(rectangle(length, width, radius=radius).outer, self.height, pockets)
        solid = checked(
            terraces(root),
            "tray",
            volume=root.volume(),
            box=(length, width, self.height),
            proved=True,
        )
        shape, findings = bed_edge(solid, body="tray", before=root.volume())
        half_x, half_y, h = self.drawer_length / 2, self.drawer_width / 2, self.height
        drawer = box((-half_x, -half_y, -1.0), (half_x, half_y, -0.01))
        walls = [
            ("outer wall", self.wall, (-length / 2 + self.wall / 2, 0.0, h / 2)),
            ("floor", self.floor, (a, c, self.floor / 2)),
            ("divider", self.divider, (across[0][1] + self.divider / 2, 0.0, h / 2)),
        ]
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="tray", solid=checked(shape, "tray", proved=True)),),
            ghosts=(Body(name="drawer", solid=checked(drawer, "drawer", proved=True)),),
            dimensions=(
                KeyDimension.across(sizes.length, (0, 0, h / 2), "x", body="tray"),
                KeyDimension.across(sizes.width, (0, 0, h / 2), "y", body="tray"),
            ),
            walls=tuple(
                Wall(name=name, body="tray", thickness_mm=thick, at=at)
                for name, thick, at in walls[: 3 if len(across) > 1 else 2]
            ),
            findings=(*findings, *said),
        )

    def _pocket(self, x: Span, y: Span, radius: float, length: float, width: float) -> Profile:
        """Outline of a compartment; one in the tray's corner follows its round corner."""

        def at_end(span: Span, side: float) -> bool:
            return max(-span[0], span[1]) > side / 2 - self.wall - 1e-6

        round_mm = self.inner_radius
        if at_end(x, length) and at_end(y, width):
            round_mm = max(round_mm, radius - self.wall)
        wide, deep = x[1] - x[0], y[1] - y[0]
        return rectangle(
            wide,
            deep,
            radius=min(min(wide, deep) / 2 - 0.01, round_mm),
            at=((x[0] + x[1]) / 2, (y[0] + y[1]) / 2),
        )

    def _refuse(
        self, across: Sequence[Span], deep: Sequence[Span], length: float, width: float
    ) -> None:
        rules = Rules(self.title)
        for name, parts in (("columns", across), ("rows", deep)):
            least = min(b - a for a, b in parts)
            rules.at_least(name, least, _LEAST_COMPARTMENT_MM, "narrow compartment")
        rules.at_most(
            "corner_radius",
            self.corner_radius,
            min(length, width) / 2 - 2 * self.wall,
            "drawer corners",
        )
        # The tray's round corner must not cut into the square-cornered compartment in it.
        most = min(b - a for parts in (across, deep) for a, b in (parts[0], parts[-1]))
        lacking = self.corner_radius + 0.2 - self.wall
        rules.at_most(
            "corner_radius",
            self.corner_radius,
            max(self.wall, most / 2 - 0.1 + self.wall - 0.2) if lacking > 0 else self.corner_radius,
            "corner compartments",
        )
        rules.refuse()
