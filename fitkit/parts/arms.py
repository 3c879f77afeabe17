"""Snap arms sized by strain: how long an arm must be, and whether there is room for it.

An arm is a cantilever of even rectangular section (Euler-Bernoulli): its outer fibre at the root
is strained by 1.5 h y / L². The give of the wall behind the root is left out, which keeps to the
safe side. What a material bears is judged by the checks; templates take a permissible strain as a
parameter, since the material is not theirs to know.
"""

from __future__ import annotations

import math

__all__ = ["arm_length_mm", "arm_strain", "arm_thickness_mm"]


def arm_strain(length_mm: float, thickness_mm: float, deflection_mm: float) -> float:
    """Strain at the root, as a fraction.

    Examples
    --------
    >>> round(arm_strain(6.0, 2.0, 1.0), 4)
    0.0833
    """
    return 1.5 * thickness_mm * deflection_mm / length_mm**2


def arm_length_mm(thickness_mm: float, deflection_mm: float, strain: float) -> float:
    """Least length at which an arm bears its deflection, mm.

    Examples
    --------
    >>> round(arm_length_mm(2.0, 1.0, 0.015), 1)
    14.1
    """
    return math.sqrt(1.5 * thickness_mm * deflection_mm / strain)


def arm_thickness_mm(length_mm: float, deflection_mm: float, strain: float) -> float:
    """Greatest thickness at which an arm of this length bears its deflection, mm."""
    return strain * length_mm**2 / (1.5 * deflection_mm)
