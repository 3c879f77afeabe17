"""A shaded still picture of meshes by a z-buffer in NumPy: no graphics card, no window, no net.

Model: orthographic projection, two lamps and an ambient term (Lambert's cosine law), the nearest
triangle wins at each pixel, feature and outline edges drawn where nothing lies before them. Each
triangle is cut into its rows of pixels and all rows are filled at once, so that the work grows
with the pixels covered and no loop runs over triangles. Drawn at twice the size and halved, which
smooths the edges. Left out: perspective, shadows, textures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from fitkit.core.errors import PartError
from fitkit.solids.mesh import Mesh, feature_edges, runs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL.Image import Image

__all__ = ["PALETTE", "VIEWS", "on_picture", "picture"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

# Direction from the part to the eye, and the direction that points up on the page.
VIEWS: dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "iso": ((0.62, -1.0, 0.72), (0, 0, 1)),
    "front": ((0, -1, 0), (0, 0, 1)),
    "back": ((0, 1, 0), (0, 0, 1)),
    "left": ((-1, 0, 0), (0, 0, 1)),
    "right": ((1, 0, 0), (0, 0, 1)),
    "top": ((0, 0, 1), (0, 1, 0)),
    # As a live view shows it that is turned down from the front: left stays left.
    "bottom": ((0, 0, -1), (0, -1, 0)),
}
# Lichen, ochre, heather, clay: bodies in turn.
PALETTE = ("#6fa59a", "#c9a464", "#938bb8", "#b77f6c")
_EDGE = (38, 50, 47)
_SAMPLES = 2  # drawn pixels to a side of a shown one
_MARGIN = 0.06  # of the picture, left free round the part


class _Surface(NamedTuple):
    """One mesh as seen: pixel coordinates with depth (larger is nearer), and what to draw on it."""

    points: FloatArray  # (n, 3): x right, y down, z towards the eye
    triangles: IntArray
    shade: FloatArray  # (m, 3): colour of each triangle, 0 to 255
    segments: FloatArray  # (k, 2, 3)
    alpha: float


def picture(
    meshes: Mesh | Sequence[Mesh],
    *,
    size: tuple[int, int] = (800, 600),
    view: str = "iso",
    edges: FloatArray | Sequence[FloatArray] | None = None,
    colours: str | Sequence[str] | None = None,
    background: str = "#ffffff",
) -> Image:
    """Draw meshes as a shaded solid with its edges.

    Parameters
    ----------
    meshes : Mesh or sequence of Mesh, mm
        Triangles outward by the right-hand rule; those that face away are not drawn.
    size : (width, height), pixels
    view : {"iso", "front", "back", "left", "right", "top", "bottom"}
    edges : array of shape (k, 2, 3), or one such array a mesh, optional
        Line pieces to draw, mm. If None, the sharp edges and the outline are found from the
        triangles; an empty array draws none.
    colours : str or sequence of str, optional
        One ``#rrggbb`` a mesh; ``#rrggbbaa`` draws a mesh through which the others are seen.
    background : str
        ``#rrggbb``.

    Returns
    -------
    PIL.Image.Image
        Mode RGB.

    Raises
    ------
    PartError
        If the view is unknown or there is nothing to draw.

    Examples
    --------
    >>> corner = Mesh(np.array([[0., 0, 0], [9, 0, 0], [0, 9, 0]]), np.array([[0, 1, 2]]))
    >>> picture(corner, size=(40, 30), view="top").size
    (40, 30)
    """
    from PIL import Image as pillow

    meshes = [meshes] if isinstance(meshes, Mesh) else list(meshes)
    if view not in VIEWS:
        raise PartError(
            f"there is no view {view!r}",
            code="picture.no-view",
            remedy=f"There are: {', '.join(VIEWS)}.",
        )
    if not any(len(mesh.triangles) for mesh in meshes):
        raise PartError(
            "there is nothing to draw",
            code="picture.nothing",
            remedy="Give at least one mesh with triangles.",
        )
    width, height = size[0] * _SAMPLES, size[1] * _SAMPLES
    surfaces = _surfaces(meshes, _camera(view), (width, height), _each(edges, len(meshes)), colours)

    canvas = np.full(height * width, _packed(np.array([_rgb(background)[:3]]))[0])
    depth = np.full(height * width, -np.inf)
    for surface in sorted(surfaces, key=lambda s: -s.alpha):  # what is seen through comes last
        _paint(surface, canvas, depth, width, height)
    image = pillow.fromarray(_bytes(canvas).reshape(height, width, 4))
    return image.convert("RGB").reduce(_SAMPLES)


def _camera(view: str) -> FloatArray:
    """Rows: right, down, and towards the eye."""
    eye, up = (np.asarray(v, float) for v in VIEWS[view])
    eye /= np.linalg.norm(eye)
    right = np.cross(up, eye)
    right /= np.linalg.norm(right)
    return np.stack([right, -np.cross(eye, right), eye])


def on_picture(
    meshes: Mesh | Sequence[Mesh],
    points: FloatArray,
    *,
    size: tuple[int, int] = (800, 600),
    view: str = "iso",
) -> FloatArray:
    """Tell where points come to lie on the picture that `picture` draws of the same meshes.

    Parameters
    ----------
    meshes, size, view
        As for `picture`.
    points : array of shape (n, 3), mm

    Returns
    -------
    array of shape (n, 2), pixels
        From the upper left corner.
    """
    camera = _camera(view)
    each = [meshes] if isinstance(meshes, Mesh) else list(meshes)
    scale, shift = _fitted([mesh.vertices @ camera.T for mesh in each], size)
    found: FloatArray = (np.asarray(points, float) @ camera.T * scale + shift)[:, :2]
    return found


def _fitted(turned: Sequence[FloatArray], canvas: tuple[int, int]) -> tuple[float, FloatArray]:
    """Give scale and shift that put turned points amid a canvas."""
    shown = np.concatenate(turned)
    low, high = shown.min(axis=0), shown.max(axis=0)
    span = np.maximum((high - low)[:2], 1e-6)
    room = np.array(canvas, float)
    scale = float(((1 - 2 * _MARGIN) * room / span).min())
    shift: FloatArray = np.append(room / 2 - scale * (low + high)[:2] / 2, -scale * low[2])
    return scale, shift


def _surfaces(
    meshes: Sequence[Mesh],
    camera: FloatArray,
    canvas: tuple[int, int],
    edges: Sequence[FloatArray | None],
    colours: str | Sequence[str] | None,
) -> list[_Surface]:
    if isinstance(colours, str):
        colours = [colours]
    turned = [mesh.vertices @ camera.T for mesh in meshes]
    scale, shift = _fitted(turned, canvas)
    # Lamps stay with the eye: from upper left, and a weak one from the right.
    lamps = np.array([[-0.45, -0.62, 0.64], [0.85, 0.1, 0.5]])
    lamps /= np.linalg.norm(lamps, axis=1, keepdims=True)
    surfaces = []
    for number, (mesh, points) in enumerate(zip(meshes, turned, strict=True)):
        *rgb, alpha = _rgb((colours or PALETTE)[number % len(colours or PALETTE)])
        normals = mesh.normals() @ camera.T
        light = 0.42 + np.clip(normals @ lamps.T, 0, None) @ (0.55, 0.16)
        facing = normals[:, 2] > 1e-9
        given = edges[number]
        lines = feature_edges(mesh, camera[2]) if given is None else np.asarray(given, float)
        surfaces.append(
            _Surface(
                points * scale + shift,
                mesh.triangles[facing].astype(np.int64),
                np.clip(light[facing, None] * np.array(rgb), 0, 255),
                lines.reshape(-1, 2, 3) @ camera.T * scale + shift,
                alpha / 255,
            )
        )
    return surfaces


def _paint(
    surface: _Surface, canvas: npt.NDArray[np.uint32], depth: FloatArray, width: int, height: int
) -> None:
    """Draw one surface into `canvas` and `depth`, in place."""
    solid = surface.alpha >= 1
    nearest = depth if solid else depth.copy()
    pixel, z, triangle = _fill(surface.points[surface.triangles], width, height)
    np.maximum.at(nearest, pixel, z)
    seen = z >= nearest[pixel]
    # Where facets meet, two may be equally near; either will do, and the last one written stays.
    pixel, triangle = pixel[seen], triangle[seen]
    if solid:
        canvas[pixel] = _packed(surface.shade)[triangle]
    else:
        _blend(canvas, pixel, surface.shade[triangle], surface.alpha)
    at, z = _trace(surface.segments, width, height)
    # An edge lies in its faces: lift it a little, or rounding eats it.
    at = at[z + 1.5 * _SAMPLES >= nearest[at]]
    _blend(canvas, at, np.array(_EDGE), surface.alpha if solid else 0.5)


# A pixel is one number of four bytes (red, green, blue, 255), so that a colour is copied at once.


def _packed(rgb: FloatArray) -> npt.NDArray[np.uint32]:
    """Pack colours (m, 3), 0 to 255."""
    opaque = np.full((len(rgb), 4), 255, np.uint8)
    opaque[:, :3] = np.round(rgb)
    return opaque.view(np.uint32)[:, 0]


def _bytes(canvas: npt.NDArray[np.uint32]) -> npt.NDArray[np.uint8]:
    return canvas.view(np.uint8).reshape(-1, 4)


def _blend(
    canvas: npt.NDArray[np.uint32], at: IntArray, rgb: FloatArray | IntArray, alpha: float
) -> None:
    """Lay a share of a colour over pixels; one named twice is laid over once."""
    under = _bytes(canvas)[at, :3].astype(float)
    canvas[at] = _packed(under + alpha * (rgb - under))


def _fill(corners: FloatArray, width: int, height: int) -> tuple[IntArray, FloatArray, IntArray]:
    """Cut triangles (m, 3, 3) into pixels: flat pixel index, depth, and triangle of each."""
    x, y = np.moveaxis(corners[..., :2], 0, -1).swapaxes(0, 1)  # each (3 corners, m)
    top = np.clip(np.ceil(y.min(axis=0) - 0.5), 0, height).astype(np.int64)
    end = np.clip(np.ceil(y.max(axis=0) - 0.5), 0, height).astype(np.int64)
    triangle, row = runs(top, end)
    # Each row crosses two of the three sides; the span lies between the crossings.
    line = row + 0.5
    ax, ay = x[:, triangle], y[:, triangle]
    bx, by = ax[[1, 2, 0]], ay[[1, 2, 0]]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = ax + (line - ay) / (by - ay) * (bx - ax)
    crossed = (ay <= line) != (by <= line)
    left = np.where(crossed, crossing, np.inf).min(axis=0)
    right = np.where(crossed, crossing, -np.inf).max(axis=0)
    # A pixel belongs to the span that holds its centre, so that neighbours leave no gap.
    start = np.clip(np.ceil(left - 0.5), 0, width).astype(np.int64)
    stop = np.clip(np.ceil(right - 0.5), 0, width).astype(np.int64)
    some = stop > start
    triangle, row, start, stop = triangle[some], row[some], start[some], stop[some]
    # Depth is linear over the triangle, so over each span too.
    edge1, edge2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = edge1[:, 0] * edge2[:, 1] - edge1[:, 1] * edge2[:, 0]
    area = np.where(np.abs(area) < 1e-12, 1.0, area)
    slope_x = (edge1[:, 2] * edge2[:, 1] - edge1[:, 1] * edge2[:, 2]) / area
    slope_y = (edge1[:, 0] * edge2[:, 2] - edge1[:, 2] * edge2[:, 0]) / area
    base = corners[:, 0, 2] - slope_x * (x[0] - 0.5) - slope_y * (y[0] - 0.5)
    ends = np.stack([start, stop - 1])
    z = base[triangle] + slope_x[triangle] * ends + slope_y[triangle] * row
    # A triangle seen on edge has a steep slope: keep its depth within its own corners.
    z = np.clip(z, corners[..., 2].min(axis=1)[triangle], corners[..., 2].max(axis=1)[triangle])
    first, length = row * width + start, stop - start
    step = (z[1] - z[0]) / np.maximum(length - 1, 1)
    _, pixel = runs(first, first + length)
    nth = pixel - np.repeat(first, length)
    depth = np.repeat(z[0], length) + np.repeat(step, length) * nth
    return pixel, depth, np.repeat(triangle, length)


def _trace(segments: FloatArray, width: int, height: int) -> tuple[IntArray, FloatArray]:
    """Walk along line pieces, half a pixel a step, two pixels wide: flat pixel index and depth."""
    if not len(segments):
        return np.empty(0, np.int64), np.empty(0)
    a, b = segments[:, 0], segments[:, 1]
    steps = np.ceil(2 * np.abs(b - a)[:, :2].max(axis=1)).astype(np.int64) + 1
    owner, step = runs(np.zeros(len(steps), np.int64), steps)
    point = a[owner] + (b - a)[owner] * (step / np.maximum(steps - 1, 1)[owner])[:, None]
    column, row = np.floor(point[:, 0]).astype(np.int64), np.floor(point[:, 1]).astype(np.int64)
    column, row = (
        np.concatenate([column, column + 1, column]),
        np.concatenate([row, row, row + 1]),
    )
    z = np.tile(point[:, 2], 3)
    inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    return row[inside] * width + column[inside], z[inside]


def _each(
    edges: FloatArray | Sequence[FloatArray] | None, count: int
) -> Sequence[FloatArray | None]:
    if edges is None:
        return [None] * count
    if isinstance(edges, np.ndarray):
        return [edges, *[np.empty((0, 2, 3))] * (count - 1)]
    return edges


def _rgb(colour: str) -> tuple[float, float, float, float]:
    digits = colour.removeprefix("#")
    r, g, b, a = bytes.fromhex(digits if len(digits) == 8 else f"{digits}ff")
    return r, g, b, a
