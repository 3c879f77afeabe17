"""Where the coupon's own label goes, such as its trace code: into room that the packing left free.

It comes after all features, so that a coupon with a label is measured as one without. The room that
takes the largest capitals is chosen, along x rather than along y, then the roomiest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.coupon.captions import Caption
from fitkit.parts.designs.coupon.practice import CAPS_MM
from fitkit.solids.label import fitting_caps
from fitkit.solids.rectangles import Rect

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["own_label"]

_CLEAR_MM = 0.5  # from other labels and from jaws' room; common practice, no source


def own_label(text: str, free: Sequence[Rect], thick: float) -> Caption:
    """Place a label on free plate of a thickness, mm; where there is none, with zero size."""
    rooms = [
        (_caption(text, rect, thick, along_x=along_x), along_x, rect.w * rect.d)
        for rect in free or [Rect(0.0, 0.0, 0.0, 0.0)]
        for along_x in (True, False)
    ]

    def worth(room: tuple[Caption, bool, float]) -> tuple[float, bool, float]:
        caption, along_x, area = room
        caps = fitting_caps(text, room=(caption.room, caption.deep), caps=CAPS_MM)
        return caps, along_x, area

    return max(rooms, key=worth)[0]


def _caption(text: str, rect: Rect, thick: float, *, along_x: bool) -> Caption:
    long, deep = (rect.w, rect.d) if along_x else (rect.d, rect.w)
    return Caption(
        text,
        rect.x + rect.w / 2,
        rect.y + rect.d / 2,
        max(long - 2 * _CLEAR_MM, 0.0),
        thick,
        turn=0.0 if along_x else 90.0,
        deep=max(deep - 2 * _CLEAR_MM, 0.0),
    )
