"""How a body lies when it is printed: its print turn, dropped to the bed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.solids.bodies import box_of, kernel_names, moved, turned
from fitkit.solids.mesh import turn_matrix

if TYPE_CHECKING:
    from build123d import Solid

    from fitkit.parts.contract import Body
    from fitkit.solids.mesh import FloatArray

__all__ = ["placement", "print_pose"]


def print_pose(body: Body) -> Solid:
    """Give a body's solid turned as it should be printed and dropped to z = 0."""
    from build123d import Solid

    x, y, z = body.print_turn
    shape = turned(body.solid, x=x, y=y, z=z)
    return Solid(kernel_names().TopoDS.Solid(moved(shape, z=-box_of(shape)[0][2])))


def placement(body: Body) -> tuple[FloatArray, FloatArray]:
    """Rotation (3, 3) and shift (3,) in mm that take a body from the assembly to its print pose."""
    turn = turn_matrix(body.print_turn)
    if body.mesh is not None:
        return turn, np.array([0.0, 0.0, -(body.mesh.vertices @ turn[2]).min()])
    x, y, z = body.print_turn
    low = box_of(turned(body.solid, x=x, y=y, z=z))[0][2]
    return turn, np.array([0.0, 0.0, -low])
