"""Binary STL in millimetres, one file a body, for tools that read nothing newer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.solids.mesh import Mesh

__all__ = ["stl_bytes", "write_stl"]

# The layout of a triangle in a binary STL file: 50 bytes, little-endian.
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: Mesh, title: str = "") -> bytes:
    """Encode a mesh as binary STL.

    Parameters
    ----------
    mesh : Mesh, mm
    title : str
        Goes into the 80-byte header. The format has no field for the unit, so the header says mm.

    Returns
    -------
    bytes
    """
    triangles = np.zeros(len(mesh.triangles), _TRIANGLE)
    triangles["normal"] = mesh.normals()
    triangles["corners"] = mesh.corners
    # A header that begins with "solid" would be taken for the text form of STL.
    header = f"binary, mm, {title}".encode("ascii", "replace")[:80].ljust(80)
    return header + np.uint32(len(triangles)).tobytes() + triangles.tobytes()


def write_stl(path: Path, mesh: Mesh, title: str = "") -> None:
    """Write a mesh as a binary STL file in mm."""
    path.write_bytes(stl_bytes(mesh, title))
