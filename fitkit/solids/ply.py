"""Meshes as text-free PLY files, with shared corners: small, exact, read by any mesh program.

Single precision, little-endian, triangles only. Source of the format: G. Turk, The PLY Polygon File
Format, 1994.
"""

from __future__ import annotations

import re

import numpy as np

from fitkit.core.errors import PartError
from fitkit.solids.mesh import Mesh

__all__ = ["mesh_of_ply", "ply_bytes"]

_FACE = np.dtype([("count", "u1"), ("corners", "<i4", 3)])
_HEAD = """ply
format binary_little_endian 1.0
comment lengths in mm
element vertex {corners}
property float x
property float y
property float z
element face {triangles}
property list uchar int vertex_indices
end_header
"""


def ply_bytes(mesh: Mesh) -> bytes:
    """Encode a mesh."""
    faces = np.empty(len(mesh.triangles), _FACE)
    faces["count"] = 3
    faces["corners"] = mesh.triangles
    head = _HEAD.format(corners=len(mesh.vertices), triangles=len(faces))
    return head.encode("ascii") + mesh.vertices.astype("<f4").tobytes() + faces.tobytes()


def mesh_of_ply(content: bytes) -> Mesh:
    """Decode what `ply_bytes` wrote.

    Parameters
    ----------
    content : bytes

    Returns
    -------
    Mesh

    Raises
    ------
    PartError
        If it is anything else.
    """
    head, mark, data = content.partition(b"end_header\n")
    found = re.search(rb"vertex (\d+)\n.*face (\d+)\n", head, re.DOTALL)
    corners, triangles = map(int, found.groups()) if found else (0, 0)
    if not mark or len(data) != 12 * corners + _FACE.itemsize * triangles:
        raise PartError("is not a mesh that fitkit kept", code="mesh.not-ply")
    vertices = np.frombuffer(data, "<f4", 3 * corners).reshape(-1, 3).astype(np.float64)
    faces = np.frombuffer(data, _FACE, triangles, offset=12 * corners)["corners"]
    return Mesh(vertices, np.ascontiguousarray(faces, np.int32))
