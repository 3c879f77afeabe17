"""Corners of a meshed solid by face and number: the same corner, while a size of the solid changes.

The kernel meshes a face's edges in the order in which the face has them, so two solids of one
build, with sizes that differ a little, have their corners in the same order as long as no face and
no facet comes or goes. `tessellate` sorts its corners by place, which loses that order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.solids.bodies import Shape, raw
from fitkit.solids.kernel import mesher, subshapes

if TYPE_CHECKING:
    from build123d import Solid

    from fitkit.solids.mesh import FloatArray

__all__ = ["named_corners"]


def named_corners(solid: Solid | Shape) -> tuple[FloatArray, tuple[int, ...]]:
    """Give the corners of each face of a solid that has been meshed.

    Parameters
    ----------
    solid : build123d Solid or kernel shape
        After `tessellate`.

    Returns
    -------
    corners : array of shape (n, 3), mm
        Face after face; a corner that faces share comes once for each.
    counts : tuple of int
        How many corners each face has.
    """
    k = mesher()
    corners: list[tuple[float, float, float]] = []
    counts: list[int] = []
    for face in subshapes(raw(solid), k.TopAbs_FACE):
        place = k.TopLoc_Location()
        triangles = k.BRep_Tool.Triangulation_s(k.TopoDS.Face(face), place)
        number = 0 if triangles is None else triangles.NbNodes()
        move = None if place.IsIdentity() else place.Transformation()
        for node in range(1, number + 1):
            point = triangles.Node(node)
            if move is not None:
                point = point.Transformed(move)
            corners.append((point.X(), point.Y(), point.Z()))
        counts.append(number)
    return np.array(corners).reshape(-1, 3), tuple(counts)
