"""How much interference a printed bore bears: the thick-walled cylinder.

A solid peg of diameter d pressed into a bore of the same plastic with wall t, and so an outside
diameter D = d + 2 t, takes a diametral interference of

    i = (p d / E) (C + 1),   C = (D^2 + d^2) / (D^2 - d^2)

and stretches the bore's own edge by (p / E) (C + nu). So the interference that stretches the bore
by a strain e is i = e d (C + 1) / (C + nu): between e d for a thin wall and 2 e d / (1 + nu) for a
thick one; the modulus drops out.

Source: Lame's solution of the thick-walled cylinder under inner pressure, in plane stress, as in
any text on strength of materials (from memory). Left out: creep, which lowers the grip of plastic
within days; bores that are not round; seams and layer lines, along which a bore splits first.
"""

from __future__ import annotations

import math

from fitkit.core.errors import FitError

__all__ = ["POISSON", "interference_strain", "most_interference_mm"]

# Of unfilled plastics: from memory, 0.35 to 0.40.
POISSON = 0.38


def most_interference_mm(size_mm: float, *, strain: float, wall_mm: float = 0.0) -> float:
    """Greatest interference that keeps a bore's strain.

    Parameters
    ----------
    size_mm : float, mm
        Diameter of the bore.
    strain : float
        What the plastic bears, as a fraction.
    wall_mm : float, mm
        Wall round the bore; 0 for one that is not known, which counts as thin, the safe side.

    Returns
    -------
    float, mm
        On the full diameter, 0 or more.

    Raises
    ------
    FitError
        If the size is not above 0, or strain or wall is below 0.

    Examples
    --------
    >>> round(most_interference_mm(10.0, strain=0.02), 3)
    0.2
    """
    if not (0 < size_mm < math.inf and 0 <= strain < math.inf and 0 <= wall_mm < math.inf):
        raise FitError(
            f"a bore of {size_mm:g} mm with a wall of {wall_mm:g} mm and a strain of {strain:g}",
            code="fits.bore",
            remedy="Give a size above 0 mm, and wall and strain of 0 or more.",
        )
    return strain * size_mm / _share(size_mm, wall_mm)


def interference_strain(size_mm: float, interference_mm: float, *, wall_mm: float = 0.0) -> float:
    """Strain at a bore's edge by a pressed-in peg, as a fraction.

    Parameters
    ----------
    size_mm, interference_mm, wall_mm : float, mm
        As in `most_interference_mm`.

    Returns
    -------
    float
    """
    return interference_mm / size_mm * _share(size_mm, wall_mm)


def _share(size_mm: float, wall_mm: float) -> float:
    """Share of the interference by which the bore gives way; the rest is the peg's."""
    if not wall_mm:
        return 1.0
    outer = size_mm + 2.0 * wall_mm
    c = (outer**2 + size_mm**2) / (outer**2 - size_mm**2)
    return (c + POISSON) / (c + 1.0)
