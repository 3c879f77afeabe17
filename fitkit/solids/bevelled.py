"""Prisms with a chamfer round their lower edge, put together face by face.

The kernel's chamfer fails where a round meets a straight side at an angle, and a loft between two
outlines is ruled there: near the chamfer, but not on it. Here each side of the outline gets the
face that a chamfer has: a plane under a straight side, a cone under an arc. Neighbours meet in a
straight line where that lies in both, otherwise in the curve that the kernel finds for their two
surfaces: a parabola for a plane and a cone that both lean by 45°.

Leaves out holes, outlines of one full circle (`solids.revolve` makes those), and arcs that meet
arcs at an angle.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import PartError
from fitkit.solids.bodies import Shape, flat_face, kernel_names
from fitkit.solids.faces import outer_wire, sides_of, solid_of
from fitkit.solids.profiles import Loop, Profile, above_zero, arc_centre

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["bevelled"]

_NEAR_MM = 1e-7  # the kernel's own tolerance
Corner = tuple[float, float, float]


def bevelled(foot: Loop, outline: Loop, leg: float, height: float) -> Shape:
    """Raise an outline from 0 to `height`, drawn in to `foot` at 0 and whole from `leg` upwards.

    Parameters
    ----------
    foot, outline : Loop
        Counter-clockwise, side for side alike: lines parallel, arcs about the same centres.
    leg, height : float, mm

    Raises
    ------
    PartError
        If a size is not above zero, or two neighbouring sides do not meet along the chamfer.

    Examples
    --------
    >>> from fitkit.solids.profiles import d_shape
    >>> from fitkit.solids.bodies import is_valid
    >>> is_valid(bevelled(d_shape(9.4, 7.4).outer, d_shape(10.0, 8.0).outer, 0.3, 5.0))
    True
    """
    above_zero(leg=leg, height_over_the_chamfer=height - leg)
    k = kernel_names()
    low, high = flat_face(Profile(foot), 0.0), flat_face(Profile(outline), leg)
    prism = k.BRepPrimAPI_MakePrism(high, k.gp_Vec(0, 0, height - leg))
    lower, upper = _edges(k, low), _edges(k, high)
    slants = [_slant(k, a, b, leg) for a, b in zip(foot.sides(), outline.sides(), strict=True)]
    # Each side rises at its start from the corner that it shares with the side before.
    rising = [
        _meeting(k, slants[i - 1], slants[i], _start(k, lower[i]), _start(k, upper[i]))
        for i in range(len(slants))
    ]
    faces = [
        _face(k, slant, [lower[i], rising[(i + 1) % len(slants)], upper[i].Reversed(),
                         rising[i].Reversed()])
        for i, slant in enumerate(slants)
    ]  # fmt: skip
    ends = [low.Reversed(), prism.LastShape().Oriented(k.TopAbs_FORWARD)]
    return solid_of([*faces, *sides_of(prism), *ends])


def _edges(k: Any, face: Shape) -> list[Shape]:
    """Edges of a flat face's outline, in the order of its sides."""
    found, walk = [], k.TopoDS_Iterator(outer_wire(face))
    while walk.More():
        found.append(k.TopoDS.Edge(walk.Value()))
        walk.Next()
    return found


def _start(k: Any, edge: Shape) -> Any:
    return k.TopExp.FirstVertex_s(edge, True)


def _slant(k: Any, low: tuple[Corner, Corner], high: tuple[Corner, Corner], leg: float) -> Any:
    """Surface between a side at 0 and its like at `leg`."""
    (x, y, bulge), (u, v, _) = low
    (a, b, _), (c, d, _) = high
    if not bulge:
        along, up = k.gp_Vec(u - x, v - y, 0), k.gp_Vec(a - x, b - y, leg)
        return k.Geom_Plane(k.gp_Pnt(x, y, 0), k.gp_Dir(along.Crossed(up)))
    cx, cy, radius = arc_centre((x, y), (u, v), bulge)
    above = arc_centre((a, b), (c, d), high[0][2])[2]
    # The cone's seam lies across from the arc, which bulges to the right of its chord (to the left
    # if it runs clockwise), so that the arc does not run over it.
    turn = math.copysign(1.0, bulge)
    across = k.gp_Dir(turn * (y - v), turn * (u - x), 0)
    axes = k.gp_Ax3(k.gp_Pnt(cx, cy, 0), k.gp_Dir(0, 0, 1), across)
    return k.Geom_ConicalSurface(axes, math.atan2(above - radius, leg), radius)


def _meeting(k: Any, one: Shape, other: Shape, low: Any, high: Any) -> Any:
    """Edge that rises between two vertices and lies in both surfaces."""
    a, b = k.BRep_Tool.Pnt_s(low), k.BRep_Tool.Pnt_s(high)
    middle = k.gp_Pnt((a.X() + b.X()) / 2, (a.Y() + b.Y()) / 2, (a.Z() + b.Z()) / 2)
    off = [k.GeomAPI_ProjectPointOnSurf(middle, s).LowerDistance() for s in (one, other)]
    if max(off) < _NEAR_MM:
        return k.BRepBuilderAPI_MakeEdge(low, high).Edge()
    found = k.GeomAPI_IntSS(one, other, _NEAR_MM)
    for i in range(1, found.NbLines() + 1):
        made = k.BRepBuilderAPI_MakeEdge(found.Line(i), low, high)
        if made.IsDone():
            edge = made.Edge()
            # The curve may run downwards, and the kernel's edge then does.
            return edge if _start(k, edge).IsSame(low) else k.TopoDS.Edge(edge.Reversed())
    raise PartError(
        f"two sides of the outline do not meet along the chamfer at ({b.X():.3f}, {b.Y():.3f})",
        where="bevelled",
        code="solid.chamfer-too-large",
        remedy="Make the chamfer smaller.",
    )


def _face(k: Any, surface: Any, around: Sequence[Shape]) -> Shape:
    """Face of a surface that looks outwards, within edges that run round it."""
    builder, wire, face = k.BRep_Builder(), k.TopoDS_Wire(), k.TopoDS_Face()
    builder.MakeWire(wire)
    for edge in around:
        builder.Add(wire, edge)
    wire.Closed(True)
    builder.MakeFace(face, surface, _NEAR_MM)
    if isinstance(surface, k.Geom_Plane):
        builder.Add(face, wire)
        return face
    # A cone that narrows upwards is the inside of a hollow, and the kernel's cones look outwards.
    hollow = surface.SemiAngle() < 0
    builder.Add(face, wire.Reversed() if hollow else wire)
    for edge in around:
        k.ShapeFix_Edge().FixAddPCurve(k.TopoDS.Edge(edge), face, False)
    return face.Reversed() if hollow else face
