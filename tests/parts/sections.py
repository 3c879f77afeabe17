"""Sizes read off a mesh by a plane section, with trimesh and shapely: no kernel takes part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
import trimesh

from fitkit.solids.kernel import tessellate

if TYPE_CHECKING:
    from fitkit.parts.contract import Part

Point = tuple[float, float, float]
_AXES = {"x": 0, "y": 1, "z": 2}


def _crossings(part: Part, at: Point, plane: str, along: str) -> np.ndarray:
    """Where a line through `at` along an axis crosses the section normal to `plane`, from `at`."""
    mesh = tessellate(part.bodies[0].solid, tolerance_mm=0.002, angle_deg=3.0)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    normal = np.eye(3)[_AXES[plane]]
    segments = trimesh.intersections.mesh_plane(read, normal, np.array(at, dtype=float))
    keep = [i for i in range(3) if i != _AXES[plane]]
    lines = shapely.union_all(shapely.linestrings(segments[:, :, keep]))
    here, axis = np.array(at, dtype=float)[keep], keep.index(_AXES[along])
    ends = np.array([here, here])
    ends[:, axis] += [-1e3, 1e3]
    met = shapely.intersection(lines, shapely.linestrings(ends))
    return np.unique(np.round(shapely.get_coordinates(met)[:, axis] - here[axis], 5))


def read_size(
    part: Part, at: Point, *, plane: str, along: str, kind: Literal["gap", "span"] = "gap"
) -> float:
    """Free width about a point, or full extent through it, mm."""
    found = _crossings(part, at, plane, along)
    if kind == "span":
        return float(found[-1] - found[0])
    return float(found[found > 0][0] - found[found < 0][-1])


def middle_of_gap(part: Part, at: Point, *, plane: str, along: str) -> float:
    """Middle of the free width about a point, as its coordinate along the axis, mm."""
    found = _crossings(part, at, plane, along)
    middle = (found[found > 0][0] + found[found < 0][-1]) / 2
    return float(middle + at[_AXES[along]])
