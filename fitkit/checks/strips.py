"""What printed test strips tell of a spool: its modulus in bending, and the strain that it bears.

A strip lies across two edges; weights hang from its middle, and calipers read how far it sags. The
slope of sag over force gives the modulus of a simply held beam. A thin strip is bent to a U between
the jaws of the calipers, which are closed until it breaks or stays bent; their distance gives the
greatest strain (two-point bending, the elastica: M. J. Matthewson, C. R. Kurkjian and S. T. Gulati,
J. Am. Ceram. Soc. 69 (1986) 815, from memory, and solved again in the tests). Left out are the sag
by shear, under 0.5 % for strips so slim, and creep within the minute that a reading takes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.core.errors import CheckError
from fitkit.core.expanded import effective_df, expanded

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Tested", "bending_modulus", "borne_strain", "two_point_strain"]

_G = 9.80665
# Greatest curvature times the plates' distance, halved: the integral of the root of the cosine from
# -90 to 90 degrees over two.
_TWO_POINT = 1.19814
# Standard uncertainties: calipers on plastic, edges that hold a strip, and kitchen scales. Common
# practice, no source.
_CALIPERS_MM, _EDGES_MM, _SCALES = 0.02, 0.5, 0.01
_LEAST_STRIPS = 3


class Tested(NamedTuple):
    """A property of a spool: best value, standard uncertainty and its degrees of freedom."""

    value: float
    u: float
    df: float

    @property
    def U95(self) -> float:
        """Expanded uncertainty for 95 %."""
        return expanded(self.u, self.df)[0]


def bending_modulus(
    mass_g: Sequence[float],
    sag_mm: Sequence[float],
    *,
    span_mm: float,
    width_mm: Sequence[float],
    thickness_mm: Sequence[float],
) -> Tested:
    """Work out the modulus of a strip that weights bend in its middle.

    Parameters
    ----------
    mass_g : sequence of float, g
        Weights that hung there, two or more of them; 0 for the strip alone.
    sag_mm : sequence of float, mm
        Height of the middle under each, from any mark that stays, downwards.
    span_mm : float, mm
        Between the edges that hold it.
    width_mm, thickness_mm : sequence of float, mm
        Readings along the strip.

    Returns
    -------
    Tested
        In MPa, along the layers.

    Raises
    ------
    CheckError
        If there are fewer than two weights, or it does not sag under more weight.

    Notes
    -----
    E = L³ / (4 b h³ c), with c the slope of sag over force. Thickness counts three times. The
    doubt of the slope comes from what the line leaves over, and is not under that of the calipers.
    """
    force = 1e-3 * _G * np.asarray(mass_g, dtype=float)
    sag = np.asarray(sag_mm, dtype=float)
    if len(force) != len(sag) or len(np.unique(force)) < 2:
        raise CheckError(
            "the bending strip needs two weights or more, each with its sag",
            code="material.few-weights",
            remedy="Hang one more weight on it, and read the sag again.",
        )
    off = force - force.mean()
    slope = float(off @ sag / (off @ off))
    if slope <= 0:
        raise CheckError(
            "the bending strip does not sag more under more weight",
            code="material.sags-upwards",
            remedy="Write each sag downwards from one and the same mark.",
        )
    left = sag - sag.mean() - slope * off
    df = max(len(sag) - 2, 1)
    scatter = max(float(left @ left) / df, _CALIPERS_MM**2)
    width, thick = float(np.mean(width_mm)), float(np.mean(thickness_mm))
    value = span_mm**3 / (4 * width * thick**3 * slope)
    shares = [
        (float(np.sqrt(scatter / (off @ off))) / slope, float(df) if len(sag) > 2 else np.inf),
        (3 * _of_mean(thickness_mm) / thick, np.inf),
        (_of_mean(width_mm) / width, np.inf),
        (3 * _EDGES_MM / span_mm, np.inf),
        (_SCALES, np.inf),
    ]
    u = float(np.hypot.reduce([share for share, _ in shares]))
    return Tested(value, value * u, float(effective_df(*shares)))


def two_point_strain(thickness_mm: float, distance_mm: float) -> float:
    """Greatest strain of a strip that is bent to a U between two parallel jaws, as a fraction.

    Parameters
    ----------
    thickness_mm : float, mm
    distance_mm : float, mm
        Between the jaws, which the strip's outsides touch.

    Returns
    -------
    float
        1.198 h / (D - h).

    Examples
    --------
    >>> round(two_point_strain(0.6, 30.0), 4)
    0.0245
    """
    return _TWO_POINT * thickness_mm / (distance_mm - thickness_mm)


def borne_strain(distance_mm: Sequence[float], thickness_mm: Sequence[float]) -> Tested:
    """Work out the strain that one more strip would bear, from those that gave way.

    Parameters
    ----------
    distance_mm : sequence of float, mm
        Between the jaws when each strip broke or stayed bent, three strips or more.
    thickness_mm : sequence of float, mm
        Readings of the strips.

    Returns
    -------
    Tested
        As a fraction; its uncertainty is that of a further strip, scatter and all.

    Raises
    ------
    CheckError
        If there are fewer than three strips, or the jaws were closer than the strip is thick.
    """
    thick = float(np.mean(thickness_mm))
    gaps = np.asarray(distance_mm, dtype=float)
    if len(gaps) < _LEAST_STRIPS:
        raise CheckError(
            f"{len(gaps)} snap strips say too little of the next one",
            code="material.few-strips",
            remedy=f"Bend {_LEAST_STRIPS} or more until each breaks or stays bent.",
        )
    if gaps.min() <= 2 * thick:
        raise CheckError(
            f"the jaws cannot be {gaps.min():g} mm apart with a bent strip of {thick:.2f} mm "
            "between them",
            code="material.jaws-too-close",
            remedy="Write the distance between the jaws when the strip gave way.",
        )
    strains = np.array([two_point_strain(thick, float(gap)) for gap in gaps])
    mean, count = float(strains.mean()), len(strains)
    next_one = float(strains.std(ddof=1)) * (1 + 1 / count) ** 0.5
    shares = [
        (next_one, float(count - 1)),
        (mean * _of_mean(thickness_mm) / thick, np.inf),
        (mean * _CALIPERS_MM / float(gaps.mean()), np.inf),
    ]
    u = float(np.hypot.reduce([share for share, _ in shares]))
    return Tested(mean, u, float(effective_df(*shares)))


def _of_mean(readings: Sequence[float]) -> float:
    """Standard uncertainty of a mean of readings, mm; never under that of the calipers."""
    count = len(readings)
    spread = float(np.std(readings, ddof=1)) / count**0.5 if count > 1 else 0.0
    return max(spread, _CALIPERS_MM)
