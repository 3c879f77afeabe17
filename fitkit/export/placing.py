"""What a part's files are called, and where its bodies lie on the bed."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from typing import TYPE_CHECKING

import numpy as np

from fitkit.export.threemf import PlacedMesh
from fitkit.solids.mesh import turn_matrix
from fitkit.solids.plate import lay_out
from fitkit.solids.turns import turns_on_bed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.solids.mesh import Mesh

__all__ = ["file_name", "place"]

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
