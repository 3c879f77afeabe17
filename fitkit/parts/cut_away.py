"""How much of a plate's section its cut-outs take away, for the strength of what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["cut_share"]

_NEAR_MM = 12.0  # a fingertip's width
Box = tuple[float, float, float, float]


def cut_share(boxes: Iterable[Box], along_mm: float, across_mm: float) -> float:
    """Greatest share that is open of a straight section by the middle of a plate.

    A finger bends a plate most where it presses, and is taken to press in the middle: sections
    further away than its width bear little of that. A finger that presses just beside a cut-out is
    what safety factors are for: plate elements of a lid of 69 x 47 mm with slots of 1.6 mm gave
    1.5 to 2.2 times the moment of the whole lid there, and 1.02 times in the middle.

    Parameters
    ----------
    boxes : iterable of (low x, low y, high x, high y), mm
        Boxes round the cut-outs, from the plate's middle.
    along_mm, across_mm : float, mm
        Sides of the plate along x and y.

    Returns
    -------
    float
        0 for a whole plate, up to 1.

    Examples
    --------
    >>> cut_share([(-5.0, -2.0, 5.0, 2.0)], 40.0, 20.0)
    0.25
    >>> cut_share([(15.0, -8.0, 19.0, 8.0)], 40.0, 20.0)  # only the section along x meets it
    0.1
    """
    cuts = list(boxes)
    worst = 0.0
    for axis, side in enumerate((across_mm, along_mm)):
        # Sections square to this axis, just inside each box's two ends.
        for box in cuts:
            low, high = max(box[axis], -_NEAR_MM), min(box[axis + 2], _NEAR_MM)
            for place in (low + 1e-9, high - 1e-9) if low < high else ():
                spans = sorted(
                    (max(b[1 - axis], -side / 2), min(b[3 - axis], side / 2))
                    for b in cuts
                    if b[axis] <= place <= b[axis + 2]
                )
                open_mm, reached = 0.0, -side / 2
                for low, high in spans:
                    open_mm += max(0.0, high - max(low, reached))
                    reached = max(reached, high)
                worst = max(worst, open_mm / side)
    return min(worst, 1.0)
