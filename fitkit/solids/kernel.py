"""From solids to what others use: watertight meshes, print poses, preloading.

Triangles leave the kernel in bulk. Its binding shows no raw arrays, and asking node by node took
58 ms for 35 000 triangles; merging equal nodes in the kernel, writing binary STL to memory and
merging the rows in NumPy took 30 ms. The price is single precision: 0.00001 mm at 150 mm.

A solid keeps its triangles, and moved copies share them, so that meshing a body in its print pose
after its preview costs only the copy. They are at least as fine as asked, finer if they were
finer before.
"""

from __future__ import annotations

import io
import math
import sys
import threading
from contextlib import suppress
from functools import cache
from importlib.abc import MetaPathFinder
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.errors import PartError
from fitkit.solids.bodies import KERNEL_IMPORT, Shape, kernel_names, raw
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    from build123d import Solid


__all__ = ["kernel_ready", "tessellate"]

_STL_ROW = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_FINER = (1.0, 0.4, 0.15, 0.06)  # shares of the tolerance asked for, tried in turn
_MERGE_MM = 1e-5  # two faces' copies of one point differ by rounding alone
_loading: threading.Thread | None = None
_start = threading.Lock()


@cache
def mesher() -> Any:
    with KERNEL_IMPORT:
        from fitkit.solids import _mesher_names

        return _mesher_names


def kernel_ready(*, wait: bool = False) -> bool:
    """Start loading the kernel in the background, once; tell whether it is there.

    A notebook calls this in its first cell, so that the seconds pass while its user reads. A
    program that ends meanwhile does not wait: the load stops at its next import, and says nothing.

    Parameters
    ----------
    wait : bool
        Return only when it is loaded.
    """
    global _loading
    with _start:
        if _loading is None:
            # No daemon: an interpreter that ends while the library is being loaded would abort.
            _loading = threading.Thread(target=_load, name="fitkit kernel")
            _loading.start()
    if wait:
        _loading.join()
    return not _loading.is_alive()


def _load() -> None:
    # What is missing is told by whoever needs the kernel; a thread could only print it. Libraries
    # raise all sorts of errors when the interpreter ends under them: none is of use to anybody.
    # A thread that ends by SystemExit says nothing.
    leaving = _Leaving(threading.current_thread())
    with KERNEL_IMPORT, suppress(Exception):
        sys.meta_path.insert(0, leaving)
        try:
            kernel_names()
            import build123d  # noqa: F401 - the load is the purpose

            mesher()
        finally:
            sys.meta_path.remove(leaving)


class _Leaving(MetaPathFinder):
    """Finds no module, but stops the imports of one thread once the main thread has ended."""

    def __init__(self, thread: threading.Thread) -> None:
        self._thread = thread

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> None:
        """Leave the search to the other finders, or end it."""
        if threading.current_thread() is self._thread and not threading.main_thread().is_alive():
            # No ImportError: libraries catch it, go on without the module, and log what they miss.
            raise SystemExit


def tessellate(
    solid: Solid | Shape, *, tolerance_mm: float = 0.05, angle_deg: float = 12.0
) -> Mesh:
    """Turn a solid into a closed mesh with shared corners.

    Parameters
    ----------
    solid : build123d Solid or kernel shape
    tolerance_mm : float, mm
        Largest distance between a triangle and the true face.
    angle_deg : float, degrees
        Largest turn from one facet of a round face to the next.

    Returns
    -------
    Mesh
        In mm, triangles counter-clockwise as seen from outside. A finer mesh than asked for
        comes back where only that closes.

    Raises
    ------
    PartError
        If the tolerance is not above zero, or the mesh does not close.

    Examples
    --------
    >>> from fitkit.solids import profiles
    >>> from fitkit import solids
    >>> mesh = tessellate(solids.extrude(profiles.rectangle(20, 10), 5))
    >>> len(mesh.vertices), len(mesh.triangles), round(mesh.volume(), 3)
    (8, 12, 1000.0)
    """
    if not tolerance_mm > 0 or not angle_deg > 0:
        raise PartError(
            f"{tolerance_mm:g} mm and {angle_deg:g}° are not both above 0",
            where="mesh tolerance",
            code="mesh.tolerance",
            remedy="Give 0.05 mm and 12°.",
        )
    shape = raw(solid)
    k = mesher()
    settings = k.IMeshTools_Parameters()
    settings.Angle, settings.InParallel = math.radians(angle_deg), True
    # Six times faster than the kernel's default on a plate with 77 holes (111 against 687 ms); the
    # default stands by for a face on which the fast one leaves a gap. Where both fold a face over,
    # as one label in 250 did round a spacer, finer edges part what lay too near.
    methods = (k.IMeshTools_MeshAlgoType_Delabella, k.IMeshTools_MeshAlgoType_Watson)
    for finer, method in product(_FINER, methods):
        settings.Deflection, settings.MeshAlgo = tolerance_mm * finer, method
        k.BRepMesh_IncrementalMesh(shape, settings, k.Message_ProgressRange())
        for gather in (_as_written, _merged):
            mesh = gather(shape)
            if _closed(mesh):
                return mesh
        k.BRepTools.Clean_s(shape, True)
    raise PartError(
        "its mesh does not close",
        where="mesh",
        code="mesh.not-closed",
        remedy="Change a size or the label a little.",
    )


def _as_written(shape: Shape) -> Mesh:
    """Gather the triangles through the kernel's own writer; faces share points that are equal."""
    stream = io.BytesIO()
    writer = mesher().StlAPI_Writer()
    writer.ASCIIMode = False
    writer.Write(shape, stream)
    return _read(stream)


def _merged(shape: Shape) -> Mesh:
    """Gather the triangles face by face, merging points that rounding has set apart.

    Ten times slower than what the writer gives, and needed for one solid in some hundreds.
    """
    k = mesher()
    # An angle of 180° merges near points whatever the faces that meet there.
    merger = k.Poly_MergeNodesTool(math.pi, _MERGE_MM)
    merger.SetDropDegenerative(True)
    for face in subshapes(shape, k.TopAbs_FACE):
        place = k.TopLoc_Location()
        triangles = k.BRep_Tool.Triangulation_s(k.TopoDS.Face(face), place)
        if triangles is not None:
            flipped = face.Orientation() == k.TopAbs_REVERSED
            merger.AddTriangulation(triangles, place.Transformation(), flipped)
    stream = io.BytesIO()
    k.RWStl.WriteBinary_s(merger.Result(), stream)
    return _read(stream)


def _read(stream: io.BytesIO) -> Mesh:
    """Read triangles from the kernel's binary STL, in memory, and share their equal corners."""
    rows = np.frombuffer(stream.getvalue(), _STL_ROW, offset=84)
    # Adding 0 turns -0.0 into 0.0, which differ as bytes.
    corners = np.ascontiguousarray(rows["corners"].reshape(-1, 3) + np.float32(0))
    # Rows compared as bytes: five times faster than unique along an axis.
    keys = corners.view(np.dtype((np.void, corners.dtype.itemsize * 3))).ravel()
    _, first, index = np.unique(keys, return_index=True, return_inverse=True)
    triangles = index.reshape(-1, 3).astype(np.int32)
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    return Mesh(corners[first].astype(np.float64), np.ascontiguousarray(triangles))


def _closed(mesh: Mesh) -> bool:
    """Whether each directed edge comes once, and its opposite once: lib3mf asks for no less."""
    start = mesh.triangles.ravel().astype(np.int64)
    end = np.roll(mesh.triangles, -1, axis=1).ravel().astype(np.int64)
    count = len(mesh.vertices)
    forward, backward = np.sort(start * count + end), np.sort(end * count + start)
    once = bool(np.all(forward[1:] > forward[:-1]))
    return len(start) > 0 and once and np.array_equal(forward, backward)


def subshapes(shape: Shape, kind: Any) -> list[Shape]:
    k = mesher()
    found = k.IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    k.TopExp.MapShapes_s(shape, kind, found)
    return [found.FindKey(i) for i in range(1, found.Extent() + 1)]
