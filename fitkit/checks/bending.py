"""Stresses and forces of lugs, screw threads and walls, as pure functions.

Strength of materials as in any text: a cantilever plate, tension in a net section, shear on a
thread's cylinder, a round plate under a small load. Small deflections, plastic that is the same all
through; the layers are the caller's business.
"""

from __future__ import annotations

import math

__all__ = [
    "FINGER_RADIUS_MM",
    "lug_bending_mpa",
    "lug_tear_out_mpa",
    "plate_bending_mpa",
    "thread_pull_out_n",
]

# A fingertip's contact patch. Common practice, no source.
FINGER_RADIUS_MM = 6.0
# Poisson's ratio of stiff thermoplastics, from memory.
_POISSON = 0.38
# A thread formed in plastic bears on about half of its cylinder. Common practice, no source.
_THREAD_BEARING = 0.5


def lug_bending_mpa(
    load_n: float, *, reach_mm: float, width_mm: float, thickness_mm: float
) -> float:
    """Bending stress at a lug's root, 6 F L / (b t²).

    Examples
    --------
    >>> lug_bending_mpa(30.0, reach_mm=10.0, width_mm=12.0, thickness_mm=3.0)
    16.666666666666668
    """
    return 6.0 * load_n * reach_mm / (width_mm * thickness_mm**2)


def lug_tear_out_mpa(
    load_n: float, *, width_mm: float, hole_mm: float, thickness_mm: float
) -> float:
    """Tension in the two strips beside a lug's hole, F / ((b - d) t)."""
    return load_n / ((width_mm - hole_mm) * thickness_mm)


def thread_pull_out_n(*, screw_mm: float, depth_mm: float, shear_mpa: float) -> float:
    """Pull that shears the threads out of a boss, π d l τ over the share that bears."""
    return math.pi * screw_mm * depth_mm * shear_mpa * _THREAD_BEARING


def plate_bending_mpa(
    load_n: float,
    *,
    span_mm: float,
    thickness_mm: float,
    patch_mm: float = FINGER_RADIUS_MM,
    poisson: float = _POISSON,
) -> float:
    """Largest bending stress of a round plate, held simply at its rim, pressed in its middle.

    Parameters
    ----------
    load_n : float, N
    span_mm : float, mm
        Diameter between supports, more than two patches.
    thickness_mm : float, mm
    patch_mm : float, mm
        Radius of the evenly pressed patch.

    Notes
    -----
    Thin plates (Kirchhoff): the moment in the middle is
    F / (4 π) ((1 + ν) ln(a / c) + 1 - (1 - ν) c² / (4 a²)), the stress six times that over t²
    (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, art. 16; from memory).
    """
    radius = span_mm / 2
    patch = min(patch_mm, radius)
    moment = (
        load_n
        / (4 * math.pi)
        * (
            (1 + poisson) * math.log(radius / patch)
            + 1
            - (1 - poisson) * patch**2 / (4 * radius**2)
        )
    )
    return 6.0 * moment / thickness_mm**2
