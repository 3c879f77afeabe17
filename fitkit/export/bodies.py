"""Writing a part's bodies: where they lie on the bed, and one call for all wanted formats."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from typing import TYPE_CHECKING

import numpy as np

from fitkit.export.stl import write_stl
from fitkit.export.threemf import PlacedMesh, write_3mf
from fitkit.solids.mesh import turn_matrix
from fitkit.solids.plate import lay_out
from fitkit.solids.turns import turns_on_bed

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["file_name", "place", "write_bodies"]

# Latin letters that do not come apart into a plain one and an accent.
_LATIN = str.maketrans(
    {"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)


def file_name(title: str) -> str:
    """Turn a title into a file name that every system takes.

    Examples
    --------
    >>> file_name("Sound board: case / Größe 2")
    'sound-board-case-grosse-2'
    >>> file_name("../..")
    'part'
    >>> file_name("con")
    'part-con'

    Letters that have no Latin form leave a mark, so that two such titles are two files.

    >>> file_name("Ящик 2"), file_name("Полка 2")
    ('2-d6132b', '2-77209a')
    """
    apart = unicodedata.normalize("NFKD", title.casefold().translate(_LATIN))
    plain = re.sub(r"[^a-z0-9]+", "-", apart.encode("ascii", "ignore").decode()).strip("-")[:60]
    if re.fullmatch(r"con|prn|aux|nul|com\d|lpt\d", plain):  # no file's name on Windows
        plain = f"part-{plain}"
    if any(sign.isalnum() and not sign.isascii() for sign in apart):
        mark = hashlib.sha256(title.casefold().encode()).hexdigest()[:6]
        return f"{plain or 'part'}-{mark}"
    return plain or "part"


def place(meshes: Mapping[str, Mesh], bed_mm: Sequence[float]) -> list[list[PlacedMesh]]:
    """Lay meshes in print pose on as few plates as they need, turned where only that fits.

    Parameters
    ----------
    meshes : mapping of body name to Mesh, mm
        Each turned for printing, its lowest point at z = 0.
    bed_mm : (x, y), mm

    Returns
    -------
    list of plates, each a list of PlacedMesh
    """
    names = list(meshes)
    if not names:
        return []
    turns = turns_on_bed([meshes[name] for name in names], bed_mm)
    meshes = {
        name: meshes[name].moved(turn_matrix((0.0, 0.0, turn)), np.zeros(3))
        if turn
        else meshes[name]
        for name, turn in zip(names, turns, strict=True)
    }
    boxes = [meshes[name].size[:2] for name in names]
    plates = []
    for plate in lay_out(np.array(boxes), bed_mm):
        bodies = []
        for member, (x, y) in zip(plate.members, plate.shifts, strict=True):
            mesh = meshes[names[member]]
            low = mesh.bounds[0]
            shift = np.array([x - low[0], y - low[1], -low[2]])
            bodies.append(PlacedMesh(names[member], mesh.moved(np.eye(3), shift)))
        plates.append(bodies)
    return plates


def write_bodies(
    part: Part,
    meshes: Mapping[str, Mesh],
    folder: Path,
    *,
    bed_mm: Sequence[float],
    kinds: Collection[str],
    metadata: Mapping[str, str],
) -> list[Path]:
    """Write a part's bodies into a folder, in the wanted formats.

    Parameters
    ----------
    part : Part
    meshes : mapping of body name to Mesh, mm
        In print pose, as `place` takes them.
    folder : Path
        Must exist; the caller stages it.
    bed_mm : (x, y), mm
    kinds : collection of {"3mf", "step", "stl"}
    metadata : mapping of str to str
        Goes into the 3MF.

    Returns
    -------
    list of Path
        In the order in which they were written: the file to print from first.

    Raises
    ------
    ExportError
        If a file does not read back as it was meant.
    """
    stem = file_name(part.title)
    written = []
    if "3mf" in kinds:
        plates = place(meshes, bed_mm)
        for number, bodies in enumerate(plates, start=1):
            path = folder / (f"{stem}.3mf" if len(plates) == 1 else f"{stem}-plate{number}.3mf")
            write_3mf(path, bodies, metadata)
            written.append(path)
    if "step" in kinds:
        from fitkit.export.step import write_step

        path = folder / f"{stem}.step"
        write_step(path, part.bodies, part.title)
        written.append(path)
    if "stl" in kinds:
        for name, mesh in meshes.items():
            path = folder / f"{stem}-{file_name(name)}.stl"
            write_stl(path, mesh, f"{part.title}, {name}")
            written.append(path)
    return written
