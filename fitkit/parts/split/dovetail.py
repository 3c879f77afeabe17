"""Dovetails, seen from above, in an upright plane: put together by sliding along the upright.

Tails and sockets stand beside the middle, so that no half goes in turned round.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.split.place import Place, Tools, cut_frame, no_room

if TYPE_CHECKING:
    from fitkit.parts.split.plan import Split, SplitSizes

__all__ = ["dovetails"]

_SLANT = 0.3  # of a dovetail's side, from square: 17 degrees
_FREE_MM = 0.2
_MOST_TAILS = 6
_OFF_MIDDLE = 0.12  # of the pitch: tails stand so far beside the middle


def dovetails(split: Split, sizes: SplitSizes, place: Place, title: str, tie: float) -> Tools:
    """Give tails and sockets along an upright plane.

    Parameters
    ----------
    split : Split
    sizes : SplitSizes
        As drawn.
    place : Place
    title : str
        Of the part, for messages.
    tie : float
        Shift of all tails, in shares of their pitch.

    Returns
    -------
    Tools

    Raises
    ------
    PartError
        If the joint finds no room in this plane.
    """
    from fitkit.solids.bodies import extrude
    from fitkit.solids.mesh_kernel import area_of, outlines_at

    if place.axis == 2:
        raise no_room(
            title,
            "dovetails are for upright planes, and this one is level",
            'Write joint = "dowels" or joint = "tongue and groove".',
        )
    tail, socket = drawn_mm(sizes.tail), drawn_mm(sizes.socket)
    deep = split.deep_mm
    solid, _ = cut_frame(place)
    # In the turned frame the level axis beside the plane is u (index 0 for x, 1 for y), up is the
    # other one.
    level = 0 if place.axis == 0 else 1
    low, high = place.mesh.bounds
    across = 1 if place.axis == 0 else 0
    begin, end = float(low[across]), float(high[across])
    count = max(1, min(_MOST_TAILS, int((end - begin) / (3.0 * split.tail_mm))))
    pitch = (end - begin) / count
    if pitch < 1.4 * tail:
        raise no_room(
            title,
            f"a dovetail of {tail:.1f} mm needs {1.4 * tail:.0f} mm across, and the body has "
            f"{end - begin:.0f} mm",
            "Make 'tail' smaller, or choose another joint.",
        )
    shift = (_OFF_MIDDLE + tie) * pitch
    most = max((pitch - tail) / 2 - 1.5, 0.3)
    shift = max(-most, min(most, shift))
    middles = [begin + (i + 0.5) * pitch + shift for i in range(count)]
    bottom, top = float(low[2]) - 1.0, float(high[2]) + 1.0

    def strip(wide: float, middle: float, at: float) -> float:
        box = [-1e4, -1e4, 1e4, 1e4]
        box[level], box[level + 2] = middle - wide / 2, middle + wide / 2
        within = (box[0], box[1], box[2], box[3])
        return area_of(outlines_at(solid, at, within=within))

    neck = tail - 2 * _SLANT * deep
    holds, kept = 0.0, []
    for middle in middles:
        at_neck = strip(neck, middle, place.at + 1e-4)
        at_head = strip(tail, middle, place.at + deep + 0.5)
        if at_neck > 4.0 and at_head > 0.5 * at_neck:
            kept.append(middle)
            holds += at_neck
    if neck < 2.0 or not kept:
        raise no_room(
            title,
            "no dovetail finds plastic on both sides of the plane",
            "Choose another place, a smaller 'tail', or joint = \"dowels\".",
        )

    def prism(wide: float, middle: float, reach: float) -> Any:
        from fitkit.solids.profiles import polygon

        root = wide - 2 * _SLANT * reach
        points = [
            (place.at - 0.5, middle - root / 2),
            (place.at, middle - root / 2),
            (place.at + reach, middle - wide / 2),
            (place.at + reach, middle + wide / 2),
            (place.at, middle + root / 2),
            (place.at - 0.5, middle + root / 2),
        ]
        if place.axis == 1:
            points = [(b, a) for a, b in reversed(points)]
        return extrude(polygon(points), top - bottom, z=bottom)

    # A socket as much wider all along as at the head, and deeper by what the head keeps free.
    wider = socket - tail
    reach = deep + _FREE_MM
    sockets = [prism(tail + wider + 2 * _SLANT * _FREE_MM, m, reach) for m in kept]
    z = float(low[2] + high[2]) / 2
    ends = []
    for name, wide, half in (("tail", tail, 1), ("socket", socket, 2)):
        start, stop = np.empty(3), np.empty(3)
        for point, sign in ((start, -1), (stop, 1)):
            point[place.axis] = place.at + deep
            point[across] = kept[0] + sign * wide / 2
            point[2] = z
        ends.append((name, half, start, stop))
    return Tools([prism(tail, m, deep) for m in kept], sockets, [], ends, holds)
