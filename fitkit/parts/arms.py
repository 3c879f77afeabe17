"""Snap arms sized by strain: how long an arm must be, and whether there is room for it.

An arm is a cantilever of even rectangular section (Euler-Bernoulli): its outer fibre at the root
is strained by 1.5 h y / L². The give of the wall behind the root is left out, which keeps to the
safe side. What a material bears is judged by the checks; templates take a permissible strain as a
parameter, since the material is not theirs to know.

An arm of another section, or of one that changes along it, is told by the even rectangle that is
strained and pushes back alike (`bends_as`); a segment of a ring is much stiffer than its wall is
thick, since it bends about a line through its curve (`ring_segment`). Left out there: that the
segment also unrolls a little, which lowers its strain.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "SHARP_MM",
    "arc_lever",
    "arm_length_mm",
    "arm_strain",
    "arm_thickness_mm",
    "bends_as",
    "notch_factor",
    "ring_segment",
]

_STEPS = 64  # along an arm, even
# An inside corner drawn sharp prints as round as half a line. Common practice, no source.
SHARP_MM = 0.2
_GENTLE = 0.3  # radius over thickness from which a corner's radius matters less


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


def notch_factor(radius_mm: float, thickness_mm: float) -> float:
    """How much a rounded inside corner at an arm's root raises the strain there.

    Parameters
    ----------
    radius_mm : float, mm
        Of the corner; a sharp one is taken as round as half a line of a common nozzle, 0.2 mm.
    thickness_mm : float, mm
        Of the arm at its root.

    Returns
    -------
    float
        1 or more.

    Notes
    -----
    A flat bar bent at a shoulder three times as deep: 0.907 (r / h)^(-1/3), as machine-design texts
    fit Peterson's chart (from memory), up to r / h = 0.3; above that it falls with the power -0.18,
    a fit of ours to Roark's Formulas for Stress and Strain, table 17.1, square shoulder with fillet
    in a member of rectangular section, in-plane bending. The tests hold both to that table.

    Examples
    --------
    >>> round(notch_factor(0.5, 2.0), 2), round(notch_factor(1.5, 2.0), 2)
    (1.44, 1.15)
    """
    share = max(radius_mm, SHARP_MM) / thickness_mm
    steep, flat = min(share, _GENTLE), max(share / _GENTLE, 1.0)
    return float(max(1.0, 0.9072 * steep ** (-1 / 3) * flat**-0.183))


def ring_segment(inner_mm: float, outer_mm: float, half_angle: float) -> tuple[float, float]:
    """Section of a segment of a ring: how far its outer fibre is, and its second moment of area.

    Parameters
    ----------
    inner_mm, outer_mm : float, mm
        Radii.
    half_angle : float, radians
        From the middle of the segment to its end.

    Returns
    -------
    fibre_mm : float, mm
        Greatest distance from the line through the centroid, square to the middle's radius.
    moment_mm4 : float, mm⁴
        About that line.

    Notes
    -----
    With a = half angle: area a (R² - r²); centroid (2/3) sin a (R³ - r³) over the area; moment
    about the ring's axis (a + sin a cos a) (R⁴ - r⁴) / 4, less the area times the centroid
    squared. Source: integrals of x and x² in polar coordinates.

    Examples
    --------
    >>> fibre, moment = ring_segment(0.0, 1.0, math.pi / 2)  # half a disc: 4/(3 pi), 0.1098
    >>> round(1 - fibre, 4), round(moment, 4)
    (0.4244, 0.1098)
    """
    a = half_angle
    area = a * (outer_mm**2 - inner_mm**2)
    middle = 2 / 3 * math.sin(a) * (outer_mm**3 - inner_mm**3) / area
    moment = (a + math.sin(a) * math.cos(a)) * (outer_mm**4 - inner_mm**4) / 4
    fibre = max(outer_mm - middle, middle - inner_mm * math.cos(a))
    return fibre, moment - area * middle**2


def arc_lever(radius_mm: float, tip_angle: float) -> Callable[[float], float]:
    """Lever of a level push at the tip of an arm that is an arc, at a distance along it from there.

    Parameters
    ----------
    radius_mm : float, mm
        Of the arm's middle line.
    tip_angle : float, radians
        Where the arm ends, from level, seen from the arc's middle.

    Returns
    -------
    callable
        Distance along the arm from its tip, mm, to the height below the tip, mm.

    Examples
    --------
    >>> round(arc_lever(10.0, math.pi / 2)(10 * math.pi / 2), 6)  # a quarter: from top to level
    10.0
    """
    top = math.sin(tip_angle)
    return lambda s: radius_mm * (top - math.sin(tip_angle - s / radius_mm))


def bends_as(
    length_mm: float,
    section: Callable[[float], tuple[float, float]],
    lever: Callable[[float], float] = float,
) -> tuple[float, float]:
    """Even rectangle that bends as an arm whose section changes: its thickness and width, mm.

    Parameters
    ----------
    length_mm : float, mm
    section : callable
        Given the distance from the tip, mm: distance of the outer fibre, mm, and second moment of
        area, mm⁴, as from `ring_segment`.
    lever : callable
        Given the same: the push's lever there, mm; that distance itself for a straight arm.

    Returns
    -------
    thickness, width : float, mm
        Of the rectangle, as long as the arm.

    Notes
    -----
    Euler-Bernoulli: pushed at its tip by F, an arm gives way by F / E times the integral of s² / I
    over the distance s from the tip, and is strained by F s c / (E I); the lever stands for s where
    the arm is curved, and thin for its radius. The rectangle has the same
    greatest strain and force for the same deflection; the integral is taken by Simpson's rule.

    Examples
    --------
    >>> [round(side, 6) for side in bends_as(20.0, lambda _: (1.0, 4.0 * 2.0**3 / 12))]
    [2.0, 4.0]
    """
    step = length_mm / _STEPS
    give = worst = 0.0
    for i in range(_STEPS + 1):
        s = i * step
        fibre, moment = section(s)
        weight = 1 if i in (0, _STEPS) else 4 if i % 2 else 2
        arm = lever(s)
        give += weight * step / 3 * arm * arm / moment
        worst = max(worst, arm * fibre / moment)
    # Strain of a mm of deflection is worst / give; its force over the modulus is 1 / give.
    thickness = worst / give * length_mm**2 / 1.5
    return thickness, 6 * length_mm / (worst * thickness**2)
