"""What trials teach: from none, through clear ones, to ones that contradict each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from fitkit.core.errors import FitError
from fitkit.fits import Trial, choose_gap, contradiction, learn
from fitkit.fits.verdicts import interval_probability

PEG = ("peg and hole", "slides")


def tried(*rows: tuple[float, str], pair: str = PEG[0], behaviour: str = PEG[1],
          size_mm: float = 10.0, u_gap_mm: float = 0.03) -> list[Trial]:  # fmt: skip
    return [
        Trial(pair=pair, behaviour=behaviour, size_mm=size_mm, gap_mm=gap, verdict=verdict,
              u_gap_mm=u_gap_mm)
        for gap, verdict in rows
    ]  # fmt: skip


CLEAR = tried(
    (0.1, "will not go"), (0.2, "tight"), (0.3, "as wanted"), (0.4, "loose"), (0.5, "rattles")
)


def test_without_trials_the_prior_speaks_and_says_so() -> None:
    choice = choose_gap(*PEG, size_mm=10.0)
    assert choice.gap_mm == pytest.approx(0.22, abs=0.002)
    assert choice.low_mm < choice.gap_mm < choice.high_mm
    assert choice.basis.startswith("prior: common practice, no source")
    assert choice.notes == (
        "this printer has no trials yet, so the gap is that of common practice",
    )
    assert 0.5 < choice.p_wanted < 0.8


def test_chances_sum_to_one_and_run_from_tight_to_loose() -> None:
    model = learn(*PEG, size_mm=10.0, trials=CLEAR)
    chances = model.p_verdict(np.linspace(-1.0, 1.5, 26), u_gap_mm=0.04)
    assert chances.shape == (26, 5)
    np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-12)
    assert chances[0, 0] > 0.999
    assert chances[-1, 4] > 0.999
    assert (np.diff(chances[:, 0]) <= 1e-12).all()
    assert (np.diff(chances[:, 4]) >= -1e-12).all()


def test_separated_trials_put_the_gap_where_it_worked() -> None:
    before, after = choose_gap(*PEG, size_mm=10.0), choose_gap(*PEG, size_mm=10.0, trials=CLEAR)
    assert after.gap_mm == pytest.approx(0.3, abs=0.02)
    assert after.p_wanted > before.p_wanted
    assert after.basis == "5 trials on this printer"
    assert after.best_mm is not None
    assert before.best_mm is not None
    assert np.ptp(after.best_mm) < 0.5 * np.ptp(before.best_mm)


def test_many_separated_trials_stay_finite() -> None:
    choice = choose_gap(*PEG, size_mm=10.0, trials=CLEAR * 40)
    assert choice.gap_mm == pytest.approx(0.3, abs=0.02)
    assert 0.7 < choice.p_wanted <= 1.0


def test_contradictory_trials_are_told_and_widen_the_belief() -> None:
    muddle = tried((0.2, "loose"), (0.4, "tight"), (0.3, "as wanted"))
    choice = choose_gap(*PEG, size_mm=10.0, trials=muddle)
    assert any("contradict each other: tight at 0.40 mm, but loose at 0.20 mm" in n
               for n in choice.notes)  # fmt: skip
    clear = choose_gap(*PEG, size_mm=10.0, trials=CLEAR[1:4])
    assert choice.p_wanted < clear.p_wanted - 0.1
    assert contradiction(CLEAR, size_mm=10.0) is None


def test_gaps_that_differ_by_less_than_their_doubt_do_not_contradict() -> None:
    near = tried((0.30, "loose"), (0.35, "tight"), u_gap_mm=0.03)
    assert contradiction(near, size_mm=10.0) is None


def test_one_slip_does_not_outweigh_what_many_trials_say() -> None:
    sound = choose_gap(*PEG, size_mm=10.0, trials=CLEAR * 3)
    slipped = choose_gap(*PEG, size_mm=10.0, trials=CLEAR * 3 + tried((0.3, "rattles")))
    assert slipped.gap_mm == pytest.approx(sound.gap_mm, abs=0.03)


def test_a_vague_gap_teaches_less() -> None:
    rows = ((0.3, "tight"), (0.4, "as wanted"))
    sharp = learn(*PEG, size_mm=10.0, trials=tried(*rows, u_gap_mm=0.01)).best_gap_band_mm()
    vague = learn(*PEG, size_mm=10.0, trials=tried(*rows, u_gap_mm=0.2)).best_gap_band_mm()
    # Not by the width of what is left: what is seen sharply may be a surprise, and widens it.
    moved = [np.mean(band) - 0.22 for band in (sharp, vague)]
    assert moved[0] > 2.0 * moved[1] > 0.0


def test_other_fits_teach_too_the_more_the_nearer_they_are() -> None:
    def shift(**where: object) -> float:
        tight = tried((0.4, "tight"), (0.45, "tight"), **where)  # type: ignore[arg-type]
        return choose_gap(*PEG, size_mm=10.0, trials=tight).gap_mm - 0.22

    same = shift()
    assert same > shift(size_mm=12.0) > shift(size_mm=40.0) > 0.02
    assert same > shift(behaviour="rotates freely") > 0.0
    assert same > shift(pair="tab and slot") > 0.02


def test_notes_say_when_trials_are_of_another_fit_or_size() -> None:
    lid = tried((0.3, "tight"), pair="lid and rim", size_mm=60.0)
    other = choose_gap(*PEG, size_mm=10.0, trials=lid)
    assert "no trial of 'peg and hole' that slides: learned from other fits" in other.notes
    far = choose_gap(*PEG, size_mm=60.0, trials=CLEAR)
    assert "no trial near 60 mm: carried over from 10 mm" in far.notes


def test_a_gap_far_from_common_practice_is_doubted() -> None:
    wild = tried(*[(0.9, "tight")] * 10)
    choice = choose_gap(*PEG, size_mm=10.0, trials=wild)
    assert any("far from common practice (0.22 mm)" in note for note in choice.notes)


def test_a_through_hole_is_never_given_interference() -> None:
    loose = tried(*[(0.02, "rattles")] * 6, pair="screw hole", behaviour="snug by hand",
                  size_mm=3.0)  # fmt: skip
    assert choose_gap("screw hole", "snug by hand", size_mm=3.0, trials=loose).gap_mm >= 0.0


def test_the_same_question_gets_the_same_answer() -> None:
    first = choose_gap(*PEG, size_mm=10.0, trials=CLEAR)
    assert first == choose_gap(*PEG, size_mm=10.0, trials=tuple(CLEAR))


def test_order_of_trials_does_not_matter() -> None:
    mixed = CLEAR + tried((0.3, "tight"), pair="lid and rim", size_mm=60.0)
    forward = choose_gap(*PEG, size_mm=10.0, trials=mixed)
    backward = choose_gap(*PEG, size_mm=10.0, trials=mixed[::-1])
    assert backward.gap_mm == pytest.approx(forward.gap_mm, abs=0.005)


def test_draws_agree_with_brute_force_on_a_grid() -> None:
    """Same posterior by plain summation over d, lambda, log s, with the outer zones integrated."""
    from fitkit.fits import verdicts as v

    trials = CLEAR[1:4]
    d = np.linspace(-0.75, 0.75, 101)
    axes = [sd * np.linspace(-3.2, 3.2, 7) for sd in v.SHAPE_SD[:3]]
    axes.append(np.linspace(-5.6, -0.9, 15))  # log scatter: 0.004 to 0.4 mm
    grid = np.stack(np.meshgrid(d, *axes, indexing="ij"), axis=-1).reshape(-1, 5)
    # Usual printers, and the 6 % that stand far off and scatter more.
    usual = 0.94 * norm(scale=math.hypot(0.03, 0.025, 0.02, 0.025)).pdf(grid[:, 0])
    usual *= norm(math.log(0.02), 0.5).pdf(grid[:, 4])
    far = 0.06 * norm(scale=math.hypot(0.15, 0.125, 0.02, 0.025)).pdf(grid[:, 0])
    far *= norm(math.log(0.08), 0.5).pdf(grid[:, 4])
    log_p = -0.5 * np.square(grid[:, 1:4] / v.SHAPE_SD[:3]).sum(axis=1)
    log_p += np.log(usual + far)
    shape = grid[:, 1:]
    seen = v._Seen.of(tuple(trials), np.zeros(len(trials), dtype=int))
    parts = np.array_split(np.arange(len(grid)), 16)
    log_p += np.concatenate([seen.log_likelihood(grid[i, :1], shape[i]) for i in parts])
    weight = np.exp(log_p - log_p.max())
    weight /= weight.sum()
    mean = weight @ grid[:, 0]
    spread = np.sqrt(weight @ np.square(grid[:, 0] - mean))
    model = learn(*PEG, size_mm=10.0, trials=trials)
    middle = model.thresholds_mm[:, 1:3].mean(axis=1) - 0.22
    assert model.weight @ middle == pytest.approx(mean, abs=0.003)
    assert np.sqrt(model.weight @ np.square(middle - model.weight @ middle)) == pytest.approx(
        spread, rel=0.05
    )
    scatter = weight @ np.exp(shape[:, 3])
    assert model.weight @ model.scatter_mm == pytest.approx(scatter, rel=0.03)


def test_interval_probability_keeps_its_digits_in_either_tail() -> None:
    low, high = np.array([8.0, -9.0]), np.array([9.0, -8.0])
    p = interval_probability(low, high, 1.0)
    # Standard normal tails, Abramowitz and Stegun table 26.2: Q(8) = 6.22e-16 (from memory).
    assert p == pytest.approx(6.22e-16, rel=1e-3)


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"pair": "peg"}, "is not a kind of pair"),
        ({"behaviour": "slide"}, "Did you mean 'slides'?"),
        ({"size_mm": -1.0}, "the size is -1 mm"),
        ({"u_gap_mm": float("nan")}, "Give 0 mm or more."),
    ],
)
def test_bad_questions_are_refused(changes: dict[str, object], text: str) -> None:
    asked: dict[str, object] = {"pair": PEG[0], "behaviour": PEG[1], "size_mm": 10.0}
    with pytest.raises(FitError) as error:
        choose_gap(**(asked | changes))  # type: ignore[arg-type]
    assert text in str(error.value)
