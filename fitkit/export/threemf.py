"""The file to print from: 3MF in millimetres, a named object a body, laid flat on the bed.

Written with lib3mf, the format's reference implementation, and read back with it before anyone is
told that the file is there: each object must be closed, right way out, and of the solid's volume.
Source of the format: 3MF Core Specification 1.3.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.errors import ExportError
from fitkit.solids.read_3mf import PlacedMesh, locale_kept, read_3mf

if TYPE_CHECKING:
    import ctypes
    from collections.abc import Mapping, Sequence
    from pathlib import Path

__all__ = ["PlacedMesh", "read_3mf", "write_3mf"]

# 3MF asks that metadata names of one's own sit in a name space of one's own.
NAMESPACE = "urn:fitkit:part:1"
_STANDARD = {"Title", "Designer", "Description", "Copyright", "LicenseTerms", "Application"}


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
    with locale_kept():
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
