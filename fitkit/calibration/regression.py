"""The joint weighted regression behind a profile: coefficients, covariance, scatter by cause.

Model of row i on print p, as deviation from the drawn size::

    printed - drawn = X beta + width_i * b_p + scale_i * s_p + model_i + feature_pi + reading_pi

The readings' covariance is known. What is left over is found by the moment rule of Mandel and
Paule (1970, Analytical Chemistry 42, 1194; from memory): the variance at which the weighted sum of
squares equals its degrees of freedom. Prints' own widths and scales are fitted as contrasts, and
their variance by the analysis of variance, as in GUM H.5; until there are many prints it is pooled
with common practice by degrees of freedom.

Which terms belong in is judged by Akaike's criterion, and with care: a model that is only a little
better than another must not hide the other's answer. So the coefficients are the mean over all
models, each weighted by exp(-AIC/2), and their covariance counts how far the models disagree
(Burnham and Anderson 2002, Model Selection and Multimodel Inference, section 4.3; from memory).
Tried on simulated coupons and left: the best model alone (worst size covered at 77 % instead of
95 %), and weights by the small-sample form AICc (90 %).

Left out: correlation of a print's width with its scale; errors in the drawn sizes, which are nil.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.candidates import Candidate, aic, candidates
from fitkit.calibration.generic import generic_spread
from fitkit.calibration.least_squares import Solution, solve
from fitkit.calibration.profile import Spread
from fitkit.core.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from fitkit.calibration.layout import Layout

    Array = NDArray[np.float64]

__all__ = ["SPARE_ROWS", "Regression", "regress"]

# Fewest features more than coefficients: below it the scatter cannot be told from the model.
SPARE_ROWS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Regression:
    """What the regression found.

    Attributes
    ----------
    coef : array of shape (k,)
        Of all terms; nil for terms left out or not measured.
    cov : array of shape (k, k)
        Without what differs from print to print.
    df : float
        Degrees of freedom of `cov`.
    spread : Spread
    candidate : Candidate
        The model that the data prefer.
    weights : tuple of (str, float)
        Each model compared and its share in the mean, best first.
    fitted_mm, residual_mm, u_mm, leverage : arrays of shape (n,)
        Of the rows; `u_mm` is the standard deviation expected of a residual's row.
    lack_of_fit_p : float or None
        Chance of so much model error if the model were right; None with one print.
    """

    coef: Array
    cov: Array
    df: float
    spread: Spread
    candidate: Candidate
    weights: tuple[tuple[str, float], ...]
    fitted_mm: Array
    residual_mm: Array
    u_mm: Array
    leverage: Array
    lack_of_fit_p: float | None

    @property
    def loo_mm(self) -> Array:
        """Error of each row when foretold from the others, mm."""
        return np.asarray(self.residual_mm / np.maximum(1.0 - self.leverage, 1e-9))

    @property
    def studentised(self) -> Array:
        """Residuals over their own standard deviation."""
        spread = self.u_mm * np.sqrt(np.maximum(1.0 - self.leverage, 1e-9))
        return np.asarray(self.residual_mm / spread)


def regress(layout: Layout, printed_mm: Array, readings_cov: Array) -> Regression:
    """Fit all models that the coupon allows and weigh them by how well the data bear them out.

    Parameters
    ----------
    layout : Layout
    printed_mm : array of shape (n,), mm
    readings_cov : array of shape (n,) or (n, n), mm²
        Variances of the readings, or their covariance.

    Raises
    ------
    CalibrationError
        If there are fewer features than the smallest model needs, or sizes too few to tell scale
        from offset.
    """
    y = np.asarray(printed_mm, float) - layout.drawn_mm
    known = np.diag(readings_cov) if readings_cov.ndim == 1 else np.asarray(readings_cov, float)
    prints = layout.print_columns()
    pool = _estimable(candidates(layout), layout.matrix, prints, len(y))
    fullest = np.hstack([layout.matrix @ pool[0].tie, prints])
    feature_var, model_var, same, lack_p = _scatter(layout, y, known, fullest, prints)
    total = known + feature_var * np.eye(len(y)) + model_var * same
    white = _whitener(total)
    rated = _rated(pool, white(layout.matrix), white(prints), white(y))
    coef, cov, effects, effects_cov = _averaged(rated)
    best = rated[0]
    kept, free = best.candidate, best.candidate.size
    estimated = feature_var + model_var
    share = float(np.mean(estimated / np.diag(total)))
    rows = len({f.name for f in layout.features}) if model_var else len(y)
    spare = max(rows - free - (0 if model_var else prints.shape[1]), 1)
    spread = _spread(layout, effects, effects_cov, estimated)
    fitted = layout.matrix @ coef + prints @ effects
    return Regression(
        coef=coef,
        cov=0.5 * (cov + cov.T),
        df=spare / share**2 if share > 1e-6 else np.inf,
        spread=spread,
        candidate=kept,
        weights=tuple((one.candidate.says, one.weight) for one in rated),
        fitted_mm=layout.drawn_mm + fitted,
        residual_mm=y - fitted,
        u_mm=np.sqrt(np.diag(total)),
        leverage=best.solution.leverage,
        lack_of_fit_p=lack_p,
    )


def _estimable(pool: list[Candidate], matrix: Array, prints: Array, n: int) -> list[Candidate]:
    """Keep models whose coefficients the rows determine, with rows to spare."""
    whole = []
    for candidate in pool:
        columns = np.hstack([matrix @ candidate.tie, prints])
        scaled = columns / np.maximum(np.abs(columns).max(axis=0), 1e-12)
        if np.linalg.matrix_rank(scaled, tol=1e-6) == columns.shape[1]:
            whole.append(candidate)
    if not whole:
        raise CalibrationError(
            "the sizes measured cannot tell scale from offset",
            where="coupon",
            remedy="Measure a second, quite different size; one size alone fits any mixture of "
            "the two, and is right for no other size.",
        )
    fewest = min((candidate.size for candidate in pool), default=0) + prints.shape[1]
    if n < fewest + SPARE_ROWS:
        raise CalibrationError(
            f"{n} features are too few for {fewest} terms",
            where="coupon",
            remedy=f"Measure {fewest + SPARE_ROWS} or more, or leave out kinds with one feature.",
        )
    return [c for c in whole if n >= c.size + prints.shape[1] + SPARE_ROWS] or [whole[-1]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rated:
    candidate: Candidate
    solution: Solution
    weight: float


def _rated(pool: list[Candidate], matrix: Array, prints: Array, y: Array) -> list[_Rated]:
    """Fit each model to whitened rows; best first, weights summing to 1."""
    found = [solve(np.hstack([matrix @ c.tie, prints]), y) for c in pool]
    score = np.array([aic(s.rss, len(y), len(s.coef)) for s in found])
    share = np.exp(-0.5 * (score - score.min()))
    share /= share.sum()
    order = np.argsort(-share, kind="stable")
    return [_Rated(candidate=pool[i], solution=found[i], weight=float(share[i])) for i in order]


def _averaged(rated: list[_Rated]) -> tuple[Array, Array, Array, Array]:
    """Mean over models of all terms and of the prints' effects, with covariances."""
    full = []
    for one in rated:
        free = one.candidate.size
        tie, found = one.candidate.tie, one.solution
        rest = len(found.coef) - free
        lift = np.zeros((len(tie) + rest, free + rest))
        lift[: len(tie), :free] = tie
        lift[len(tie) :, free:] = np.eye(rest)
        full.append((one.weight, lift @ found.coef, lift @ found.cov @ lift.T))
    mean = np.sum([w * coef for w, coef, _ in full], axis=0)
    cov = np.sum([w * (c + np.outer(b - mean, b - mean)) for w, b, c in full], axis=0)
    k = len(rated[0].candidate.tie)
    return mean[:k], cov[:k, :k], mean[k:], cov[k:, k:]


def _whitener(total: Array) -> Callable[[Array], Array]:
    diagonal = np.diag(total)
    if np.count_nonzero(total) == len(diagonal):
        root = np.sqrt(diagonal)
        return lambda a: np.asarray((a.T / root).T)
    lower = np.linalg.cholesky(total)
    return lambda a: np.asarray(np.linalg.solve(lower, a))


def _rss(columns: Array, y: Array) -> float:
    # Columns may depend on each other here, so no shortcut by QR.
    left = y - columns @ np.linalg.lstsq(columns, y, rcond=1e-10)[0]
    return float(left @ left)


def _excess(columns: Array, y: Array, known: Array, shape: Array, df: int) -> float:
    """Variance, times `shape`, that makes the weighted sum of squares equal its df."""
    from scipy.optimize import brentq

    white = _whitener(known)
    design, target = white(columns), white(y)
    if df <= 0 or _rss(design, target) <= df:
        return 0.0
    # In the directions of `shape` as whitened, every variance only rescales rows: one
    # decomposition serves all that are tried.
    scaled = white(white(shape).T)
    size = np.diag(scaled)
    if np.count_nonzero(scaled) > len(size):
        size, turn = np.linalg.eigh(scaled)
        design, target = turn.T @ design, turn.T @ target

    def over(variance: float) -> float:
        weight = 1.0 / np.sqrt(1.0 + variance * np.maximum(size, 0.0))
        return _rss(design * weight[:, None], target * weight) - df

    high = float(np.var(y)) + float(known.max())
    while over(high) > 0:
        high *= 4.0
    return float(brentq(over, 0.0, high, xtol=1e-10, rtol=1e-6))


def _scatter(
    layout: Layout, y: Array, known: Array, fullest: Array, prints: Array
) -> tuple[float, float, Array, float | None]:
    """Variance of features within prints, of the model, and the chance of the latter."""
    eye = np.eye(len(y))
    if layout.print_count == 1:
        return _excess(fullest, y, known, eye, len(y) - fullest.shape[1]), 0.0, eye, None
    from scipy.stats import f

    same = layout.same_feature()
    names = sorted({feature.name for feature in layout.features})
    dummies = np.array([[f.name == name for name in names] for f in layout.features], float)
    pure = np.hstack([dummies, prints])
    pure_rank = int(np.linalg.matrix_rank(pure / np.abs(pure).max(axis=0), tol=1e-9))
    pure_df = len(y) - pure_rank
    lack_df = pure_rank - fullest.shape[1]
    if pure_df < 1 or lack_df < 1:
        return _excess(fullest, y, known, eye, len(y) - fullest.shape[1]), 0.0, same, None
    feature_var = _excess(pure, y, known, eye, pure_df)
    within = known + feature_var * eye
    model_var = _excess(fullest, y, within, same, len(y) - fullest.shape[1])
    white = _whitener(within)
    pure_rss = _rss(white(pure), white(y))
    lack = max(_rss(white(fullest), white(y)) - pure_rss, 0.0)
    return (
        feature_var,
        model_var,
        same,
        float(f.sf(lack / lack_df / (pure_rss / pure_df), lack_df, pure_df)),
    )


def _spread(layout: Layout, effects: Array, cov: Array, feature_var: float) -> Spread:
    """Print-to-print variances by analysis of variance, pooled with common practice."""
    usual = generic_spread()
    p = layout.print_count
    if p == 1:
        width, scale = usual.print_width_mm, usual.print_scale
    else:
        width = _pooled(effects[: p - 1], cov[: p - 1, : p - 1], usual.print_width_mm, usual)
        scale = _pooled(effects[p - 1 :], cov[p - 1 :, p - 1 :], usual.print_scale, usual)
    return Spread(
        print_width_mm=width,
        print_scale=scale,
        print_df=usual.print_df + p - 1,
        feature_mm=float(np.sqrt(feature_var)),
        prints=p,
    )


def _pooled(contrasts: Array, cov: Array, prior_sd: float, usual: Spread) -> float:
    p = len(contrasts) + 1
    # The last print's effect is what brings the sum to nil.
    lift = np.vstack([np.eye(p - 1), -np.ones(p - 1)])
    effects = lift @ contrasts
    chance = float(np.trace(lift @ cov @ lift.T))
    seen = max(float(effects @ effects) - chance, 0.0)
    return float(np.sqrt((usual.print_df * prior_sd**2 + seen) / (usual.print_df + p - 1)))
