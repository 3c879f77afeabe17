"""Shapes brought in: a closed outline from a DXF file, a reference body from a STEP file.

Lines, arcs, circles and light polylines of a DXF's model space are chained end to end into loops;
the largest is the outer one, others become holes. The file's own unit is obeyed (mm if it gives
none, said by `read_outline`'s caller to be so). Splines, ellipses and blocks are refused by name
rather than guessed at. Files are given as paths, or as the content that a `GivenFile` holds.
"""

from __future__ import annotations

import math
import tempfile
from contextlib import contextmanager
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import PartError
from fitkit.core.given_file import content_of, embedded, name_of
from fitkit.solids.profiles import Loop, Profile, polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build123d import Solid

__all__ = ["fitted", "grown", "read_bodies", "read_body", "read_outline"]

# $INSUNITS of DXF: 1 inch, 2 foot, 4 mm, 5 cm, 6 m, 13 micron; 0 unitless, taken as mm.
_TO_MM = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 13: 0.001}
_CLOSE_MM = 1e-3
Side = tuple[float, float, float, float, float]  # start x, y, end x, y, bulge


def read_outline(file: str | Path) -> Profile:
    """Read a closed outline, in mm, as it lies in the file.

    Parameters
    ----------
    file : str or Path
        Path, or content that `given_file.embedded` took in.

    Raises
    ------
    PartError
        If the file cannot be read, holds a curve beyond lines and arcs, or does not close.
    """
    return _read(embedded(str(file)))


@lru_cache(maxsize=16)
def _read(content: str) -> Profile:
    import ezdxf

    where = name_of(content) or None
    if not content:
        raise PartError(
            "no file is named", where=where, code="outline.no-file", remedy="Name a DXF file."
        )
    try:
        with _on_disk(content, ".dxf") as path:
            drawing = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError, ValueError) as error:
        if isinstance(error, PartError):
            raise
        raise PartError(
            "this is not a DXF file that can be read",
            where=where,
            code="outline.not-dxf",
            remedy="Save it as DXF again.",
        ) from error
    factor = _TO_MM.get(drawing.header.get("$INSUNITS", 0))
    if factor is None:
        raise PartError(
            f"its unit (code {drawing.header.get('$INSUNITS')}) is not one that is known",
            where=where,
            code="outline.unit",
            remedy="Save it in millimetres.",
        )
    loops: list[Loop] = []
    sides: list[Side] = []
    for entity in drawing.modelspace():
        found = _entity(entity, where)
        if isinstance(found, Loop):
            loops.append(found)
        else:
            sides += found
    loops += _chained(sides, where)
    if not loops:
        raise PartError(
            "it holds no outline", where=where, code="outline.none", remedy="Draw a closed outline."
        )
    scaled = [
        Loop(tuple((x * factor, y * factor, bulge) for x, y, bulge in loop.corners))
        for loop in loops
    ]
    turned = [loop if loop.signed_area > 0 else loop.reversed() for loop in scaled]
    outer, *holes = sorted(turned, key=lambda loop: -loop.signed_area)
    return Profile(outer, tuple(holes))


@contextmanager
def _on_disk(content: str, ending: str) -> Iterator[Path]:
    """Lay a taken-in file down for readers that want a path."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"given{ending}"
        path.write_bytes(content_of(content))
        yield path


def _entity(entity: Any, where: str | None) -> Loop | list[Side]:
    kind = entity.dxftype()
    match kind:
        case "LINE":
            a, b = entity.dxf.start, entity.dxf.end
            return [(a.x, a.y, b.x, b.y, 0.0)]
        case "ARC":
            a, b = entity.start_point, entity.end_point
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360 or 360)
            return [(a.x, a.y, b.x, b.y, math.tan(sweep / 4))]
        case "CIRCLE":
            c, r = entity.dxf.center, entity.dxf.radius
            return Loop(((c.x - r, c.y, 1.0), (c.x + r, c.y, 1.0)))
        case "LWPOLYLINE":
            corners = [(float(x), float(y), float(k)) for x, y, k in entity.get_points("xyb")]
            if entity.closed:
                return Loop(tuple(corners))
            return [(x, y, u, v, bulge) for (x, y, bulge), (u, v, _) in pairwise(corners)]
        case "POINT" | "TEXT" | "MTEXT" | "DIMENSION":
            return []  # notes on the drawing, no outline
    raise PartError(
        f"it holds a {kind.lower()}, and only lines, arcs, circles and polylines are read",
        where=where,
        code="outline.odd-entity",
        remedy="Convert it to arcs or a polyline in the drawing program.",
    )


def _chained(sides: list[Side], where: str | None) -> list[Loop]:
    """Put sides end to end, turning those that lie the other way."""
    left, loops = list(sides), []
    while left:
        chain = [left.pop()]
        start = chain[0][:2]
        while math.dist(chain[-1][2:4], start) > _CLOSE_MM:
            end = chain[-1][2:4]
            for index, (x, y, u, v, bulge) in enumerate(left):
                if math.dist((x, y), end) <= _CLOSE_MM:
                    chain.append((x, y, u, v, bulge))
                elif math.dist((u, v), end) <= _CLOSE_MM:
                    chain.append((u, v, x, y, -bulge))
                else:
                    continue
                del left[index]
                break
            else:
                raise PartError(
                    f"its outline is open at ({end[0]:.3f}, {end[1]:.3f})",
                    where=where,
                    code="outline.open",
                    remedy="Close it in the drawing program.",
                )
        loops.append(Loop(tuple((x, y, bulge) for x, y, _, _, bulge in chain)))
    return loops


def grown(profile: Profile, by: float) -> Profile:
    """Move the outer edge outward by an offset, mm, corners rounded; holes are dropped.

    This is the room that a plug's moulded body needs round the outline of its socket.

    Examples
    --------
    >>> from fitkit.solids.profiles import rectangle
    >>> round(grown(rectangle(10, 5), 1.0).area, 3)  # 50 + 30 + pi
    83.142
    """
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepOffsetAPI import BRepOffsetAPI_MakeOffset
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.GeomAbs import GeomAbs_Arc, GeomAbs_Circle
    from OCP.TopAbs import TopAbs_REVERSED

    from fitkit.solids.bodies import edges, flat_face

    try:
        offset = BRepOffsetAPI_MakeOffset(flat_face(profile.filled()), GeomAbs_Arc)
        offset.Perform(by)
        shape = offset.Shape()
        made = not shape.IsNull() and bool(edges(shape))
    except Exception:  # the kernel raises a dozen kinds, none of which says anything to a user
        made = False
    if not made:
        raise PartError(
            f"it cannot be widened by {by:.2f} mm",
            where="outline",
            code="outline.not-widened",
            remedy="Draw it wider instead.",
        )
    corners: list[tuple[float, float, float]] = []
    if len(edges(shape)) == 1:
        curve = BRepAdaptor_Curve(edges(shape)[0]).Circle()
        c, r = curve.Location(), curve.Radius()
        return Profile(Loop(((c.X() - r, c.Y(), 1.0), (c.X() + r, c.Y(), 1.0))))
    walk = BRepTools_WireExplorer(_wire_of(shape))
    while walk.More():
        curve = BRepAdaptor_Curve(walk.Current())
        first, last = curve.FirstParameter(), curve.LastParameter()
        flipped = walk.Current().Orientation() == TopAbs_REVERSED
        start = curve.Value(last if flipped else first)
        bulge = 0.0
        if curve.GetType() == GeomAbs_Circle:
            upward = curve.Circle().Axis().Direction().Z() > 0
            sign = 1 if upward != flipped else -1
            bulge = sign * math.tan((last - first) / 4)
        corners.append((start.X(), start.Y(), bulge))
        walk.Next()
    loop = Loop(tuple(corners))
    return Profile(loop if loop.signed_area > 0 else loop.reversed())


def fitted(profile: Profile, length: float, width: float) -> Profile:
    """Widen an outline, its corners rounded, until its box is `length` x `width`, mm.

    Holes are dropped. What is wanted more one way than the other is stretched, which turns arcs
    into short sides, 0.005 mm off at most.

    Examples
    --------
    >>> from fitkit.solids.profiles import capsule
    >>> [round(side, 6) for side in fitted(capsule(9, 4), 9.4, 4.3).box]
    [-4.7, -2.15, 4.7, 2.15]
    """
    box = profile.box
    more = (length - (box[2] - box[0]), width - (box[3] - box[1]))
    wide = grown(profile, min(more) / 2) if min(more) > 2e-6 else profile.filled()
    box = wide.box
    stretch = (length / (box[2] - box[0]), width / (box[3] - box[1]))
    if max(abs(stretch[0] - 1) * length, abs(stretch[1] - 1) * width) < 1e-6:
        return wide
    points = wide.outer.points(0.005)
    xs, ys = zip(*points, strict=True)
    stretch = (length / (max(xs) - min(xs)), width / (max(ys) - min(ys)))
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    # About the polygon's own middle: its corners need not reach the arcs' farthest points.
    own = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    return polygon(
        [
            (middle[0] + (x - own[0]) * stretch[0], middle[1] + (y - own[1]) * stretch[1])
            for x, y in points
        ]
    )


def _wire_of(shape: Any) -> Any:
    from OCP.TopAbs import TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    return TopoDS.Wire(TopExp_Explorer(shape, TopAbs_WIRE).Current())


def read_body(file: str | Path) -> Solid:
    """Read the one solid of a STEP file, in mm, to stand as a ghost.

    Raises
    ------
    PartError
        If the file cannot be read or holds no solid, or several.
    """
    found = read_bodies(file)
    if len(found) != 1:
        raise PartError(
            f"it holds {len(found)} solids, and one is wanted",
            where=name_of(str(file)),
            code="outline.not-one-solid",
            remedy="Export the one body alone.",
        )
    return found[0]


def read_bodies(file: str | Path, *, most: int = 24) -> tuple[Solid, ...]:
    """Read the solids of a STEP file, in mm, in their places: a board with its parts.

    Parameters
    ----------
    file : str or Path
        Path, or content that `given_file.embedded` took in.
    most : int
        How many it may hold.

    Returns
    -------
    tuple of build123d.Solid
        In the order of the file. The last few files read are remembered by content.

    Raises
    ------
    PartError
        If the file cannot be read, holds no solid, or more than `most`.
    """
    return _bodies(embedded(str(file)), most)


@lru_cache(maxsize=4)
def _bodies(content: str, most: int) -> tuple[Solid, ...]:
    from build123d import Solid, import_step

    from fitkit.solids.bodies import solids_in

    where = name_of(content) or None
    try:
        with _on_disk(content, ".step") as path:
            found = solids_in(import_step(path))
    except PartError:
        raise
    except Exception as error:  # the reader raises kinds of its own and of the kernel
        raise PartError(
            "this is not a STEP file that can be read",
            where=where,
            code="outline.not-step",
            remedy="Export it again.",
        ) from error
    if not 1 <= len(found) <= most:
        raise PartError(
            f"it holds {len(found)} solids, and 1 to {most} are wanted",
            where=where,
            code="outline.too-many-solids",
            remedy="Export the board and its large parts alone.",
        )
    return tuple(Solid(one) for one in found)
