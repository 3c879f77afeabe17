"""What a preview draws, as a short description and flat arrays: the hand-over to the view.

Runs where the solids are (the build process, or a script); knows no widget. Each body gives its
corners once, its triangles, the normals to shade it with (smooth over round faces, sharp at
edges), its drawn edges as line pieces, and a mark for each triangle that hangs over. The gaps
round the measured object follow, on a finer mesh of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.finding import worst_first
from fitkit.export.gaps import faces_near, gap_field, refined
from fitkit.solids.mesh import feature_edges, runs, turn_matrix

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.parts.contract import Body, Builder, Part
    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = [
    "Gaps",
    "Scene",
    "build_scene",
    "drawn_arrays",
    "gaps_of",
    "scene_of",
    "shading_normals",
]

_SMOOTH = np.cos(np.radians(28.0))
# Marks of a triangle, as printed.
FINE, OVERHANG, ON_BED = 0, 1, 2
_DRAWN = ("corners", "triangles", "normals", "edges")
_FINE = ("corners", "normals", "gap")
_BED = (220.0, 220.0)
# A face that looks within 45° of the way an object goes in, and what counts as lying on the part.
_LEADS = 0.707
_TOUCHES_MM = 0.03


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scene:
    """A picture's content, ready to send.

    Attributes
    ----------
    head : dict
        Plain data: bodies with the lengths of their arrays, dimensions, bounds, print poses.
    arrays : list of arrays
        Single precision or small integers, in the order in which `head` names them.
    meshes, edges : dict of body name to Mesh or array of shape (k, 2, 3), mm
        In assembly position, for still pictures.
    """

    head: dict[str, Any]
    arrays: list[np.ndarray[Any, Any]]
    meshes: dict[str, Mesh]
    edges: dict[str, FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gaps:
    """Gaps round the objects: they come after the shape, which need not wait for them.

    Attributes
    ----------
    gaps : list of dict
        For each object its ``name``, ``least_gap`` in mm (None if nothing is near it), whether it
        ``rests`` on the part with the faces that lead where it goes in, whose gap is left out
        then, and the names of its arrays.
    arrays : list of arrays
        For each object the corners (3 m, 3) of a finer mesh, each triangle with corners of its own,
        their normals (m, 3, 3) and the gap at each corner (3 m,), mm.
    """

    gaps: list[dict[str, Any]]
    arrays: list[np.ndarray[Any, Any]]


def build_scene(
    template: Builder,
    drawn: Mapping[str, float],
    title: str,
    checks: Callable[[Part, Mapping[str, Mesh]], Iterable[tuple[Finding, ...]]] | None = None,
    bed_mm: Sequence[float] | None = None,
    *,
    report: Callable[[Scene | Gaps | tuple[Finding, ...]], None],
) -> tuple[Finding, ...]:
    """Build a template and describe what it looks like: the task of the build process.

    Parameters
    ----------
    template : Template
    drawn : mapping of fit-size name to mm
    title : str
    checks : callable, optional
        Given the part and its meshes, gives findings as they come; the build's own are shown if
        there is none.
    bed_mm : (x, y), mm, optional
    report : callable
        Given the scene as soon as it is there, then all findings so far as often as there are more,
        the worst first, and last the gaps, which come even where a check fails.

    Returns
    -------
    tuple of Finding
        Of the checks, or of the build alone.
    """
    part = template.build(drawn, title=title)
    scene = scene_of(part, bed_mm=bed_mm)
    report(scene)
    found = () if checks else part.findings
    try:
        for more in checks(part, scene.meshes) if checks else ():
            if more:
                found = worst_first((*found, *more))
                report(found)
    finally:
        if part.ghosts:
            report(gaps_of(part, scene))
    return found


def gaps_of(part: Part, scene: Scene) -> Gaps:
    """Measure the gaps round each object of a scene."""
    things = [scene.meshes[ghost.name] for ghost in part.ghosts]
    faces = faces_near(things, [scene.meshes[body.name] for body in part.bodies])
    gaps: list[dict[str, Any]] = []
    arrays: list[np.ndarray[Any, Any]] = []
    for ghost, thing in zip(part.ghosts, things, strict=True):
        fine = refined(thing, max(1.5, float(thing.size.max()) / 24), most=6000)
        gap = gap_field(fine, faces).astype(np.float32)
        normals = np.repeat(fine.normals(), 3, axis=0)
        # What lies on the part where it goes in is meant to touch there: that is no gap.
        way = ghost.insertion or part.insertion
        leads = np.zeros(len(gap), bool) if way is None else normals @ np.asarray(way) > _LEADS
        below = gap[np.isfinite(gap) & leads]
        rests = bool(len(below) and abs(below.min()) < _TOUCHES_MM)
        known = gap[np.isfinite(gap) & ~(leads & rests)]
        least = round(float(known.min()), 3) if len(known) else None
        gaps.append({"name": ghost.name, "least_gap": least, "rests": rests, "arrays": [*_FINE]})
        arrays += [fine.vertices.astype(np.float32), np.rint(normals * 127).astype(np.int8), gap]
    return Gaps(gaps=gaps, arrays=arrays)


def scene_of(
    part: Part, *, bed_mm: Sequence[float] | None = None, overhang_deg: float = 45.0
) -> Scene:
    """Describe a built part.

    Parameters
    ----------
    part : Part
    bed_mm : (x, y), mm, optional
        The printer's bed; one of 220 mm is assumed, and said to be, if None.
    overhang_deg : float, degrees
        Steepest lean from the upright that prints without support.
    """
    from fitkit.parts.meshed import mesh_of
    from fitkit.parts.pose import placement

    described, arrays = [], []
    meshes: dict[str, Mesh] = {}
    lines: dict[str, FloatArray] = {}
    for body in (*part.bodies, *part.ghosts):
        meshes[body.name] = mesh_of(body)
        lines[body.name] = feature_edges(meshes[body.name])
    for body in part.bodies:
        turn, shift = placement(body)
        entry, data = _solid(
            body, meshes[body.name], lines[body.name], turn, np.asarray(shift), overhang_deg
        )
        described.append(entry)
        arrays += data
    _lay_on_bed(described, [meshes[body.name] for body in part.bodies], bed_mm or _BED)
    for ghost in part.ghosts:
        described.append({"name": ghost.name, "role": "object", "arrays": [*_DRAWN]})
        arrays += drawn_arrays(meshes[ghost.name], lines[ghost.name])
    corners = np.stack([mesh.bounds for mesh in meshes.values()])
    head = {
        "title": part.title,
        "template": part.template,
        "bodies": described,
        "bounds": [corners[:, 0].min(axis=0).tolist(), corners[:, 1].max(axis=0).tolist()],
        "bed": list((bed_mm or _BED)[:2]),
        "bed_assumed": bed_mm is None,
        "overhang_deg": overhang_deg,
        "dimensions": [
            {
                "name": item.name,
                "text": f"{item.value_mm:.2f} mm",
                "body": item.body,
                "start": item.start,
                "end": item.end,
                "round": item.kind.round,
            }
            for item in part.dimensions
        ],
    }
    return Scene(head=head, arrays=arrays, meshes=meshes, edges=lines)


def _lay_on_bed(
    described: list[dict[str, Any]], meshes: Sequence[Mesh], bed_mm: Sequence[float]
) -> None:
    """Add to each body how it is turned for printing, and where its origin comes to lie then.

    About the upright axis it is turned as in the files: where only that fits the bed.
    """
    from fitkit.solids.plate import lay_out
    from fitkit.solids.turns import turns_on_bed

    turns = [np.reshape(entry["turn"], (3, 3)) for entry in described]
    posed = [mesh.moved(turn, np.zeros(3)) for mesh, turn in zip(meshes, turns, strict=True)]
    for number, about in enumerate(turns_on_bed(posed, bed_mm)):
        if about:
            turns[number] = turn_matrix((0.0, 0.0, about)) @ turns[number]
            described[number]["turn"] = turns[number].ravel().tolist()
    turned = [mesh.vertices @ turn.T for mesh, turn in zip(meshes, turns, strict=True)]
    low = [points.min(axis=0) for points in turned]
    sizes = [(points.max(axis=0) - points.min(axis=0))[:2] for points in turned]
    for number, plate in enumerate(lay_out(np.array(sizes), bed_mm)):
        for member, (x, y) in zip(plate.members, plate.shifts, strict=True):
            # Further plates are drawn beside the first.
            aside = number * (bed_mm[0] + 20)
            at = np.array([x + aside, y, 0.0]) - low[member]
            described[member]["on_bed"] = at.tolist()


def _solid(
    body: Body,
    mesh: Mesh,
    edges: FloatArray,
    turn: FloatArray,
    shift: FloatArray,
    overhang_deg: float,
) -> tuple[dict[str, Any], list[np.ndarray[Any, Any]]]:
    size = mesh.size
    entry = {
        "name": body.name,
        "role": "body",
        "arrays": [*_DRAWN, "marks"],
        "size": [round(float(length), 2) for length in size],
        "turn": turn.ravel().tolist(),
    }
    arrays = [
        *drawn_arrays(mesh, edges),
        _marks(mesh.moved(turn, shift), overhang_deg),
    ]
    return entry, arrays


def drawn_arrays(mesh: Mesh, edges: FloatArray) -> list[np.ndarray[Any, Any]]:
    """Give what a body is drawn from: corners, triangles, normals at each corner, edge pieces."""
    return [
        mesh.vertices.astype(np.float32),
        mesh.triangles.astype(np.uint32),
        np.rint(shading_normals(mesh) * 127).astype(np.int8),
        edges.astype(np.float32),
    ]


def shading_normals(mesh: Mesh) -> FloatArray:
    """Normals at each corner of each triangle: averaged with the neighbours that nearly agree.

    Parameters
    ----------
    mesh : Mesh
        With shared corners appearing once where faces are to look smooth.

    Returns
    -------
    array of shape (m, 3, 3)
        Unit vectors, weighted by area among triangles that meet at less than 28 degrees.
    """
    flat, weighted = mesh.normals(), mesh.area_vectors()
    corner = mesh.triangles.ravel().astype(np.int64)
    order = np.argsort(corner, kind="stable")
    sorted_corner = corner[order]
    first = np.flatnonzero(np.r_[True, sorted_corner[1:] != sorted_corner[:-1]])
    count = np.diff(np.r_[first, len(corner)])
    # Each corner looks at all triangles that share its point: spell the pairs out.
    start = np.repeat(first, count)
    owner, other = runs(start, start + np.repeat(count, count))
    here, there = order[owner], order[other] // 3
    agree = np.einsum("ij,ij->i", flat[here // 3], flat[there]) > _SMOOTH
    here, pull = here[agree], weighted[there[agree]].T
    total: FloatArray = np.stack(
        [np.bincount(here, pull[axis], minlength=len(corner)) for axis in range(3)], axis=1
    )
    length = np.linalg.norm(total, axis=1, keepdims=True)
    np.divide(total, length, out=total, where=length > 0)
    return np.asarray(total.reshape(-1, 3, 3))


def _marks(printed: Mesh, overhang_deg: float) -> np.ndarray[Any, Any]:
    """Mark each triangle of a mesh in print pose: fine, hanging over, or lying on the bed."""
    normals = printed.normals()
    lowest = printed.corners[..., 2].min(axis=1)
    highest = printed.corners[..., 2].max(axis=1)
    marks = np.full(len(normals), FINE, np.uint8)
    # The lean from the upright of a face that looks down is the angle of its normal below level.
    marks[normals[:, 2] < -np.sin(np.radians(overhang_deg)) - 1e-6] = OVERHANG
    marks[(normals[:, 2] < -0.99) & (highest < 0.05) & (lowest < 0.05)] = ON_BED
    return marks
