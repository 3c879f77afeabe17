"""What a draughtsman sees of a solid: outlines in front and behind, round edges, cut faces.

Hidden lines come from the kernel's exact algorithm (`HLRBRep_Algo`), not from triangles: curves
stay curves until they are written down as short straight pieces, nowhere off by over 0.01 mm.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.solids.bodies import KERNEL_IMPORT, Shape, raw

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build123d import Solid

__all__ = ["Projected", "Round", "projected", "rounds", "section_lines"]

FloatArray = npt.NDArray[np.float64]
Vector = tuple[float, float, float]
_CHORD_MM = 0.01


class Round(NamedTuple):
    """A whole round edge that is seen as a circle, or from its side as an axis.

    Attributes
    ----------
    middle : (x, y, z), mm
    axis : unit vector
    radius : float, mm
    """

    middle: Vector
    axis: Vector
    radius: float


class Projected(NamedTuple):
    """A solid as it is seen, in the plane of the picture: right and up, mm.

    Attributes
    ----------
    seen, hidden : tuple of arrays of shape (k, 2)
        Lines in front, and lines behind.
    """

    seen: tuple[FloatArray, ...]
    hidden: tuple[FloatArray, ...]


@cache
def _names() -> Any:
    with KERNEL_IMPORT:
        from fitkit.solids import _drawing_names

    return _drawing_names


def projected(
    solid: Solid | Shape, eye: Vector, right: Vector, *, hidden: bool = True
) -> Projected:
    """Look at a solid from far away.

    Parameters
    ----------
    solid : build123d Solid or kernel shape
    eye : unit vector
        From the solid to the eye.
    right : unit vector
        What points to the right in the picture; square to `eye`.
    hidden : bool
        Whether to give lines behind, too.

    Returns
    -------
    Projected
    """
    k = _names()
    seen_from = k.gp_Ax2(k.gp_Pnt(0, 0, 0), k.gp_Dir(*eye), k.gp_Dir(*right))
    algorithm = k.HLRBRep_Algo()
    algorithm.Add(raw(solid))
    algorithm.Projector(k.HLRAlgo_Projector(seen_from))
    algorithm.Update()
    algorithm.Hide()
    lines = k.HLRBRep_HLRToShape(algorithm)
    front = [*_pieces(lines.VCompound()), *_pieces(lines.OutLineVCompound())]
    behind = [*_pieces(lines.HCompound()), *_pieces(lines.OutLineHCompound())] if hidden else []
    return Projected(tuple(front), tuple(behind))


def _pieces(compound: Any) -> Iterator[FloatArray]:
    """Each edge of a flat compound as a line of points, shape (k, 2)."""
    k = _names()
    if compound is None or compound.IsNull():
        return
    k.BRepLib.BuildCurves3d_s(compound)
    yield from (points[:, :2] for points in _edges(compound))


def _edges(shape: Any) -> Iterator[FloatArray]:
    k = _names()
    explorer = k.TopExp_Explorer(shape, k.TopAbs_EDGE)
    while explorer.More():
        curve = k.BRepAdaptor_Curve(k.TopoDS.Edge(explorer.Current()))
        if curve.GetType() == k.GeomAbs_Line:
            ends = [curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter())]
        else:
            split = k.GCPnts_QuasiUniformDeflection(curve, _CHORD_MM)
            ends = [split.Value(i) for i in range(1, split.NbPoints() + 1)]
        yield np.array([[p.X(), p.Y(), p.Z()] for p in ends])
        explorer.Next()


def rounds(solid: Solid | Shape) -> tuple[Round, ...]:
    """Find the whole round edges of a solid, in the order in which the kernel has them."""
    k = _names()
    found: dict[tuple[float, ...], Round] = {}
    explorer = k.TopExp_Explorer(raw(solid), k.TopAbs_EDGE)
    while explorer.More():
        curve = k.BRepAdaptor_Curve(k.TopoDS.Edge(explorer.Current()))
        explorer.Next()
        if curve.GetType() != k.GeomAbs_Circle or not curve.IsClosed():
            continue
        circle = curve.Circle()
        middle, axis = circle.Location(), circle.Axis().Direction()
        one = Round(
            (middle.X(), middle.Y(), middle.Z()),
            (axis.X(), axis.Y(), axis.Z()),
            circle.Radius(),
        )
        found.setdefault(tuple(round(v, 4) for v in (*one.middle, one.radius)), one)
    return tuple(found.values())


def section_lines(solid: Solid | Shape, through: Vector, normal: Vector) -> tuple[FloatArray, ...]:
    """Outlines of the face that a plane cuts, as lines of points, each of shape (k, 3).

    Parameters
    ----------
    solid : build123d Solid or kernel shape
    through : (x, y, z), mm
        A point of the plane.
    normal : unit vector
    """
    k = _names()
    plane = k.gp_Pln(k.gp_Pnt(*through), k.gp_Dir(*normal))
    cut = k.BRepAlgoAPI_Section(raw(solid), plane, False)
    cut.Approximation(True)
    cut.Build()
    return tuple(_edges(cut.Shape()))
