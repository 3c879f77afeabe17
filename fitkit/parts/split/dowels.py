"""Two bought pins of two diameters, glued; the two diameters key the halves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fitkit.parts.contract import Buy
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.split.place import Place, Tools, cut_frame, no_room

if TYPE_CHECKING:
    from fitkit.parts.split.plan import Split, SplitSizes
    from fitkit.solids.mesh import FloatArray

__all__ = ["dowels"]

_FREE_MM = 0.2
_ROUND_MM = 1.2  # least plastic round a dowel; common practice, no source


def dowels(split: Split, sizes: SplitSizes, place: Place, title: str) -> Tools:
    """Give the holes of two dowels, as far apart as the cut lets them stand.

    Parameters
    ----------
    split : Split
    sizes : SplitSizes
        As drawn.
    place : Place
    title : str
        Of the part, for messages.

    Returns
    -------
    Tools

    Raises
    ------
    PartError
        If the joint finds no room in this plane.
    """
    from fitkit.solids.bodies import extrude, moved, turned
    from fitkit.solids.mesh_kernel import outlines_at, stands_in
    from fitkit.solids.profiles import circle

    solid, turn = cut_frame(place)
    long = split.dowel_length_mm / 2 + _FREE_MM
    wides = (drawn_mm(sizes.dowel_hole), drawn_mm(sizes.thin_dowel_hole))
    found: list[list[FloatArray]] = []
    for wide in wides:
        able = []
        # Along the rim, and further in where the body narrows beside the plane.
        inner = [
            outline
            for deeper in (0.0, 3.0, 8.0, 15.0)
            for outline in outlines_at(
                solid, place.at + 1e-4, grown_mm=-(wide / 2 + _ROUND_MM + deeper)
            )
        ]
        for outline in inner:
            for point in _along(outline):
                ring = [
                    (math.cos(a) * (wide / 2 + 0.8), math.sin(a) * (wide / 2 + 0.8))
                    for a in np.arange(0, 2 * math.pi, math.pi / 4)
                ]
                depths = (-long - 1.0, -long / 2, long / 2, long + 1.0)
                if all(
                    stands_in(solid, np.array([point[0] + x, point[1] + y, place.at + w]))
                    for w in depths
                    for x, y in ring
                ):
                    able.append(point)
        found.append(able)
    pairs = [(a, b) for a in found[0] for b in found[1]]
    apart = [float(np.linalg.norm(a - b)) for a, b in pairs]
    if not pairs or max(apart) < 2 * wides[0] + 2 * _ROUND_MM:
        raise no_room(
            title,
            f"the cut has no room for two dowels of {split.dowel_mm:g} and {split.dowel_mm - 1:g} "
            f"mm, {split.dowel_length_mm:g} mm long, with {_ROUND_MM:g} mm of plastic round each",
            "Make 'dowel' or 'dowel_length' smaller, or choose another place or joint.",
        )
    best = max(range(len(pairs)), key=lambda i: round(apart[i], 6))
    holes, ends = [], []
    names = ("dowel hole", "thin dowel hole")
    for name, wide, (u, v) in zip(names, wides, pairs[best], strict=True):
        middle = np.array([u, v, place.at]) @ turn  # back to the laid body
        tool = extrude(circle(wide), 2 * long, z=-long)
        if place.axis == 0:
            tool = turned(tool, y=90)
        elif place.axis == 1:
            tool = turned(tool, x=90)
        holes.append(moved(tool, *middle.tolist()))
        side = np.zeros(3)
        side[(place.axis + 1) % 3] = wide / 2
        ends.append((name, 1, middle - side, middle + side))
    buys = tuple(
        Buy(
            what=f"dowel pin {d:g} mm, {split.dowel_length_mm:g} mm long",
            count=1,
            why=f"joint of {split.body}",
        )
        for d in (split.dowel_mm, split.dowel_mm - 1)
    )
    holds = math.pi / 4 * (split.dowel_mm**2 + (split.dowel_mm - 1) ** 2)
    return Tools([], [], holes, ends, holds, buys)


def _along(outline: FloatArray) -> list[FloatArray]:
    """Points along an outline, some 40 of them."""
    following = np.roll(outline, -1, axis=0)
    steps = np.linalg.norm(following - outline, axis=1)
    total = float(steps.sum())
    found = []
    for start, end, length in zip(outline, following, steps, strict=True):
        count = max(1, math.ceil(float(length) / max(total / 40, 0.5)))
        found += [start + (end - start) * k / count for k in range(count)]
    return found
