"""Will all the screws go in: the true position of a pattern of holes over a pattern of screws.

Screw i goes through hole i if their axes lie no further apart than the radial float r_i, half of
hole less screw. The plate may be shifted and turned to suit, so all go in if

    min over shift t and turn phi of  max_i ( |e_i - t - phi J p_i| - r_i )  <= 0

with e_i the position error of hole i against screw i, p_i its place from the pattern's middle and J
the quarter turn. That is a convex problem in three unknowns; it is solved for all samples at once
by Newton steps on a smoothed maximum whose smoothing ends at half a micrometre. A sample is called
good only if a place that really lets all screws in was found.

Left out: tilt of screws in thick plates, and screws that bend.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.chances import say_chance
from fitkit.core.errors import FitError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.calibration import PrinterProfile
    from fitkit.calibration.learned import Learned

    Array = NDArray[np.floating[Any]]

__all__ = ["PatternFit", "pattern_fit", "printed_pattern_fit", "worst_misfit"]

# Softness of the maximum, mm, from the size of a float to well under what calipers can read.
_SOFTNESS_MM = (0.02, 0.005, 0.0015, 0.0005)
_STEPS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternFit:
    """Chance that all screws of a pattern go in at once.

    Attributes
    ----------
    p_all : float
    u_p_all : float
        Standard uncertainty of it, from the finite number of samples.
    misfit_mm : array of shape (n,), mm
        By how much the worst screw's hole is short on the radius, the plate placed best; negative
        is float left over.
    expected_misfit_mm : float, mm
        The same with all sizes at their best values.
    float_mm : float, mm
        Mean diametral float, hole less screw.
    """

    p_all: float
    u_p_all: float
    misfit_mm: Array
    expected_misfit_mm: float
    float_mm: float

    def __str__(self) -> str:
        """Give one line."""
        side = "short" if self.expected_misfit_mm > 0 else "to spare"
        return (
            f"all go in with a chance of {say_chance(self.p_all)}; at best values "
            f"{abs(self.expected_misfit_mm):.2f} mm {side} on the radius, float "
            f"{self.float_mm:.2f} mm on the diameter"
        )


def pattern_fit(
    holes_mm: Sequence[tuple[float, float]],
    screws_mm: Sequence[tuple[float, float]],
    *,
    hole_mm: float,
    screw_mm: float,
    u_place_mm: float = 0.0,
    u_hole_mm: float = 0.0,
    u_scale: float = 0.0,
    samples: int = 10_000,
    seed: int = 0,
) -> PatternFit:
    """Find the chance that all screws go through all holes.

    Parameters
    ----------
    holes_mm, screws_mm : sequences of points, mm
        Expected places of the holes as printed, and of the screws, in the same order.
    hole_mm, screw_mm : float, mm
        Expected diameters as printed and bought.
    u_place_mm : float, mm
        Standard uncertainty of each coordinate of each hole against its screw: reading and print.
    u_hole_mm : float, mm
        Standard uncertainty of a hole's diameter; each hole has its own.
    u_scale : float
        Standard uncertainty of the shrinkage that all spacings share, as a ratio (0.001 is 0.1 %).
    samples, seed : int
        How many patterns are drawn; the same seed draws the same.

    Returns
    -------
    PatternFit

    Raises
    ------
    FitError
        If the patterns have different numbers of points, or too few, or a size is no size.

    Examples
    --------
    >>> corners = [(0, 0), (58, 0), (58, 49), (0, 49)]
    >>> pattern_fit(corners, corners, hole_mm=3.4, screw_mm=3.0, u_place_mm=0.05).p_all > 0.95
    True
    """
    holes, screws = np.array(holes_mm, dtype=float), np.array(screws_mm, dtype=float)
    _refuse_pattern(holes, screws, hole_mm, screw_mm, samples, (u_place_mm, u_hole_mm, u_scale))
    arms = screws - screws.mean(axis=0)
    errors, radial = holes - screws, 0.5 * (hole_mm - screw_mm)
    rng = np.random.default_rng(seed)
    drawn = errors + u_place_mm * rng.standard_normal((samples, *errors.shape))
    drawn += u_scale * rng.standard_normal((samples, 1, 1)) * arms
    floats = radial + 0.5 * u_hole_mm * rng.standard_normal((samples, len(holes)))
    return _of_samples(drawn, floats, errors, np.full(len(holes), radial), arms)


def printed_pattern_fit(
    holes_mm: Sequence[tuple[float, float]],
    screws_mm: Sequence[tuple[float, float]],
    *,
    drawn_mm: float,
    screw_mm: float,
    profile: PrinterProfile,
    learned: Learned | None = None,
    feature: str = "",
    lying: bool = False,
    u_screws_mm: float = 0.0,
    samples: int = 10_000,
    seed: int = 0,
) -> PatternFit:
    """Find the chance that all screws go through all holes of a print still to come.

    What is unknown of the printer moves all holes alike: a wide line makes every one of them small,
    shrinkage draws them all together. So places and diameters are drawn together from the profile.

    Parameters
    ----------
    holes_mm, screws_mm : sequences of points, mm
        Places of the holes as drawn, and of the screws, in the same order.
    drawn_mm, screw_mm : float, mm
        Diameters: of all holes as drawn, and of the screws.
    profile : PrinterProfile
    learned : Learned, optional
        What sizes measured on earlier prints taught.
    feature : str
        Which pattern of which part this is, as in `fitkit.calibration.MeasuredSize`.
    lying : bool
        Whether the axes of the holes lie in the print.
    u_screws_mm : float, mm
        Standard uncertainty of each coordinate of each screw: the reading of the thing.
    samples, seed : int
        How many prints are drawn; the same seed draws the same.

    Returns
    -------
    PatternFit

    Raises
    ------
    FitError
        As `pattern_fit`.

    Examples
    --------
    >>> from fitkit.calibration import generic_profile
    >>> corners = [(0, 0), (58, 0), (58, 49), (0, 49)]
    >>> all_in = printed_pattern_fit(
    ...     corners, corners, drawn_mm=4.2, screw_mm=3.0, profile=generic_profile("PETG")
    ... )
    >>> all_in.p_all > 0.95
    True
    """
    from fitkit.calibration.joint import PrintedSize, joint
    from fitkit.calibration.posterior import PECULIAR_MM, SCATTER_MM

    holes, screws = np.array(holes_mm, dtype=float), np.array(screws_mm, dtype=float)
    _refuse_pattern(holes, screws, drawn_mm, screw_mm, samples, (u_screws_mm,))
    middle = holes.mean(axis=0)
    arms, count = holes - middle, len(holes)
    spans = {axis: float(np.ptp(arms[:, axis])) for axis in (0, 1)}
    wide = {axis: span for axis, span in spans.items() if span > 1.0}
    kind = "hole_lying" if lying else "hole"
    asked = [PrintedSize(span, "centres", "xy"[axis]) for axis, span in wide.items()]  # type: ignore[arg-type]
    asked += [PrintedSize(drawn_mm, kind, "xy", f"{feature} hole {i}") for i in range(count)]
    known = joint(asked, profile, learned=learned)
    rng = np.random.default_rng(seed)
    values, vectors = np.linalg.eigh(known.cov_mm2)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    off = rng.standard_normal((samples, len(asked))) @ root.T
    # Of a distance's doubt each hole brings its own half; the rest stretches the whole pattern.
    own = math.hypot(PECULIAR_MM, SCATTER_MM) / math.sqrt(2.0)
    places, expected = np.zeros((samples, count, 2)), holes - screws
    for at, (axis, span) in enumerate(wide.items()):
        variance = float(known.cov_mm2[at, at])
        common = math.sqrt(max(1.0 - 2.0 * own**2 / variance, 0.0)) if variance else 0.0
        places[:, :, axis] += common * off[:, at, None] * arms[:, axis] / span
        expected[:, axis] += (known.mean_mm[at] - span) * arms[:, axis] / span
    places += math.hypot(own, u_screws_mm) * rng.standard_normal(places.shape)
    radial = 0.5 * (known.mean_mm[len(wide) :] - screw_mm)
    floats = radial + 0.5 * off[:, len(wide) :]
    return _of_samples(expected + places, floats, expected, radial, screws - screws.mean(axis=0))


def _refuse_pattern(
    holes: Array,
    screws: Array,
    hole_mm: float,
    screw_mm: float,
    samples: int,
    doubts: Sequence[float],
) -> None:
    """Refuse patterns and sizes that cannot be tried."""
    if holes.shape != screws.shape or holes.ndim != 2 or holes.shape[1] != 2 or len(holes) < 2:
        raise FitError(
            f"{len(holes)} holes cannot be matched with {len(screws)} screws",
            code="fits.pattern",
            remedy="Give a hole to each screw, at least two, each as (x, y).",
        )
    if not (0 < screw_mm < math.inf and 0 < hole_mm < math.inf) or samples < 1:
        raise FitError(
            f"a hole of {hole_mm:g} mm for a screw of {screw_mm:g} mm cannot be tried with "
            f"{samples} samples",
            code="fits.pattern-sizes",
            remedy="Give diameters above 0 and at least one sample.",
        )
    if min(doubts) < 0:
        raise FitError(
            "an uncertainty is below 0", code="fits.uncertainty", remedy="Give 0 or more."
        )


def _of_samples(
    errors: Array, floats: Array, expected: Array, radial: Array, arms: Array
) -> PatternFit:
    """Count the drawn patterns in which all screws go in.

    Parameters
    ----------
    errors : array of shape (n, k, 2), mm
    floats : array of shape (n, k), mm
    expected, radial : arrays of shape (k, 2) and (k,), mm
        Errors and radial floats at best values.
    arms : array of shape (k, 2), mm
    """
    samples = len(errors)
    misfit = worst_misfit(errors, arms, floats)
    p_all = float(np.mean(misfit <= 0.0))
    p = min(max(p_all, 1.0 / samples), 1.0 - 1.0 / samples) if samples > 1 else 0.5
    return PatternFit(
        p_all=p_all,
        u_p_all=math.sqrt(p * (1.0 - p) / samples),
        misfit_mm=misfit,
        expected_misfit_mm=float(worst_misfit(expected[None], arms, radial[None])[0]),
        float_mm=2.0 * float(radial.mean()),
    )


def worst_misfit(errors_mm: Array, arms_mm: Array, floats_mm: Array) -> Array:
    """Misfit of the worst hole once the plate is shifted and turned to suit.

    Parameters
    ----------
    errors_mm : array of shape (n, k, 2), mm
        Position errors of k holes in n samples.
    arms_mm : array of shape (k, 2), mm
        Places from the pattern's middle.
    floats_mm : array of shape (n, k), mm
        Radial floats.

    Returns
    -------
    array of shape (n,), mm
        0 or less if all screws go in; never too small, and too large by under 2 µm.
    """
    reach = max(float(np.hypot(*arms_mm.T).max()), 1e-9)
    turned = np.column_stack([-arms_mm[:, 1], arms_mm[:, 0]]) / reach
    # Columns: what shift x, shift y and turn (in mm at the farthest hole) do to each error.
    moves = np.zeros((len(arms_mm), 2, 3))
    moves[:, 0, 0] = moves[:, 1, 1] = 1.0
    moves[:, :, 2] = turned
    flat = moves.reshape(-1, 3)
    place = errors_mm.reshape(len(errors_mm), -1) @ np.linalg.pinv(flat).T
    best = _misfit(errors_mm, place, moves, floats_mm)
    for softness in _SOFTNESS_MM:
        for _ in range(_STEPS):
            place = place - _newton_step(errors_mm, place, moves, floats_mm, softness)
            best = np.minimum(best, _misfit(errors_mm, place, moves, floats_mm))
    return best


def _misfit(errors: Array, place: Array, moves: Array, floats: Array) -> Array:
    left = errors - np.einsum("kij,nj->nki", moves, place)
    return np.asarray((np.hypot(left[..., 0], left[..., 1]) - floats).max(axis=1))


def _newton_step(
    errors: Array, place: Array, moves: Array, floats: Array, softness: float
) -> Array:
    """Step towards the minimum of softness * log sum exp(misfit / softness)."""
    left = errors - np.einsum("kij,nj->nki", moves, place)
    # A softened length keeps the slope finite where an error is zero.
    length = np.sqrt(np.square(left).sum(axis=2) + softness**2)
    misfit = length - floats
    share = np.exp((misfit - misfit.max(axis=1, keepdims=True)) / softness)
    share /= share.sum(axis=1, keepdims=True)
    unit = left / length[..., None]
    slope = -np.einsum("nki,kij->nkj", unit, moves)
    gradient = np.einsum("nk,nkj->nj", share, slope)
    # Curvature of the soft maximum, then of each length, by their own formulas.
    bend = np.einsum("nk,nki,nkj->nij", share, slope, slope)
    bend = (bend - gradient[:, :, None] * gradient[:, None, :]) / softness
    per_length = share / length
    bend += np.einsum("nk,kli,klj->nij", per_length, moves, moves)
    bend -= np.einsum("nk,nki,nkj->nij", per_length, slope, slope)
    step = np.linalg.solve(bend + 1e-6 * np.eye(3), gradient[:, :, None])[:, :, 0]
    # Far from the minimum a full step overshoots the soft corner: keep it to a few softnesses.
    size = np.linalg.norm(step, axis=1, keepdims=True)
    return np.asarray(step * np.minimum(1.0, 5.0 * softness / np.maximum(size, 1e-300)))
