"""Bores and cut-outs for a measured shaft or device: round, D, double D, splined, rectangular.

Flat outlines only. A spline is drawn as even straight-sided teeth between its two diameters, which
takes serrated shafts too; involute flanks are left out.
"""

from __future__ import annotations

import math
from typing import Literal

from fitkit.solids.profiles import Profile, circle, d_shape, double_d, polygon, rectangle

__all__ = ["BoreShape", "bore", "spline", "spline_ways"]

BoreShape = Literal["round", "D", "double D", "rectangle"]
# A tooth takes a fifth of the pitch at its tip, and its foot leaves a fifth between.
_TIP, _FOOT = 0.1, 0.4


def bore(shape: str, diameter: float, across: float = 0.0, *, radius: float = 0.0) -> Profile:
    """Outline of a bore about the origin, mm.

    Parameters
    ----------
    shape : {"round", "D", "double D", "rectangle"}
    diameter : float, mm
        Over the round; for a rectangle its width along x.
    across : float, mm
        From flat to round (D), over both flats (double D), or along y (rectangle).
    radius : float, mm
        Corners of a rectangle.
    """
    if shape == "round":
        return circle(diameter)
    if shape == "rectangle":
        return rectangle(diameter, across, radius=radius)
    return d_shape(diameter, across) if shape == "D" else double_d(diameter, across)


def spline(outer: float, inner: float, teeth: int) -> Profile:
    """Star of straight-sided teeth between two diameters, tooth and gap equal at mid height.

    Examples
    --------
    >>> s = spline(6.0, 5.4, 18)
    >>> len(s.outer.corners), round(s.box[2], 3)
    (72, 2.998)
    """
    points = []
    step = 2 * math.pi / teeth
    for i in range(teeth):
        at = ((-_FOOT, inner), (-_TIP, outer), (_TIP, outer), (_FOOT, inner))
        for share, diameter in at:
            r = diameter / 2
            angle = (i + share) * step
            points.append((r * math.cos(angle), r * math.sin(angle)))
    return polygon(points)


def spline_ways(teeth: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Give the ways from the middle to a corner of a tip and of a foot, those nearest to y.

    Parameters
    ----------
    teeth : int
        Of a `spline`.

    Returns
    -------
    tip, foot : (x, y)
        Unit vectors.
    """
    angles = (
        [2 * math.pi * (i + share) / teeth for i in range(teeth) for share in shares]
        for shares in ((-_TIP, _TIP), (-_FOOT, _FOOT))
    )
    # Of two that are as near, the one on the right.
    tip, foot = (max(of, key=lambda a: (round(math.sin(a), 9), math.cos(a))) for of in angles)
    return (math.cos(tip), math.sin(tip)), (math.cos(foot), math.sin(foot))
