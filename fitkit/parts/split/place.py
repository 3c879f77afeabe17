"""The body as it lies on the bed with the plane through it, and what a joint gives."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import PartError
from fitkit.solids.cut_plane import Along, facing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.contract import Body, Boss, Buy, Point
    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["Place", "Tools", "cut_frame", "laid", "no_room"]


class Place(NamedTuple):
    """The body as it lies, and the plane there."""

    mesh: Mesh
    rotation: FloatArray
    shift: FloatArray
    axis: int
    at: float  # in the coordinates of the laid body

    def back(self, point: FloatArray) -> Point:
        """Take a point of the laid body to the assembly, mm."""
        x, y, z = ((np.asarray(point, float) - self.shift) @ self.rotation).tolist()
        return x, y, z

    def first(self, point: Point) -> bool:
        """Tell whether a point of the assembly is on the first half's side."""
        laid = self.rotation @ np.asarray(point, float) + self.shift
        return bool(laid[self.axis] < self.at)


def laid(body: Body) -> tuple[Mesh, FloatArray, FloatArray]:
    """Give a body's mesh as it lies on the bed, and how it got there: rotation and shift."""
    from fitkit.parts.meshed import mesh_of
    from fitkit.solids.mesh import lay_flat

    return lay_flat(mesh_of(body, for_files=body.mesh is not None), body.print_turn)


class Tools(NamedTuple):
    """What a joint adds to the first half out of the second's room, and cuts out of either."""

    tails: list[Any]
    sockets: list[Any]
    holes: list[Any]
    dimensions: list[tuple[str, int, FloatArray, FloatArray]]  # size, half, start, end
    holds_mm2: float
    buys: tuple[Buy, ...] = ()
    posts: Sequence[Any] = ()  # added to the body before it is cut
    in_first: Sequence[Any] = ()  # cut out of one half alone
    in_second: Sequence[Any] = ()
    bosses: tuple[Boss, ...] = ()


def cut_frame(place: Place) -> tuple[Any, FloatArray]:
    """The body turned so that the plane is level, and the rotation that did it."""
    from fitkit.solids.mesh_kernel import manifold_of, placed

    along: tuple[Along, ...] = ("x", "y", "z")
    turn = facing(along[place.axis])
    return placed(manifold_of(place.mesh), turn, np.zeros(3)), turn


def no_room(title: str, what: str, remedy: str) -> PartError:
    """Say that a joint finds no room in a plane.

    Parameters
    ----------
    title : str
        Of the part.
    what, remedy : str

    Returns
    -------
    PartError
        To be raised.
    """
    return PartError(what, where=title, at=("split", "joint"), code="split.no-room", remedy=remedy)
