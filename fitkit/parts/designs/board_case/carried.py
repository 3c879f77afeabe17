"""What another carrier puts into the shell of a case: the board case itself puts in nothing.

A case for several things is drawn by the same files as the board case. What it holds comes to them
as regions of the floor and of the lid's inside, boxes of the lid that are taken, and the names by
which its ports are told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitkit.solids.terraces import Terrace

__all__ = ["NOTHING", "Carried"]

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """Regions that are nested in the floor and in the lid, and what must keep clear of them.

    Attributes
    ----------
    floor : tuple of Terrace
        In the floor's face, heights over the bed.
    lid : tuple of Terrace
        In the lid's inner face as it prints: x as in the case, y mirrored, heights over the bed.
    lid_boxes : tuple of box, mm
        What these regions and their things take of the lid, seen from above the case.
    floor_text : ((length, width), (x, y)) or None, mm
        Room for the label on the floor, and its middle; None for the board case's own rule.
    """

    floor: tuple[Terrace, ...] = ()
    lid: tuple[Terrace, ...] = ()
    lid_boxes: tuple[Box, ...] = ()
    floor_text: tuple[tuple[float, float], tuple[float, float]] | None = None


NOTHING = Carried()
