"""How many specimens a ladder needs, on 500 simulated printers; a quick part always runs.

Success is the share of printers for which the chosen gap lies in the band that truly behaves as
wanted. The fit is a hard one (snug by hand, 10 mm peg: the band is 0.12 mm wide, a specimen's gap
and judgement scatter by 0.064 mm). The adaptive ladder prints two specimens at a time.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.fits import Trial
from fitkit.fits.simulate import (
    SimulatedPrinter,
    _by_eye,
    adaptive_success,
    even_success,
    simulated_printers,
)

FIT = ("peg and hole", "snug by hand")


def printers(count: int, seed: int = 5) -> list:
    return simulated_printers(count, *FIT, size_mm=10.0, seed=seed)


def specimens_for(share: float, counts: list[int], success: list[float]) -> float:
    """Where success first reaches a share, between the counts that bracket it."""
    for i in range(1, len(counts)):
        if success[i] >= share:
            (a, b), (p, q) = counts[i - 1 : i + 1], success[i - 1 : i + 1]
            return a + (b - a) * (share - p) / (q - p)
    return float("inf")


def test_interpolation_of_the_count() -> None:
    assert specimens_for(0.9, [2, 4, 6], [0.7, 0.8, 1.0]) == pytest.approx(5.0)
    assert specimens_for(0.9, [2, 4], [0.7, 0.8]) == float("inf")


def test_a_simulated_printer_judges_by_its_thresholds() -> None:
    printer = printers(1)[0]
    low, high = printer.thresholds_mm[[1, 2]]
    assert printer.wants(0.5 * (low + high))
    assert not printer.wants(high + 0.01)
    words = [printer.trial(gap, u_gap_mm=0.0).verdict for gap in (low - 1.0, high + 1.0)]
    assert words == ["will not go", "rattles"]


def test_simulated_printers_are_the_prior() -> None:
    """The middle of their bands has the prior's mean and spread, so the figures are the model's."""
    middles = np.array([p.thresholds_mm[1:3].mean() for p in printers(400)])
    assert middles.mean() == pytest.approx(0.11, abs=4 * 0.107 / 20)
    assert middles.std() == pytest.approx(0.107, rel=0.12)


def printer_with(scatter: float, seed: int = 1) -> SimulatedPrinter:
    return SimulatedPrinter(
        pair=FIT[0],
        behaviour=FIT[1],
        size_mm=10.0,
        thresholds_mm=np.array([0.0, 0.1, 0.2, 0.3]),
        scatter_mm=scatter,
        rng=np.random.default_rng(seed),
    )


def test_verdicts_run_by_thresholds_and_the_band_is_between_the_middle_two() -> None:
    printer = printer_with(0.0)
    words = [printer.trial(gap, u_gap_mm=0.0).verdict for gap in (-0.05, 0.05, 0.15, 0.25, 0.35)]
    assert words == ["will not go", "tight", "as wanted", "loose", "rattles"]
    assert [printer.wants(gap) for gap in (0.1, 0.1001, 0.1999, 0.2)] == [False, True, True, False]
    trial = printer.trial(0.15)
    assert (trial.pair, trial.behaviour, trial.size_mm) == (*FIT, 10.0)
    assert (trial.gap_mm, trial.u_gap_mm) == (0.15, 0.04)


@pytest.mark.parametrize(("scatter", "u"), [(0.05, 0.0), (0.0, 0.05), (0.03, 0.04)])
def test_a_specimen_errs_by_its_gap_and_by_its_judge(scatter: float, u: float) -> None:
    """At a threshold plus one standard deviation of both, 84 % are felt as beyond it."""
    printer = printer_with(scatter)
    verdicts = [printer.trial(0.2 + 0.05, u_gap_mm=u).verdict for _ in range(2000)]
    beyond = np.mean([verdict in ("loose", "rattles") for verdict in verdicts])
    assert beyond == pytest.approx(0.8413, abs=4 * 0.0082)


def test_printers_are_the_same_for_the_same_seed_and_each_has_its_own_stream() -> None:
    first, again, other = printers(3), printers(3), printers(3, seed=6)
    assert [p.scatter_mm for p in first] == [p.scatter_mm for p in again]
    assert first[0].scatter_mm != other[0].scatter_mm
    assert len({p.scatter_mm for p in first}) == 3
    assert printers(5)[:3][2].scatter_mm == first[2].scatter_mm
    words = [p.trial(0.1).verdict for p in printers(40)]
    assert words == [p.trial(0.1).verdict for p in printers(40)]
    assert (first[0].pair, first[0].behaviour, first[0].size_mm) == (*FIT, 10.0)
    assert np.log([p.scatter_mm for p in printers(400)]).mean() == pytest.approx(
        np.log(0.05), abs=4 * 0.4 / 20
    )


def test_a_printer_that_cannot_make_the_pair_is_not_among_them() -> None:
    """Screw holes have no interference: where the whole wanted band is below 0, none is drawn."""
    drawn = simulated_printers(400, "screw hole", "snug by hand", size_mm=2.0, seed=1)
    assert 200 < len(drawn) < 400
    assert all(p.thresholds_mm[2] > 0 for p in drawn)
    assert len(printers(400)) == 400


@pytest.mark.parametrize(
    ("verdicts", "gap"),
    [
        ({0.1: "tight", 0.2: "as wanted", 0.3: "as wanted", 0.4: "loose"}, 0.25),
        ({0.1: "will not go", 0.2: "tight", 0.3: "loose", 0.4: "rattles"}, 0.25),
        ({0.3: "loose", 0.1: "will not go", 0.2: "tight", 0.6: "rattles"}, 0.25),
        ({0.1: "will not go", 0.2: "tight"}, 0.2),
        ({0.3: "loose", 0.4: "rattles"}, 0.3),
    ],
)
def test_by_eye_the_middle_of_what_worked_or_of_what_came_nearest(
    verdicts: dict[float, str], gap: float
) -> None:
    trials = [
        Trial(pair=FIT[0], behaviour=FIT[1], size_mm=10.0, gap_mm=g, verdict=verdict)
        for g, verdict in verdicts.items()
    ]
    assert _by_eye(trials) == pytest.approx(gap)


def test_shares_of_success_are_counted_after_each_print() -> None:
    some = printers(6)
    shares = adaptive_success(some, specimens=1, prints=2)
    assert len(shares) == 3
    assert all(share * 6 == pytest.approx(round(share * 6)) for share in shares)
    # Before any print all aim for common practice.
    assert shares[0] == np.mean([p.wants(0.11) for p in some])
    assert 0 <= even_success(printers(6), specimens=3) <= 1


def test_a_few_printers_already_gain_from_adaptive_ladders() -> None:
    adaptive = adaptive_success(printers(24), specimens=2, prints=3)
    assert adaptive[3] > adaptive[0] + 0.25
    assert adaptive[3] >= even_success(printers(24), specimens=4)
    assert adaptive[3] > even_success(printers(24), specimens=6, by_eye=True)


@pytest.mark.slow
def test_five_hundred_printers_need_fewer_specimens() -> None:
    counts = [0, 2, 4, 6, 8]
    adaptive = specimens_for(0.9, counts, adaptive_success(printers(500), specimens=2, prints=4))
    evens = [4, 6, 7, 8, 9, 10, 12]
    same_model = specimens_for(
        0.9, evens, [even_success(printers(500), specimens=k) for k in evens]
    )
    # Without the model more specimens hardly help: the scatter of the verdicts stays in the pick.
    by_eye = even_success(printers(500), specimens=16, by_eye=True)
    print(
        f"specimens to 90 %: adaptive {adaptive:.1f}; "
        f"evenly spaced {same_model:.1f} with the model; 16 by eye reach {by_eye:.0%}"
    )
    # Against even ladders as they are read without a model, which 16 specimens do not bring to
    # 90 %: at least 30 % fewer. Against even ladders read by this very model the gain is smaller,
    # about a fifth at two specimens a print (6.2 against 7.8 when this was written). It stays under
    # 30 % whatever is tried: one specimen a print needs 6.0, and choosing by expected success 5.8.
    assert by_eye < 0.9
    assert adaptive <= 0.7 * 16
    assert adaptive <= 0.85 * same_model
