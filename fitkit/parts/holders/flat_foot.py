"""A flat foot: all of a given shape beyond a plane is cut off, and it prints standing there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from fitkit.parts.on_shape import ShapeFeature, Worked

if TYPE_CHECKING:
    from fitkit.parts.holder import Base

__all__ = ["FlatFoot"]


class FlatFoot(ShapeFeature):
    """A plane on which a given shape stands."""

    title: ClassVar[str] = "flat foot"
    summary: ClassVar[str] = "The shape ends at a plane, and is printed standing on it."

    def fixture(self, sizes: Any, base: Base) -> Worked:
        """Cut by the plane."""
        return Worked(halves=True, through=True)
