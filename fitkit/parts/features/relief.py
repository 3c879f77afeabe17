"""What text and logo share: flat outlines sunk into a side, or standing on a wall.

The outer faces of lid and floor lie on the bed, so nothing can stand on them; what is sunk there is
bridged by the first layers over it. Under the floor all is mirrored, to be read from below.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self

from pydantic import PrivateAttr

from fitkit.core.errors import PartError
from fitkit.parts.contract import Length, size
from fitkit.parts.feature import WALLS, Feature, Side, SideName, Taken, Work
from fitkit.parts.forms import choice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.core.finding import Finding
    from fitkit.solids.profiles import Profile

__all__ = ["Relief"]

_BESIDE_MM = 1.0  # free round it. Common practice, no source.
_LEFT_MM = 0.8  # least plastic behind what is sunk: two lines of a nozzle of 0.4 mm
_OVER_MM = 0.5  # past the face
_ROOT_MM = 0.3  # how far what stands is let into the wall


class Relief(Feature):
    """Base of what is drawn into a side as flat outlines."""

    sides: ClassVar[tuple[SideName, ...]] = (*WALLS, "lid", "floor")
    _in_mirror: bool = PrivateAttr(default=False)

    relief: Literal["sunk", "raised"] = choice(
        "sunk", "Sunk into the side, or standing on it (walls alone).", "Feature"
    )
    deep: Length = size(
        "0.4 mm",
        low="0.2 mm",
        high="2 mm",
        group="Feature",
        help="How deep, or how high it stands.",
    )
    above: Length | None = choice(
        None, "Its middle over the bed, on a wall; half way up if not given.", "Feature"
    )
    across: Length | None = choice(
        None, "Middle along y, on lid and floor; the first free place if not given.", "Feature"
    )

    def with_letters_mirrored(self) -> Self:
        """Give the same feature, drawn as in a mirror."""
        made = self.model_copy()
        made._in_mirror = not self._in_mirror
        return made

    def flat(self) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
        """Give the outlines about the origin as their reader sees them, and what is to be said."""
        raise NotImplementedError

    def _seen(self, side: Side) -> tuple[list[Profile], tuple[Finding, ...]]:
        """Outlines along and up the side."""
        if self.relief == "raised" and not side.is_wall:
            raise PartError(
                f"nothing can stand on the {side.name}: that face lies on the bed",
                at=("relief",),
                code="feature.on-the-bed",
                remedy='Write relief = "sunk", or put it on a wall.',
            )
        if self.relief == "sunk" and side.thick_mm - self.deep < _LEFT_MM - 1e-9:
            raise PartError(
                f"{self.deep:.2g} mm deep, it leaves {side.thick_mm - self.deep:.2g} mm of the "
                f"{side.name}, and {_LEFT_MM:g} mm are needed",
                at=("deep",),
                code="feature.too-deep",
                remedy="Make it less deep, or the side thicker.",
            )
        shapes, said = self.flat()
        if (side.name == "floor") != self._in_mirror:
            return [shape.mirrored() for shape in shapes], said
        return list(shapes), said

    def _up(self, side: Side) -> float:
        if not side.is_wall:
            return self.across or 0.0
        return side.high_mm / 2 if self.above is None else self.above

    def room(self, sizes: Any, side: Side) -> Taken:
        """Give the box of the outlines with some room round it."""
        shapes, _ = self._seen(side)
        low, bottom, high, top = _box(shapes)
        up, more = self._up(side), _BESIDE_MM
        return Taken(low - more, bottom + up - more, high + more, top + up + more)

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give the outlines as tools, or as what stands on the wall."""
        shapes, said = self._seen(side)
        up = self._up(side) * (1.0 if side.is_wall else side.stretch_up)
        placed = [shape.moved(at, up) for shape in shapes]
        if self.relief == "raised":
            stand = (side.prism(flat, inward=_ROOT_MM, outward=self.deep) for flat in placed)
            return Work(add=tuple(stand), findings=said)
        tools = (side.prism(flat, inward=self.deep, outward=_OVER_MM) for flat in placed)
        return Work(cut=tuple(tools), findings=said)


def _box(shapes: Sequence[Profile]) -> tuple[float, float, float, float]:
    boxes = [shape.box for shape in shapes]
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )
