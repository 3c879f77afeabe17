"""How many specimens a ladder needs, on 200 simulated printers; a quick part always runs.

Protocol. A printer is drawn from the prior. The adaptive ladder prints two specimens at a time,
each pair chosen after all verdicts before; the even one is a single print, spaced evenly over the
band in which the best gap lies before any trial (95 %), and read by the very same model. Success:
the chosen gap lies in the band that truly behaves as wanted. Specimens to 90 % are where the line
between two counts crosses it. Success is given twice: counted (0 or 1 a printer, so 200 tell it to
2 %), and as the model's own chance of it, which has the same mean when printers come from the
prior (the test holds both together) and a fraction of the scatter; so this one decides. Standard
errors are from drawing printers again, with what both ladders did for them.

The fit that decides is a hard one (snug by hand, 10 mm peg: the band is 0.12 mm wide, a specimen's
gap and judgement scatter by 0.064 mm). Beside it stands any fit: all pairs, behaviours and usual
sizes mixed, once with as many specimens for every printer, and once with each printer stopping
when the model is 90 % sure of its gap, against the even ladder that makes the mix as sure on
average.

Specimens saved on the hard fit, expected success, one standard error, of 150 printers: two at a
time 6.1 of 11.4: 47 % ± 17 % (counted 44 % ± 16 %). The even ladder spans all that printers in
doubt may want, so it needs many; what the model claims after each print is what comes true (0.70,
0.83, 0.90 and 0.93 claimed, 0.73, 0.83, 0.91 and 0.95 found after 2, 4, 6 and 8 specimens).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fitkit.fits import BEHAVIOURS, PAIRS, Trial
from studies.ladders import (
    SimulatedPrinter,
    _by_eye,
    adaptive_outcomes,
    adaptive_success,
    even_outcomes,
    even_success,
    mixed_printers,
    simulated_printers,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

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


def test_mixed_printers_want_many_fits_and_are_the_same_for_the_same_seed() -> None:
    some, again = mixed_printers(200, seed=1), mixed_printers(200, seed=1)
    assert len(some) == 200
    assert {p.pair for p in some} == set(PAIRS)
    assert {p.behaviour for p in some} == set(BEHAVIOURS)
    assert {p.size_mm for p in some if p.pair == "lid and rim"} == {30.0, 60.0, 120.0}
    assert [p.scatter_mm for p in some] == [p.scatter_mm for p in again]


COUNT = 200
EVENS = [4, 6, 7, 8, 9, 10, 12]
MIX_EVENS = [1, 2, 3, 4, 5, 6, 7, 8, 10]


def saved_at(adaptive: Array, even: Array, specimens: int, evens: list[int], sure: int) -> Array:
    """Specimens to 90 %, adaptive and even, and the share saved."""
    counts = [specimens * i for i in range(adaptive.shape[1])]
    a = specimens_for(0.9, counts, list(adaptive[:, :, sure].mean(axis=0)))
    e = specimens_for(0.9, evens, list(even[:, :, sure].mean(axis=0)))
    return np.array([a, e, 1.0 - a / e])


def saved_by_stopping(adaptive: Array, even: Array, specimens: int, evens: list[int]) -> Array:
    """Each stops once the model is 90 % sure, or at the last print; as sure by an even ladder."""
    enough = adaptive[:, :, 1] >= 0.9
    enough[:, -1] = True
    at = enough.argmax(axis=1)
    hit, sure = adaptive[np.arange(len(at)), at].mean(axis=0)
    e = specimens_for(sure, evens, list(even[:, :, 1].mean(axis=0)))
    used = specimens * at.mean()
    return np.array([used, e, 1.0 - used / e, hit, sure])


def with_error(figure: Callable[[Array, Array], Array], *both: Array) -> tuple[Array, Array]:
    """Figures and their standard errors: printers are drawn again, with what both did for them."""
    rng = np.random.default_rng(1)
    again = []
    for _ in range(400):
        pick = rng.integers(len(both[0]), size=len(both[0]))
        again.append(figure(both[0][pick], both[1][pick]))
    drawn = np.ma.masked_invalid(again)
    return figure(*both), drawn.std(axis=0).filled(np.nan)


def show(name: str, figures: tuple[Array, Array]) -> None:
    print(name, *(f"{value:.3f} ± {error:.3f}" for value, error in zip(*figures, strict=True)))


@pytest.mark.slow
@pytest.mark.parametrize(("specimens", "prints", "saved"), [(2, 4, 0.27), (1, 8, 0.30)])
def test_two_hundred_printers_of_a_hard_fit_need_fewer_specimens(
    specimens: int, prints: int, saved: float
) -> None:
    adaptive = adaptive_outcomes(printers(COUNT), specimens=specimens, prints=prints)
    even = np.stack([even_outcomes(printers(COUNT), specimens=k) for k in EVENS], axis=1)
    expected = with_error(lambda a, e: saved_at(a, e, specimens, EVENS, 1), adaptive, even)
    show("hard fit, expected success: adaptive, even, saved", expected)
    show(
        "hard fit, counted success: adaptive, even, saved",
        with_error(lambda a, e: saved_at(a, e, specimens, EVENS, 0), adaptive, even),
    )
    by_eye = even_success(printers(COUNT), specimens=16, by_eye=True)
    print(f"hard fit, 16 evenly spaced specimens read by eye: {by_eye:.3f}")
    print("counted", adaptive.mean(axis=0).round(3).tolist(), even.mean(axis=0).round(3).tolist())
    # What the model expects of itself is what happens.
    for outcomes in (adaptive[:, 1:], even):
        off = outcomes[:, :, 0] - outcomes[:, :, 1]
        assert (np.abs(off.mean(axis=0)) < 4 * off.std(axis=0) / np.sqrt(COUNT)).all()
    assert expected[0][2] >= saved
    assert by_eye < 0.9


@pytest.mark.slow
@pytest.mark.parametrize(("specimens", "prints", "saved"), [(2, 5, 0.10), (1, 10, 0.18)])
def test_two_hundred_printers_of_any_fit_need_fewer_specimens(
    specimens: int, prints: int, saved: float
) -> None:
    adaptive = adaptive_outcomes(mixed_printers(COUNT, seed=5), specimens=specimens, prints=prints)
    even = np.stack(
        [even_outcomes(mixed_printers(COUNT, seed=5), specimens=k) for k in MIX_EVENS], axis=1
    )
    fixed = with_error(lambda a, e: saved_at(a, e, specimens, MIX_EVENS, 1), adaptive, even)
    show("any fit, expected success: adaptive, even, saved", fixed)
    show(
        "any fit, counted success: adaptive, even, saved",
        with_error(lambda a, e: saved_at(a, e, specimens, MIX_EVENS, 0), adaptive, even),
    )
    stopping = with_error(
        lambda a, e: saved_by_stopping(a, e, specimens, MIX_EVENS), adaptive, even
    )
    show("any fit, stopping when sure: used, even as sure, saved, counted, expected", stopping)
    print("counted", adaptive.mean(axis=0).round(3).tolist(), even.mean(axis=0).round(3).tolist())
    assert stopping[0][3] >= 0.9
    assert stopping[0][2] >= 0.30
    assert fixed[0][2] >= saved
