"""Make the demo's carved owl: a decorative shape of our own, as a mesh in an STL file.

    .venv/bin/python measurements/make_demo_owl.py

The owl stands at the listening post and holds the glass ball on its head. It is worked out
here from a few formulas, the same each time: a turned body with head and ear tufts, scalloped like
feathers, with eyes, beak and wings raised by soft bumps. `owl(fine)` gives it with more triangles,
for whoever wants to try how large shapes behave.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["owl"]

HERE = Path(__file__).parent
FILE = HERE / "shapes" / "carved_owl.stl"
HEIGHT_MM = 118.0
# Radius of the body at shares of its height, mm.
PROFILE = (
    (0.00, 31.0),
    (0.06, 33.5),
    (0.25, 36.5),
    (0.45, 35.0),
    (0.62, 28.5),
    (0.70, 27.0),
    (0.80, 29.5),
    (0.90, 25.5),
    (0.97, 14.0),
    (1.00, 3.0),
)


def owl(fine: int = 1) -> Mesh:
    """Work the owl out.

    Parameters
    ----------
    fine : int
        Rings and corners a ring, in multiples of 90 and 96.

    Returns
    -------
    Mesh
        Closed, mm; it stands on z = 0 and looks to -y.
    """
    rings, round_ = 90 * fine, 96 * fine
    share = np.linspace(0.0, 1.0, rings)[:, None]
    angle = np.linspace(0.0, 2 * np.pi, round_, endpoint=False)[None, :]
    radius = _profile(share) + _carved(share, angle)
    # The tufts of the ears draw the head's upper rings up.
    tuft = sum(
        _bump(share, angle, at=(0.93, np.radians(-90 + side * 38)), wide=(0.05, 0.3))
        for side in (-1, 1)
    )
    z = HEIGHT_MM * share + 13.0 * tuft
    corners = np.stack(
        [radius * np.cos(angle), 0.92 * radius * np.sin(angle), z + 0.0 * angle], axis=-1
    )
    corners[0, :, 2] = 0.0
    return _closed(corners)


def _profile(share: FloatArray) -> FloatArray:
    at, radius = np.array(PROFILE).T
    # Smooth steps from one radius to the next, so that no ring shows an edge.
    i = np.clip(np.searchsorted(at, share, side="right") - 1, 0, len(at) - 2)
    part = (share - at[i]) / (at[i + 1] - at[i])
    part = part * part * (3 - 2 * part)
    return np.asarray(radius[i] + part * (radius[i + 1] - radius[i]))


def _bump(
    share: FloatArray, angle: FloatArray, *, at: tuple[float, float], wide: tuple[float, float]
) -> FloatArray:
    around = (angle - at[1] + np.pi) % (2 * np.pi) - np.pi
    return np.asarray(np.exp(-(((share - at[0]) / wide[0]) ** 2) - (around / wide[1]) ** 2))


def _carved(share: FloatArray, angle: FloatArray) -> FloatArray:
    """Depths and heights of what is carved into the turned body, mm.

    Each row of scales grows outwards upwards, so that it prints without support.
    """
    rows = 15.0 * share
    shifted = angle * 9 + np.pi * np.floor(rows)
    scale = np.abs(np.cos(shifted)) * (rows % 1.0) * 1.8
    on_body = 1 / (1 + np.exp((share - 0.64) / 0.02))
    front = -np.pi / 2
    found = scale * on_body
    for side in (-1, 1):
        eye = (0.82, front + side * 0.5)
        found = found + 5.0 * _bump(share, angle, at=eye, wide=(0.075, 0.36))
        found = found - 5.5 * _bump(share, angle, at=eye, wide=(0.045, 0.2))
        found = found + 4.0 * _bump(share, angle, at=eye, wide=(0.018, 0.08))
        wing = (0.38, front + side * 1.75)
        found = found + 6.0 * _bump(share, angle, at=wing, wide=(0.2, 0.42))
    return np.asarray(found + 6.0 * _bump(share, angle, at=(0.765, front), wide=(0.03, 0.12)))


def _closed(corners: FloatArray) -> Mesh:
    rings, round_, _ = corners.shape
    number = np.arange(rings * round_).reshape(rings, round_)
    a, b = number[:-1], np.roll(number[:-1], -1, axis=1)
    c, d = number[1:], np.roll(number[1:], -1, axis=1)
    sides = [np.stack(three, axis=-1).reshape(-1, 3) for three in ((a, b, d), (a, d, c))]
    under, over = rings * round_, rings * round_ + 1
    first, last = number[0], number[-1]
    caps = [
        np.stack([np.full(round_, under), np.roll(first, -1), first], axis=-1),
        np.stack([np.full(round_, over), last, np.roll(last, -1)], axis=-1),
    ]
    ends = np.stack([corners[0].mean(axis=0), corners[-1].mean(axis=0) + np.array([0.0, 0.0, 0.4])])
    vertices = np.concatenate([corners.reshape(-1, 3), ends])
    return Mesh(vertices, np.concatenate([*sides, *caps]).astype(np.int32))


if __name__ == "__main__":
    from fitkit.export.stl import write_stl

    FILE.parent.mkdir(exist_ok=True)
    write_stl(FILE, owl(), "carved owl")
    print(f"{FILE}: {owl()}")
