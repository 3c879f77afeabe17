"""Stresses and forces of lugs, screw threads and ribs, as pure functions.

Strength of materials as in any text: a cantilever plate, tension in a net section, shear on a
thread's cylinder, a simply held beam. Walls are plates: `plates`. Small deflections, plastic that
is the same all through; the layers are the caller's business.
"""

from __future__ import annotations

import math

__all__ = [
    "beam_depth_mm",
    "lug_bending_mpa",
    "lug_tear_out_mpa",
    "thread_pull_out_n",
]

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


def beam_depth_mm(load_n: float, *, span_mm: float, width_mm: float, strength_mpa: float) -> float:
    """Depth of a rectangular beam, simply held, that bears a load in its middle, mm.

    From the greatest moment, F L / 4, and the section modulus, b h² / 6.

    Examples
    --------
    >>> round(beam_depth_mm(60.0, span_mm=40.0, width_mm=2.0, strength_mpa=36.0), 3)
    7.071
    """
    return math.sqrt(1.5 * load_n * span_mm / (width_mm * strength_mpa))
