"""Independent measuring of solids: sections through the mesh by trimesh and shapely."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh

from fitkit.solids import tessellate

# The room's helper modules are plain files beside the tests.
_spec = importlib.util.spec_from_file_location(
    "parts_gallery", Path(__file__).parent / "gallery.py"
)
assert _spec
assert _spec.loader
_gallery = importlib.util.module_from_spec(_spec)
sys.modules["parts_gallery"] = _gallery
_spec.loader.exec_module(_gallery)


class Section:
    """A cut through a solid's mesh: what jaws would find there."""

    def __init__(self, solid, origin, normal):
        mesh = tessellate(solid, tolerance_mm=0.01, angle_deg=4)
        whole = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
        assert whole.is_watertight
        cut = whole.section(plane_origin=origin, plane_normal=normal)
        assert cut is not None, f"nothing of the solid at {origin}"
        normal = np.asarray(normal, float)
        # In-plane axes: x and y for a level cut, x and z or y and z for upright ones.
        keep = [axis for axis in range(3) if abs(normal[axis]) < 0.5]
        rings = [np.asarray(path)[:, keep] for path in cut.discrete]
        self.rings = [shapely.Polygon(ring) for ring in rings if len(ring) > 3]
        # Material by parity: each ring flips inside and outside.
        area = shapely.Polygon()
        for ring in self.rings:
            area = area.symmetric_difference(ring.buffer(0))
        self.material = area

    def hole_at(self, point) -> shapely.Polygon:
        """The smallest ring round a point that lies in air."""
        spot = shapely.Point(point)
        assert not self.material.contains(spot), "that point lies in material"
        around = [ring for ring in self.rings if ring.contains(spot)]
        assert around, "that point lies outside"
        return min(around, key=lambda ring: ring.area)

    def span(self, start, end) -> float:
        """Length of material along a straight line."""
        return shapely.LineString([start, end]).intersection(self.material).length

    def gap(self, point, direction, reach=400.0) -> float:
        """Width of the air round a point, along a direction."""
        point, direction = np.asarray(point, float), np.asarray(direction, float)
        line = shapely.LineString([point - reach * direction, point + reach * direction])
        air = line.difference(self.material)
        pieces = list(air.geoms) if hasattr(air, "geoms") else [air]
        return min(pieces, key=lambda piece: piece.distance(shapely.Point(point))).length


@pytest.fixture
def section():
    """Cut a solid: ``section(solid, origin, normal)``."""
    return Section
