"""Ratios of the checks, measured side by side in one run: `rows()`."""

from __future__ import annotations

import math
from time import perf_counter
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.checks import CheckContext, Use, published_material, run_checks
from fitkit.checks.assembly import blocked
from fitkit.checks.overhang import leaning
from fitkit.checks.surface import Surface
from fitkit.parts.contract import Body, Part
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["rows"]

_BUDGET_S = 1.0  # for 100,000 triangles
_CASE_BUDGET_S = 0.3


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    """Measure; each row has a name, a ratio and a note."""
    mesh = _wavy_tray(21 if smoke else 159)
    part = Part(title="tray", template="bench", bodies=(Body(name="case", solid=None),))  # type: ignore[arg-type]
    context = CheckContext(
        bed_mm=(200.0, 200.0, 200.0),
        meshes={"case": mesh},
        material=published_material("PETG"),
        use=Use(watts=0),
        collisions=False,
    )
    run_checks(part, context)  # loads SciPy and the tables
    whole = _best(lambda: run_checks(part, context))
    case = _board_case()
    loop = _best(lambda: _leaning_in_a_loop(mesh), repeats=1)
    arrays = _best(lambda: leaning(Surface(mesh), limit_deg=45))
    board = _box(0.5 * mesh.size[0], 0.5 * mesh.size[1], 1.6, mesh.bounds.mean(axis=0))
    laying = _best(lambda: blocked(board, mesh, (0.0, 0.0, -1.0)), repeats=3)
    count = len(mesh.triangles)
    return [
        {
            "name": "all checks over the second allowed",
            "ratio": whole / _BUDGET_S,
            "note": f"{count} triangles, {1e3 * whole:.0f} ms; under 1 is within",
        },
        {
            "name": "checks of a board case over the 300 ms allowed",
            "ratio": case / _CASE_BUDGET_S,
            "note": f"collisions included, {1e3 * case:.0f} ms; under 1 is within",
        },
        {
            "name": "leaning faces: a loop in Python over arrays",
            "ratio": loop / arrays,
            "note": f"{count} triangles, {1e3 * loop:.0f} against {1e3 * arrays:.1f} ms",
        },
        {
            "name": "laying an object in over all other checks",
            "ratio": laying / whole,
            "note": f"heights on a grid of 300 across, {1e3 * laying:.0f} ms",
        },
    ]


def _board_case() -> float:
    """Seconds that all checks of a board case take, its board laid in."""
    from fitkit.flow.built import mesh_part
    from fitkit.parts import template

    built = mesh_part(template("board case").of(lid_fixing="rim").build())
    context = CheckContext(
        bed_mm=(200.0, 200.0, 200.0),
        meshes=built.laid,
        placements=built.placements,
        assembled=built.assembled,
        material=published_material("PETG"),
        use=Use(watts=1.5),
    )
    return _best(lambda: run_checks(built.part, context))


def _best(call: Callable[[], object], *, repeats: int = 5) -> float:
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


def _wavy_tray(side: int) -> Mesh:
    """A wavy top over a flat bottom, closed by a rim: 4 (side - 1)² triangles and a few."""
    x, y = np.meshgrid(np.linspace(0, 120, side), np.linspace(0, 80, side), indexing="ij")
    top = 12 + 4 * np.sin(x / 6) * np.cos(y / 5)
    points = np.concatenate(
        [np.stack([x, y, z], axis=-1).reshape(-1, 3) for z in (top, np.zeros_like(top))]
    )
    index = np.arange(side * side).reshape(side, side)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    upper = np.concatenate([np.stack(t, axis=-1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))])
    rim = np.concatenate([index[:-1, 0], index[-1, :-1], index[:0:-1, -1], index[0, :0:-1]])
    after, below = np.roll(rim, -1), side * side
    wall = np.concatenate(
        [
            np.stack([rim, rim + below, after], axis=1),
            np.stack([after, rim + below, after + below], axis=1),
        ]
    )
    return Mesh(points, np.concatenate([upper, upper[:, ::-1] + below, wall]).astype(np.int32))


def _box(x: float, y: float, z: float, middle: np.ndarray) -> Mesh:
    corners = np.array([[i, j, k] for k in (0, 1) for j in (0, 1) for i in (0, 1)], dtype=float)
    quads = np.array(
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
    )
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.int32)
    return Mesh((corners - 0.5) * [x, y, z] + middle, triangles)


def _leaning_in_a_loop(mesh: Mesh) -> list[bool]:
    """What `leaning` does, one triangle at a time."""
    limit = math.sin(math.radians(45.5))
    vertices, found = mesh.vertices.tolist(), []
    for i, j, k in mesh.triangles.tolist():
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = vertices[i], vertices[j], vertices[k]
        ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        length = math.sqrt(nx * nx + ny * ny + nz * nz)
        on_bed = az < 0.1 and bz < 0.1 and cz < 0.1
        found.append(length > 0 and -nz / length > limit and not on_bed)
    return found
