"""Letters and other shallow marks, taken off a solid: a drawing shows them where they are seen.

A mark is a pocket with straight sides in a flat face, at most 0.7 mm deep; labels are sunk 0.4 mm.
The kernel's work on hidden lines grows with the square of the edges of a face: with its letters, a
coupon takes a hundred times as long. So the solid is drawn without them, and their outlines are
drawn flat where the face looks at the eye and nothing stands before it. Hidden lines and sections
leave marks out, as a draughtsman does. Nothing is cut or joined: faces are left off.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.solids.bodies import KERNEL_IMPORT, Shape, raw
from fitkit.solids.faces import faces_of, outer_wire, solid_of, wires_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from build123d import Solid

    from fitkit.solids.projected import Vector

__all__ = ["DEEPEST_MM", "Mark", "seen_marks", "without_marks"]

FloatArray = npt.NDArray[np.float64]
DEEPEST_MM = 0.7


class Mark(NamedTuple):
    """An outline in a flat face.

    Attributes
    ----------
    points : array of shape (k, 3), mm
        Corners in turn, the first again at the end.
    normal : unit vector
        Out of the face.
    """

    points: FloatArray
    normal: Vector


@cache
def _names() -> Any:
    with KERNEL_IMPORT:
        from fitkit.solids import _drawing_names

    return _drawing_names


def without_marks(solid: Solid | Shape) -> tuple[Shape, tuple[Mark, ...]]:
    """Take the marks off a solid.

    Parameters
    ----------
    solid : build123d Solid or kernel shape

    Returns
    -------
    plain : kernel shape
        The solid without marks; itself if it has none.
    marks : tuple of Mark
    """
    shape = raw(solid)
    faces = list(faces_of(shape))
    many = [(face, wires) for face in faces if len(wires := list(wires_of(face))) > 1]
    if not many:
        return shape, ()
    look = _Neighbours(shape)
    changed: dict[int, Shape] = {}
    gone: set[int] = set()
    marks: list[Mark] = []
    for face, wires in many:
        normal = _flat_normal(face)
        if normal is None:
            continue
        around, staying = outer_wire(face), []
        for wire in wires:
            pocket = None if wire.IsSame(around) else _pocket(look, face, wire, normal)
            if pocket is None:
                staying.append(wire)
            else:
                gone |= pocket.faces
                marks += [Mark(_corners(one), normal) for one in pocket.outlines]
        if len(staying) < len(wires):
            changed[look.number(face)] = _with_wires(face, staying)
    if not marks:
        return shape, ()
    numbered = ((look.number(face), face) for face in faces)
    plain = [changed.get(number, face) for number, face in numbered if number not in gone]
    return solid_of(plain), tuple(marks)


def seen_marks(
    plain: Shape, marks: Sequence[Mark], eye: Vector, right: Vector
) -> tuple[FloatArray, ...]:
    """Give the outlines of marks that an eye sees, as lines of shape (k, 2) in its picture.

    Parameters
    ----------
    plain : kernel shape
        The solid without marks, as `without_marks` gives it.
    marks : sequence of Mark
    eye, right : unit vectors
        As for `fitkit.solids.projected.projected`.
    """
    facing = [mark for mark in marks if float(np.dot(mark.normal, eye)) > 1 - 1e-9]
    if not facing:
        return ()
    k = _names()
    ray = k.IntCurvesFace_ShapeIntersector()
    ray.Load(plain, 1e-7)
    flat = np.stack([np.asarray(right, float), np.cross(eye, right)], axis=1)
    seen = []
    for mark in facing:
        x, y, z = (float(v) for v in mark.points[0])
        ray.Perform(k.gp_Lin(k.gp_Pnt(x, y, z), k.gp_Dir(*eye)), 1e-3, 1e6)
        if ray.NbPnt() == 0:
            seen.append(mark.points @ flat)
    return tuple(seen)


def _flat_normal(face: Shape) -> Vector | None:
    """Outward normal of a flat face; None of a curved one."""
    k = _names()
    surface = k.BRepAdaptor_Surface(k.TopoDS.Face(face), False)
    if surface.GetType() != k.GeomAbs_Plane:
        return None
    plane = surface.Plane()
    way = plane.Axis().Direction()
    flipped = (not plane.Direct()) != (face.Orientation() == k.TopAbs_REVERSED)
    sign = -1.0 if flipped else 1.0
    return (sign * way.X(), sign * way.Y(), sign * way.Z())


class _Pocket(NamedTuple):
    """Numbers of the faces that only a mark has, and its outlines."""

    faces: frozenset[int]
    outlines: tuple[Shape, ...]


class _Neighbours:
    """Which faces meet at an edge, and a number for each face."""

    def __init__(self, shape: Shape) -> None:
        k = _names()
        self.beside = k.IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher()
        k.TopExp.MapShapesAndAncestors_s(shape, k.TopAbs_EDGE, k.TopAbs_FACE, self.beside)
        self.numbers = k.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
        k.TopExp.MapShapes_s(shape, k.TopAbs_FACE, self.numbers)

    def number(self, face: Shape) -> int:
        return int(self.numbers.FindIndex(face))

    def across(self, edge: Shape, face: Shape) -> Shape | None:
        """Give the face on the other side of an edge; None if there is not exactly one."""
        two = self.beside.FindFromKey(edge)
        if two.Size() != 2:
            return None
        return two.Last() if two.First().IsSame(face) else two.First()


def _pocket(look: _Neighbours, face: Shape, wire: Shape, normal: Vector) -> _Pocket | None:
    """Look whether a wire in a flat face is the rim of a shallow pocket with straight sides."""
    rim = _edges_of(wire)
    first = look.across(rim[0], face)
    if first is None:
        return None
    heights = _heights(first, normal)
    top, low = max(heights), min(heights)
    if not 1e-4 < top - low <= DEEPEST_MM:
        return None
    under = [edge for edge in _edges_of(first) if max(_heights(edge, normal)) < low + 1e-6]
    floor = look.across(under[0], first) if len(under) == 1 else None
    if floor is None or _flat_normal(floor) is None:
        return None
    walls = _walls(look, face, rim)
    if walls is None or not all(_straight(edge) for edge in rim):
        return None
    faces, outlines = {look.number(floor), *walls}, [wire]
    for around in wires_of(floor):
        foot = _edges_of(around)
        sides = _walls(look, floor, foot)
        if sides is None or (sides != walls and sides & walls):
            return None
        if sides == walls:
            continue
        # An island of a letter, as in an O: its top lies in the face's own plane.
        side = look.across(foot[0], floor)
        if side is None:
            return None
        over = [edge for edge in _edges_of(side) if min(_heights(edge, normal)) > top - 1e-6]
        island = look.across(over[0], side) if len(over) == 1 else None
        if island is None or len(list(wires_of(island))) != 1:
            return None
        if _walls(look, island, _edges_of(island)) != sides:
            return None
        faces |= {*sides, look.number(island)}
        outlines += list(wires_of(island))
    return _Pocket(frozenset(faces), tuple(outlines))


def _walls(look: _Neighbours, face: Shape, rim: list[Shape]) -> set[int] | None:
    """Numbers of the faces across each edge of a rim, each its own; None if they are not."""
    others = [look.across(edge, face) for edge in rim]
    numbers = {look.number(one) for one in others if one is not None}
    return numbers if len(numbers) == len(rim) else None


def _edges_of(shape: Shape) -> list[Shape]:
    k = _names()
    found, walk = [], k.TopExp_Explorer(shape, k.TopAbs_EDGE)
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    return found


def _straight(edge: Shape) -> bool:
    k = _names()
    return bool(k.BRepAdaptor_Curve(k.TopoDS.Edge(edge)).GetType() == k.GeomAbs_Line)


def _heights(shape: Shape, normal: Vector) -> list[float]:
    """How far the corners of a shape lie along a direction, mm."""
    return [float(point @ np.asarray(normal)) for point in _points(shape)]


def _points(shape: Shape) -> list[FloatArray]:
    k = _names()
    found, walk = [], k.TopExp_Explorer(shape, k.TopAbs_VERTEX)
    while walk.More():
        p = k.BRep_Tool.Pnt_s(k.TopoDS.Vertex(walk.Current()))
        found.append(np.array([p.X(), p.Y(), p.Z()]))
        walk.Next()
    return found


def _corners(wire: Shape) -> FloatArray:
    """Corners of a closed wire in turn."""
    k = _names()
    found, walk = [], k.BRepTools_WireExplorer(k.TopoDS.Wire(wire))
    while walk.More():
        p = k.BRep_Tool.Pnt_s(walk.CurrentVertex())
        found.append((p.X(), p.Y(), p.Z()))
        walk.Next()
    return np.array([*found, found[0]])


def _with_wires(face: Shape, wires: Iterable[Shape]) -> Shape:
    """Give a copy of a face that has these wires only."""
    k = _names()
    builder = k.BRep_Builder()
    copy = face.EmptyCopied()
    for wire in wires:
        builder.Add(copy, wire)
    return k.TopoDS.Face(copy)
