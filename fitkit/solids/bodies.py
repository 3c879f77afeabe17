"""Small verbs that make solids: extrude, revolve, loft, fuse, cut, chamfer, check.

Construction calls the kernel itself and joins or cuts many bodies in one boolean, which measured
several times faster than a chain of single ones; `checked` wraps the end result as a build123d
`Solid` after holding its validity, volume and box against what the numbers say, since the kernel
can hand back a "valid" shape from which nothing was cut. Shapes in between are the kernel's own.

Nothing here loads the kernel until a verb is called. Sizes are floats in mm, angles in degrees.
"""

from __future__ import annotations

import math
import threading
from collections import deque
from functools import cache, reduce
from typing import TYPE_CHECKING, Any, Literal

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.solids.profiles import Loop, Profile, above_zero, arc_centre
from fitkit.solids.put_off import put_off
from fitkit.solids.shape import Shape

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from build123d import Solid

__all__ = [
    "Shape",
    "box_of",
    "bundle",
    "chamfer",
    "checked",
    "common",
    "cut",
    "edges",
    "extrude",
    "fillet",
    "flat_face",
    "flat_wire",
    "fuse",
    "is_valid",
    "kernel_names",
    "level_face",
    "loft",
    "mirrored",
    "moved",
    "raw",
    "revolve",
    "smaller_note",
    "solids_in",
    "sphere",
    "turned",
    "volume_of",
]

_TOLERANCE_MM = 1e-7  # the kernel's own
_REMEDY = "Change a size a little; if it stays, report the part sheet."
Point = tuple[float, float, float]


# Two threads that import the kernel at once can see its modules half made, whatever the
# interpreter's own import locks do, since one library holds them all.
KERNEL_IMPORT = threading.RLock()


@cache
def kernel_names() -> Any:
    """Load the kernel's modules once; they take most of a second."""
    with KERNEL_IMPORT:
        put_off()
        try:
            from fitkit.solids import _kernel_names
        except ImportError as error:
            raise PartError(
                f"the CAD kernel cannot be loaded: {error}",
                code="solid.no-kernel",
                remedy="If it misses libGL or libX11 on Debian or Ubuntu, "
                "install libgl1 and libx11-6.",
            ) from error
        return _kernel_names


def raw(shape: Shape | Solid) -> Shape:
    """Give the kernel's shape of a build123d object, or the shape itself."""
    return getattr(shape, "wrapped", shape)


# --- flat outlines to the kernel ---------------------------------------------------------------


def flat_wire(loop: Loop, z: float) -> Shape:
    """Give the kernel's closed wire of an outline at a height, its sides in order."""
    k = kernel_names()
    if loop.is_circle:
        (x, y, _), (u, v, _) = loop.corners
        centre = k.gp_Pnt((x + u) / 2, (y + v) / 2, z)
        round_ = k.gp_Circ(k.gp_Ax2(centre, k.gp_Dir(0, 0, 1)), math.hypot(u - x, v - y) / 2)
        return _closed(k, (k.BRepBuilderAPI_MakeEdge(round_).Edge(),))
    corners = [k.BRepBuilderAPI_MakeVertex(k.gp_Pnt(x, y, z)).Vertex() for x, y, _ in loop.corners]
    sides = []
    for i, ((x, y, bulge), (u, v, _)) in enumerate(loop.sides()):
        start, end = corners[i], corners[(i + 1) % len(corners)]
        if bulge:
            cx, cy, radius = arc_centre((x, y), (u, v), bulge)
            axis = k.gp_Ax2(k.gp_Pnt(cx, cy, z), k.gp_Dir(0, 0, 1 if bulge > 0 else -1))
            edge = k.BRepBuilderAPI_MakeEdge(k.gp_Circ(axis, radius), start, end)
        else:
            edge = k.BRepBuilderAPI_MakeEdge(start, end)
        sides.append(edge.Edge())
    return _closed(k, sides)


def _closed(k: Any, sides: Iterable[Shape]) -> Shape:
    """Wire of edges that share their ends, in order: the kernel's own maker would look for that."""
    builder, wire = k.BRep_Builder(), k.TopoDS_Wire()
    builder.MakeWire(wire)
    for side in sides:
        builder.Add(wire, side)
    wire.Closed(True)
    return wire


def flat_face(profile: Profile, z: float = 0.0) -> Shape:
    """Give the kernel's flat face of a profile at a height, looking up."""
    outer = profile.outer if profile.outer.signed_area > 0 else profile.outer.reversed()
    holes = [flat_wire(hole, z).Reversed() for hole in profile.holes]
    return level_face(z, (flat_wire(outer, z), *holes))


def level_face(z: float, wires: Iterable[Shape]) -> Shape:
    """Give the kernel's flat face at a height, looking up: one wire counter-clockwise, holes not.

    Put together by hand: the kernel's own maker asks on which side of each wire the face lies.
    """
    k = kernel_names()
    builder, face = k.BRep_Builder(), k.TopoDS_Face()
    builder.MakeFace(face, k.Geom_Plane(k.gp_Pnt(0, 0, z), k.gp_Dir(0, 0, 1)), _TOLERANCE_MM)
    for wire in wires:
        builder.Add(face, wire)
    return face


# --- making ------------------------------------------------------------------------------------


def extrude(profile: Profile, height: float, *, z: float = 0.0) -> Shape:
    """Raise a profile from z to z + height.

    Parameters
    ----------
    profile : Profile
        In the plane z = 0.
    height : float, mm
    z : float, mm
        Height of the lower face.

    Returns
    -------
    kernel shape
        One solid, its holes open at both ends.

    Raises
    ------
    PartError
        If the height is not above zero.
    """
    above_zero(height=height)
    k = kernel_names()
    return k.BRepPrimAPI_MakePrism(flat_face(profile, z), k.gp_Vec(0, 0, height)).Shape()


def revolve(profile: Profile, *, angle: float = 360.0) -> Shape:
    """Turn a profile about the z axis: its x is the radius (0 or more), its y the height.

    Parameters
    ----------
    profile : Profile
        Lies in the half plane of the axis, its holes as well.
    angle : float, degrees
        Counter-clockwise from the x-z plane, seen from above; 360 or more gives the full turn.

    Returns
    -------
    kernel shape
        One solid.

    Raises
    ------
    PartError
        If the profile reaches across the axis by more than 1e-9 mm.
    """
    if profile.box[0] < -1e-9:
        raise PartError(
            f"outline reaches radius {profile.box[0]:g} mm, across the axis",
            where="revolve",
            code="solid.across-the-axis",
            remedy="Keep its x at 0 or above.",
        )
    k = kernel_names()
    face = turned(flat_face(profile, 0.0), x=90)
    axis = k.gp_Ax1(k.gp_Pnt(0, 0, 0), k.gp_Dir(0, 0, 1))
    if angle >= 360.0 - 1e-9:
        return k.BRepPrimAPI_MakeRevol(face, axis).Shape()
    return k.BRepPrimAPI_MakeRevol(face, axis, math.radians(angle)).Shape()


def sphere(diameter: float, *, at: Point = (0.0, 0.0, 0.0)) -> Shape:
    """Ball about a centre.

    Parameters
    ----------
    diameter : float, mm
    at : (x, y, z), mm
        Its centre.

    Returns
    -------
    kernel shape
        One solid with one face; its poles lie on the z direction through the centre.
    """
    above_zero(diameter=diameter)
    k = kernel_names()
    return k.BRepPrimAPI_MakeSphere(k.gp_Pnt(*at), diameter / 2).Shape()


def loft(bottom: Profile, top: Profile, height: float, *, z: float = 0.0) -> Shape:
    """Straight-sided body between two sketches; holes are lofted pairwise and cut out at once.

    A hollow tapered body is made this way (outer sketches minus inner ones), never by offsetting
    its walls: the kernel's offset of a lofted slot looks right and is not a valid solid.

    Parameters
    ----------
    bottom, top : Profile
        With as many holes each, in the same order; corners correspond by order, too.
    height : float, mm
    z : float, mm
        Height of the lower sketch.

    Returns
    -------
    kernel shape
        One solid with ruled sides.

    Raises
    ------
    PartError
        If the height is not above zero, or the sketches have not the same number of holes.
    """
    above_zero(height=height)
    if len(bottom.holes) != len(top.holes):
        raise PartError(
            f"{len(bottom.holes)} holes below, {len(top.holes)} above",
            where="loft",
            code="solid.other-holes",
            remedy="Give both sketches the same holes.",
        )
    k = kernel_names()

    def through(low: Loop, high: Loop) -> Shape:
        maker = k.BRepOffsetAPI_ThruSections(True, True)
        maker.AddWire(flat_wire(low, z))
        maker.AddWire(flat_wire(high, z + height))
        return maker.Shape()

    outer = through(bottom.outer, top.outer)
    if not bottom.holes:
        return outer
    return cut(outer, *(through(a, b) for a, b in zip(bottom.holes, top.holes, strict=True)))


# --- joining and cutting -----------------------------------------------------------------------


def bundle(shapes: Iterable[Shape | Solid]) -> Shape:
    """Hold several shapes as one compound, not joined: for moving or cutting them together."""
    k = kernel_names()
    builder, compound = k.BRep_Builder(), k.TopoDS_Compound()
    builder.MakeCompound(compound)
    for shape in shapes:
        builder.Add(compound, raw(shape))
    return compound


def fuse(*shapes: Shape | Solid, tidy: bool = False, touching: bool = False) -> Shape:
    """Join bodies in one boolean.

    Parameters
    ----------
    *shapes : kernel shapes or Solids
        At least one; one alone comes back as it is.
    tidy : bool
        Merge faces and edges that lie in one surface.
    touching : bool
        A promise that the bodies meet in faces only and nowhere overlap, so that the kernel need
        not look where they cross: half the time.

    Returns
    -------
    kernel shape
        One solid for each group of bodies that touch.
    """
    first, *others = shapes
    if not others:
        return raw(first)
    return _boolean("BRepAlgoAPI_Fuse", [first], others, tidy=tidy, touching=touching)


def cut(body: Shape | Solid, *tools: Shape | Solid) -> Shape:
    """Take all tools out of a body in one boolean.

    Parameters
    ----------
    body : kernel shape or Solid
    *tools : kernel shapes or Solids
        They may overlap each other. A tool whose face lies in a face of the body can leave slivers:
        let it stand out.

    Returns
    -------
    kernel shape
        The body itself if there are no tools; no solid if nothing of the body is left.
    """
    return _boolean("BRepAlgoAPI_Cut", [body], tools) if tools else raw(body)


def common(body: Shape | Solid, *tools: Shape | Solid) -> Shape:
    """Keep what a body shares with any of the tools.

    Parameters
    ----------
    body : kernel shape or Solid
    *tools : kernel shapes or Solids
        They may overlap each other.

    Returns
    -------
    kernel shape
        Shares with several tools come as separate solids; without any overlap it holds no solid.
    """
    return _boolean("BRepAlgoAPI_Common", [body], tools)


def _boolean(
    name: str,
    bodies: Sequence[Shape],
    tools: Sequence[Shape],
    *,
    tidy: bool = False,
    touching: bool = False,
) -> Shape:
    k = kernel_names()
    operation = getattr(k, name)()
    operation.SetArguments(_list(bodies))
    operation.SetTools(_list(tools))
    if touching:
        operation.SetGlue(k.BOPAlgo_GlueShift)
        operation.SetCheckInverted(False)
    operation.Build()
    if not operation.IsDone():
        raise PartError(
            f"{len(bodies) + len(tools)} bodies could not be joined or cut",
            where="solid",
            code="solid.not-joined",
            remedy="Change a size a little, so that no two faces almost touch.",
        )
    if tidy:
        operation.SimplifyResult()
    return operation.Shape()


def _list(shapes: Iterable[Shape]) -> Any:
    found = kernel_names().List_TopoDS_Shape()
    for shape in shapes:
        found.Append(raw(shape))
    return found


# --- moving ------------------------------------------------------------------------------------


def moved(shape: Shape | Solid, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Shape:
    """Shift; the geometry is shared, not copied.

    Parameters
    ----------
    shape : kernel shape or Solid
    x, y, z : float, mm

    Returns
    -------
    kernel shape
        In its new place; what is built of it later does not change the one it came from.
    """
    k = kernel_names()
    shift = k.gp_Trsf()
    shift.SetTranslation(k.gp_Vec(x, y, z))
    return raw(shape).Moved(k.TopLoc_Location(shift))


def turned(
    shape: Shape | Solid,
    *,
    x: float = 0.0,
    y: float = 0.0,
    z: float = 0.0,
    about: Point = (0.0, 0.0, 0.0),
) -> Shape:
    """Turn by degrees about the x axis, then y, then z, through a point.

    Parameters
    ----------
    shape : kernel shape or Solid
    x, y, z : float, degrees
        Counter-clockwise, seen against the axis; the axes stay those of space.
    about : (x, y, z), mm
        Point that does not move.

    Returns
    -------
    kernel shape
        In its new place; the geometry is shared, not copied.
    """
    k = kernel_names()
    whole = k.gp_Trsf()
    for angle, direction in ((x, (1, 0, 0)), (y, (0, 1, 0)), (z, (0, 0, 1))):
        if angle:
            turn = k.gp_Trsf()
            turn.SetRotation(k.gp_Ax1(k.gp_Pnt(*about), k.gp_Dir(*direction)), math.radians(angle))
            whole.PreMultiply(turn)
    return raw(shape).Moved(k.TopLoc_Location(whole))


def mirrored(shape: Shape | Solid, *, across: Literal["x", "y", "z"]) -> Shape:
    """Mirror in the plane through the origin that is normal to an axis.

    Parameters
    ----------
    shape : kernel shape or Solid
    across : {"x", "y", "z"}
        Normal of the plane: the coordinate that changes its sign.

    Returns
    -------
    kernel shape
        A copy with geometry of its own; its faces still look outwards.
    """
    k = kernel_names()
    flip = k.gp_Trsf()
    normal = {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}[across]
    flip.SetMirror(k.gp_Ax2(k.gp_Pnt(0, 0, 0), k.gp_Dir(*normal)))
    return k.BRepBuilderAPI_Transform(raw(shape), flip, True).Shape()


# --- edges -------------------------------------------------------------------------------------


def edges(
    shape: Shape | Solid,
    *,
    z: float | None = None,
    upright: bool | None = None,
    where: Callable[[Point, Point], bool] | None = None,
) -> list[Shape]:
    """Pick edges: lying wholly at a height, standing along z, or by a test of their box.

    Parameters
    ----------
    z : float, optional
        Keep edges that lie at this height.
    upright : bool, optional
        Keep edges along z (True), or all others (False).
    where : callable, optional
        Given lowest and highest corner of the edge's box; True keeps it.

    Returns
    -------
    list of kernel edges
        Each once, in the kernel's order, which stays the same for a shape that is built in the same
        way; poles and other edges without length are left out.
    """
    k = kernel_names()
    found = k.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    k.TopExp.MapShapes_s(raw(shape), k.TopAbs_EDGE, found)
    picked = []
    for i in range(1, found.Extent() + 1):
        edge = k.TopoDS.Edge(found.FindKey(i))
        if k.BRep_Tool.Degenerated_s(edge):
            continue
        low, high = box_of(edge)
        if z is not None and (abs(low[2] - z) > 1e-4 or abs(high[2] - z) > 1e-4):
            continue
        if upright is not None:
            along = high[0] - low[0] < 1e-4 and high[1] - low[1] < 1e-4
            if along != upright:
                continue
        if where is None or where(low, high):
            picked.append(edge)
    return picked


def chamfer(
    shape: Shape,
    picked: Sequence[Shape],
    size: float,
    *,
    name: str,
    body: str | None = None,
    before: float | None = None,
) -> tuple[Shape, tuple[Finding, ...]]:
    """Cut edges off at 45°; steps aside with a finding where it cannot be made.

    Parameters
    ----------
    shape : kernel shape
    picked : sequence of kernel edges
        As `edges` gives them.
    size : float, mm
        Leg of the chamfer.
    name : str
        What it is, for the finding: ``chamfer at the bed``.
    body : str, optional
        Body that the finding points at.

    before : float, mm³, optional
        Volume of the shape where the caller knows it, which saves measuring it.

    Returns
    -------
    shape, findings
        The chamfered shape and nothing to say; or, after halving the size once to no avail, the
        shape as it came with a note. A smaller chamfer comes with a note of its size.
    """
    return _dress("BRepFilletAPI_MakeChamfer", shape, picked, size, name, body, before)


def fillet(
    shape: Shape, picked: Sequence[Shape], size: float, *, name: str, body: str | None = None
) -> tuple[Shape, tuple[Finding, ...]]:
    """Round edges to a radius; steps aside like `chamfer`.

    The radius is never searched for by halving an interval: whether a rounding can be made is not
    monotone in its radius. It is tried as asked, then a hundredth less, then at half, then left
    off.

    Parameters
    ----------
    shape : kernel shape
    picked : sequence of kernel edges
        As `edges` gives them; none leaves the shape as it is.
    size : float, mm
        Radius.
    name : str
        What it is, for the finding.
    body : str, optional
        Body that the finding points at.

    Returns
    -------
    shape, findings
        As of `chamfer`.
    """
    return _dress("BRepFilletAPI_MakeFillet", shape, picked, size, name, body)


def _dress(
    maker: str,
    shape: Shape,
    picked: Sequence[Shape],
    size: float,
    name: str,
    body: str | None,
    before: float | None = None,
) -> tuple[Shape, tuple[Finding, ...]]:
    above_zero(**{name: size})
    if not picked:
        return raw(shape), ()
    before = volume_of(shape) if before is None else before
    # The whole of half a plate's thickness leaves no face between two roundings: a hair less does.
    for share in (1.0, 0.99, 0.5):
        made = _dressed(maker, shape, picked, size * share)
        # Dressing an edge moves little material: anything else only looks like success.
        if made is None or not is_valid(made):
            continue
        if abs(volume_of(made) - before) < 0.5 * before:
            if share == 1.0:
                return made, ()
            return made, (smaller_note(name, size, size * share, body=body),)
    return raw(shape), (smaller_note(name, size, 0.0, body=body),)


def smaller_note(name: str, size: float, made: float, *, body: str | None = None) -> Finding:
    """Say that an edge is dressed by less than its size, mm, or not at all."""
    if made:
        text = f"{name} is {made:.2f} mm, since {size:.2f} mm cannot be made here."
    else:
        text = f"{name} of {size:.2f} mm cannot be made here and is left off."
    return Finding(
        check="build",
        severity="note",
        text=text,
        value=size,
        unit="mm",
        basis="geometry of this part",
        body=body,
        remedy="Choose a smaller one, or a thicker wall, if it matters.",
    )


def _dressed(maker: str, shape: Shape, picked: Sequence[Shape], size: float) -> Shape | None:
    k = kernel_names()
    try:
        operation = getattr(k, maker)(raw(shape))
        for edge in picked:
            operation.Add(size, edge)
        operation.Build()
        if not operation.IsDone():
            return None
        made = operation.Shape()
        return None if made.IsNull() else made
    except Exception:  # the kernel raises a dozen kinds, none of which says anything to a user
        return None


# --- looking at the result ---------------------------------------------------------------------


def volume_of(shape: Shape | Solid) -> float:
    """Enclosed volume, mm³; remembered for the last few shapes, since checks ask in turn."""
    k = kernel_names()
    asked = raw(shape)
    for known, volume in tuple(_volumes):
        if known.IsEqual(asked):
            return volume
    found = k.GProp_GProps()
    k.BRepGProp.VolumeProperties_s(asked, found)
    _volumes.append((asked, float(found.Mass())))
    return float(found.Mass())


# Shapes are never changed in place here: each operation gives a new one.
_volumes: deque[tuple[Any, float]] = deque(maxlen=8)


def box_of(shape: Shape | Solid) -> tuple[Point, Point]:
    """Lowest and highest corner of the exact box, mm."""
    k = kernel_names()
    box = k.Bnd_Box()
    k.BRepBndLib.AddOptimal_s(raw(shape), box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return (low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z())


def is_valid(shape: Shape | Solid) -> bool:
    """Whether the kernel's own analysis finds nothing wrong; it takes the faces in parallel."""
    return bool(kernel_names().BRepCheck_Analyzer(raw(shape), True, True).IsValid())


def solids_in(shape: Shape | Solid) -> list[Shape]:
    """Give the kernel's solids in a shape."""
    k = kernel_names()
    found = k.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    k.TopExp.MapShapes_s(raw(shape), k.TopAbs_SOLID, found)
    return [k.TopoDS.Solid(found.FindKey(i)) for i in range(1, found.Extent() + 1)]


def checked(
    shape: Shape | Solid,
    name: str,
    *,
    volume: float | tuple[float, float] | None = None,
    box: tuple[float, float, float] | None = None,
    tolerance: float = 1e-4,
    proved: bool = False,
) -> Solid:
    """Hand over one valid solid as build123d's `Solid`, or say why it is not one.

    Parameters
    ----------
    shape : kernel shape or Solid
    name : str
        The body's name, for the message.
    volume : float or (low, high), mm³, optional
        What the numbers say it should enclose; one number is held within `tolerance` of itself,
        a pair are bounds.
    box : (x, y, z), mm, optional
        Size over all that the numbers say, held within 0.001 mm.
    tolerance : float
        Relative tolerance of the volume.
    proved : bool
        Leave out the kernel's analysis, which costs more than most builds, for a body put together
        from outlines that are known to lie apart, and its measuring where no number is given to
        hold it against. Its tests then run the analysis.

    Returns
    -------
    build123d.Solid
        The same geometry, wrapped.

    Raises
    ------
    PartError
        If it is no single valid solid, or its volume or box differ from the numbers.
    """
    from build123d import Solid

    found = solids_in(shape)
    if len(found) != 1:
        raise PartError(
            f"came out as {len(found)} separate pieces, not one solid",
            where=name,
            code="solid.in-pieces",
            remedy="Bring features apart or closer, so that all touch the body.",
        )
    solid = found[0]
    if not proved and not is_valid(solid):
        raise PartError(
            "did not come out as a valid solid", where=name, code="solid.not-valid", remedy=_REMEDY
        )
    if volume is not None or not proved:
        _hold_volume(solid, name, _bounds(volume, tolerance))
    if box is not None:
        least, most = box_of(solid)
        over = tuple(b - a for a, b in zip(least, most, strict=True))
        if any(abs(a - b) > 1e-3 for a, b in zip(over, box, strict=True)):
            raise PartError(
                f"measures {_times(over)} over all, but its numbers say {_times(box)}",
                where=name,
                code="solid.other-size",
                remedy=_REMEDY,
            )
    return Solid(solid)


def _hold_volume(solid: Shape, name: str, bounds: tuple[float, float]) -> None:
    size, (low, high) = volume_of(solid), bounds
    if not (low <= size <= high and size > 0):
        raise PartError(
            f"encloses {size:.2f} mm³, but its numbers say {_span(low, high)}",
            where=name,
            code="solid.other-volume",
            remedy=_REMEDY,
        )


def _bounds(volume: float | tuple[float, float] | None, tolerance: float) -> tuple[float, float]:
    if volume is None:
        return 0.0, math.inf
    if isinstance(volume, tuple):
        return volume
    return volume * (1 - tolerance), volume * (1 + tolerance)


def _span(low: float, high: float) -> str:
    return f"{low:.2f} to {high:.2f} mm³"


def _times(sizes: Sequence[float]) -> str:
    return reduce(lambda a, b: f"{a} x {b}", (f"{s:.3f}" for s in sizes)) + " mm"
