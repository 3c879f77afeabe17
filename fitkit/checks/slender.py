"""Tall thin features: pins, fins and posts that sway under the nozzle.

The body as printed is cut at evenly spaced heights; each closed outline of a cut has a least width
(of the rectangle with the same second moment of area). An outline that follows from cut to cut
is one feature, and its height over its least width is its slenderness. Leaves out outlines within a
hollow wall: a ring counts as stiff.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.core.finding import Finding
from fitkit.solids.mesh import Mesh

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["Outlines", "check_slender", "most_slender", "outlines"]

FloatArray = npt.NDArray[np.float64]

# Common practice, no source: a free-standing feature higher than this many widths sways.
SLENDER_WARN = 10.0
# Levels at which it is cut.
_CUTS = 24


class Outlines(NamedTuple):
    """Closed outlines of one cut; areas of holes are negative."""

    area_mm2: FloatArray
    width_mm: FloatArray
    centre: FloatArray


class Slender(NamedTuple):
    """The most slender feature of a body."""

    ratio: float
    width_mm: float
    height_mm: float
    top: tuple[float, float, float]


def outlines(mesh: Mesh, height_mm: float) -> Outlines:
    """Cut a closed mesh at a height and measure each outline.

    Returns
    -------
    Outlines
        Area (mm²), least width (mm) and centre (k, 2) of each outline.

    Notes
    -----
    Green's theorem on the cut segments, summed by outline: a segment joins two mesh edges, and
    segments that share an edge are of one outline.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    above = mesh.vertices[:, 2] > height_mm  # a vertex at the height counts as below
    sides = above[mesh.triangles]
    cut = sides.any(axis=1) & ~sides.all(axis=1)
    corners, flags = mesh.triangles[cut].astype(np.int64), sides[cut]
    none = np.empty(0)
    if not len(corners):
        return Outlines(none, none, np.empty((0, 2)))
    # Turn each triangle so that its odd corner (alone on its side) comes first.
    odd = np.where(flags.sum(axis=1) == 1, flags.argmax(axis=1), (~flags).argmax(axis=1))
    turn = (odd[:, None] + np.arange(3)) % 3
    corners = np.take_along_axis(corners, turn, axis=1)
    lone_above = np.take_along_axis(flags, turn, axis=1)[:, 0]
    p = _crossing(mesh, corners[:, 0], corners[:, 1], height_mm)
    q = _crossing(mesh, corners[:, 0], corners[:, 2], height_mm)
    # Solid to the left of the way walked, seen from above.
    start = np.where(lone_above[:, None], p, q)
    end = np.where(lone_above[:, None], q, p)

    count = len(mesh.vertices)
    keys = np.stack([_edge_key(corners, 1, count), _edge_key(corners, 2, count)], axis=1)
    _, node = np.unique(keys, return_inverse=True)
    node = node.reshape(-1, 2)
    size = int(node.max()) + 1
    links = coo_array((np.ones(len(node)), (node[:, 0], node[:, 1])), shape=(size, size))
    k, loop = connected_components(links, directed=False)
    return _measure(start, end, loop[node[:, 0]], k)


def _crossing(
    mesh: Mesh, a: npt.NDArray[np.int64], b: npt.NDArray[np.int64], z: float
) -> FloatArray:
    # From the lower-numbered end, so that neighbours find the very same point.
    first, second = mesh.vertices[np.minimum(a, b)], mesh.vertices[np.maximum(a, b)]
    share = (z - first[:, 2]) / (second[:, 2] - first[:, 2])
    return np.asarray(first[:, :2] + share[:, None] * (second[:, :2] - first[:, :2]))


def _edge_key(corners: npt.NDArray[np.int64], other: int, count: int) -> npt.NDArray[np.int64]:
    a, b = corners[:, 0], corners[:, other]
    return np.asarray(np.minimum(a, b) * (count + 1) + np.maximum(a, b))


def _measure(start: FloatArray, end: FloatArray, loop: npt.NDArray[np.int32], k: int) -> Outlines:
    def total(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(loop, values, k), dtype=float)

    # About each loop's own mean point, so that digits survive far from the origin.
    number = total(np.ones(len(loop)))
    origin = np.stack([total(start[:, i]) / number for i in range(2)], axis=1)
    (x0, y0), (x1, y1) = (start - origin[loop]).T, (end - origin[loop]).T
    cross = x0 * y1 - x1 * y0
    area = total(cross) / 2
    safe = np.where(np.abs(area) > 1e-9, area, np.inf)
    cx = total((x0 + x1) * cross) / (6 * safe)
    cy = total((y0 + y1) * cross) / (6 * safe)
    ixx = total((y0**2 + y0 * y1 + y1**2) * cross) / (12 * safe) - cy**2
    iyy = total((x0**2 + x0 * x1 + x1**2) * cross) / (12 * safe) - cx**2
    ixy = total((x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) * cross) / (24 * safe) - cx * cy
    spread = np.sqrt(((ixx - iyy) / 2) ** 2 + ixy**2)
    least = np.maximum((ixx + iyy) / 2 - spread, 0)
    return Outlines(area, np.sqrt(12 * least), np.stack([cx, cy], axis=1) + origin)


def most_slender(mesh: Mesh, *, cuts: int = _CUTS) -> Slender | None:
    """Find the feature that is highest for its least width; None if nothing was cut.

    Parameters
    ----------
    mesh : Mesh
        Closed, as printed.
    cuts : int
        Number of evenly spaced heights; a feature's height is known to within one spacing.
    """
    low, high = mesh.bounds[:, 2]
    corner_z = mesh.vertices[:, 2][mesh.triangles]
    bottom, top = corner_z.min(axis=1), corner_z.max(axis=1)
    spacing = (high - low) / cuts
    before = np.empty((0, 4))  # width, height so far, x, y of the outlines below
    worst: Slender | None = None
    for z in low + spacing * (np.arange(cuts) + 0.5):
        near = mesh.triangles[(bottom <= z) & (top > z)]
        found = outlines(Mesh(mesh.vertices, near), float(z))
        solid = found.area_mm2 > 1e-6
        width, centre = found.width_mm[solid], found.centre[solid]
        height = np.full(len(width), spacing)
        if len(before) and len(width):
            away = np.linalg.norm(centre[:, None] - before[None, :, 2:], axis=2)
            follows = (away < 0.5 * before[:, 0]) & (width[:, None] > 0.5 * before[:, 0])
            follows &= width[:, None] < 1.5 * before[:, 0]
            height = spacing + np.where(follows, before[:, 1], 0).max(axis=1)
        before = np.column_stack([width, height, centre])
        if len(width):
            ratio = height / np.maximum(width, 1e-9)
            i = int(ratio.argmax())
            if worst is None or ratio[i] > worst.ratio:
                at = (float(centre[i, 0]), float(centre[i, 1]), float(z))
                worst = Slender(float(ratio[i]), float(width[i]), float(height[i]), at)
    return worst


def check_slender(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find features that are too tall for their width."""
    for body in part.bodies:
        mesh = context.meshes.get(body.name)
        if mesh is None:
            continue  # the overhang check has said so
        worst = most_slender(mesh)
        if worst is None or worst.ratio <= SLENDER_WARN:
            continue
        yield Finding(
            check="tall and thin",
            severity="warn",
            text=(
                f"a feature of {body.name} stands {worst.height_mm:.0f} mm high on a width of "
                f"{worst.width_mm:.1f} mm: it may sway while it prints."
            ),
            value=worst.ratio,
            untold=("value", "limit"),
            limit=SLENDER_WARN,
            unit="times its width",
            body=body.name,
            at=context.in_assembly(body.name, np.array([worst.top])),
            remedy="Thicken it, brace it with a rib, lay it down, or print slowly.",
        )
