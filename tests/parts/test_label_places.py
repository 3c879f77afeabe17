"""Labels lie on their face: no pocket of a letter opens at a rim or into a hole."""

import numpy as np
import pytest
import trimesh
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union
from shapely.validation import make_valid

from fitkit.parts.registry import template
from fitkit.solids.bodies import box_of, cut, solids_in, volume_of
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


def _letters(plain, marked):
    """What a label took out of a body, letter by letter, with the axis that it was sunk along."""
    taken = solids_in(cut(plain, marked))
    if not taken:
        return [], 0
    boxes = np.array([box_of(each) for each in taken])
    deep = boxes[:, 1].max(axis=0) - boxes[:, 0].min(axis=0)
    return taken, int(np.argmin(deep))


def _section(solid, axis, at):
    mesh = tessellate(solid, tolerance_mm=0.01)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=True)
    normal = np.eye(3)[axis]
    lines = read.section(plane_origin=normal * at, plane_normal=normal)
    keep = [i for i in range(3) if i != axis]
    rings = [make_valid(Polygon(line[:, keep])) for line in lines.discrete]
    # Even-odd: a ring within another is a hole.
    whole = Polygon()
    for ring in sorted(rings, key=lambda ring: -ring.area):
        whole = whole.symmetric_difference(ring)
    return whole


FLAT = (
    ("ball seat", {}),
    ("ball seat", {"style": "arms", "screws": 4}),
    ("board case", {}),
    ("board case", {"lid_fixing": "slide"}),
    ("board case", {"lid_fixing": "snap", "windows": [{"x": "29 mm", "y": "8 mm"}]}),
    ("box lid", {}),
    ("bracket", {}),
    ("clip tray", {}),
    ("cradle", {}),
    ("cradle", {"hold": "strap"}),
    ("hanger plate", {}),
    ("knob", {}),
    ("knob", {"diameter": "18 mm"}),
    ("knob", {"diameter": "60 mm", "shaft": "10 mm", "flat": "9 mm"}),
    ("panel", {}),
    ("tray insert", {}),
)


def test_a_letter_that_touches_where_the_kernel_begins_a_round_leaves_no_sliver():
    """The foot of this code's letter came within 0.6 µm of it, and the mesh had a hole."""
    part = template("spacer").of(height="10 mm", label="KJANA7Y").build()
    assert min(face.area for face in part.bodies[0].solid.faces()) > 1e-4
    for tolerance in (0.05, 0.005):
        assert len(tessellate(part.bodies[0].solid, tolerance_mm=tolerance).triangles)


@pytest.mark.parametrize("text", ["K7M3PXA", "REAR LEFT\nK7M3PXA"], ids=["code", "two lines"])
@pytest.mark.parametrize(("title", "values"), FLAT, ids=str)
def test_a_label_lies_on_its_face_with_a_margin(title, values, text):
    """Half a printed line of plastic stands round every letter, by sections of the meshes."""
    plain = template(title).of(**values).build()
    marked = template(title).of(label=text, **values).build()
    told = [one for one in marked.findings if one.check == "label"]
    seen = 0
    for before, after in zip(plain.bodies, marked.bodies, strict=True):
        letters, axis = _letters(before.solid, after.solid)
        if not letters:
            continue
        seen += len(letters)
        low = min(box_of(each)[0][axis] for each in letters)
        high = max(box_of(each)[1][axis] for each in letters)
        assert high - low == pytest.approx(0.4, abs=0.01)
        level = (low + high) / 2
        face = _section(before.solid, axis, level)
        inside = face.difference(_section(after.solid, axis, level)).buffer(-0.01)
        assert inside.area > 0
        assert face.contains(inside.buffer(0.21))
    # Told in words where it, or a line of it, finds no room.
    wanted = len(text.replace("\n", "").replace(" ", ""))
    assert seen >= wanted or told


@pytest.mark.parametrize(
    ("title", "values", "radius"),
    [
        ("spacer", {}, 4.0),
        ("spacer", {"outside": "20 mm", "height": "5 mm"}, 10.0),
        ("sleeve", {}, None),
        ("sleeve", {"clamp": True}, None),
    ],
    ids=str,
)
def test_a_round_outside_carries_its_code_round_it(title, values, radius):
    """Every letter is in the outside, at its own place round it, and as deep as two layers."""
    plain = template(title).of(**values).build()
    marked = template(title).of(label="K7M3PXA", **values).build()
    assert marked.findings == plain.findings
    (before,), (after,) = plain.bodies, marked.bodies
    letters = solids_in(cut(before.solid, after.solid))
    assert len(letters) == 7
    boxes = np.array([box_of(each) for each in letters])
    middles = boxes.mean(axis=1)
    away = np.hypot(middles[:, 0], middles[:, 1])
    top = box_of(before.solid)[1][2]
    assert boxes[:, 0, 2].min() > 0.2
    assert boxes[:, 1, 2].max() < top - 0.2
    deep = [volume_of(each) for each in letters]
    assert min(deep) > 0.4 * 0.3 * 2.4**2 / 4  # a stroke at least, two layers deep
    if radius:
        assert away == pytest.approx(radius - 0.3, abs=0.6)
    # Nothing goes through the wall.
    assert len(solids_in(after.solid)) == 1
