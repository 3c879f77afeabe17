"""A text on the foot of a given shape: where on the flat it is largest, and its letters as meshes.

The foot's outline is looked at as a grid of points, drawn in by some plastic beside the letters;
sums over the grid tell at once where a line of text of a size lies inside, and of these places the
one nearest to the outline's middle is taken. The letters are sunk; the first layers bridge them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import Manifold

    from fitkit.core.finding import Finding
    from fitkit.parts.on_shape import Frame
    from fitkit.solids.mesh import FloatArray

__all__ = ["foot_text", "room_in"]

_DEEP_MM = 0.4  # two layers
_OVER_MM = 0.8  # of plastic over the letters, at least
_BESIDE_MM = 1.2  # of plastic beside them. Common practice, no source.
_STEP_MM = 0.5
_MOST_STEPS = 400  # of the grid, along each side
_CAPS_MM = 5.0


def foot_text(
    text: str, solid: Manifold, frame: Frame, *, body: str
) -> tuple[list[Manifold], tuple[Finding, ...]]:
    """Set a text into the flat foot of a shape.

    Parameters
    ----------
    text : str
    solid : Manifold
        In the assembly, the foot cut already.
    frame : Frame
        Of the foot: its z looks out of the shape.
    body : str
        For the findings.

    Returns
    -------
    list of Manifold
        To be cut out; none where there is no room.
    findings
        Said when the text, or a line of it, is left off.
    """
    from fitkit.solids.bodies import extrude
    from fitkit.solids.kernel import tessellate
    from fitkit.solids.label import LEAST_CAPS_MM, fitted_text, label_caps
    from fitkit.solids.mesh_kernel import manifold_of, outlines_at, placed

    there = placed(solid, frame.axes.T, -frame.axes.T @ frame.origin)
    # Plastic at the foot, and over the letters.
    levels = [
        outlines_at(there, -height, grown_mm=-_BESIDE_MM) for height in (0.05, _DEEP_MM + _OVER_MM)
    ]
    letters, said = fitted_text(text, room=(0.0, 0.0), body=body)
    for caps in np.arange(_CAPS_MM, LEAST_CAPS_MM - 0.01, -0.2):
        room = _least_room(text, float(caps))
        at = room_in(levels, *room) if label_caps(text, room=room) >= LEAST_CAPS_MM else None
        if at is not None:
            letters, said = fitted_text(text, room=room, at=at, body=body)
            break
    tools = [
        placed(
            manifold_of(tessellate(extrude(flat, _DEEP_MM + 0.5, z=-_DEEP_MM))),
            frame.axes,
            frame.origin,
        )
        for flat in letters
    ]
    return tools, said


def _least_room(text: str, caps: float) -> tuple[float, float]:
    """Length and width that a text needs at a height of capitals, as one line."""
    from fitkit.solids.label import text_width

    return text_width(" ".join(text.split()), caps) + 0.01, 1.45 * caps + 0.01


def room_in(
    levels: Sequence[Sequence[FloatArray]], length: float, width: float
) -> tuple[float, float] | None:
    """Find a rectangle along x that lies inside some outlines, as near to their middle as may be.

    Parameters
    ----------
    levels : sequence of outlines
        Inside all of which it must lie; holes clockwise.
    length, width : float, mm

    Returns
    -------
    (x, y), mm, or None
        Its middle.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 8.0], [0.0, 8.0]])
    >>> room_in([[square]], 12.0, 6.0), room_in([[square]], 12.0, 9.0)
    ((10.0, 4.0), None)
    """
    if not all(levels):
        return None
    points = np.concatenate(list(levels[0]))
    low, high = points.min(axis=0), points.max(axis=0)
    step = max(_STEP_MM, float((high - low).max()) / _MOST_STEPS)
    # Points of the grid, its middle at that of the box.
    counts = np.maximum(np.ceil((high - low) / 2 / step).astype(int), 1)
    middle = (low + high) / 2
    xs = middle[0] + step * np.arange(-counts[0], counts[0] + 1)
    ys = middle[1] + step * np.arange(-counts[1], counts[1] + 1)
    inside = np.ones((len(xs), len(ys)), bool)
    for rings in levels:
        inside &= _inside(rings, xs, ys)
    # How many points of a rectangle lie outside, by sums from the corner.
    sums = np.zeros((len(xs) + 1, len(ys) + 1), np.int64)
    sums[1:, 1:] = np.cumsum(np.cumsum(~inside, axis=0), axis=1)
    a, b = int(np.ceil(length / 2 / step)), int(np.ceil(width / 2 / step))
    if 2 * a + 1 > len(xs) or 2 * b + 1 > len(ys):
        return None
    u, v = 2 * a + 1, 2 * b + 1
    out = sums[u:, v:] - sums[:-u, v:] - sums[u:, :-v] + sums[:-u, :-v]
    if out.min() > 0:
        return None
    free = np.argwhere(out == 0)
    off = np.hypot(xs[free[:, 0] + a] - middle[0], ys[free[:, 1] + b] - middle[1])
    i, j = free[int(np.argmin(np.round(off, 6)))]
    return float(xs[i + a]), float(ys[j + b])


def _inside(rings: Sequence[FloatArray], xs: FloatArray, ys: FloatArray) -> FloatArray:
    """Which points of a grid lie in an odd number of rings, row by row."""
    inside = np.zeros((len(xs), len(ys)), bool)
    for ring in rings:
        start, end = ring, np.roll(ring, -1, axis=0)
        for j, y in enumerate(ys):
            crosses = (start[:, 1] > y) != (end[:, 1] > y)
            a, b = start[crosses], end[crosses]
            at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
            inside[:, j] ^= (np.sort(at)[None, :] > xs[:, None]).sum(axis=1) % 2 == 1
    return inside
