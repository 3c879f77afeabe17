"""Learn what is known of a printer that nobody has measured, from open records of printed sizes.

Printers' terms are taken as normal about a common mean, each printer with a factor of its own on
the covariance (inverse gamma, so that strange printers happen) and one on its noise. Means and
standard deviations of the terms, and of the noise, are sampled by an ensemble of walkers (stretch
moves, Goodman and Weare 2010, from memory) with a fixed seed. What is written is the mean and
the covariance of a new printer's terms: those between printers, and the doubt about the mean, which
with so few printers is most of it. The heavy tail is that of printers: the doubt about their mean
has none, so it is written divided by what the tail multiplies it with.

Kinds of size hang together, since one line is laid for all: a wider line makes outsides larger and
closes insides by as much. Their means are that of the line and a term of their own: straight outer
and inner walls each about the line, pegs about outer walls and holes about inner walls, since a
large round wall is nearly a straight one (what roundness does beyond is the curvature). How large
such terms are is learned from the kinds that records show; slots, which none shows, are as well
known as the line, the holes and that figure make them. What was thought likely of each kind by
itself before any record counts beside.

``python -m studies.printer_prior`` writes ``fitkit/data/printer_prior.csv``.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import Covariances, log_points, tail_points
from fitkit.calibration.prior import Prior
from fitkit.data import load_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "HYPER",
    "SDS",
    "Record",
    "collapsed",
    "jaws_sd_mm",
    "learn_prior",
    "means_and_sds",
    "records",
    "write_prior",
]

TAIL_DF = 6.0
SEED = 20261127
# Hyper-parameters: means of terms, and standard deviations between printers (as logarithms); each
# with the middle and the width of what was thought likely before any record was seen.
_MEANS: tuple[tuple[str, float, float], ...] = (
    ("scale", -0.003, 0.003),
    ("line", 0.0, 0.15),
    ("hole_curvature", 0.5, 0.5),
    ("height_offset", 0.0, 0.1),
)
# Means of kinds, each about the one that it is likest, sampled in units of the spread between
# kinds; and what was thought likely of it by itself.
_KINDS: tuple[tuple[str, str, float, float], ...] = (
    ("outside_offset", "line", 0.0, 0.15),
    ("inside_closing", "line", 0.1, 0.15),
    ("peg_offset", "outside_offset", 0.0, 0.15),
    ("hole_closing", "inside_closing", 0.1, 0.15),
)
SDS: tuple[tuple[str, float, float], ...] = (
    ("scale", 0.003, 0.4),
    ("width", 0.07, 0.4),
    ("kind", 0.05, 0.4),
    ("curvature", 0.3, 0.4),
    ("height", 0.07, 0.4),
    ("noise", 0.03, 0.4),
    ("between_kinds", 0.08, 0.4),
)
_NOISE_LOG_SD = 0.6
# Axes of one printer differ by this much in scale: half the difference of x and y, and z.
_AXES_SD, _Z_SD = 0.0007, 0.0015
# Terms that no record shows: mean and standard deviation. Lying holes, flare and skew are the
# middles of the generic table's ranges; the rest is a choice. Common practice, no source.
_UNSEEN: dict[str, tuple[float, float]] = {
    "lying_width_closing": (0.15, 0.08),
    "lying_height_closing": (0.30, 0.13),
    "bed_flare": (0.30, 0.12),
    "skew": (0.0, 0.0012),
    "pocket_closing": (0.0, 0.045),
    "wall_bow": (0.0, 0.05),
    "roof_sag": (0.10, 0.08),
}
HYPER = len(_MEANS) + len(_KINDS) + len(SDS)
# Flat inside jaws read a round hole small by flat²/(2 n): for jaws of usual calipers, mm².
_JAWS_MM2, _JAWS_SD_MM2 = 0.18, 0.10
_LAYER_MM = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """One printer's sizes: drawn, and as read less drawn."""

    name: str
    sizes: Sizes
    residual_mm: Array


def records(*, without: str = "") -> list[Record]:
    """Read the open records, all but one if it is named."""
    frame = load_table("printed_sizes").frame
    found = []
    for name, rows in frame.groupby("record", sort=True):
        if name == without:
            continue
        sizes = Sizes.of(
            SizeAt(
                kind=row.kind,
                axis=row.axis,
                drawn_mm=row.nominal_mm,
                print_code=str(name),
                feature=f"{name} {number}",
                step_mm=_step(row.kind, row.nominal_mm),
            )
            for number, row in enumerate(rows.itertuples())
        )
        residual = rows["measured_mm"].to_numpy(float) - sizes.drawn
        residual[_round(sizes)] += _JAWS_MM2 / sizes.drawn[_round(sizes)]
        found.append(Record(name=str(name), sizes=sizes, residual_mm=residual))
    return found


def learn_prior(found: Sequence[Record], *, steps: int = 1500, walkers: int = 40) -> Prior:
    """Sample the hyper-parameters and give the prior of a new printer.

    Parameters
    ----------
    found : sequence of Record
    steps, walkers : int
        Of the ensemble; its first third is thrown away.
    """
    rng = np.random.default_rng(SEED)
    model = _Model(found)
    means = [m for _, m, _ in _MEANS] + [0.0] * len(_KINDS)
    middle = np.array(means + [np.log(m) for _, m, _ in SDS])
    width = np.array([w for *_, w in _MEANS] + [1.0] * len(_KINDS) + [w for *_, w in SDS])
    state = middle + 0.5 * width * rng.standard_normal((walkers, len(middle)))

    def log_posterior(theta: Array) -> Array:
        off = ((theta - middle) / width) ** 2
        return np.asarray(-0.5 * off.sum(axis=1) + _log_alone(theta) + model.log_likelihood(theta))

    value = log_posterior(state)
    half = walkers // 2
    kept = []
    for step in range(steps):
        for mine, others in (
            (slice(0, half), slice(half, None)),
            (slice(half, None), slice(0, half)),
        ):
            partners = state[others][rng.integers(0, walkers - half, half)]
            stretch = (1.0 + rng.random(half)) ** 2 / 2.0
            moved = partners + stretch[:, None] * (state[mine] - partners)
            new = log_posterior(moved)
            gain = (len(middle) - 1) * np.log(stretch) + new - value[mine]
            taken = np.log(rng.random(half)) < gain
            state[mine] = np.where(taken[:, None], moved, state[mine])
            value[mine] = np.where(taken, new, value[mine])
        if step >= steps // 3 and step % 5 == 0:
            kept.append(state.copy())
    return collapsed(np.concatenate(kept), len(found))


def write_prior(prior: Prior, path: Path, *, count: int) -> None:
    """Write the prior as a table with its source."""
    lines = [
        f"# source: learned by studies/printer_prior.py from printed_sizes.csv ({count} "
        "printers); lying holes, flare, skew, closed pockets, bowed walls, roofs: common practice, "
        "no source",
        "# edition: seed " + str(SEED),
        "# taken: 2026-11-27",
        "# licence: own work",
        "# Mean of each term, and the covariance of a printer that nobody has measured. Scales and",
        "# skew in mm/mm, hole_curvature in mm^2, others in mm. tail_df is a number of degrees of",
        "# freedom. Run the study again rather than edit.",
        ",".join(["term", "mean", *TERMS]),
    ]
    for at, term in enumerate(TERMS):
        row = [term, f"{prior.mean[at]:.6g}", *(f"{value:.6g}" for value in prior.cov[at])]
        lines.append(",".join(row))
    lines.append(",".join(["tail_df", f"{prior.tail_df:g}", *("0" for _ in TERMS)]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


class _Model:
    """Likelihood of all records for many hyper-parameters at once."""

    def __init__(self, found: Sequence[Record]) -> None:
        rows = max(len(record.sizes) for record in found)
        self.loads = np.zeros((len(found), rows, len(TERMS)))
        self.residual = np.zeros((len(found), rows))
        self.fixed = np.zeros((len(found), rows, rows))
        self.real = np.zeros((len(found), rows))
        bare = Prior(mean=np.zeros(len(TERMS)), cov=np.zeros((len(TERMS), len(TERMS))))
        one = np.ones(1)
        for at, record in enumerate(found):
            count = len(record.sizes)
            self.loads[at, :count] = record.sizes.loads
            self.residual[at, :count] = record.residual_mm
            self.real[at, :count] = 1.0
            parts = Covariances.of(bare, record.sizes, record.sizes, same=True)
            self.fixed[at, :count, :count] = parts.at(one, one, one, one)[0]
            jaws = jaws_sd_mm(record.sizes)
            self.fixed[at, :count, :count] += np.outer(jaws, jaws)
        # Rows that only fill up say nothing: residual zero, variance one.
        self.fixed += np.eye(rows) * (1.0 - self.real)[:, None, :]
        self.shapes = np.array([self.loads @ s @ np.swapaxes(self.loads, 1, 2) for s in _shapes()])
        self.tail, tail_weight = tail_points(TAIL_DF)
        noise, noise_weight = log_points(_NOISE_LOG_SD)
        self.noise = noise
        self.log_weight = np.log(np.outer(tail_weight, noise_weight))

    def log_likelihood(self, theta: Array) -> Array:
        """Give the log likelihood of each row of hyper-parameters, shape (s,)."""
        means, sds = means_and_sds(theta)
        off = self.residual - np.einsum("jnk,sk->sjn", self.loads, means)
        off = off * self.real
        variances = np.concatenate([sds[:, :5] ** 2, np.ones((len(sds), 1))], axis=1)
        terms = np.einsum("sp,pjnm->sjnm", variances, self.shapes)
        rows = terms.shape[-1]
        noise = self.noise * sds[:, 5:6] ** 2
        eye = np.eye(rows) * self.real[:, None, :]
        whole = (
            self.tail[:, None, None, None] * terms[:, :, None, None]
            + self.fixed[:, None, None]
            + noise[:, None, None, :, None, None] * eye[:, None, None]
        )
        root = np.linalg.cholesky(whole)
        logs = np.log(np.diagonal(root, axis1=-2, axis2=-1)).sum(axis=-1)
        rhs = np.broadcast_to(off[:, :, None, None, :, None], (*whole.shape[:-1], 1))
        solved = np.linalg.solve(whole, rhs)[..., 0]
        quadratic = np.einsum("sjabn,sjn->sjab", solved, off)
        both = self.log_weight - logs - 0.5 * quadratic
        top = both.max(axis=(-2, -1), keepdims=True)
        per_printer = np.log(np.exp(both - top).sum(axis=(-2, -1))) + top[..., 0, 0]
        return np.asarray(per_printer.sum(axis=1))


def means_and_sds(theta: Array) -> tuple[Array, Array]:
    """Give means of terms, shape (s, k), and standard deviations, from hyper-parameters."""
    sds = np.exp(theta[:, len(_MEANS) + len(_KINDS) :])
    between = sds[:, [name for name, _, _ in SDS].index("between_kinds")]
    known = {name: theta[:, at] for at, (name, _, _) in enumerate(_MEANS)}
    for at, (name, likest, _, _) in enumerate(_KINDS, len(_MEANS)):
        known[name] = known[likest] + between * theta[:, at]
    none = np.zeros(len(theta))
    means = [known.get("scale" if t.startswith("scale") else t, none) for t in TERMS]
    return np.stack(means, axis=1), sds


def _log_alone(theta: Array) -> Array:
    """How likely each kind was thought by itself: logarithm, shape (s,), but for a constant."""
    means, _ = means_and_sds(theta)
    names, _, middle, width = zip(*_KINDS, strict=True)
    own = means[:, [list(TERMS).index(name) for name in names]]
    return np.asarray(-0.5 * (((own - np.array(middle)) / np.array(width)) ** 2).sum(axis=1))


def _shapes() -> Array:
    """Covariance of terms for a unit of each variance, and a fixed one, shape (6, k, k)."""
    k = len(TERMS)
    at = {name: i for i, name in enumerate(TERMS)}
    found = np.zeros((6, k, k))

    def together(which: int, loads: dict[str, float], variance: float = 1.0) -> None:
        column = np.zeros(k)
        for name, load in loads.items():
            column[at[name]] = load
        found[which] += variance * np.outer(column, column)

    together(0, {"scale_x": 1.0, "scale_y": 1.0, "scale_z": 1.0})
    wide = ("outside_offset", "peg_offset", "inside_closing", "hole_closing", "lying_width_closing")
    together(1, dict.fromkeys(wide, 1.0))
    for name in ("outside_offset", "peg_offset", "inside_closing", "hole_closing"):
        together(2, {name: 1.0})
    together(3, {"hole_curvature": 1.0})
    together(4, {"height_offset": 1.0})
    together(5, {"scale_x": 1.0, "scale_y": -1.0}, _AXES_SD**2)
    together(5, {"scale_z": 1.0}, _Z_SD**2)
    for name, (_, sd) in _UNSEEN.items():
        together(5, {name: 1.0}, sd**2)
    return found


def collapsed(theta: Array, count: int) -> Prior:
    """Give the prior of a new printer from sampled hyper-parameters, shape (s, HYPER)."""
    means, sds = means_and_sds(theta)
    variances = (sds[:, :5] ** 2).mean(axis=0)
    doubt = np.cov(means.T) / float(np.mean(tail_points(TAIL_DF)[0]))
    cov = np.einsum("p,pij->ij", np.append(variances, 1.0), _shapes()) + doubt
    mean = means.mean(axis=0)
    for name, (value, _) in _UNSEEN.items():
        mean[list(TERMS).index(name)] = value
    return Prior(mean=mean, cov=cov, tail_df=TAIL_DF, says=f"{count} open records")


def jaws_sd_mm(sizes: Sizes) -> Array:
    """Give how doubtful the correction for flat jaws is, 1 sd, shape (n,), mm; 0 but for bores."""
    return np.where(_round(sizes), _JAWS_SD_MM2 / sizes.drawn, 0.0)


def _round(sizes: Sizes) -> NDArray[np.bool_]:
    return np.asarray(sizes.loads[:, list(TERMS).index("hole_closing")] != 0.0)


def _step(kind: str, nominal_mm: float) -> float:
    """Layer height if a height is not whole layers, else 0."""
    if kind != "height":
        return 0.0
    layers = nominal_mm / _LAYER_MM
    return 0.0 if abs(layers - round(layers)) < 1e-6 else _LAYER_MM


def main() -> None:
    """Learn from all records and write the table."""
    found = records()
    prior = learn_prior(found)
    path = Path(__file__).parents[1] / "fitkit" / "data" / "printer_prior.csv"
    write_prior(prior, path, count=len(found))
    for term, mean, var in zip(TERMS, prior.mean, np.diag(prior.cov), strict=True):
        print(f"{term:22s} {mean:+.4f} ± {np.sqrt(var):.4f}")


if __name__ == "__main__":
    main()
