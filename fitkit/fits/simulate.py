"""Printers of known habits, to find out how many specimens a way of choosing gaps needs.

A simulated printer has thresholds and scatter drawn from the model's own prior, so a figure from
here says how well the trials are used, not how true the prior is of real printers. Its verdicts
come from prints whose gaps err by a known standard uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.fits.choose import U_NEXT_GAP_MM
from fitkit.fits.ladder import even_ladder, next_ladder
from fitkit.fits.prior import gap_prior
from fitkit.fits.trial import VERDICTS, Trial, allows_interference
from fitkit.fits.verdicts import (
    BEHAVIOUR_MM,
    PAIR_MM,
    PRINTER_MM,
    SHAPE_MEAN,
    SHAPE_SD,
    SIZE_MM,
    learn,
    thresholds_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

__all__ = ["SimulatedPrinter", "adaptive_success", "even_success", "simulated_printers"]


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
        parts = rng.normal(0.0, (PRINTER_MM, PAIR_MM, BEHAVIOUR_MM, SIZE_MM))
        shape = rng.normal(SHAPE_MEAN, SHAPE_SD)
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


def adaptive_success(
    printers: Sequence[SimulatedPrinter], *, specimens: int, prints: int
) -> list[float]:
    """Share of printers for which the chosen gap behaves as wanted, after 0, 1, 2 ... prints.

    Each print is the next ladder of so many specimens, after all that came before.
    """
    hits = np.zeros((len(printers), prints + 1))
    for row, printer in zip(hits, printers, strict=True):
        fit = {"size_mm": printer.size_mm}
        trials: list[Trial] = []
        row[0] = printer.wants(_best(printer, trials))
        for number in range(1, prints + 1):
            ladder = next_ladder(
                printer.pair, printer.behaviour, specimens=specimens, trials=trials, **fit
            )
            trials += [printer.trial(gap) for gap in ladder.gaps_mm]
            row[number] = printer.wants(_best(printer, trials))
    return [float(share) for share in hits.mean(axis=0)]


def even_success(
    printers: Sequence[SimulatedPrinter], *, specimens: int, by_eye: bool = False
) -> float:
    """Share of printers for which the chosen gap behaves as wanted, after one evenly spaced ladder.

    The gap is chosen by the same model, so only the ladder differs; or, with `by_eye`, as is done
    without one: the middle of the gaps that behaved as wanted.
    """
    hits = 0
    for printer in printers:
        gaps = even_ladder(
            printer.pair, printer.behaviour, size_mm=printer.size_mm, specimens=specimens
        )
        trials = [printer.trial(gap) for gap in gaps]
        hits += printer.wants(_by_eye(trials) if by_eye else _best(printer, trials))
    return hits / len(printers)


def _by_eye(trials: Sequence[Trial]) -> float:
    """Middle of the gaps as wanted; without any, middle of the nearest too tight and too loose."""
    good = [trial.gap_mm for trial in trials if trial.verdict == "as wanted"]
    if good:
        return float(np.mean(good))
    tight = [t.gap_mm for t in trials if VERDICTS.index(t.verdict) < 2]
    loose = [t.gap_mm for t in trials if VERDICTS.index(t.verdict) > 2]
    return float(np.mean([*sorted(tight)[-1:], *sorted(loose)[:1]]))


def _best(printer: SimulatedPrinter, trials: Sequence[Trial]) -> float:
    model = learn(printer.pair, printer.behaviour, size_mm=printer.size_mm, trials=trials)
    return model.best_gap_mm(u_gap_mm=U_NEXT_GAP_MM)[0]
