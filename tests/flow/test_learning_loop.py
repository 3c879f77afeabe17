"""Prints until a fit is as wanted, with and without measuring, on simulated printers.

The simulator shares nothing with the toolkit but the drawn size and the words of verdicts: printers
of its own constants (offsets beyond the generic middle, a law of growth, a bend over the size that
no profile has), features with a lasting peculiarity, prints with a deviation of their own, calipers
with an error of their own, and a wanted band that is not where the priors have it.

Prints until as wanted (mean), share unfit after five, and share that the print after success fits
again, over 240 fits with the generic profile, when this was written (one standard error of a mean
of prints is 0.05):

    judged only                                          1.71    0 %    0.80
    judged and measured                                  1.58    0 %    0.88
    the same, sizes measured moving gaps only            2.56   19 %    0.49
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.compensation import compensate
from fitkit.fits import Trial, choose_gap
from fitkit.fits.prior import gap_prior
from fitkit.stats import Estimate

PROFILE = generic_profile("PETG")
FITS = (
    ("object in pocket", "slides", "inside", 1),
    ("object in pocket", "snug by hand", "inside", 1),
    ("peg and hole", "slides", "hole", 1),
    ("lid and rim", "snug by hand", "outside", -1),
)
WORDS = ("will not go", "tight", "as wanted", "loose", "rattles")
LIMIT = 6  # prints; who needs more counts as one more


@dataclass
class Bench:
    """One printer, one part with one fit, one pair of calipers."""

    pair: str
    behaviour: str
    kind: str
    sense: int
    size_mm: float
    random: np.random.Generator

    def __post_init__(self) -> None:
        r = self.random
        self.growth = r.normal(-0.0035, 0.0015)
        middle = {"inside": -0.11, "hole": -0.16, "outside": 0.10}[self.kind]
        self.offset = middle + r.normal(0.0, 0.08) + r.normal(0.0, 0.02)
        self.bend = r.normal(0.0, 0.02)
        self.own = r.normal(0.0, 0.012)
        self.calipers = r.normal(0.0, 0.012)
        prior = gap_prior(self.pair, self.behaviour, self.size_mm)
        centre = prior.gap_mm + r.normal(0.0, 0.06)
        self.edges = centre + np.array([-1.0, 1.0]) * prior.half_width_mm * r.uniform(0.7, 1.3)
        self.zone = prior.zone_mm

    def printed(self, drawn_mm: float) -> float:
        r = self.random
        curve = -0.15 / drawn_mm if self.kind == "hole" else 0.0
        day = (1 if self.kind == "outside" else -1) * r.normal(0.0, 0.022)
        size = drawn_mm * (1.0 + self.growth + r.normal(0.0, 0.0003)) + self.offset + curve
        return size + self.bend * np.log(drawn_mm / 20.0) + self.own + day + r.normal(0.0, 0.013)

    def read(self, size_mm: float) -> float:
        return round(size_mm + self.calipers + self.random.normal(0.0, 0.008), 2)

    def verdict(self, size_mm: float) -> str:
        gap = self.sense * (size_mm - self.size_mm)
        low, high = self.edges
        return WORDS[int(np.searchsorted([low - self.zone, low, high, high + self.zone], gap))]


def benches(count: int, seed: int) -> list[Bench]:
    random = np.random.default_rng(seed)
    return [
        Bench(
            *FITS[number % len(FITS)],
            size_mm=round(float(np.exp(random.uniform(np.log(6.0), np.log(60.0)))), 2),
            random=np.random.default_rng([seed, number]),
        )
        for number in range(count)
    ]


def played(bench: Bench, *, measuring: bool) -> tuple[int, bool]:
    """Print until it fits; give the number of prints, and whether one more print fits too."""
    trials: list[Trial] = []
    found: list[MeasuredSize] = []
    thing_mm = bench.read(bench.size_mm)

    def drawn():
        gap = choose_gap(bench.pair, bench.behaviour, size_mm=thing_mm, trials=trials).gap_mm
        return compensate(
            Estimate.of("fit", thing_mm + bench.sense * gap, 0.015),
            PROFILE,
            kind=bench.kind,
            learned=learn_sizes(PROFILE, found),
            feature="fit",
        )

    for number in range(1, LIMIT + 1):
        size = drawn()
        made_mm = bench.printed(size.drawn_mm)
        verdict = bench.verdict(made_mm)
        expected_mm, u_mm = size.expected_mm, size.u_print_mm
        if measuring:
            expected_mm, u_mm = bench.read(made_mm), 0.02
            found.append(
                MeasuredSize(
                    kind=bench.kind,
                    axis="xy",
                    drawn_mm=size.drawn_mm,
                    measured_mm=expected_mm,
                    u_measured_mm=u_mm,
                    print_code=str(number),
                    feature="fit",
                )
            )
        trials.append(
            Trial(
                pair=bench.pair,
                behaviour=bench.behaviour,
                size_mm=thing_mm,
                gap_mm=bench.sense * (expected_mm - thing_mm),
                u_gap_mm=float(np.hypot(u_mm, 0.015)),
                verdict=verdict,
            )
        )
        if verdict == "as wanted":
            break
    else:
        number = LIMIT + 1
    again = bench.verdict(bench.printed(drawn().drawn_mm))
    return number, again == "as wanted"


def compared(count: int, seed: int) -> dict[bool, tuple[float, float, float]]:
    """Mean prints until it fits, share unfit after five, share that fits again."""
    found = {}
    for measuring in (False, True):
        results = [played(bench, measuring=measuring) for bench in benches(count, seed)]
        prints = np.array([number for number, _ in results])
        again = np.mean([fits for _, fits in results])
        found[measuring] = (float(prints.mean()), float((prints > 5).mean()), float(again))
    return found


def test_measuring_does_not_cost_prints_on_a_few_printers():
    found = compared(24, seed=3)
    # So few tell it to about a quarter of a print. Where sizes moved gaps only it was 1.2 more.
    assert found[True][0] <= found[False][0] + 0.25
    assert found[True][2] >= found[False][2] - 0.1


@pytest.mark.slow
def test_measuring_saves_prints_and_the_next_print_fits_more_often():
    plain, measured = (compared(240, seed=11)[on] for on in (False, True))
    assert measured[0] <= plain[0]
    assert measured[1] <= plain[1]
    assert measured[2] >= plain[2]
