"""The file to print from: 3MF in millimetres, a named object a body, laid flat on the bed.

Written with lib3mf, the format's reference implementation, and read back with it before anyone is
told that the file is there: each object must be closed, right way out, and of the solid's volume.
Source of the format: 3MF Core Specification 1.3.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import ExportError
from fitkit.solids.mesh import Mesh, turn_matrix
from fitkit.solids.read_3mf import PlacedMesh, locale_kept, read_3mf

if TYPE_CHECKING:
    import ctypes
    from collections.abc import Mapping, Sequence
    from pathlib import Path

__all__ = ["Instance", "PlacedMesh", "read_3mf", "write_3mf", "write_plate"]

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


class Instance(NamedTuple):
    """One printed copy of an object on a plate.

    Attributes
    ----------
    object : int
        Number of the object, from 0.
    mark : str
        Its part number in the file, such as a trace code.
    turn_deg : int
        About the upright, by quarters.
    shift : (x, y, z), mm
        After the turn.
    """

    object: int
    mark: str
    turn_deg: int
    shift: tuple[float, float, float]

    def placed(self, mesh: Mesh) -> Mesh:
        """Give the object's mesh where this copy of it lies."""
        return mesh.moved(turn_matrix((0.0, 0.0, float(self.turn_deg))), np.array(self.shift))


def write_plate(
    path: Path,
    objects: Sequence[PlacedMesh],
    instances: Sequence[Instance],
    metadata: Mapping[str, str],
) -> None:
    """Write objects to a 3MF file, each once, with all copies of it on the plate, and prove it.

    Parameters
    ----------
    path : Path
        Written as it is named; the caller stages it.
    objects : sequence of PlacedMesh
        Each in a place of its own.
    instances : sequence of Instance
        Build items of the file; each object has at least one.
    metadata : mapping of str to str
        As `write_3mf` takes it.

    Raises
    ------
    ExportError
        As `write_3mf` does.
    """
    with locale_kept():
        _write(path, objects, metadata, instances)
    _prove(
        path,
        [
            PlacedMesh(objects[one.object].name, one.placed(objects[one.object].mesh))
            for one in instances
        ],
    )


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


def _write(
    path: Path,
    bodies: Sequence[PlacedMesh],
    metadata: Mapping[str, str],
    instances: Sequence[Instance] | None = None,
) -> None:
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    group = model.GetMetaDataGroup()
    for name, value in metadata.items():
        space = "" if name in _STANDARD else NAMESPACE
        group.AddMetaData(space, name, value, "xs:string", True)
    things = []
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
        things.append(thing)
        if instances is None:
            model.AddBuildItem(thing, lib3mf.get_wrapper().GetIdentityTransform())
    for one in instances or ():
        item = model.AddBuildItem(things[one.object], _transform(one))
        item.SetPartNumber(one.mark)
    try:
        path.write_bytes(_archive(model))
    except OSError as error:
        raise ExportError(
            f"this file cannot be written: {error.strerror}",
            where=path.name,
            code="export.not-written",
            remedy="Check that the disk has room and that you may write in the folder.",
        ) from error


def _transform(one: Instance) -> Any:
    """Four rows of three, applied to row vectors, as 3MF has them."""
    import lib3mf

    found = lib3mf.Transform()
    turned = turn_matrix((0.0, 0.0, float(one.turn_deg))).T
    for row, values in enumerate((*turned, one.shift)):
        for column, value in enumerate(values):
            found.Fields[row][column] = float(value)
    return found


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
