"""Small parts made of plain arrays, for every check: no kernel, sizes that a person can follow."""

from __future__ import annotations

import numpy as np

from fitkit.checks import CheckContext
from fitkit.parts.contract import Body, Part
from fitkit.solids.mesh import Mesh

_QUADS = np.array(
    [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
)


def box(x: float, y: float, z: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Mesh:
    """A closed box with its lowest corner at `at`."""
    corners = np.array([[i, j, k] for k in (0, 1) for j in (0, 1) for i in (0, 1)], dtype=float)
    triangles = np.concatenate([_QUADS[:, [0, 1, 2]], _QUADS[:, [0, 2, 3]]]).astype(np.int32)
    return Mesh(corners * [x, y, z] + np.array(at), triangles)


def prism(outline: list[tuple[float, float]], depth: float) -> Mesh:
    """A convex or concave outline in x and z (counter-clockwise), drawn along y."""
    import shapely

    points = np.array(outline, dtype=float)
    n = len(points)
    front = np.column_stack([points[:, 0], np.zeros(n), points[:, 1]])
    back = front + np.array([0.0, depth, 0.0])
    index = {tuple(p): i for i, p in enumerate(points)}
    polygon = shapely.Polygon(points)
    faces = shapely.constrained_delaunay_triangles(polygon).geoms
    cap = np.array([[index[c] for c in shapely.normalize(f).exterior.coords[:3]] for f in faces])
    a, b, c = (points[cap[:, i]] for i in range(3))
    turn = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0
    cap[turn] = cap[turn][:, ::-1]
    i, j = np.arange(n), (np.arange(n) + 1) % n
    # Seen from -y, x to the right and z up, the cap runs counter-clockwise: it faces -y.
    sides = np.concatenate([np.column_stack([i, i + n, j]), np.column_stack([j, i + n, j + n])])
    triangles = np.concatenate([cap, cap[:, ::-1] + n, sides]).astype(np.int32)
    return Mesh(np.concatenate([front, back]), triangles)


def joined(*meshes: Mesh) -> Mesh:
    """Several closed shells as one mesh."""
    offsets = np.cumsum([0] + [len(m.vertices) for m in meshes[:-1]])
    return Mesh(
        np.concatenate([m.vertices for m in meshes]),
        np.concatenate([m.triangles + o for m, o in zip(meshes, offsets, strict=True)]).astype(
            np.int32
        ),
    )


def finely(mesh: Mesh, times: int) -> Mesh:
    """Each triangle cut in four, `times` over, corners kept shared."""
    for _ in range(times):
        t, n = mesh.triangles.astype(np.int64), len(mesh.vertices)
        edges = np.sort(np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=1)
        unique, back = np.unique(edges, axis=0, return_inverse=True)
        middle = mesh.vertices[unique].mean(axis=1)
        ab, bc, ca = (n + back.reshape(3, -1)).astype(np.int64)
        a, b, c = t.T
        quads = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        triangles = np.concatenate([np.column_stack(q) for q in quads]).astype(np.int32)
        mesh = Mesh(np.concatenate([mesh.vertices, middle]), triangles)
    return mesh


# Shapes as printed, in x and z; each is drawn 20 mm along y.
ARCH = [(0, 0), (5, 0), (5, 20), (15, 20), (15, 0), (20, 0), (20, 25), (0, 25)]
LONG_ARCH = [(0, 0), (5, 0), (5, 20), (45, 20), (45, 0), (50, 0), (50, 25), (0, 25)]
LEDGE = [(0, 0), (10, 0), (10, 20), (25, 20), (25, 25), (0, 25)]
HANGING = [(0, 0), (5, 0), (5, 20), (12, 20), (12, 10), (15, 10), (15, 25), (0, 25)]
CHAMFERED = [(0, 0), (10, 0), (20, 10), (20, 20), (0, 20)]
STEEP = [(0, 0), (10, 0), (25, 10), (25, 20), (0, 20)]


def part(**features: object) -> Part:
    """A part with one body ``case`` whose solid is never asked for."""
    bodies = features.pop("bodies", (Body(name="case", solid=None),))
    return Part(title="post", template="test", bodies=bodies, **features)


def context(mesh: Mesh | None = None, **values: object) -> CheckContext:
    """A context of a common desktop printer."""
    values = {"bed_mm": (180.0, 180.0, 180.0), "collisions": False} | values
    if mesh is not None:
        values["meshes"] = {"case": mesh}
    return CheckContext(**values)
