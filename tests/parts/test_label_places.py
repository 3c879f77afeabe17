"""Labels lie on their face: no pocket of a letter opens at a rim or into a hole."""

import numpy as np
import pytest
import trimesh
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from fitkit.parts.registry import template
from fitkit.solids.bodies import volume_of
from fitkit.solids.kernel import tessellate


@pytest.mark.parametrize("ball", ["20 mm", "30 mm", "40 mm", "60 mm", "80 mm"])
@pytest.mark.parametrize("screws", [0, 1, 2, 3, 4])
def test_the_label_of_a_ball_seat_lies_within_its_plate(ball, screws):
    values = {"ball": ball, "screws": screws, "retention": "0.3 mm"}
    plain = template("ball seat").of(**values).build()
    part = template("ball seat").of(label="K7M3PXA", **values).build()
    removed = volume_of(plain.body("seat").solid) - volume_of(part.body("seat").solid)
    if any(finding.check == "label" for finding in part.findings):
        assert removed == pytest.approx(0.0, abs=1e-6)
        return
    # Just under the face, half as deep as the letters: their section lies in the plate's, with
    # material all round.
    mesh = tessellate(part.body("seat").solid, tolerance_mm=0.01)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=True)
    section = read.section(plane_origin=[0, 0, 3.0 - 0.2], plane_normal=[0, 0, 1])
    rings = [Polygon(line[:, :2]) for line in section.discrete]
    plate = max(rings, key=lambda ring: ring.area)
    rim = float(np.max(np.hypot(*np.array(plate.exterior.coords).T)))
    letters = [r for r in rings if r.area < 0.02 * plate.area and r.centroid.y < 0]
    assert removed > 1.0
    within = Point(0, 0).buffer(rim - 0.7, 256)
    heads = [(lug.at[0], lug.at[1]) for lug in part.lugs]
    assert unary_union(letters).area > 0
    for ring in letters:
        near = min(
            (np.hypot(ring.centroid.x - x, ring.centroid.y - y) for x, y in heads), default=9
        )
        if near > 1.0:  # not a screw's own hole
            assert within.contains(ring)
