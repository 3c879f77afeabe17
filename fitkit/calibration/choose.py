"""Which coupon features to measure when only so many will be: the most informative sizes.

Greedy addition, then exchange, of features from a list of candidates, so as to make the mean
variance of compensated sizes over the user's range as small as can be (I-optimality; Atkinson and
Donev 1992, Optimum Experimental Designs, from memory) or the volume of the coefficients'
uncertainty (D-optimality). What is known before any print counts as a first measurement, so every
step has an answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from fitkit.calibration.coupon import CouponFeature, parse_feature
from fitkit.calibration.effects import SizeAt, loads_of
from fitkit.calibration.generic import generic_profile
from fitkit.calibration.model import TERMS, design
from fitkit.calibration.posterior import Evidence
from fitkit.core.errors import CalibrationError
from fitkit.core.sizes import kind_of, kinds

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import SizeKind

    Array = NDArray[np.float64]

__all__ = ["CouponChoice", "as_expected", "candidate_features", "choose_features"]

_GRID = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CouponChoice:
    """Features chosen, and what to expect of them before anything is printed.

    Attributes
    ----------
    features : tuple of CouponFeature
        Most informative first.
    expected_U95_mm : mapping of kind to float, mm
        Largest expected half width of the 95 % interval of the mean over prints, over the wanted
        range.
    before_U95_mm : mapping of kind to float, mm
        The same from the generic profile alone.
    """

    features: tuple[CouponFeature, ...]
    expected_U95_mm: Mapping[str, float]
    before_U95_mm: Mapping[str, float]

    def summary(self) -> str:
        """Give a line a kind: expected U before and after."""
        return "\n".join(
            f"{kind}: ± {after:.3f} mm expected, ± {self.before_U95_mm[kind]:.3f} mm without "
            "(95 %, mean over prints)"
            for kind, after in self.expected_U95_mm.items()
        )


def candidate_features() -> tuple[CouponFeature, ...]:
    """Features that fit on a coupon of 100 x 100 mm, to choose from."""
    names = [
        *(f"bar {axis} {n}" for axis in "xy" for n in (10, 20, 30, 40, 50, 96)),
        *("bar x 96 at bed", "diagonal 1 124", "diagonal 2 124"),
        *(f"tab {n}" for n in (2, 3, 5)),
        *(f"peg {n}" for n in (3, 4, 6, 8, 10, 14)),
        *(f"height {n}" for n in (4, 8, 12, 16, 20)),
        *(f"slot {n}" for n in (2, 3, 4, 6, 8, 12)),
        *(f"inside {axis} {n}" for axis in "xy" for n in (30, 50, 75)),
        *("pocket x 14 by 50", "pocket y 50 by 14", "bridge 4"),
        *(f"hole {n:g}" for n in (2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20)),
        *(f"lying hole {n} {side}" for n in (4, 6, 8, 10) for side in ("width", "height")),
    ]
    return tuple(parse_feature(name) for name in names)


def choose_features(
    count: int,
    *,
    wanted_mm: Mapping[str, tuple[float, float]] | None = None,
    candidates: Sequence[CouponFeature] | None = None,
    material: str = "PETG",
    reading_mm: float = 0.015,
    criterion: Literal["I", "D"] = "I",
) -> CouponChoice:
    """Pick the features to print and measure.

    Parameters
    ----------
    count : int
        How many features the user is willing to measure.
    wanted_mm : mapping of kind to (low, high), mm
        Sizes that parts will have; usual ones if None.
    candidates : sequence of CouponFeature, optional
        To choose from.
    material : str
        Whose printers say what is known beforehand.
    reading_mm : float, mm
        Standard uncertainty of one feature's mean reading.
    criterion : {"I", "D"}
        Mean variance over the wanted sizes, or volume of the coefficients' uncertainty.

    Returns
    -------
    CouponChoice
        The features in the order in which they were picked, and the U95 to expect with and without
        them.

    Raises
    ------
    CalibrationError
        If `count` is less than 1 or more than there are candidates, or a wanted range is empty.
    """
    pool = tuple(candidates or candidate_features())
    if not 1 <= count <= len(pool):
        raise CalibrationError(
            f"{count} features are wanted, and there are {len(pool)} to choose from",
            code="calibration.feature-count",
            remedy=f"Give a number from 1 to {len(pool)}.",
        )
    usual = {kind.name: kind.usual_mm for kind in kinds() if kind.usual_mm}
    wanted = {kind_of(name): span for name, span in (wanted_mm or usual).items()}
    for kind, (low, high) in wanted.items():
        if not 0 < low <= high:
            raise CalibrationError(
                f"the range of {kind} sizes, {low} to {high} mm, is empty",
                code="calibration.empty-range",
                where=kind,
                remedy="Give a range whose lower end is above 0 mm and not above its upper end.",
            )
    generic = generic_profile(material)
    noise = reading_mm**2 + generic.spread.feature_mm**2
    rows = np.array([loads_of(one) for one in pool]) / np.sqrt(noise)
    # Without the least bit the covariance could not be inverted where terms go together.
    prior = np.asarray(generic.cov) + 1e-12 * np.eye(len(TERMS))
    grids = {kind: _grid(kind, span) for kind, span in wanted.items()}
    target = np.vstack([g / np.sqrt(len(grids) * len(g)) for g in grids.values()])
    moment = target.T @ target

    chosen: list[int] = []
    cov = prior
    for _ in range(count):
        best = _best(cov, rows, moment, criterion, barred=chosen)
        chosen.append(best)
        cov = _with(cov, rows[best])
    cov = _exchange(chosen, cov, prior, rows, moment, criterion)
    features = tuple(pool[i] for i in chosen)
    return CouponChoice(
        features=features,
        expected_U95_mm=_told(
            generic, wanted, as_expected(features, generic, reading_mm=reading_mm)
        ),
        before_U95_mm=_told(generic, wanted, None),
    )


def as_expected(
    features: Sequence[CouponFeature], profile: PrinterProfile, *, reading_mm: float = 0.015
) -> Evidence:
    """Readings of one coupon that come out just as expected: how sure, not what, they tell."""
    sizes = profile.sizes(
        SizeAt(
            kind=one.kind,
            axis=one.axis,
            drawn_mm=one.drawn_mm,
            place=one.place,
            diagonal=one.diagonal,
            wall_mm=one.wall_mm,
            print_code="the next coupon",
            feature=f"coupon: {one.name}",
        )
        for one in features
    )
    count = len(features)
    return Evidence(
        sizes=sizes,
        read_mm=profile.known.means(sizes),
        own=np.full(count, reading_mm**2),
        shared=np.zeros((count, count)),
        coupon=np.ones(count, dtype=bool),
    )


def _told(
    generic: PrinterProfile,
    wanted: Mapping[SizeKind, tuple[float, float]],
    evidence: Evidence | None,
) -> dict[str, float]:
    """Largest half width of the 95 % intervals of each kind's wanted sizes, mm."""
    profile = replace(generic, evidence=evidence)
    return {
        kind: float(
            profile.U95(
                np.geomspace(*span, _GRID), kind=kind, axis="x" if kind.flat else "xy", mean=True
            ).max()
        )
        for kind, span in wanted.items()
    }


def _grid(kind: SizeKind, span: tuple[float, float]) -> Array:
    sizes = np.geomspace(*span, _GRID)
    if kind.flat:
        # Both axes matter, not just their mean.
        return np.vstack([design(tuple(TERMS), sizes, kind, axis) for axis in ("x", "y")])
    return design(tuple(TERMS), sizes, kind)


def _gain(cov: Array, rows: Array, moment: Array, criterion: str) -> Array:
    """How much each row, if measured, would lower the criterion."""
    moved = rows @ cov
    scatter = np.einsum("ij,ij->i", moved, rows)
    if criterion == "D":
        return np.asarray(np.log1p(scatter))
    return np.asarray(np.einsum("ij,jk,ik->i", moved, moment, moved) / (1.0 + scatter))


def _best(cov: Array, rows: Array, moment: Array, criterion: str, *, barred: list[int]) -> int:
    gain = _gain(cov, rows, moment, criterion)
    gain[barred] = -np.inf
    return int(np.argmax(gain))


def _with(cov: Array, row: Array) -> Array:
    """Covariance after measuring one more row (Sherman and Morrison)."""
    moved = cov @ row
    return np.asarray(cov - np.outer(moved, moved) / (1.0 + row @ moved))


def _exchange(
    chosen: list[int], cov: Array, prior: Array, rows: Array, moment: Array, criterion: str
) -> Array:
    """Swap features one at a time while that helps."""

    def of(indices: Sequence[int]) -> Array:
        picked = rows[list(indices)]
        return np.asarray(np.linalg.inv(np.linalg.inv(prior) + picked.T @ picked))

    def loss(c: Array) -> float:
        return float(np.linalg.slogdet(c)[1] if criterion == "D" else np.trace(c @ moment))

    for _ in range(5):
        start = loss(cov)
        for place in range(len(chosen)):
            rest = chosen[:place] + chosen[place + 1 :]
            without = of(rest)
            best = _best(without, rows, moment, criterion, barred=rest)
            trial = _with(without, rows[best])
            if loss(trial) < loss(cov) - 1e-12 * abs(loss(cov)):
                chosen[place], cov = best, trial
        if not loss(cov) < start - 1e-9 * abs(start):
            break
    return cov
