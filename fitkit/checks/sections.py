"""Cross-sections of a mesh as grids of cells: what is wall, skin and infill in a layer.

A closed mesh is cut at many heights; each cut is filled by the even-odd rule, row by row. The
heights are chosen between the levels of its flat faces, so that a thin floor is not missed.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.solids.mesh import runs

if TYPE_CHECKING:
    from fitkit.solids.mesh import Mesh

__all__ = ["Grid", "Shares", "filled", "layers_to_cut", "shares"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

_CELLS = 260  # across the longer side, at most
_LEAST_CELL_MM = 0.2
_MOST_CUTS = 48
_NARROW_MM = 0.4
_FLAT = 0.999  # a face whose normal is this upright makes a level
_LEVEL_SHARE = 0.004  # of the footprint, for a level to count


class Grid(NamedTuple):
    """Where the cells of a section lie: low corner and side, mm; rows and columns."""

    low: tuple[float, float]
    cell_mm: float
    shape: tuple[int, int]

    @classmethod
    def over(cls, mesh: Mesh) -> Grid:
        """Lay a grid over a mesh's plan."""
        size = mesh.size
        cell = max(float(size[:2].max()) / _CELLS, _LEAST_CELL_MM)
        # Air all round; and off by an odd share of a cell, so that no row runs along a face that
        # was drawn in round numbers.
        low = mesh.bounds[0] - 1.3819 * cell
        shape = (int(size[1] / cell) + 4, int(size[0] / cell) + 4)
        return cls((float(low[0]), float(low[1])), cell, shape)


class Shares(NamedTuple):
    """What a body's sections hold, volumes in mm³, and widths times height in mm².

    Attributes
    ----------
    wall, skin, rest : float, mm³
        Within the perimeters; of the rest, under or over air; and what infill fills.
    skin_width, rest_width : float, mm²
        How wide those regions lie across lines at 45 degrees, a line counted for each piece of it,
        summed over the height: over the lines' pitch and the layer it is the number of lines.
    pieces : float, mm
        Separate outlines and holes, summed over the height: how often the nozzle jumps.
    """

    wall: float
    skin: float
    rest: float
    skin_width: float
    rest_width: float
    pieces: float


def filled(mesh: Mesh, height_mm: float, grid: Grid) -> BoolArray:
    """Fill one section: True in each cell whose middle is in the body, shape `grid.shape`."""
    above = mesh.vertices[:, 2] > height_mm
    a, b, c = (above[mesh.triangles[:, i]] for i in range(3))
    cut = (a != b) | (b != c)
    corners, flags = mesh.triangles[cut], above[mesh.triangles[cut]]
    if not len(corners):
        return np.zeros(grid.shape, dtype=bool)
    odd = np.where(flags.sum(axis=1) == 1, flags.argmax(axis=1), (~flags).argmax(axis=1))
    corners = np.take_along_axis(corners, (odd[:, None] + np.arange(3)) % 3, axis=1)

    def crossing(other: int) -> FloatArray:
        # From the lower-numbered end, so that neighbours find the very same point.
        first, second = corners[:, 0], corners[:, other]
        a = mesh.vertices[np.minimum(first, second)]
        b = mesh.vertices[np.maximum(first, second)]
        share = (height_mm - a[:, 2]) / (b[:, 2] - a[:, 2])
        return np.asarray(a[:, :2] + share[:, None] * (b[:, :2] - a[:, :2]))

    p = (crossing(1) - grid.low) / grid.cell_mm
    q = (crossing(2) - grid.low) / grid.cell_mm
    # Rows whose middles a segment passes; the same rule at both ends, so that none counts twice.
    first = np.ceil(np.minimum(p[:, 1], q[:, 1]) - 0.5).astype(np.int64)
    last = np.ceil(np.maximum(p[:, 1], q[:, 1]) - 0.5).astype(np.int64)
    owner, row = runs(first, last)
    (x0, y0), (x1, y1) = p[owner].T, q[owner].T
    x = x0 + (row + 0.5 - y0) / (y1 - y0) * (x1 - x0)
    column = np.ceil(x - 0.5).astype(np.int64)
    inside = (row >= 0) & (row < grid.shape[0])
    column = np.clip(column, 0, grid.shape[1] - 1)
    place = row[inside] * grid.shape[1] + column[inside]
    count = np.bincount(place, minlength=grid.shape[0] * grid.shape[1]).reshape(grid.shape)
    return np.asarray(np.cumsum(count, axis=1, dtype=np.int32) % 2 == 1)


def layers_to_cut(mesh: Mesh, skin_mm: float) -> tuple[FloatArray, FloatArray]:
    """Choose heights at which a body is cut, and how much of its height each stands for.

    Parameters
    ----------
    mesh : Mesh
        As printed, its foot at z = 0.
    skin_mm : float, mm
        Thickness of closed layers under and over air.

    Returns
    -------
    heights, weights : arrays of shape (k,), mm
        The weights add up to the body's height.
    """
    top = float(mesh.bounds[1, 2])
    vectors = mesh.area_vectors()
    area = np.linalg.norm(vectors, axis=1)
    flat = np.abs(vectors[:, 2]) > _FLAT * np.maximum(area, 1e-12)
    level = np.round(mesh.corners[flat, 0, 2], 2)
    levels, owner = np.unique(level, return_inverse=True)
    share = np.bincount(owner, area[flat], len(levels)) / max(float(np.prod(mesh.size[:2])), 1e-9)
    levels = levels[share > _LEVEL_SHARE]
    ends = np.concatenate([levels, levels + skin_mm, levels - skin_mm, [0.0, top]])
    ends = np.unique(np.round(np.clip(ends, 0.0, top), 3))
    step = max(top / 12, 1e-6)
    parts = np.maximum(1, np.ceil(np.diff(ends) / step).astype(int))
    if parts.sum() > _MOST_CUTS:
        ends, parts = np.array([0.0, top]), np.array([_MOST_CUTS])
    heights = np.concatenate(
        [
            low + (high - low) * (np.arange(n) + 0.5) / n
            for low, high, n in zip(ends[:-1], ends[1:], parts, strict=True)
        ]
    )
    return heights, np.repeat(np.diff(ends) / parts, parts)


def shares(mesh: Mesh, *, wall_mm: float, skin_mm: float) -> Shares:
    """Divide a body into what perimeters, closed layers and infill fill.

    Parameters
    ----------
    mesh : Mesh
        Closed, as printed, its foot at z = 0.
    wall_mm : float, mm
        Thickness of all perimeters together.
    skin_mm : float, mm
        Thickness of the closed layers under and over air.
    """
    from scipy import ndimage

    grid = Grid.over(mesh)
    heights, weights = layers_to_cut(mesh, skin_mm)
    totals = np.zeros(6)
    # Upright walls have the same section at many heights: each one is looked at once.
    seen: dict[bytes, tuple[BoolArray, int]] = {}

    def inside(body: BoolArray) -> tuple[BoolArray, int]:
        """Give what lies within the perimeters, and the number of separate outlines and holes."""
        # From a cell's middle to the nearest cell outside, less half a cell, is the wall's depth.
        depth = grid.cell_mm * (ndimage.distance_transform_edt(body) - 0.5)
        # A rest narrower than a line is closed by the walls: only what has room for more counts.
        core = depth >= wall_mm + 0.6 * grid.cell_mm + _NARROW_MM / 2
        reach = math.ceil(0.6 + _NARROW_MM / 2 / grid.cell_mm)
        inner = ndimage.binary_dilation(core, iterations=reach) & (depth >= wall_mm)
        return inner, ndimage.label(body)[1] + ndimage.label(~body)[1] - 1

    for height, weight in zip(heights, weights, strict=True):
        body = filled(mesh, float(height), grid)
        covered = filled(mesh, float(height) + skin_mm, grid) & filled(
            mesh, float(height) - skin_mm, grid
        )
        key = body.tobytes()
        if key not in seen:
            seen[key] = inside(body)
        inner, pieces = seen[key]
        skin, rest = inner & ~covered, inner & covered
        cells = [np.count_nonzero(region) for region in (body & ~inner, skin, rest)]
        widths = [_pieces_of_lines(region) for region in (skin, rest)]
        totals += weight * np.array([*cells, *widths, pieces])
    area = grid.cell_mm**2
    volumes = totals[:3] * area
    # The grid's own error goes out against the mesh's volume, which is exact.
    volumes *= mesh.volume() / max(float(volumes.sum()), 1e-12)
    across = totals[3:5] * grid.cell_mm / math.sqrt(2)
    return Shares(
        wall=float(volumes[0]),
        skin=float(volumes[1]),
        rest=float(volumes[2]),
        skin_width=float(across[0]),
        rest_width=float(across[1]),
        pieces=float(totals[5]),
    )


def _pieces_of_lines(region: BoolArray) -> float:
    """Pieces that a region cuts out of all diagonals through cells, mean of both directions."""
    falling = np.count_nonzero(region[1:, 1:] & ~region[:-1, :-1])
    rising = np.count_nonzero(region[1:, :-1] & ~region[:-1, 1:])
    return (falling + rising) / 2
