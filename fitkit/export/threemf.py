"""The file to print from: 3MF in millimetres, a named object a body, laid flat on the bed.

Written with lib3mf, the format's reference implementation, and read back with it before anyone is
told that the file is there: each object must be closed, right way out, and of the solid's volume.
Source of the format: 3MF Core Specification 1.3.
"""

from __future__ import annotations

import io
import locale
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import ExportError, InputError
from fitkit.core.files import check_archive
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    import ctypes
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

__all__ = ["PlacedMesh", "read_3mf", "write_3mf"]

# 3MF asks that metadata names of one's own sit in a name space of one's own.
NAMESPACE = "urn:fitkit:part:1"
# The names that the core has (section 3.4.1); dates are of the form of XML Schema.
_STANDARD = {
    "Title",
    "Designer",
    "Description",
    "Copyright",
    "LicenseTerms",
    "Rating",
    "CreationDate",
    "ModificationDate",
    "Application",
}
# Larger ones, unpacked, are not ours and may be made to exhaust the memory of whoever opens them.
MAX_BYTES = 256 * 2**20


class PlacedMesh(NamedTuple):
    """A body's name and its mesh where it lies on the bed, mm."""

    name: str
    mesh: Mesh


def write_3mf(path: Path, bodies: Sequence[PlacedMesh], metadata: Mapping[str, str]) -> None:
    """Write bodies to a 3MF file and prove it by reading it back.

    Parameters
    ----------
    path : Path
        Written as it is named; the caller stages it.
    bodies : sequence of PlacedMesh
        Geometry already in place: no transform is left for a reader to apply.
    metadata : mapping of str to str
        ``Title``, ``Description`` and other names of the 3MF core, or names of our own.

    Raises
    ------
    ExportError
        If a body is open, inside out, or comes back with another volume: says which; if the file
        cannot be written.
    """
    with _locale_kept():
        _write(path, bodies, metadata)
    _prove(path, bodies)


def _write(path: Path, bodies: Sequence[PlacedMesh], metadata: Mapping[str, str]) -> None:
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    group = model.GetMetaDataGroup()
    for name, value in metadata.items():
        space = "" if name in _STANDARD else NAMESPACE
        group.AddMetaData(space, name, value, "xs:string", True)
    for body in bodies:
        thing = model.AddMeshObject()
        thing.SetName(body.name)
        thing.SetGeometry(
            _structs(lib3mf.Position, body.mesh.vertices.astype("<f4")),
            _structs(lib3mf.Triangle, body.mesh.triangles.astype("<u4")),
        )
        if not thing.IsManifoldAndOriented():
            raise ExportError(
                f"body {body.name!r} is not a closed solid",
                where=path.name,
                code="export.not-closed",
                remedy="Change the parameter that you changed last; the shape crosses itself.",
            )
        model.AddBuildItem(thing, lib3mf.get_wrapper().GetIdentityTransform())
    try:
        path.write_bytes(_archive(model))
    except OSError as error:
        raise ExportError(
            f"this file cannot be written: {error.strerror}",
            where=path.name,
            code="export.not-written",
            remedy="Check that the disk has room and that you may write in the folder.",
        ) from error


def _archive(model: Any) -> bytes:
    """Give the model's file: on a full disk, lib3mf's own way to one ends the whole process."""
    import ctypes

    import lib3mf

    stream = io.BytesIO()
    write = lib3mf.WriteCallback(
        lambda start, count, _: stream.write(ctypes.string_at(start, count)) and None
    )
    seek = lib3mf.SeekCallback(lambda place, _: stream.seek(place) and None)
    model.QueryWriter("3mf").WriteToCallback(write, seek, None)
    return stream.getvalue()


@contextmanager
def _locale_kept() -> Iterator[None]:
    """Put the process's locale back: lib3mf sets "C", after which files open as ASCII."""
    before = locale.setlocale(locale.LC_ALL)
    try:
        yield
    finally:
        locale.setlocale(locale.LC_ALL, before)


def _structs(kind: type[ctypes.Structure], rows: np.ndarray[Any, Any]) -> Any:
    return (kind * len(rows)).from_buffer_copy(np.ascontiguousarray(rows).data)


def _prove(path: Path, bodies: Sequence[PlacedMesh]) -> None:
    back, _ = read_3mf(path)
    for wrote, read in zip(bodies, back, strict=True):
        volume = wrote.mesh.volume()
        if volume <= 0 or abs(read.mesh.volume() - volume) > 1e-4 * abs(volume):
            raise ExportError(
                f"body {wrote.name!r} has {volume:.1f} mm³ but reads back as "
                f"{read.mesh.volume():.1f} mm³",
                where=path.name,
                code="export.reads-back-otherwise",
                remedy="Nothing was kept; report this part sheet.",
            )


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
    with _locale_kept():
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
