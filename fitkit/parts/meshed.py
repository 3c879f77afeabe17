"""The triangles of any body: those of its exact solid, or those that it is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitkit.parts.contract import Body
    from fitkit.solids.mesh import Mesh

__all__ = ["FILE_TOLERANCE_MM", "mesh_of"]

# Depth of a facet below its round face in files to print. A hole then lacks at most twice this over
# its flats, a tenth of the 0.1 mm to which a print can be predicted (`calibration.facets`). Views
# and checks do with coarser facets, which are quicker.
FILE_TOLERANCE_MM = 0.005
# A little less than the mesher's own 12°, of which a quarter of a circle has a whole number of
# halves: there rounding alone decides how many facets an arc gets, and shapes flicker in a drag.
VIEW_ANGLE_DEG = 11.9


def mesh_of(body: Body, *, for_files: bool = False) -> Mesh:
    """Give a body's mesh in assembly position.

    Parameters
    ----------
    body : Body
    for_files : bool
        As fine as files get it; else as coarse as views and checks do with.

    Returns
    -------
    Mesh
    """
    if body.mesh is not None:
        return body.mesh if for_files or body.coarse is None else body.coarse
    from fitkit.solids.kernel import tessellate

    if for_files:
        return tessellate(body.solid, tolerance_mm=FILE_TOLERANCE_MM)
    return tessellate(body.solid, angle_deg=VIEW_ANGLE_DEG)
