"""Corrections of a shown size: closed jaws off zero, flat jaws in a round hole, warm parts.

Plain functions over arrays, in mm. Their uncertainties are put together in
`fitkit.stats.average`. Left out: bending of the jaws (Abbe error), which the limit of error covers,
and squeezing of soft parts, which `flags` looks for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import ReadingError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

__all__ = [
    "SMALL_HOLE_MM",
    "bore_from_reading",
    "chord_error",
    "cooled",
    "far_walls_error",
    "without_zero_error",
]

# Below it, flat inside jaws do not read a hole well. Common practice, no source.
SMALL_HOLE_MM = 5.0


def without_zero_error(shown_mm: ArrayLike, zero_error_mm: ArrayLike) -> Array:
    """Take off what the closed jaws show.

    Examples
    --------
    >>> float(without_zero_error(25.43, -0.02).round(3))
    25.45
    """
    corrected: Array = np.asarray(shown_mm, dtype=float) - np.asarray(zero_error_mm, dtype=float)
    return corrected


def bore_from_reading(shown_mm: ArrayLike, *, face_mm: ArrayLike) -> Array:
    """Find the diameter of a round hole from what flat inside jaws show, after zero correction.

    Parameters
    ----------
    shown_mm : array of shape (n,), mm
    face_mm : float or array of shape (n,), mm
        Width over both measuring faces and the gap between them: they stand side by side.

    Returns
    -------
    array of shape (n,), mm
        sqrt(r² + w²).

    Notes
    -----
    Source: Pythagoras in the circle, the reading being a chord.

    Examples
    --------
    >>> bore_from_reading([2.958], face_mm=0.5).round(3)
    array([3.])
    """
    bore: Array = np.hypot(np.asarray(shown_mm, dtype=float), np.asarray(face_mm, dtype=float))
    return bore


def chord_error(diameter_mm: ArrayLike, *, face_mm: float) -> Array:
    """Amount by which flat inside jaws read a round hole too small.

    Parameters
    ----------
    diameter_mm : array of shape (n,), mm
        True diameters, each greater than `face_mm`.
    face_mm : float, mm
        As in `bore_from_reading`; 0 or more.

    Returns
    -------
    array of shape (n,), mm
        d - sqrt(d² - w²), worked out as w² / (d + sqrt(d² - w²)), which keeps its digits when w
        is small.

    Raises
    ------
    ReadingError
        If a hole is not wider than the faces: the jaws cannot have entered it.

    Examples
    --------
    >>> chord_error([3.0, 10.0], face_mm=0.8).round(3)
    array([0.109, 0.032])
    """
    diameter = np.asarray(diameter_mm, dtype=float)
    if face_mm < 0 or not np.all(diameter > face_mm):
        raise ReadingError(
            f"jaws of {face_mm:g} mm over their faces do not enter a hole of {diameter.min():g} mm",
            code="readings.jaws-too-wide",
            remedy="Read small holes with a pin or a drill shank.",
        )
    chord: Array = face_mm**2 / (diameter + np.sqrt(diameter**2 - face_mm**2))
    return chord


def far_walls_error(
    first_mm: ArrayLike, other_mm: ArrayLike, *, face_mm: float
) -> tuple[Array, Array]:
    """Amount by which flat inside jaws read the span over two holes' far walls too small.

    Each jaw touches its own hole, with its own flat of half the width, since the two stand side by
    side.

    Parameters
    ----------
    first_mm, other_mm : arrays of shape (n,), mm
        True diameters of the two holes, each greater than `face_mm`.
    face_mm : float, mm
        As in `bore_from_reading`.

    Returns
    -------
    least, most : arrays of shape (n,), mm
        `least` where the calipers were swung to the largest reading: each flat is then in the
        middle of its hole. `most` where they were held along the line of centres: each flat then
        lies to one side of it, out to the corner that a single hole would meet.

    Raises
    ------
    ReadingError
        As `chord_error`.

    Notes
    -----
    Source: Pythagoras in the circle. The swing shortens the span itself by (w/2)²/(2 L), under
    0.001 mm for w = 0.5 mm over L = 50 mm, which is left out.

    Examples
    --------
    >>> least, most = far_walls_error([3.2], [3.2], face_mm=0.5)
    >>> float(least[0].round(3)), float(most[0].round(3))
    (0.01, 0.039)
    """
    least = chord_error(first_mm, face_mm=face_mm / 2) + chord_error(other_mm, face_mm=face_mm / 2)
    most = chord_error(first_mm, face_mm=face_mm) + chord_error(other_mm, face_mm=face_mm)
    return least / 2, most / 2


def cooled(
    size_mm: ArrayLike, *, temperature_c: ArrayLike, expansion_per_k: float, to_c: float = 20.0
) -> Array:
    """Find the size that a part will have at 20 °C (ISO 1) from its size when warm.

    Parameters
    ----------
    size_mm : array of shape (n,), mm
        As read on the warm part.
    temperature_c : float or array of shape (n,), °C
        Of the part when it was read.
    expansion_per_k : float, 1/K
        Coefficient of linear expansion of the part. The steel of the instrument expands too, and
        its reading with it: give the difference of both coefficients where both were warm.
    to_c : float, °C
        Temperature to which sizes refer.

    Returns
    -------
    array of shape (n,), mm
        size / (1 + expansion · (temperature - to)).

    Examples
    --------
    >>> round(100 - float(cooled(100.0, temperature_c=45.0, expansion_per_k=9e-5)), 3)
    0.224
    """
    size = np.asarray(size_mm, dtype=float)
    cold: Array = size / (1.0 + expansion_per_k * (np.asarray(temperature_c, dtype=float) - to_c))
    return cold
