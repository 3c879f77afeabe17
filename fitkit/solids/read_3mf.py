"""Reading 3MF files: every object that is built, in place, in mm.

Read with lib3mf, the format's reference implementation. Left out: objects made of other objects,
colours and materials. Source of the format: 3MF Core Specification 1.3.
"""

from __future__ import annotations

import locale
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import ExportError, InputError
from fitkit.core.files import check_archive
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    import ctypes
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["PlacedMesh", "locale_kept", "read_3mf"]

# Larger ones, unpacked, are not ours and may be made to exhaust the memory of whoever opens them.
MAX_BYTES = 256 * 2**20


class PlacedMesh(NamedTuple):
    """A body's name and its mesh where it lies on the bed, mm."""

    name: str
    mesh: Mesh


@contextmanager
def locale_kept() -> Iterator[None]:
    """Put the process's locale back: lib3mf sets "C", after which files open as ASCII."""
    before = locale.setlocale(locale.LC_ALL)
    try:
        yield
    finally:
        locale.setlocale(locale.LC_ALL, before)


def read_3mf(path: Path) -> tuple[list[PlacedMesh], dict[str, str]]:
    """Read bodies and metadata from a 3MF file, in mm whatever unit it declares.

    Raises
    ------
    ExportError
        If the file is too large as it lies or unpacked, no 3MF, or made of anything but meshes.
    """
    try:
        check_archive(path, max_bytes=MAX_BYTES)
    except InputError as error:
        raise error.placed(ExportError) from error
    with locale_kept():
        return _read(path)


def _read(path: Path) -> tuple[list[PlacedMesh], dict[str, str]]:
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    try:
        model.QueryReader("3mf").ReadFromFile(str(path))
    except lib3mf.ELib3MFException as error:
        raise ExportError(
            "this is not a readable 3MF file", where=path.name, code="export.not-3mf"
        ) from error
    scale = _MM[lib3mf.ModelUnit(model.GetUnit()).name]
    bodies = []
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        resource = item.GetObjectResource()
        if not resource.IsMeshObject():
            raise ExportError(
                f"object {resource.GetName()!r} is not a mesh",
                where=path.name,
                code="export.not-a-mesh",
                remedy="Give a file whose objects are meshes, not assemblies of others.",
            )
        thing = model.GetMeshObjectByID(resource.GetResourceID())
        # 3MF transforms: four rows of three, applied to row vectors.
        transform = np.ctypeslib.as_array(item.GetObjectTransform().Fields).astype(float)
        lib = wrapper.lib
        places = _rows(lib.lib3mf_meshobject_getvertices, thing, lib3mf.Position, "<f4")
        triangles = _rows(lib.lib3mf_meshobject_gettriangleindices, thing, lib3mf.Triangle, "<u4")
        vertices = places.astype(float)
        moved = (vertices @ transform[:3] + transform[3]) * scale
        bodies.append(PlacedMesh(resource.GetName(), Mesh(moved, triangles.astype(np.int32))))
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    return bodies, {entry.GetName(): entry.GetValue() for entry in entries}


_MM = {
    "MicroMeter": 1e-3,
    "MilliMeter": 1.0,
    "CentiMeter": 10.0,
    "Inch": 25.4,
    "Foot": 304.8,
    "Meter": 1000.0,
}


def _rows(call: Any, thing: Any, kind: type[ctypes.Structure], number: str) -> np.ndarray[Any, Any]:
    """Have the library fill one buffer; its Python methods make an object of every row instead."""
    import ctypes

    needed = ctypes.c_uint64()
    thing._wrapper.checkError(thing, call(thing._handle, 0, needed, None))
    rows = (kind * needed.value)()
    thing._wrapper.checkError(thing, call(thing._handle, needed, needed, rows))
    return np.frombuffer(bytes(rows), number).reshape(-1, 3)
