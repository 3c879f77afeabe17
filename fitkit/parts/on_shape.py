"""Frames on the surface of a given shape, and what a feature there adds and cuts.

A frame has its z along the way out of the shape. Its y looks up the world as far as the surface
lets it (along the world's y on a face that lies), then `turn` turns both about z. A holder or
feature stands on z = 0 of it.

This file loads no CAD kernel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

import numpy as np

from fitkit.parts.holder import Face, Fixture, Holder

if TYPE_CHECKING:
    from fitkit.parts.contract import Point
    from fitkit.solids.mesh import FloatArray
    from fitkit.solids.profiles import Loop
    from fitkit.solids.shape import Shape

__all__ = ["Frame", "ShapeFeature", "Worked", "angles_of", "frame_at", "turn_down"]


class Frame(NamedTuple):
    """Where a feature's frame lies in the assembly: its origin, mm, and its axes as columns."""

    origin: FloatArray
    axes: FloatArray

    def point(self, at: Point) -> Point:
        """Take a point of the frame to the assembly, mm."""
        x, y, z = (self.origin + self.axes @ np.asarray(at)).tolist()
        return x, y, z

    def direction(self, along: Point) -> Point:
        """Take a direction of the frame to the assembly."""
        x, y, z = (self.axes @ np.asarray(along)).tolist()
        return x, y, z

    def shape(self, solid: Any) -> Any:
        """Take a kernel shape of the frame to the assembly."""
        from fitkit.solids.bodies import moved, turned

        a, b, c = angles_of(self.axes)
        x, y, z = self.origin.tolist()
        return moved(turned(solid, x=a, y=b, z=c), x, y, z)

    def along(self, number: int) -> FloatArray:
        """Give one of its axes."""
        return np.asarray(self.axes[:, number])


def frame_at(point: FloatArray, normal: FloatArray, turn: float) -> Frame:
    """Lay a frame on a surface.

    Parameters
    ----------
    point : array of shape (3,), mm
    normal : array of shape (3,)
        The way out, of any length but zero.
    turn : float, degrees
        About the normal, counter-clockwise as seen from outside.

    Returns
    -------
    Frame

    Examples
    --------
    >>> frame = frame_at(np.zeros(3), np.array([0.0, -1.0, 0.0]), 0.0)
    >>> frame.direction((0.0, 1.0, 0.0)), frame.direction((1.0, 0.0, 0.0))
    ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    """
    z = np.asarray(normal, float) / np.linalg.norm(normal)
    up = np.array([0.0, 1.0, 0.0]) if abs(z[2]) > 0.966 else np.array([0.0, 0.0, 1.0])
    y = up - (up @ z) * z
    y /= np.linalg.norm(y)
    x = np.cross(y, z)
    cos, sin = np.round([math.cos(math.radians(turn)), math.sin(math.radians(turn))], 15)
    axes = np.column_stack([cos * x + sin * y, cos * y - sin * x, z])
    return Frame(np.asarray(point, float), axes + 0.0)


def angles_of(axes: FloatArray) -> tuple[float, float, float]:
    """Give the turns about x, then y, then z, in degrees, that make these axes.

    Examples
    --------
    >>> from fitkit.solids.mesh import turn_matrix
    >>> angles_of(turn_matrix((10.0, 20.0, 30.0)))
    (10.0, 20.0, 30.0)
    """
    b = math.asin(max(-1.0, min(1.0, -float(axes[2, 0]))))
    if abs(math.cos(b)) > 1e-9:
        a = math.atan2(axes[2, 1], axes[2, 2])
        c = math.atan2(axes[1, 0], axes[0, 0])
    else:  # x points along the world's z: one of the other two turns says all
        a, c = math.atan2(-axes[1, 2], axes[1, 1]), 0.0
    found = [round(math.degrees(angle), 12) + 0.0 for angle in (a, b, c)]
    return found[0], found[1], found[2]


def turn_down(normal: FloatArray) -> Point:
    """Give the turns about x, then y, then z, in degrees, that make a direction look down.

    Examples
    --------
    >>> turn_down(np.array([0.0, 0.0, -1.0]))
    (0.0, 0.0, 0.0)
    >>> turn_down(np.array([0.0, 1.0, 0.0]))
    (-90.0, 0.0, 0.0)
    """
    x, y, z = np.asarray(normal, float) / np.linalg.norm(normal)
    a = math.atan2(-y, -z) if math.hypot(y, z) > 1e-12 else 0.0
    b = math.atan2(x, math.hypot(y, z))
    return round(math.degrees(a), 12) + 0.0, round(math.degrees(b), 12) + 0.0, 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worked(Fixture):
    """What a feature of a given shape gives, in its own frame, mm.

    Attributes
    ----------
    adds, cuts : tuples of kernel shapes
        What is added to the shape first, and what is cut out of all afterwards.
    root : Loop or None
        Outline of what is added, where it leaves the surface; below it must lie in the shape.
    clear : Loop or None
        Outline within which the shape itself is cut away above z = 0.
    clear_mm : float, mm
        Least height of that.
    halves : bool
        It cuts all of the shape above z = 0.
    through : bool
        It may come out of the shape on another side, and run into other features.
    """

    adds: tuple[Shape, ...] = ()
    cuts: tuple[Shape, ...] = ()
    root: Loop | None = None
    clear: Loop | None = None
    clear_mm: float = 0.0
    halves: bool = False
    through: bool = False


class ShapeFeature(Holder):
    """Base of what is made on a given shape alone; `space` is not asked of it."""

    faces: ClassVar[tuple[Face, ...]] = ("shape",)
