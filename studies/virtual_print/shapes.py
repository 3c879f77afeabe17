"""What is printed, in a machine's terms: a face-to-face size, and what surrounds it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

__all__ = ["Shape"]


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One size of a part as drawn.

    Attributes
    ----------
    name : str
    sort : str
        ``block`` and ``post`` are measured over, ``gap`` (between two ribs), ``pocket`` (walls all
        round), ``bore``, ``flat`` (of a D-shaped bore) and ``lying bore`` between; ``step`` is a
        height over the bed, ``window`` the free height of an opening in an upright wall, ``pitch``
        a distance between two bores.
    way : {"x", "y", "z"}
    mm : float
        As drawn.
    wall_mm, wall_long_mm : float
        Thickness and free length of the walls beside it; 0 where they cannot bow.
    floor_mm : float
        Of a window: height of its floor over the bed, as drawn.
    at : 2 floats
        Place on the bed, -1 to 1.
    at_bed : bool
        Measured on the first layer.
    """

    name: str
    sort: Literal[
        "block", "post", "gap", "pocket", "bore", "flat", "lying bore", "step", "window", "pitch"
    ]
    way: Literal["x", "y", "z"] = "x"
    mm: float
    wall_mm: float = 0.0
    wall_long_mm: float = 0.0
    floor_mm: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)
    at_bed: bool = False

    def drawn(self, mm: float) -> Shape:
        """Give the same, drawn otherwise."""
        return replace(self, mm=mm)
