"""The bodies of a print, kept beside its record: a template may change its shape later.

They are the text of a STEP file, packed, in the journal's folder ``bodies`` under the print's trace
code: a file there belongs to one record, and comes with it. The text is read with a general reader
of STEP, so that a shape outlives fitkit too. Bodies of triangles are kept as PLY files in a ZIP
file.
"""

from __future__ import annotations

import gzip
import hashlib
import io
import zipfile
import zlib
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.core.files import read_plain
from fitkit.journal.entries import KeptFile
from fitkit.journal.names import inside

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from fitkit.journal.records import PrintRecord
    from fitkit.solids.mesh import Mesh

__all__ = ["FOLDER", "holds_meshes", "kept_meshes", "kept_step", "packed_bodies", "packed_meshes"]

FOLDER = "bodies"
_MESHES = ".ply.zip"
# The coupon, the largest part that is shipped, takes 13 MB unpacked and 2 MB packed.
MAX_BYTES = 200_000_000
_RESTORE = (
    "Restore the file from a copy or the version history, or ask for the present design, which is "
    "built from the record alone."
)


def packed_bodies(folder: Path, step: bytes, *, code: str) -> tuple[KeptFile, Path, bytes]:
    """Pack the text of a STEP file for a journal's folder; write nothing.

    Parameters
    ----------
    folder : Path
        The journal's.
    step : bytes
        The text of a STEP file of all bodies, in assembly position.
    code : str
        Trace code of the print.

    Returns
    -------
    kept : KeptFile
        For the record: the packed file's name in the folder `FOLDER`, the hash of the text and its
        size before packing.
    path : Path
        Where the packed file belongs.
    content : bytes
        What it holds.
    """
    kept = KeptFile(
        name=f"{code.lower()}.step.gz", sha256=hashlib.sha256(step).hexdigest(), size=len(step)
    )
    return kept, inside(folder, FOLDER, kept.name), gzip.compress(step, 6, mtime=0)


def packed_meshes(
    folder: Path, meshes: Mapping[str, Mesh], *, code: str
) -> tuple[KeptFile, Path, bytes]:
    """Pack bodies of triangles for a journal's folder; write nothing.

    Parameters
    ----------
    folder : Path
        The journal's.
    meshes : mapping of body name to Mesh, mm
        In assembly position.
    code : str
        Trace code of the print.

    Returns
    -------
    kept, path, content
        As `packed_bodies` gives them; the hash is that of the ZIP file.
    """
    from fitkit.solids.ply import ply_bytes

    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as file:
        for number, mesh in enumerate(meshes.values(), start=1):
            entry = zipfile.ZipInfo(
                f"body-{number}.ply"
            )  # no time in it: the same bodies, same file
            entry.compress_type = zipfile.ZIP_DEFLATED
            file.writestr(entry, ply_bytes(mesh), compresslevel=1)
    content = stream.getvalue()
    kept = KeptFile(
        name=f"{code.lower()}{_MESHES}",
        sha256=hashlib.sha256(content).hexdigest(),
        size=len(content),
    )
    return kept, inside(folder, FOLDER, kept.name), content


def holds_meshes(record: PrintRecord) -> bool:
    """Tell whether a record's kept bodies are triangles."""
    return record.bodies is not None and record.bodies.name.endswith(_MESHES)


def kept_meshes(record: PrintRecord, folder: Path) -> list[Mesh]:
    """Read the bodies of triangles that a record keeps.

    Parameters
    ----------
    record : PrintRecord
        For which `holds_meshes`.
    folder : Path
        The journal's.

    Returns
    -------
    list of Mesh
        In the order of the record's bodies, in assembly position.

    Raises
    ------
    JournalError
        If the file is gone, or is not the one that was kept.
    """
    from fitkit.solids.ply import mesh_of_ply

    kept = record.bodies
    assert kept is not None
    path = inside(folder, FOLDER, kept.name)
    try:
        content = read_plain(path, max_bytes=MAX_BYTES)
    except OSError as error:
        raise _damaged(record, path, f"cannot be read ({error})") from error
    if hashlib.sha256(content).hexdigest() != kept.sha256:
        raise _damaged(record, path, "is not the one that was kept")
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        return [mesh_of_ply(file.read(entry)) for entry in file.infolist()]


def _damaged(record: PrintRecord, path: Path, why: str) -> JournalError:
    return JournalError(
        f"the file with the exact bodies {why}",
        file=path,
        where=f"record {record.code}",
        code="journal.bodies-damaged",
        remedy=_RESTORE,
    )


def kept_step(record: PrintRecord, folder: Path) -> bytes | None:
    """Read the text of the STEP file that a record keeps; None for records that keep none.

    Parameters
    ----------
    record : PrintRecord
    folder : Path
        The journal's.

    Raises
    ------
    JournalError
        If the file is gone, or is not the one that was kept.
    """
    kept = record.bodies
    if kept is None:
        return None
    path = inside(folder, FOLDER, kept.name)
    try:
        packed = zlib.decompressobj(wbits=31)
        step = packed.decompress(read_plain(path), MAX_BYTES)
    except (OSError, zlib.error) as error:
        step, why = b"", f"cannot be read ({error})"
    else:
        why = "is not the one that was kept"
    if hashlib.sha256(step).hexdigest() != kept.sha256:
        raise _damaged(record, path, why)
    return step
