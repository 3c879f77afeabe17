"""A given shape of a million triangles with three features, beside its libraries called bare.

Ours reads and mends the shape, looks for crossings, holds the poses against it, measures the
plastic left beside each cut, joins all, makes the coarser copy, writes 3MF and STL, and proves the
3MF by reading it back. The bare way reads the same file by NumPy, merges its corners and joins the
same tools by manifold3d, and writes 3MF by lib3mf and STL by NumPy: nothing is looked at.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from bench.pairs import paired

__all__ = ["rows"]

_RUNS = 3
_PLACES = (
    ("ball", "ball in a cup", ("0 mm", "0 mm", "118.4 mm"), {"sunk": "14 mm", "normal": [0, 0, 1]}),
    ("cable", "cable channel", ("0 mm", "32.5 mm", "20 mm"), {"normal": [0, 1, 0]}),
    ("foot", "flat foot", ("0 mm", "0 mm", "1 mm"), {}),
)


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    from fitkit.export.stl import write_stl

    sys.path.insert(0, str(Path(__file__).parents[1] / "measurements"))
    from make_demo_owl import owl

    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        file = folder / "owl.stl"
        mesh = owl(1 if smoke else 8)
        write_stl(file, mesh)
        tools = _tools(file)
        both = paired(
            lambda: _ours(file, folder),
            lambda: _bare(file, folder, tools),
            runs=_RUNS,
            smoke=smoke,
        )
        count = f"{len(mesh.triangles):,} triangles"
        return [both.row(f"given shape of {count} / its libraries bare", "goal 1.5 or less")]


def _kind(file: Path) -> Any:
    from fitkit.parts import template

    things = [
        {"name": name, "held": held, "place": {"at": list(at), **more}}
        for name, held, at, more in _PLACES
    ]
    return template("given shape").of(shape=str(file), unit="mm", things=things)


def _ours(file: Path, folder: Path) -> None:
    from fitkit.export import write_files
    from fitkit.flow.built import print_meshes
    from fitkit.solids import given_mesh

    given_mesh._sound.cache_clear()
    part = _kind(file).build()
    write_files(
        part, print_meshes(part), folder, bed_mm=(220, 220), kinds=["3mf", "stl"], metadata={}
    )


def _tools(file: Path) -> Any:
    """Mesh the same tools once; how long that takes counts for ours alone."""
    kind = _kind(file)
    fixtures = kind.fixtures(kind.must_fit(), kind.frames)
    return [
        kind._tools(thing, fixture, frame)
        for thing, fixture, frame in zip(kind.things, fixtures, kind.frames, strict=True)
    ]


def _bare(file: Path, folder: Path, tools: Any) -> None:
    import lib3mf
    import manifold3d

    from fitkit.export.stl import write_stl
    from fitkit.solids.mesh import Mesh

    row = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    corners = np.fromfile(file, row, offset=84)["corners"].reshape(-1, 3)
    index = np.arange(len(corners), dtype=np.uint32).reshape(-1, 3)
    mesh = manifold3d.Mesh(np.ascontiguousarray(corners), index)
    mesh.merge()
    solid = manifold3d.Manifold(mesh)
    ball, cable, foot = tools
    solid = (solid - ball.clear) + ball.add
    solid = solid - cable.cuts[0]
    plane = foot.plane
    _, solid = solid.split_by_plane(plane.along(2), float(plane.along(2) @ plane.origin))
    made = solid.to_mesh()
    vertices = np.ascontiguousarray(made.vert_properties[:, :3], "<f4")
    faces = np.ascontiguousarray(made.tri_verts, "<u4")
    model = lib3mf.get_wrapper().CreateModel()
    thing = model.AddMeshObject()
    thing.SetGeometry(
        (lib3mf.Position * len(vertices)).from_buffer_copy(vertices.data),
        (lib3mf.Triangle * len(faces)).from_buffer_copy(faces.data),
    )
    model.AddBuildItem(thing, lib3mf.get_wrapper().GetIdentityTransform())
    model.QueryWriter("3mf").WriteToFile(str(folder / "bare.3mf"))
    write_stl(folder / "bare.stl", Mesh(vertices.astype(float), faces.astype(np.int32)))
