"""The next ladder teaches more than an even one, by its own figures and by simulated printers."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fitkit.core.errors import FitError
from fitkit.fits import Trial, even_ladder, learn, next_ladder
from fitkit.fits.ladder import _candidates, _entropy, _greedy, _in_band, _thin, _thinned

PEG = ("peg and hole", "slides")


@pytest.mark.parametrize("specimens", [1, 3, 8, 12])
def test_as_many_distinct_rising_gaps_as_asked(specimens: int) -> None:
    gaps = next_ladder(*PEG, size_mm=10.0, specimens=specimens).gaps_mm
    assert len(set(gaps)) == specimens
    assert list(gaps) == sorted(gaps)
    np.testing.assert_allclose(np.array(gaps) / 0.01, np.round(np.array(gaps) / 0.01), atol=1e-6)


@pytest.mark.parametrize("u_gap_mm", [0.04, 0.08])
def test_no_two_specimens_are_nearer_than_a_print_keeps_a_gap(u_gap_mm: float) -> None:
    gaps = next_ladder(*PEG, size_mm=10.0, specimens=6, u_gap_mm=u_gap_mm).gaps_mm
    assert np.diff(gaps).min() >= u_gap_mm - 1e-9


def test_the_advice_tells_both_figures_and_grams_decide_where_they_are_given() -> None:
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=4)
    assert 1.0 < ladder.prints_part_first < ladder.prints_ladder_first
    assert ladder.advice().startswith("print the part first: ")
    for figure in (ladder.prints_part_first, ladder.prints_ladder_first):
        assert f"{figure:.1f}" in ladder.advice()
    assert ladder.advice(part_g=200.0, ladder_g=4.0).startswith("print a ladder first: ")
    assert ladder.advice(part_g=5.0, ladder_g=20.0).startswith("print the part first: ")


def test_the_prints_expected_are_those_of_simulated_parts() -> None:
    """Two verdicts deep by plain enumeration: the part, then again where it failed."""
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=2)
    model = learn(*PEG, size_mm=10.0, doubted=True)
    best, p_now = model.best_gap_mm(u_gap_mm=0.04)
    by_verdict = model.p_by_draw(best, u_gap_mm=0.04)[0] * model.weight[:, None]
    grid = model.p_by_draw(np.linspace(-0.4, 0.9, 131), u_gap_mm=0.04)[:, :, 2]
    again = sum((grid @ by_verdict[:, v]).max() for v in (0, 1, 3, 4)) / (1.0 - p_now)
    assert ladder.prints_part_first == pytest.approx(1.0 + (1.0 - p_now) / again, rel=0.03)


def test_more_specimens_teach_more() -> None:
    ladders = [next_ladder(*PEG, size_mm=10.0, specimens=k) for k in (1, 2, 4, 8)]
    bits = [ladder.information_bits for ladder in ladders]
    assert bits == sorted(bits)
    assert bits[0] > 0.3
    assert ladders[-1].p_after > ladders[0].p_after >= ladders[0].p_now


def test_information_is_that_of_plain_enumeration() -> None:
    """Joint entropy of two verdicts less their scatter, summed outcome by outcome."""
    model = learn(*PEG, size_mm=10.0)
    gaps = np.linspace(0.0, 0.4, 9)
    draws = _thinned(model)
    by_draw = model.p_by_draw(gaps, u_gap_mm=0.04, draws=draws)
    chosen, outcomes, bits = _greedy(by_draw, _in_band(model, gaps, draws), 2)
    a, b = by_draw[chosen[0]], by_draw[chosen[1]]
    joint = entropy_given = 0.0
    for v, w in itertools.product(range(5), range(5)):
        each = a[:, v] * b[:, w]
        joint -= each.mean() * np.log2(each.mean())
        entropy_given -= np.mean(each * np.log2(np.maximum(each, 1e-300)))
    assert bits == pytest.approx(joint - entropy_given, abs=1e-9)
    assert outcomes.sum() == pytest.approx(1.0)


def test_the_first_gap_is_that_of_plain_enumeration() -> None:
    """Try each gap, hear each verdict, choose the best aim: the greatest expected success wins."""
    model = learn(*PEG, size_mm=10.0)
    gaps = np.linspace(-0.1, 0.5, 13)
    draws = _thinned(model)
    by_draw = model.p_by_draw(gaps, u_gap_mm=0.04, draws=draws)
    worth = _in_band(model, gaps, draws)
    expected = [
        sum(
            max(float(np.mean(by_draw[g, :, verdict] * worth[:, aim])) for aim in range(13))
            for verdict in range(5)
        )
        for g in range(13)
    ]
    chosen, outcomes, _ = _greedy(by_draw, worth, 1)
    assert chosen == [int(np.argmax(expected))]
    assert (outcomes @ worth).max(axis=1).sum() == pytest.approx(max(expected))


def test_softened_bands_hold_as_surely_as_the_model_says() -> None:
    model = learn(*PEG, size_mm=10.0)
    aims = np.array([0.1, 0.22, 0.3])
    softened = _in_band(model, aims, _thinned(model)).mean(axis=0)
    np.testing.assert_allclose(softened, [model.p_in_band(a) for a in aims], atol=0.03)


def test_verdicts_make_surer() -> None:
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=4)
    # Whoever prints a ladder has a usual printer in one case of three.
    assert 0.5 < ladder.sure_now < ladder.sure_after - 0.1 < 0.85
    assert ladder.sure_after > ladder.p_after  # a print's own scatter stays


def test_the_ladder_goes_where_the_doubt_is() -> None:
    clear = [
        Trial(pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=gap, verdict=verdict)
        for gap, verdict in [(0.1, "will not go"), (0.18, "tight"), (0.22, "tight")] * 3
    ]
    gaps = next_ladder(*PEG, size_mm=10.0, specimens=2, trials=clear).gaps_mm
    assert max(gaps) > 0.24


def test_a_through_hole_gets_no_interference_to_try() -> None:
    ladder = next_ladder("screw hole", "snug by hand", size_mm=2.0, specimens=8)
    assert min(ladder.gaps_mm) >= 0.0
    assert min(even_ladder("screw hole", "snug by hand", size_mm=2.0, specimens=8)) >= 0.0


@pytest.mark.parametrize("specimens", [0, 13])
def test_a_ladder_out_of_range_is_refused(specimens: int) -> None:
    with pytest.raises(FitError, match="Ask for 1 to 12"):
        next_ladder(*PEG, size_mm=10.0, specimens=specimens)


def test_gaps_to_choose_from_cover_where_the_best_gap_may_lie_in_whole_steps() -> None:
    model = learn(*PEG, size_mm=10.0)
    low, high = model.best_gap_band_mm(0.95)
    gaps = _candidates(model, 0.01, least=2)
    steps = gaps / 0.01
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-9)
    # Half a wanted band beyond either end, and about forty of them.
    assert gaps[0] == pytest.approx(low - 0.08, abs=0.011)
    assert gaps[-1] == pytest.approx(high + 0.08, abs=0.031)
    assert 25 <= len(gaps) <= 55
    wide = _candidates(model, 0.05, least=12)
    assert wide[0] == pytest.approx(low - 12 * 0.05, abs=0.051)
    assert np.diff(wide) == pytest.approx(0.05)
    assert len(wide) >= 2 * 12


def test_gaps_to_choose_from_stay_positive_for_a_through_hole_and_are_enough() -> None:
    gaps = _candidates(learn("screw hole", "snug by hand", size_mm=2.0), 0.01, least=24)
    assert gaps[0] == 0.0
    assert len(gaps) >= 25


def test_a_ladder_keeps_to_the_step_asked_for() -> None:
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=4, step_mm=0.05)
    steps = np.array(ladder.gaps_mm) / 0.05
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-6)
    assert (ladder.pair, ladder.behaviour, ladder.size_mm) == (*PEG, 10.0)
    assert ladder.notes == ("from common practice alone: no trials yet",)


def test_a_ladder_after_trials_foretells_from_them() -> None:
    trial = Trial(pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=0.36, verdict="as wanted")
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=2, trials=(trial,), u_gap_mm=0.02)
    assert ladder.notes == ()
    model = learn(*PEG, size_mm=10.0, trials=(trial,), doubted=True)
    assert ladder.p_now == model.best_gap_mm(u_gap_mm=0.02)[1]


def test_the_chance_after_a_specimen_is_that_of_the_best_gap_for_each_verdict() -> None:
    """Enumerated: for each verdict, its chance times the best chance of what is then believed."""
    model = learn(*PEG, size_mm=10.0, doubted=True)
    ladder = next_ladder(*PEG, size_mm=10.0, specimens=1)
    by_verdict = model.p_by_draw(np.array(ladder.gaps_mm), u_gap_mm=0.04)[0]
    grid = np.linspace(-0.2, 0.7, 91)
    wanted = model.p_by_draw(grid, u_gap_mm=0.04)[:, :, 2]
    after = sum(((model.weight * by_verdict[:, v]) @ wanted.T).max() for v in range(5))
    assert ladder.p_after == pytest.approx(float(after), abs=0.005)


def test_an_even_ladder_spans_the_band_of_the_best_gap() -> None:
    gaps = even_ladder(*PEG, size_mm=10.0, specimens=5)
    assert (gaps[0], gaps[-1]) == pytest.approx(
        learn(*PEG, size_mm=10.0, doubted=True).best_gap_band_mm(0.95)
    )
    assert np.diff(gaps) == pytest.approx(np.diff(gaps)[0])
    assert len(gaps) == 5


def test_thinned_draws_keep_the_belief() -> None:
    tight = Trial(pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=0.35, verdict="tight")
    model = learn(*PEG, size_mm=10.0, trials=(tight,) * 3)
    gaps = np.linspace(0.0, 0.8, 9)
    thinned = model.p_by_draw(gaps, u_gap_mm=0.04, draws=_thinned(model))
    assert thinned.shape == (9, 512, 5)
    np.testing.assert_allclose(
        thinned.mean(axis=1), model.p_verdict(gaps, u_gap_mm=0.04), atol=0.02
    )


def test_few_outcomes_are_kept_and_many_are_sampled_by_their_chance() -> None:
    rng = np.random.default_rng(1)
    few = rng.random((5, 3))
    few[2] = 0.0
    np.testing.assert_array_equal(_thin(few), few[[0, 1, 3, 4]])
    many = rng.random((1000, 3)) * np.linspace(0, 1, 1000)[:, None]
    many /= many.sum()
    kept = _thin(many)
    assert len(kept) == 128
    assert kept.sum(axis=1) == pytest.approx(1 / 128)
    np.testing.assert_allclose(kept.sum(axis=0), many.sum(axis=0), atol=0.03)


def test_entropy_is_in_bits() -> None:
    p = np.array([[0.5, 0.5, 0.0], [1.0, 0.0, 0.0], [0.25, 0.25, 0.5]])
    assert _entropy(p) == pytest.approx([1.0, 0.0, 1.5])


def test_who_prints_a_ladder_is_told_less_than_printers_at_large_would_be() -> None:
    """Of three sorts of printers two stand apart from practice; verdicts tell which it is."""
    at_large, doubted = (learn(*PEG, size_mm=10.0, doubted=on) for on in (False, True))
    gap = at_large.prior.gap_mm
    assert doubted.p_in_band(gap) < at_large.p_in_band(gap) - 0.15
    usual = tuple(
        Trial(
            pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=at, verdict=verdict, u_gap_mm=0.02
        )
        for at, verdict in (
            (0.10, "tight"),
            (0.18, "as wanted"),
            (0.26, "as wanted"),
            (0.34, "loose"),
        )
    )
    after = learn(*PEG, size_mm=10.0, trials=usual, doubted=True)
    assert after.p_in_band(after.best_gap_mm()[0]) > 0.9
