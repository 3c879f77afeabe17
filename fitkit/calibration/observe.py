"""Coupon readings, as a table or as estimates, brought to one shape and looked over before a fit.

What cannot be right is refused here, all of it at once: readings in inch, a feature far from its
drawn size, prints of different materials, inside sizes read with outside jaws.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.coupon import CouponFeature, parse_feature
from fitkit.calibration.layout import Layout
from fitkit.core.errors import CalibrationError, FaultList, FitkitError

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from numpy.typing import NDArray

    from fitkit.stats.uncertainty import Estimate

    Array = NDArray[np.float64]

__all__ = ["Observations", "from_estimates"]

# A print is never this far off: 5 % of the size and 1 mm.
_FARTHEST_SHARE, _FARTHEST_MM = 0.05, 1.0
_INCH = 25.4
# Fewest features of a sense before their signs say anything: 0.5**5 is 3 %.
_LEAST_SIGNS = 5
_CLEARLY_MM = 0.05
_LONGEST_FOR_SIGNS_MM = 40.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observations:
    """What was read: the layout, the sizes, and the covariance of the readings in mm²."""

    layout: Layout
    printed_mm: Array
    cov: Array
    notes: tuple[str, ...] = ()


def from_estimates(prints: Sequence[Mapping[str, Estimate]]) -> Observations:
    """Gather the estimates of one or more prints; corrections that they share stay correlated.

    Raises
    ------
    FaultList
        If names are no coupon features, or sizes cannot be right.
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
                features.append(parse_feature(name))
            except CalibrationError as error:
                faults.append(error)
                continue
            numbers.append(number)
            found.append(one)
    if faults:
        raise FaultList(faults)
    if not found:
        raise CalibrationError(
            "no coupon readings", where="coupon", remedy="Fill in the readings file first."
        )
    observed = Observations(
        layout=Layout.of(features, numbers),
        printed_mm=np.array([one.value_mm for one in found]),
        cov=_covariance(found),
    )
    return look_over(observed)


def _covariance(found: Sequence[Estimate]) -> Array:
    """Covariance of estimates, mm², from the inputs that they share, which are independent."""
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
    cov = parts @ parts.T
    # A size without any uncertainty would outweigh all others; no reading is better than this.
    floor = 0.001**2
    own = np.maximum([one.u_mm**2 for one in found], floor)
    cov[np.diag_indices(len(found))] = own
    return cov


def look_over(observed: Observations) -> Observations:
    """Refuse sizes that cannot be right; note doubts.

    Raises
    ------
    FaultList
        One `CalibrationError` a fault.
    """
    faults = [*_impossible(observed), *_wrong_side(observed)]
    if faults:
        raise FaultList(faults)
    return observed


def _impossible(observed: Observations) -> list[FitkitError]:
    drawn, printed = observed.layout.drawn_mm, observed.printed_mm
    ratio = printed / drawn
    for factor, says in ((1 / _INCH, "inch readings entered as mm"), (_INCH, "mm entered as inch")):
        like = np.abs(ratio / factor - 1.0) < 0.15
        if like.mean() > 0.5:
            return [
                CalibrationError(
                    f"sizes are {float(np.median(ratio)):.3g} times the drawn ones: {says}",
                    where="coupon",
                    remedy="Set the unit of the readings file.",
                )
            ]
    off = np.abs(printed - drawn) > np.maximum(_FARTHEST_SHARE * drawn, _FARTHEST_MM)
    return [
        CalibrationError(
            f"reads {printed[i]:.2f} mm, drawn {drawn[i]:.2f} mm: no printer is that far off",
            where=observed.layout.features[i].name,
            remedy="Read it again; was it typed wrong, in inch, or is it another feature?",
        )
        for i in np.flatnonzero(off)
    ]


def _wrong_side(observed: Observations) -> list[FitkitError]:
    """Sign test: a wider line moves outsides up and insides down; nothing moves both one way."""
    from scipy.stats import binomtest

    layout = observed.layout
    plain = np.array([f.place == "mid" and f.diagonal == 0 for f in layout.features])
    # What shrinks in proportion is taken off at a usual 0.3 %; long sizes would hide behind it.
    plain &= layout.drawn_mm <= _LONGEST_FOR_SIGNS_MM
    shift = observed.printed_mm - 0.997 * layout.drawn_mm
    wrong: dict[int, float] = {}
    right: dict[int, float] = {}
    for sense in (1, -1):
        signed = shift[plain & (layout.width == sense)] * sense
        if len(signed) < _LEAST_SIGNS:
            return []
        for found, count in (
            (wrong, np.count_nonzero(signed < -_CLEARLY_MM)),
            (right, np.count_nonzero(signed > 0)),
        ):
            found[sense] = float(binomtest(int(count), len(signed), alternative="greater").pvalue)
    names = {
        1: ("outside sizes are smaller than drawn", "inside"),
        -1: ("inside sizes are larger than drawn", "outside"),
    }
    swapped = [sense for sense in (1, -1) if wrong[sense] < 0.05 and right[-sense] < 0.05]
    if not swapped:
        return []
    return [
        CalibrationError(
            f"{names[swapped[0]][0]} (sign test, p = {wrong[swapped[0]]:.3f}) although "
            f"{names[swapped[0]][1]} sizes err as they usually do",
            where="coupon",
            remedy="Check whether inside and outside readings were swapped, or taken with the "
            "other jaws. No printing fault does both.",
        )
    ]
