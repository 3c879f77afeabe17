"""Holes through a plate, let in face by face: countersunk, or with a chamfer at the bed.

A hole is given as the body that it takes out, such as a turned section with a cone for the head.
Where the body's two flat ends lie inside two level faces of the plate, its sides become the hole's
walls and its ends holes in those faces. On a plate with two countersunk holes that took 1 ms where
the boolean took 20 ms. What lies between the two faces is not looked at: they must be a plate's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.solids.bodies import Shape, solids_in
from fitkit.solids.faces import (
    Box,
    apart,
    faces_of,
    flat_box,
    holder,
    level_faces,
    solid_of,
    wires_of,
    with_holes,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["pierced"]


def pierced(shape: Shape, tools: Sequence[Shape], *, top: float, bottom: float) -> Shape | None:
    """Take bodies out of a plate between its face at `top`, which looks up, and its underside.

    Parameters
    ----------
    shape : kernel shape of one solid
    tools : sequence of kernel shapes
        Each from `bottom` to `top`, mm, with one flat end at either.
    top, bottom : float, mm

    Returns
    -------
    kernel shape or None
        None where boxes do not prove that the ends lie inside the faces and apart: cut instead.
    """
    kept = list(faces_of(solids_in(shape)[0]))
    heights = {True: top, False: bottom}
    levels = {
        up: [(i, kept[i], z) for i, z, u in level_faces(kept) if u is up and abs(z - at) < 1e-6]
        for up, at in heights.items()
    }
    holed: dict[int, list[Shape]] = {}
    walls: list[Shape] = []
    boxes: dict[bool, list[Box]] = {True: [], False: []}
    for tool in tools:
        faces = list(faces_of(tool))
        ends = {i: up for i, z, up in level_faces(faces) if abs(z - heights[up]) < 1e-6}
        for i, up in ends.items():
            rim = next(wires_of(faces[i])).Reversed()
            boxes[up].append(flat_box(rim))
            plate = holder(levels[up], boxes[up][-1])
            if plate is None:
                return None
            holed.setdefault(plate, []).append(rim)
        walls += [face.Reversed() for i, face in enumerate(faces) if i not in ends]
    if not all(map(apart, boxes.values())):
        return None
    for i, rims in holed.items():
        kept[i] = with_holes(kept[i], rims)
    return solid_of(kept + walls)
