"""Building a board case beside a plain build123d script of it, and the verbs beside bare calls.

The script is what one would write first: boxes and cylinders joined and cut one after another. Both
give the same solids, as their volumes are compared to tell. Sub-bodies kept from an
earlier build are dropped each time, except in the row that says so. Builds count whole: with checks
of the result, the measured object's ghost and the numbers for the checks, which no script has.
"""

from __future__ import annotations

import math
import tempfile
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]


def _case(along: float = 15.0) -> Any:
    from fitkit.parts.designs.board_case import BoardCase

    ports = [
        {"wall": "front", "along": f"{along} mm", "above": "2 mm", "width": "9 mm"},
        {"wall": "back", "along": "40 mm", "above": "2 mm", "width": "10 mm"},
        {"wall": "left", "along": "19 mm", "above": "3 mm", "width": "8 mm", "height": "6 mm"},
    ]
    return BoardCase.of(ports=ports, vent_area="400 mm²")


def _ours(*, fresh: bool = True) -> tuple[Any, Any]:
    from fitkit.parts.designs.board_case.shell import stepped

    if fresh:
        stepped.cache_clear()
    part = _case().build()
    return part.bodies[0].solid, part.bodies[1].solid


def _script() -> tuple[Any, Any]:
    """The same tray and lid, one boolean after another."""
    from build123d import Axis, Box, Cylinder, Pos, Torus, chamfer, fillet

    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.levels import lip_thickness
    from fitkit.parts.designs.board_case.practice import FOOT_MM, LIP_GAP_MM, LIP_MM
    from fitkit.parts.designs.board_case.tray import bore_diameter, root_mm, standoff_radius

    case = _case()
    form = Form.of(case, case.must_fit())
    (length, width), (rim_l, rim_w), (long, wide) = form.pocket, form.rim, form.outside
    top, plate = form.wall_top, case.lid_thickness

    def upright(x: float, y: float, low: float, high: float, radius: float = 0.0) -> Any:
        box = Pos(0, 0, (low + high) / 2) * Box(x, y, high - low)
        return fillet(box.edges().filter_by(Axis.Z), radius) if radius else box

    tray = upright(long, wide, 0, top, form.corner)
    tray = chamfer(tray.faces().sort_by(Axis.Z)[0].edges(), FOOT_MM)
    corner = form.corner - (long - rim_l) / 2
    tray -= upright(rim_l, rim_w, top - LIP_MM, top, corner)
    tray -= upright(length, width, case.floor, top - LIP_MM)
    radius, bore = standoff_radius(form), bore_diameter(form)
    bottom = max(1.0, form.board_z - 12.0)
    for x, y in form.holes:
        low, high = case.floor, form.board_z
        tray += Pos(x, y, (low + high) / 2) * Cylinder(radius, high - low)
        near = min(length / 2 - abs(x), width / 2 - abs(y))
        root = root_mm(radius, high - low, [near])
        foot = Pos(x, y, low + root / 2) * Cylinder(radius + root, root)
        tray += foot - Pos(x, y, low + root) * Torus(radius + root, root)
        tray -= Pos(x, y, (bottom + high) / 2) * Cylinder(bore / 2, high - bottom)
    for opening in form.openings:
        a, low, b, high = opening.profile.box
        u, z, side = (a + b) / 2, (low + high) / 2, case.wall
        if opening.wall in ("front", "back"):
            sign = -1 if opening.wall == "front" else 1
            place = Pos(-sign * u, sign * (wide / 2 - side / 2), z)
            tray -= place * Box(b - a, side, high - low)
        else:
            tray -= Pos(-(long / 2 - side / 2), -u, z) * Box(side, b - a, high - low)

    lid = upright(long, wide, 0, plate, form.corner)
    lid = chamfer(lid.faces().sort_by(Axis.Z)[0].edges(), FOOT_MM)
    lip_l, lip_w = form.drawn.lip
    thick, high = lip_thickness(case, form.drawn), plate + LIP_MM - LIP_GAP_MM
    lid += upright(lip_l, lip_w, plate, high, corner)
    inner = max(corner - thick, 0.0)
    lid -= upright(lip_l - 2 * thick, lip_w - 2 * thick, plate, high, inner)
    for vent in form.lid_vents:
        a, low, b, high = vent.box
        lid -= Pos((a + b) / 2, -(low + high) / 2, plate / 2) * Box(b - a, high - low, plate)
    return tray, lid


def _bare_plate() -> Any:
    """A plate with 24 holes in bare kernel calls."""
    from OCP.BRepBuilderAPI import (
        BRepBuilderAPI_MakeEdge,
        BRepBuilderAPI_MakeFace,
        BRepBuilderAPI_MakePolygon,
        BRepBuilderAPI_MakeWire,
    )
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pln, gp_Pnt, gp_Vec
    from OCP.TopoDS import TopoDS

    corners = BRepBuilderAPI_MakePolygon()
    for x, y in ((-30, -20), (30, -20), (30, 20), (-30, 20)):
        corners.Add(gp_Pnt(x, y, 0))
    corners.Close()
    up = gp_Dir(0, 0, 1)
    face = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, 0), up), corners.Wire(), True)
    for x, y in _HOLES:
        ring = gp_Circ(gp_Ax2(gp_Pnt(x, y, 0), up), 1.5)
        wire = BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(ring).Edge()).Wire()
        face.Add(TopoDS.Wire(wire.Reversed()))
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, 3)).Shape()


_HOLES = [(x, y) for x in range(-25, 26, 10) for y in (-15, -5, 5, 15)]


def _plate() -> Any:
    from fitkit import solids
    from fitkit.solids import profiles as flat

    holes = [flat.circle(3, at=at) for at in _HOLES]
    return solids.extrude(flat.rectangle(60, 40).with_holes(*holes), 3)


def _node_by_node(shape: Any) -> int:
    """Take a meshed shape's triangles out one by one."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    points, triangles = [], []
    walk = TopExp_Explorer(shape, TopAbs_FACE)
    while walk.More():
        mesh = BRep_Tool.Triangulation_s(TopoDS.Face(walk.Current()), TopLoc_Location())
        for i in range(1, mesh.NbNodes() + 1):
            node = mesh.Node(i)
            points.append((node.X(), node.Y(), node.Z()))
        triangles += [mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]
        walk.Next()
    return len(triangles)


def _handed_over(solid: Any) -> int:
    """Mesh a solid and make all that its picture needs of it, from nothing."""
    from OCP.BRepTools import BRepTools

    from fitkit.export.scene import drawn_arrays
    from fitkit.solids import tessellate
    from fitkit.solids.mesh import feature_edges

    BRepTools.Clean_s(solid.wrapped, True)
    mesh = tessellate(solid)
    return sum(array.nbytes for array in drawn_arrays(mesh, feature_edges(mesh)))


def _written(solid: Any, path: str) -> None:
    """Mesh it as finely with the kernel alone, and write it with the kernel's own writer."""
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepTools import BRepTools
    from OCP.StlAPI import StlAPI_Writer

    BRepTools.Clean_s(solid.wrapped, True)
    BRepMesh_IncrementalMesh(solid.wrapped, 0.05, False, math.radians(12.0), True)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    writer.Write(solid.wrapped, path)


def rows(*, smoke: bool = False) -> list[dict[str, object]]:
    """Give the ratios of times, both ways run in turns."""
    from fitkit import solids
    from fitkit.solids import tessellate
    from fitkit.solids.kernel import _as_written

    for mine, other in zip(_ours(), _script(), strict=True):
        if not math.isclose(mine.volume, other.volume, rel_tol=1e-6):
            raise AssertionError(f"not the same solid: {mine.volume} and {other.volume} mm³")
    vents = sum(not o.port for o in _form().openings) + len(_form().lid_vents)
    found = [
        paired(_ours, _script, runs=5, smoke=smoke).row(
            "board case beside a plain build123d script",
            f"tray and lid, 4 standoffs, 3 ports, {vents} vents; volumes equal within 1e-6",
        ),
        paired(lambda: _ours(fresh=False), _script, runs=5, smoke=smoke).row(
            "the same, sub-bodies kept", "as in a live preview when a port moves"
        ),
    ]
    if not math.isclose(solids.volume_of(_plate()), solids.volume_of(_bare_plate())):
        raise AssertionError("not the same plate")
    found.append(
        paired(_plate, _bare_plate, runs=41, smoke=smoke).row(
            "plate with 24 holes beside bare kernel calls"
        )
    )
    shape = _ours()[0].wrapped
    tessellate(shape, tolerance_mm=0.01, angle_deg=4)
    found.append(
        paired(lambda: _as_written(shape), lambda: _node_by_node(shape), runs=11, smoke=smoke).row(
            "triangles out in bulk, corners merged, beside node by node"
        )
    )
    tray = _ours()[0]
    with tempfile.NamedTemporaryFile(suffix=".stl") as file:
        found.append(
            paired(
                lambda: _handed_over(tray), lambda: _written(tray, file.name), runs=21, smoke=smoke
            ).row(
                "tray meshed and handed over, beside the kernel's own mesh writer",
                "goal at most 1.3; ours with normals to shade by and edges to draw",
            )
        )
    return found + _templates(smoke)


def _templates(smoke: bool) -> list[dict[str, object]]:
    """Each other template beside its plain script."""
    from bench.plain_parts import PLAIN, SMALL, bodies_of, hold_equal
    from fitkit.parts import template

    found = []
    for title, row in (SMALL if smoke else PLAIN).items():
        part = template(title).of(**row.values)
        last: dict[str, Any] = {}

        def ours(part: Any = part, last: dict[str, Any] = last) -> None:
            last["ours"] = bodies_of(part)

        def plain(part: Any = part, row: Any = row, last: dict[str, Any] = last) -> None:
            last["plain"] = row.script(part)

        runs = 1 if title == "calibration coupon" else 5
        found.append(
            paired(ours, plain, runs=runs, smoke=smoke).row(
                f"{title} beside a plain build123d script", f"volumes equal within {row.close:g}"
            )
        )
        hold_equal(title, row.close, last["ours"], last["plain"])
    return found


def _form() -> Any:
    from fitkit.parts.designs.board_case.form import Form

    case = _case()
    return Form.of(case, case.must_fit())
