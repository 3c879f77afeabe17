"""Shapes drawn ahead of a slider, against what the kernel builds at the same value."""

import math

import numpy as np
import pytest
import trimesh
from rig import PlateTray
from trimesh.proximity import closest_point

from fitkit.core.errors import FitkitError
from fitkit.export.scene import scene_of
from fitkit.parts import template
from fitkit.widgets.draft import drawn_at, pieces

# 24 vents, 4 standoffs and 3 ports.
CASE = {
    "vent_area": "500 mm²",
    "ports": [
        {"wall": wall, "along": "20 mm", "width": "10 mm", "height": "5 mm"}
        for wall in ("front", "left", "right")
    ],
}


def builder(kind, path, **values):
    def build(value):
        try:
            return kind.of(**values | {path: f"{value:g} mm"}).build()
        except FitkitError:
            return None

    return build


def as_trimesh(mesh):
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)


def farthest(one, two):
    """The Hausdorff distance between two meshes, from corners and middles of both, mm."""
    return max(
        closest_point(as_trimesh(b), np.concatenate([a.vertices, a.corners.mean(axis=1)]))[1].max()
        for a, b in ((one, two), (two, one))
    )


# How many values are covered hangs on where the kernel's facets change by one, which differs by a
# value or two from run to run on a busy machine; fewer than these would be of little use.
@pytest.mark.parametrize(
    ("path", "low", "step", "count", "start", "covers"),
    [
        ("wall", 1.6, 0.05, 89, 16, 20),  # the snap lid's tongues change with it
        ("board_length", 15.0, 2.0, 143, 21, 6),  # vents and their places come and go
        ("lid_thickness", 1.2, 0.05, 97, 16, 35),
    ],
)
def test_a_draft_is_what_the_kernel_builds(path, low, step, count, start, covers):
    kind = template("board case")
    build = builder(kind, path, **CASE)
    values = [round(low + n * step, 6) for n in range(count)]
    found = {}
    for piece in pieces(build, values, start, most=20):
        found[piece.at, piece.high > piece.at] = piece
    drawable = [v for v in values if any(p.low <= v <= p.high for p in found.values())]
    assert len(drawable) >= covers
    for value in np.random.default_rng(7).choice(drawable, 3, replace=False):
        piece = next(p for p in found.values() if p.low <= value <= p.high)
        draft = drawn_at(piece, value)
        exact = scene_of(build(value)).meshes
        assert draft.keys() == exact.keys()
        for name, mesh in exact.items():
            assert draft[name].volume() == pytest.approx(mesh.volume(), rel=0.005)
            # A triangle that is turned over would cover an opening: area tells, volume does not.
            assert draft[name].areas().sum() == pytest.approx(mesh.areas().sum(), rel=0.005)
            assert farthest(draft[name], mesh) < 0.05


def test_a_piece_ends_where_a_face_comes_and_begins_again_behind_it():
    # Below a radius of 0 there is no round edge; from half a millimetre on the facets change.
    class Rounded(PlateTray):
        title = "rounded tray"

        def build(self, drawn=None, *, title=""):
            from dataclasses import replace

            from fitkit import solids as s
            from fitkit.parts.contract import Body

            part = super().build(drawn, title=title)
            if self.height < 20:
                return part
            shelf = s.extrude(s.rectangle(10, 10), self.height, z=2)
            tray = s.fuse(part.bodies[0].solid, shelf)
            return replace(part, bodies=(Body(name="tray", solid=s.solids_in(tray)[0]),))

    values = [10.0 + n for n in range(30)]
    found = list(pieces(builder(Rounded, "height"), values, 2, most=40))
    reach = sorted({(piece.low, piece.high) for piece in found if piece.high > piece.low})
    assert (12.0, 19.0) in reach
    assert (20.0, 39.0) in reach
    assert not any(low < 20 <= high for low, high in reach)


def test_a_bent_way_is_cut_where_it_bends():
    class Bent(PlateTray):
        title = "bent tray"

        def build(self, drawn=None, *, title=""):
            # The part follows its height only up to 30 mm.
            held = self.model_copy(update={"height": min(self.height, 30.0)})
            return PlateTray.build(held, drawn, title=title)

    values = [10.0 + n for n in range(41)]
    found = list(pieces(builder(Bent, "height"), values, 10, most=40))
    for value in (25.0, 31.0, 44.0):
        piece = [p for p in found if p.low <= value <= p.high][-1]
        top = drawn_at(piece, value)["tray"].bounds[1, 2]
        assert top == pytest.approx(min(value, 30.0), abs=0.02)


def test_what_cannot_be_built_has_no_draft():
    kind = PlateTray
    values = [round(0.5 * n, 6) for n in range(81)]
    found = list(pieces(builder(kind, "round_to"), values, 0, most=60))
    # A radius over a third of the tray's depth is refused.
    limit = math.floor(48.8 / 3 * 2) / 2
    assert max(piece.high for piece in found) <= limit


def test_nothing_is_built_beyond_what_was_asked_for():
    built = []

    def build(value):
        built.append(value)
        return PlateTray.of(height=f"{value:g} mm").build()

    list(pieces(build, [4.0 + n for n in range(50)], 20, most=6))
    assert 6 <= len(built) <= 8
