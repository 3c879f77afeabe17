"""Coupon readings, as a table or as estimates, brought to one shape and looked over before a fit.

What cannot be right is refused here, all of it at once: readings in inch, a feature far from its
drawn size, prints of different materials, inside sizes read with outside jaws.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.coupon import CouponFeature, parse_feature
from fitkit.core.errors import CalibrationError, FaultList, FitkitError

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from numpy.typing import NDArray

    from fitkit.stats.uncertainty import Estimate

    Array = NDArray[np.float64]

__all__ = ["Observations", "from_estimates", "reading_name"]

# No single reading with calipers repeats better than this, whatever few repeats seem to say.
_BEST_READING_MM = 0.005
# A print is never this far off: 5 % of the size and 1 mm.
_FARTHEST_SHARE, _FARTHEST_MM = 0.05, 1.0
_INCH = 25.4
# Sizes above this show a scale, if there are so many of them, and no printer's is so far from 1.
# Common practice, no source.
_LONG_MM, _LEAST_LONG, _NO_PRINTERS_SCALE = 20.0, 3, 0.035
# How far one feature is off by itself, and how many standard deviations tell a turned print.
# Common practice, no source.
_FEATURE_MM, _TURNED, _ALIKE = 0.04, 3.0, 2.0
_FLAT = ("outside", "inside")
# Fewest features of a sense before their signs say anything: 0.5**5 is 3 %.
_LEAST_SIGNS = 5
_CLEARLY_MM = 0.05
_LONGEST_FOR_SIGNS_MM = 40.0
# Two sizes that are this far apart and fit one another's reading so much better are swapped.
_LEAST_APART_MM, _FAR_BETTER = 0.4, 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observations:
    """What was read, a row a reading.

    Attributes
    ----------
    features : tuple of CouponFeature, length n
    prints : array of shape (n,)
        Which print each row is of, counted from 0.
    drawn_mm, printed_mm : arrays of shape (n,), mm
    own : array of shape (n,), mm²
        Variance of what is each reading's alone.
    shared : array of shape (n, n), mm²
        Covariance of what readings share.
    notes : tuple of str
    """

    features: tuple[CouponFeature, ...]
    prints: NDArray[np.int64]
    drawn_mm: Array
    printed_mm: Array
    own: Array
    shared: Array
    notes: tuple[str, ...] = ()


def reading_name(feature: str, nth: int) -> str:
    """Name the nth reading of a feature of one print, counted from 0; the first is the feature."""
    return f"{feature} ({nth + 1})" if nth else feature


_NTH = re.compile(r" \(\d+\)$")


def from_estimates(prints: Sequence[Mapping[str, Estimate]]) -> Observations:
    """Gather the estimates of one or more prints; corrections that they share stay correlated.

    Raises
    ------
    FaultList
        If names are not those of coupon features, or sizes cannot be right.
    CalibrationError
        If there is nothing to fit.
    """
    faults: list[FitkitError] = []
    features: list[CouponFeature] = []
    numbers: list[int] = []
    found: list[Estimate] = []
    for number, estimates in enumerate(prints):
        for name, one in estimates.items():
            try:
                features.append(parse_feature(_NTH.sub("", name)))
            except CalibrationError as error:
                faults.append(error)
                continue
            numbers.append(number)
            found.append(one)
    if faults:
        raise FaultList(faults)
    if not found:
        raise CalibrationError(
            "there are no coupon readings",
            code="calibration.no-readings",
            where="coupon",
            remedy="Fill in the readings file first.",
        )
    own, shared = _variances(found)
    observed = Observations(
        features=tuple(features),
        prints=np.array(numbers, dtype=int),
        drawn_mm=np.array([feature.drawn_mm for feature in features]),
        printed_mm=np.array([one.value_mm for one in found]),
        own=own,
        shared=shared,
    )
    return look_over(observed)


def _variances(found: Sequence[Estimate]) -> tuple[Array, Array]:
    """Variance of each estimate's own inputs, and covariance of those that several share, mm²."""
    from GTC.reporting import u_component

    column: dict[Hashable, int] = {}
    places, components = [], []
    for row, one in enumerate(found):
        for source in one.sources.values():
            if source.input is not None and source.input.u:  # an exact number has no identity
                places.append((row, column.setdefault(source.input.uid, len(column))))
                components.append(u_component(one.uncertain, source.input))
    parts = np.zeros((len(found), len(column)))
    if places:
        parts[tuple(np.transpose(places))] = components
    common = np.count_nonzero(parts, axis=0) > 1
    shared = parts[:, common] @ parts[:, common].T
    total = np.array([one.u_mm**2 for one in found])
    # A size without any uncertainty would outweigh all others; no reading is better than this.
    own = np.maximum(total - np.diag(shared), _BEST_READING_MM**2)
    return own, shared


def look_over(observed: Observations) -> Observations:
    """Refuse sizes that cannot be right; note doubts.

    Raises
    ------
    FaultList
        One `CalibrationError` a fault.
    """
    faults = _impossible(observed)
    if faults:
        raise FaultList(faults)
    notes = (
        *observed.notes,
        *_wrong_side(observed),
        *_swap_notes(observed),
        *_turned_notes(observed),
    )
    return replace(observed, notes=notes)


def _impossible(observed: Observations) -> list[FitkitError]:
    drawn, printed = observed.drawn_mm, observed.printed_mm
    ratio = printed / drawn
    for factor, says in ((1 / _INCH, "inch readings entered as mm"), (_INCH, "mm entered as inch")):
        like = np.abs(ratio / factor - 1.0) < 0.15
        if like.mean() > 0.5:
            return [
                CalibrationError(
                    f"the sizes are {float(np.median(ratio)):.3g} times the drawn ones: {says}",
                    code="calibration.inch",
                    where="coupon",
                    remedy="Set the unit of the readings file.",
                )
            ]
    if scaled := _scaled(observed):
        return [scaled]
    swapped = _swapped(observed)
    off = np.abs(printed - drawn) > np.maximum(_FARTHEST_SHARE * drawn, _FARTHEST_MM)
    return [
        CalibrationError(
            f"it reads {printed[i]:.2f} mm and was drawn {drawn[i]:.2f} mm; no printer is that far "
            "off",
            code="calibration.far-off",
            where=observed.features[i].name,
            remedy=f"It looks swapped with {swapped[observed.features[i].name]!r}: give each the "
            "other's name."
            if observed.features[i].name in swapped
            else "Read it again; was it typed wrong, in inch, or is it another feature?",
        )
        for i in np.flatnonzero(off)
    ]


def _scaled(observed: Observations) -> FitkitError | None:
    """Tell that a whole coupon is of another scale than any printer makes; None if it is not."""
    long = observed.drawn_mm > _LONG_MM
    ratio = observed.printed_mm[long] / observed.drawn_mm[long]
    if len(set(observed.drawn_mm[long])) < _LEAST_LONG:
        return None
    scale = float(np.median(ratio))
    if abs(scale - 1.0) <= _NO_PRINTERS_SCALE or np.mean(abs(ratio / scale - 1.0) < 0.01) < 0.8:
        return None
    return CalibrationError(
        f"the long sizes are {scale:.3f} times the drawn ones, and alike so",
        code="calibration.scaled",
        where="coupon",
        remedy=f"Was it printed at {100.0 * scale:.0f} % in the slicer? Print it at 100 %.",
    )


def _swapped(observed: Observations) -> dict[str, str]:
    """Find pairs of features of one kind whose readings fit one another's drawn sizes far better.

    Returns
    -------
    dict of a feature's name to the other's
        Both ways.
    """
    means: dict[str, tuple[CouponFeature, float]] = {}
    names = np.array([feature.name for feature in observed.features])
    for feature in dict.fromkeys(observed.features):
        means[feature.name] = (feature, float(observed.printed_mm[names == feature.name].mean()))
    found: dict[str, str] = {}
    for (one, read), (other, there) in combinations(means.values(), 2):
        alike = (one.kind, one.axis, one.place) == (other.kind, other.axis, other.place)
        if not alike or abs(one.drawn_mm - other.drawn_mm) < _LEAST_APART_MM:
            continue
        as_named = (read - one.drawn_mm) ** 2 + (there - other.drawn_mm) ** 2
        as_other = (read - other.drawn_mm) ** 2 + (there - one.drawn_mm) ** 2
        # Swapped, each is as far off as printers are; as named, by what lies between the two.
        if as_named > _FAR_BETTER * max(as_other, _CLEARLY_MM**2):
            found |= {one.name: other.name, other.name: one.name}
    return found


def _swap_notes(observed: Observations) -> tuple[str, ...]:
    swapped = _swapped(observed)
    return tuple(
        f"{one!r} and {other!r} look swapped: each reads what the other was drawn as. Check both"
        for one, other in swapped.items()
        if list(swapped).index(one) < list(swapped).index(other)
    )


def _turned_notes(observed: Observations) -> tuple[str, ...]:
    """Tell of a print that lay otherwise on the bed than the first one.

    Turned by a quarter, x and y change places, and so do the diagonals; mirrored, the diagonals do.
    Only a printer on which these differ shows it.
    """
    prints = [int(n) for n in np.unique(observed.prints)]
    told = []
    for n in prints[1:]:
        changed = [
            _changed_places(contrast(observed, prints[0]), contrast(observed, n))
            for contrast in (_x_against_y, _across_diagonals)
        ]
        if changed[0]:
            how = "turned by a quarter"
        elif changed[1] and changed[0] is False:
            how = "mirrored, or turned by a quarter"
        else:
            continue
        told.append(
            f"print {n + 1} differs from print {prints[0] + 1} as if one of them had lain {how} on "
            "the bed: lay the cut corner to the front left, and do not mirror it in the slicer"
        )
    return tuple(told)


# A relative difference with its standard deviation.
_Contrast = tuple[float, float]


def _changed_places(one: _Contrast | None, other: _Contrast | None) -> bool | None:
    """Tell whether a difference has changed its sign and kept its size; None if none was read."""
    if one is None or other is None:
        return None
    u = float(np.hypot(one[1], other[1]))
    return abs(one[0] - other[0]) > _TURNED * u and abs(one[0] + other[0]) < _ALIKE * u


def _x_against_y(observed: Observations, number: int) -> _Contrast | None:
    """How much more a print grew along x than along y.

    Least squares of what flat sizes are off: an offset a kind, a slope an axis.
    """
    features = observed.features
    kinds = sorted({f.kind.name for f in features if f.axis in ("x", "y")})
    plain = [
        i
        for i, f in enumerate(features)
        if observed.prints[i] == number and f.axis in ("x", "y") and f.kind.name in _FLAT
        and f.place == "mid" and not f.diagonal
    ]  # fmt: skip
    rows = np.array(
        [
            [
                *(float(features[i].kind.name == kind) for kind in kinds),
                *(observed.drawn_mm[i] * (features[i].axis == axis) for axis in ("x", "y")),
            ]
            for i in plain
        ]
    ).reshape(len(plain), len(kinds) + 2)
    rows = rows[:, [*np.flatnonzero(rows[:, :-2].any(axis=0)), len(kinds), len(kinds) + 1]]
    if np.linalg.matrix_rank(rows) < rows.shape[1]:
        return None
    weights = 1.0 / np.sqrt(observed.own[plain] + _FEATURE_MM**2)
    off = (observed.printed_mm - observed.drawn_mm)[plain] * weights
    cov = np.linalg.inv((rows * weights[:, None]).T @ (rows * weights[:, None]))
    found = cov @ (rows * weights[:, None]).T @ off
    variance = cov[-2, -2] + cov[-1, -1] - 2.0 * cov[-2, -1]
    return float(found[-2] - found[-1]), float(np.sqrt(variance))


def _across_diagonals(observed: Observations, number: int) -> _Contrast | None:
    """How much longer the first diagonals of a print are than the second."""
    sides: dict[float, dict[int, list[tuple[float, float]]]] = {}
    for feature, of, read, own in zip(
        observed.features, observed.prints, observed.printed_mm, observed.own, strict=True
    ):
        if of == number and feature.diagonal:
            both = sides.setdefault(feature.drawn_mm, {})
            both.setdefault(feature.diagonal, []).append((read, own))
    parts = []
    for drawn, both in sides.items():
        if len(both) == 2:
            (one, u_one), (other, u_other) = (np.mean(both[which], axis=0) for which in (1, -1))
            variance = (u_one + u_other + 2.0 * _FEATURE_MM**2) / drawn**2
            parts.append(((one - other) / drawn, variance))
    if not parts:
        return None
    values, variances = np.array(parts).T
    weights = 1.0 / variances
    return float(values @ weights / weights.sum()), float(weights.sum() ** -0.5)


def _wrong_side(observed: Observations) -> tuple[str, ...]:
    """Sign test: a wider line moves outsides up and insides down; nothing moves both one way."""
    from scipy.special import bdtrc

    features = observed.features
    plain = np.array([f.place == "mid" and f.diagonal == 0 for f in features])
    sense = np.array([f.kind.line_sense(f.axis) for f in features])
    # What shrinks in proportion is taken off at a usual 0.3 %; long sizes would hide behind it.
    plain &= observed.drawn_mm <= _LONGEST_FOR_SIGNS_MM
    shift = observed.printed_mm - 0.997 * observed.drawn_mm
    signed = shift[plain & (sense == -1)]
    if len(signed) < _LEAST_SIGNS:
        return ()
    large = int(np.count_nonzero(signed > _CLEARLY_MM))
    p = float(bdtrc(large - 1, len(signed), 0.5))  # so many or more, were both signs as likely
    if p >= 0.05:
        return ()
    return (
        f"inside sizes come out large (sign test, p = {p:.3f}): the likeliest cause is the "
        "slicer's hole or contour compensation, which is fitted like anything else as long as it "
        "stays as it is; otherwise, were inside sizes read with the outside jaws?",
    )
