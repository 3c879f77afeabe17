"""Parts measured with other people's tools: sections by trimesh, areas and distances by shapely.

Gaps all round what goes in, the way in, vents that are open through, and the way of a driver to
each screw. Nothing here asks the template how it drew the part, but for where the object lies.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from shapely import affinity

from fitkit.parts.registry import template
from fitkit.solids.kernel import tessellate

# Greatest heads of countersunk screws, ISO 7046-1, from memory.
HEADS = {"M2": 3.8, "M3": 5.5, "M4": 8.4, "M5": 9.3}


def built(title, drawn_more=0.3, **values):
    made = template(title).of(**values)
    sizes = {f.name: f.plain_mm + drawn_more * f.sense for f in made.fit_sizes()}
    return made.build(sizes)


def mesh_of(part, name):
    mesh = tessellate(part.body(name).solid, tolerance_mm=0.01)
    return trimesh.Trimesh(mesh.vertices, mesh.triangles)


def level(mesh, z):
    """Material in a level plane, as shapely polygons in the part's own x and y."""
    cut = mesh.section(plane_normal=[0, 0, 1], plane_origin=[0, 0, z])
    whole = shapely.Polygon()
    if cut is None:
        return whole
    rings = [shapely.make_valid(shapely.Polygon(line[:, :2])) for line in cut.discrete]
    for ring in sorted(rings, key=lambda ring: -ring.area):
        whole = whole.symmetric_difference(ring)  # even-odd: a ring in a ring is a hole
    return whole


CASES = [
    {},
    {"standoff": "edge rails", "lid_fixing": "screws"},
    {"standoff": "snap-post", "lid_fixing": "slide"},
    {"standoff": "heat-set", "lid_fixing": "snap", "corner_radius": "0 mm"},
]


@pytest.mark.parametrize("values", CASES, ids=str)
def test_a_board_has_its_gap_on_all_four_sides_and_an_open_way_in(values):
    part = built("board case", **values)
    tray, board = mesh_of(part, "tray"), mesh_of(part, "board")
    z = board.bounds[0][2] + 0.8  # half a board up
    room, there = level(tray, z), level(board, z)
    holes = shapely.Polygon(there.exterior).difference(there).buffer(0.5)
    room = room.difference(holes)  # posts of the tray in the board's holes have a gap of their own
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        # Pushed to a side the board is stopped after half the gap of 0.3 mm, and not before.
        near, far = (affinity.translate(there, dx * by, dy * by) for by in (0.145, 0.155))
        assert room.intersection(near).area < 1e-6
        assert room.intersection(far).area > 1e-3
    if values.get("standoff") == "snap-post":
        return  # its barbs reach over the board: the strain of their arms is another test's
    for height in np.arange(board.bounds[0][2] + 0.1, tray.bounds[1][2], 0.5):
        above = level(tray, height)
        assert above.intersection(there.buffer(-1e-3)).area < 1e-3, height


@pytest.mark.parametrize("style", ["slots", "hex"])
def test_vents_of_a_lid_are_open_through_by_the_area_that_is_told(style):
    part = built("board case", vent_area="400 mm²", vent_style=style, board_length="90 mm")
    plain = built("board case", board_length="90 mm")
    told = sum(vent.free_area_mm2 for vent in part.vents if vent.body == "lid")
    lids = [mesh_of(one, "lid") for one in (part, plain)]
    bottom, top = lids[0].bounds[:, 2]
    # Open at every height of the plate at once.
    through = None
    for z in np.linspace(top - 1.8, top - 0.2, 5):
        open_here = level(lids[1], z).difference(level(lids[0], z))
        through = open_here if through is None else through.intersection(open_here)
    assert bottom < top - 1.8
    assert through.area == pytest.approx(told, rel=0.02)


SCREWED = [
    ("ball seat", {"screws": 4}, "seat", "screw hole", "M3"),
    ("ball seat", {"ball": "60 mm", "screw": "M4"}, "seat", "screw hole", "M4"),
    ("clip tray", {}, "tray", "screw hole", "M3"),
    ("clip tray", {"columns": 1, "screw": "M5"}, "tray", "screw hole", "M5"),
    ("cradle", {}, "cradle", "screw hole", "M3"),
    ("cradle", {"hold": "strap", "screw": "M5", "length": "60 mm"}, "cradle", "screw hole", "M5"),
    ("hanger plate", {"screw": "M2"}, "plate", "fixing hole", "M2"),
    ("bracket", {"screw": "M5"}, "bracket", "screw hole", "M5"),
    ("board case", {"lugs": 2}, "tray", "lug hole", "M4"),
    ("board case", {"lugs": 4, "lid_fixing": "screws"}, "tray", "lug hole", "M4"),
]


@pytest.mark.parametrize(("title", "values", "body", "hole", "screw"), SCREWED, ids=str)
def test_a_screw_goes_in_and_its_driver_comes_to_it(title, values, body, hole, screw):
    """From its plate upwards nothing stands over a screw's head, for 80 mm."""
    part = built(title, **values)
    mesh = mesh_of(part, body)
    shown = next(one for one in part.dimensions if one.name == hole)
    x, y, z = (np.asarray(shown.start) + np.asarray(shown.end)) / 2
    head, shank = (shapely.Point(x, y).buffer(d / 2, 64) for d in (HEADS[screw], float(screw[1:])))
    heights = np.arange(mesh.bounds[0][2] + 0.05, mesh.bounds[1][2], 0.25)
    cuts = {float(at): level(mesh, at) for at in heights}
    assert all(cut.intersection(shank).area < 1e-6 for cut in cuts.values())
    # The plate is what holds the head from below; above it the head's own way is free.
    holding = [at for at, cut in cuts.items() if cut.intersection(head).area > 0.05]
    assert holding
    assert max(holding) < mesh.bounds[0][2] + 12.0
    assert np.ptp(holding) == pytest.approx(0.25 * (len(holding) - 1), abs=1e-6)
    assert min(holding) - 0.06 <= z <= max(holding) + 3.0
