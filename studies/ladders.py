"""Printers of known habits, to find out how many specimens a way of choosing gaps needs.

A simulated printer has thresholds and scatter about those of common practice, which is the middle
of the model's own prior, but not its spread; `shifted_printers` stand farther off. So a figure from
here says how well the trials are used, not how true practice is of real printers.
Its verdicts come from prints whose gaps err by a known standard uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.fits.choose import U_NEXT_GAP_MM
from fitkit.fits.ladder import even_ladder, next_ladder
from fitkit.fits.prior import behaviours_of, gap_prior, stated_size_mm
from fitkit.fits.trial import PAIRS, VERDICTS, Trial, allows_interference
from fitkit.fits.verdicts import learn, thresholds_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

__all__ = [
    "SimulatedPrinter",
    "adaptive_outcomes",
    "adaptive_success",
    "even_outcomes",
    "even_success",
    "mixed_printers",
    "shifted_printers",
    "simulated_printers",
    "thirds_success",
]


# How far printers' bands stand from common practice: parts of printer, pair, behaviour and size, 1
# sd, mm. Wider than the model believes of printers at large, nearer than of those in trouble.
_PARTS_MM = (0.07, 0.05, 0.04, 0.05)
# lambda, alpha, beta, log scatter of printers as common practice has them: means and deviations.
_SHAPE_MEAN = (0.0, 0.0, 0.0, float(np.log(0.05)))
_SHAPE_SD = (0.35, 0.4, 0.4, 0.4)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SimulatedPrinter:
    """One printer's true thresholds for one pair, behaviour and size.

    Attributes
    ----------
    pair, behaviour : str
    size_mm : float, mm
    thresholds_mm : array of shape (4,), mm
    scatter_mm : float, mm
    rng : numpy.random.Generator
        Of its prints.
    """

    pair: str
    behaviour: str
    size_mm: float
    thresholds_mm: Array
    scatter_mm: float
    rng: np.random.Generator

    def trial(self, gap_mm: float, *, u_gap_mm: float = U_NEXT_GAP_MM) -> Trial:
        """Print a specimen of this gap and judge it."""
        felt = gap_mm + self.rng.normal(0.0, u_gap_mm) + self.rng.normal(0.0, self.scatter_mm)
        return Trial(
            pair=self.pair,
            behaviour=self.behaviour,
            size_mm=self.size_mm,
            gap_mm=gap_mm,
            u_gap_mm=u_gap_mm,
            verdict=VERDICTS[int(np.searchsorted(self.thresholds_mm, felt))],
        )

    def wants(self, gap_mm: float) -> bool:
        """Tell whether the gap lies in the band that truly behaves as wanted."""
        return bool(self.thresholds_mm[1] < gap_mm < self.thresholds_mm[2])


def simulated_printers(
    count: int, pair: str, behaviour: str, *, size_mm: float, seed: int
) -> list[SimulatedPrinter]:
    """Draw printers from the prior; printer i of a seed is always the same."""
    prior = gap_prior(pair, behaviour, size_mm)
    printers = []
    for stream in np.random.SeedSequence(seed).spawn(count):
        rng = np.random.default_rng(stream)
        parts = rng.normal(0.0, _PARTS_MM)
        shape = rng.normal(_SHAPE_MEAN, _SHAPE_SD)
        middle = np.array([[prior.gap_mm + parts.sum()]])
        half, zone = np.array([prior.half_width_mm]), np.array([prior.zone_mm])
        limits = thresholds_of(middle, half, zone, shape[None, :])[0, 0]
        if limits[2] <= 0.0 and not allows_interference(pair):
            continue  # such a printer could not make the pair at all
        printers.append(
            SimulatedPrinter(
                pair=pair,
                behaviour=behaviour,
                size_mm=size_mm,
                thresholds_mm=limits,
                scatter_mm=float(np.exp(shape[3])),
                rng=rng,
            )
        )
    return printers


def mixed_printers(count: int, *, seed: int) -> list[SimulatedPrinter]:
    """Draw printers that each want another fit: any pair, behaviour and usual size, all as likely.

    Usual sizes are half, once and twice the one for which common practice is stated.
    """
    rng = np.random.default_rng(seed)
    fits = [(pair, behaviour) for pair in PAIRS for behaviour in behaviours_of(pair)]
    printers: list[SimulatedPrinter] = []
    while len(printers) < count:
        pair, behaviour = fits[rng.integers(len(fits))]
        size_mm = stated_size_mm(pair, behaviour) * float(rng.choice([0.5, 1.0, 2.0]))
        own_seed = int(rng.integers(2**31))
        printers += simulated_printers(1, pair, behaviour, size_mm=size_mm, seed=own_seed)
    return printers


def shifted_printers(
    count: int,
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    shift_mm: float,
    scatter_times: float,
    seed: int,
) -> list[SimulatedPrinter]:
    """Draw printers far from the prior, with more scatter than it expects.

    Shifts of the band are even between plus and minus `shift_mm`; the scatter's median is
    `scatter_times` 0.05 mm, with which practice was first entered.
    """
    prior = gap_prior(pair, behaviour, size_mm)
    printers = []
    for stream in np.random.SeedSequence(seed).spawn(count):
        rng = np.random.default_rng(stream)
        shift = rng.uniform(-shift_mm, shift_mm)
        shape = rng.normal(0.0, (0.35, 0.4, 0.4, 0.4))
        middle = np.array([[prior.gap_mm + shift]])
        half, zone = np.array([prior.half_width_mm]), np.array([prior.zone_mm])
        printers.append(
            SimulatedPrinter(
                pair=pair,
                behaviour=behaviour,
                size_mm=size_mm,
                thresholds_mm=thresholds_of(middle, half, zone, shape[None, :])[0, 0],
                scatter_mm=0.05 * scatter_times * float(np.exp(shape[3])),
                rng=rng,
            )
        )
    return printers


def thirds_success(printers: Sequence[SimulatedPrinter], *, specimens: int) -> float:
    """Share of printers of which two specimens at the thirds find the band, again and again.

    The plain way: a range of half a millimetre either way of practice, cut to what the verdicts
    leave. No model; the gap is the last that behaved as wanted, or the middle of the range.
    """
    hits = []
    for printer in printers:
        middle = gap_prior(printer.pair, printer.behaviour, printer.size_mm).gap_mm
        low, high, best = middle - 0.5, middle + 0.5, None
        for _ in range(specimens // 2):
            third = (high - low) / 3.0
            gaps = low + third, high - third
            said = [VERDICTS.index(printer.trial(gap).verdict) for gap in gaps]
            good = [gap for gap, verdict in zip(gaps, said, strict=True) if verdict == 2]
            if good:
                best = float(np.mean(good))
                low, high = best - third / 2.0, best + third / 2.0
            elif said[0] > 2:
                high = gaps[0]
            elif said[1] < 2:
                low = gaps[1]
            else:
                low, high = gaps
        hits.append(printer.wants(0.5 * (low + high) if best is None else best))
    return float(np.mean(hits))


def adaptive_outcomes(
    printers: Sequence[SimulatedPrinter], *, specimens: int, prints: int
) -> Array:
    """Tell how good the chosen gap is after 0, 1, 2 ... prints, each the next ladder.

    Returns
    -------
    array of shape (printers, prints + 1, 2)
        1 if the chosen gap truly lies in the wanted band, else 0; and how surely by the model.
    """
    found = np.zeros((len(printers), prints + 1, 2))
    for row, printer in zip(found, printers, strict=True):
        trials: list[Trial] = []
        row[0] = _outcome(printer, trials)
        for number in range(1, prints + 1):
            ladder = next_ladder(
                printer.pair,
                printer.behaviour,
                size_mm=printer.size_mm,
                specimens=specimens,
                trials=trials,
            )
            trials += [printer.trial(gap) for gap in ladder.gaps_mm]
            row[number] = _outcome(printer, trials)
    return found


def adaptive_success(
    printers: Sequence[SimulatedPrinter], *, specimens: int, prints: int
) -> list[float]:
    """Share of printers for which the chosen gap behaves as wanted, after 0, 1, 2 ... prints.

    Each print is the next ladder of so many specimens, after all that came before.
    """
    found = adaptive_outcomes(printers, specimens=specimens, prints=prints)
    return [float(share) for share in found[:, :, 0].mean(axis=0)]


def even_outcomes(printers: Sequence[SimulatedPrinter], *, specimens: int) -> Array:
    """As `adaptive_outcomes`, after one evenly spaced ladder: array of shape (printers, 2).

    The gap is chosen by the same model, so only the ladder differs.
    """
    return np.array([_outcome(printer, _even_trials(printer, specimens)) for printer in printers])


def even_success(
    printers: Sequence[SimulatedPrinter], *, specimens: int, by_eye: bool = False
) -> float:
    """Share of printers for which the chosen gap behaves as wanted, after one evenly spaced ladder.

    The gap is chosen by the same model, so only the ladder differs; or, with `by_eye`, as is done
    without one: the middle of the gaps that behaved as wanted.
    """
    if not by_eye:
        return float(even_outcomes(printers, specimens=specimens)[:, 0].mean())
    hits = [printer.wants(_by_eye(_even_trials(printer, specimens))) for printer in printers]
    return float(np.mean(hits))


def _even_trials(printer: SimulatedPrinter, specimens: int) -> list[Trial]:
    gaps = even_ladder(
        printer.pair, printer.behaviour, size_mm=printer.size_mm, specimens=specimens
    )
    return [printer.trial(gap) for gap in gaps]


def _by_eye(trials: Sequence[Trial]) -> float:
    """Middle of the gaps as wanted; without any, middle of the nearest too tight and too loose."""
    good = [trial.gap_mm for trial in trials if trial.verdict == "as wanted"]
    if good:
        return float(np.mean(good))
    tight = [t.gap_mm for t in trials if VERDICTS.index(t.verdict) < 2]
    loose = [t.gap_mm for t in trials if VERDICTS.index(t.verdict) > 2]
    return float(np.mean([*sorted(tight)[-1:], *sorted(loose)[:1]]))


def _outcome(printer: SimulatedPrinter, trials: Sequence[Trial]) -> tuple[float, float]:
    model = learn(
        printer.pair, printer.behaviour, size_mm=printer.size_mm, trials=trials, doubted=True
    )
    gap, _ = model.best_gap_mm(u_gap_mm=U_NEXT_GAP_MM)
    return float(printer.wants(gap)), model.p_in_band(gap)
