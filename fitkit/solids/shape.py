"""What fitkit asks of a shape of the kernel, whose own names carry no types.

Calls of the kernel are unchecked; what goes from one function of ours to another is checked by
this. Solids, faces, wires and edges are all shapes: the kernel tells them apart as it runs.
"""

from __future__ import annotations

from typing import Any, Protocol

__all__ = ["Shape"]


class Shape(Protocol):
    """A kernel shape (TopoDS_Shape); the ``wrapped`` of a build123d solid is one."""

    def Closed(self, closed: bool = ...) -> Any:
        """Tell, or say, whether a wire or shell is closed."""

    def Location(self, location: Any = ..., raise_exc: bool = ...) -> Any:
        """Tell, or say, where it lies."""

    def EmptyCopied(self) -> Shape:
        """Give a copy without what it is made of."""

    def IsNull(self) -> bool:
        """Tell whether there is nothing."""

    def IsSame(self, other: Shape, /) -> bool:
        """Tell whether both are the same piece of a solid, at the same place."""

    def Moved(self, location: Any, /) -> Shape:
        """Give it moved."""

    def Orientation(self) -> Any:
        """Tell which way it looks."""

    def Oriented(self, orientation: Any, /) -> Shape:
        """Give it looking that way."""

    def Reversed(self) -> Shape:
        """Give it looking the other way."""

    def ShapeType(self) -> Any:
        """Tell its kind."""
