"""The verdict model's parts against their formulas, number by number.

Before any trial all is in closed form: the shift of the band is a mixture of two normals, of usual
printers (0.03, 0.025, 0.02 and 0.025 mm in root sum square) and of the 6 % that stand far off (the
first two five times as large); widths are log-normal, and the scatter is another such mixture.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from fitkit.fits import Trial, choose_gap, contradiction, gap_prior, learn
from fitkit.fits.sampling import sample_posterior
from fitkit.fits.verdicts import (
    Kind,
    _own_covariance,
    _Seen,
    interval_probability,
    thresholds_of,
)

PEG = ("peg and hole", "slides")
CDF = norm.cdf


def tried(gap: float, verdict: str, *, size: float = 10.0, **more: object) -> Trial:
    given = {"pair": PEG[0], "behaviour": PEG[1], "size_mm": size, "gap_mm": gap}
    return Trial(**(given | more), verdict=verdict)  # type: ignore[arg-type]


def test_before_any_trial_the_belief_is_the_prior() -> None:
    model = learn(*PEG, size_mm=10.0)
    usual = norm(scale=math.hypot(0.03, 0.025, 0.02, 0.025))
    far = norm(scale=math.hypot(0.15, 0.125, 0.02, 0.025))
    reach = brentq(lambda x: 0.94 * usual.cdf(x) + 0.06 * far.cdf(x) - 0.95, 0.0, 2.0)
    low, high = model.best_gap_band_mm(0.9)
    assert (low, high) == pytest.approx((0.22 - reach, 0.22 + reach), abs=0.008)
    assert model.best_gap_band_mm() == model.best_gap_band_mm(0.9)
    half = 0.08 * math.exp(0.35**2 / 2)  # the mean of a log-normal
    assert model.wanted_band_mm == pytest.approx((0.22 - half, 0.22 + half), abs=0.003)
    zone = 0.10 * math.exp(0.4**2 / 2)
    outer = model.weight @ model.thresholds_mm[:, [0, 3]]
    assert outer == pytest.approx([0.22 - half - zone, 0.22 + half + zone], abs=0.004)
    scatter = (0.94 * 0.02 + 0.06 * 0.08) * math.exp(0.5**2 / 2)
    assert model.weight @ model.scatter_mm == pytest.approx(scatter, abs=0.002)
    logs = np.log(model.scatter_mm)
    spread = math.sqrt(0.5**2 + 0.94 * 0.06 * math.log(4.0) ** 2)
    off = logs - model.weight @ logs
    assert math.sqrt(model.weight @ np.square(off)) == pytest.approx(spread, abs=0.03)
    assert len(model.weight) == 2048
    assert model.effective > 500
    assert (model.pair, model.behaviour, model.size_mm, model.trials) == (*PEG, 10.0, ())
    assert model.prior == gap_prior(*PEG, 10.0)
    with pytest.raises(ValueError, match="read-only"):
        model.weight[0] = 1.0


def test_the_thresholds_stand_as_the_model_says() -> None:
    shape = np.array([[0.0, 0.0, 0.0, 0.0], [math.log(2), math.log(3), math.log(5), 9.0]])
    found = thresholds_of(
        np.array([[0.2, 0.5]]), np.array([0.1, 0.2]), np.array([0.01, 0.02]), shape
    )
    assert found.shape == (2, 2, 4)
    assert found[0] == pytest.approx(np.array([[0.09, 0.1, 0.3, 0.31], [0.28, 0.3, 0.7, 0.72]]))
    assert found[1, 0] == pytest.approx([0.0 - 0.03, 0.0, 0.4, 0.4 + 0.05])


def test_shifts_share_what_their_fits_share() -> None:
    kinds = [
        (*PEG, 10.0),
        (*PEG, 40.0),
        ("peg and hole", "snug by hand", 10.0),
        ("tab and slot", "slides", 10.0),
    ]
    want, size = 0.02**2, 0.025**2
    cov = _own_covariance([Kind(*kind, 0.0) for kind in kinds])
    assert cov[0, 0] == pytest.approx(want + size)
    # Two doublings of the size leave 1/e of its part.
    assert cov[0, 1] == pytest.approx(want + size / math.e)
    # Other behaviours, and those of other pairs, share the size's part alone.
    assert cov[0, 2] == pytest.approx(size)
    assert cov[0, 3] == pytest.approx(size)
    # Predicted gaps of like pairs are off alike; measured ones are not.
    predicted = _own_covariance([Kind(*kinds[0], 0.1), Kind(*kinds[0], 0.0)])
    assert predicted[0, 0] - predicted[0, 1] == pytest.approx(0.01)
    np.testing.assert_array_equal(cov, cov.T)


def test_interval_probability_is_the_normals() -> None:
    p = interval_probability(np.array([-1.0, -np.inf, 0.5]), np.array([1.0, 0.0, 2.0]), 1.0)
    assert p == pytest.approx([0.6827, 0.5, CDF(2.0) - CDF(0.5)], abs=1e-4)
    assert interval_probability(np.array([-0.2]), np.array([0.2]), 0.1) == pytest.approx(
        0.9545, abs=1e-4
    )


@pytest.mark.parametrize("verdict", ["will not go", "tight", "as wanted", "loose", "rattles"])
def test_the_likelihood_of_a_trial_is_its_interval_with_one_slip_in_a_hundred(verdict: str) -> None:
    """At the middle of the prior: thresholds at 0.04, 0.14, 0.30, 0.40 mm, scatter 0.05."""
    gap, u = 0.18, 0.03
    seen = _Seen.of((tried(gap, verdict, u_gap_mm=u),), np.array([1]))
    shape = np.array([[0.0, 0.0, 0.0, math.log(0.05)]])
    shifts = np.array([[9.0, 0.0]])  # the trial's own shift is the second
    edges = [-math.inf, 0.04, 0.14, 0.30, 0.40, math.inf]
    at = ["will not go", "tight", "as wanted", "loose", "rattles"].index(verdict)
    low, high = edges[at] - gap, edges[at + 1] - gap
    s = math.hypot(0.05, u)
    p = 0.99 * (CDF(high / s) - CDF(low / s)) + 0.01 * (CDF(high / 0.5) - CDF(low / 0.5))
    assert seen.log_likelihood(shifts, shape) == pytest.approx([math.log(p)])


def test_equal_trials_are_counted_and_others_add_up() -> None:
    shape = np.array([[0.1, -0.2, 0.3, math.log(0.04)]])
    shifts = np.array([[0.02]])

    def found(*trials: Trial) -> float:
        seen = _Seen.of(trials, np.zeros(len(trials), dtype=int))
        return float(seen.log_likelihood(shifts, shape)[0])

    tight, loose = tried(0.1, "tight"), tried(0.5, "loose")
    assert found(tight, tight, loose) == pytest.approx(2 * found(tight) + found(loose))
    assert found() == 0.0


def test_chances_by_some_draws_are_those_of_all() -> None:
    model = learn(*PEG, size_mm=10.0, trials=(tried(0.3, "tight"),))
    gaps = np.array([0.1, 0.3])
    every = model.p_by_draw(gaps, u_gap_mm=0.04)
    assert every.shape == (2, 2048, 5)
    assert every.sum(axis=2) == pytest.approx(1.0)
    some = model.p_by_draw(gaps, u_gap_mm=0.04, draws=np.array([5, 7]))
    np.testing.assert_array_equal(some, every[:, [5, 7]])
    wanted = model.p_verdict(gaps, u_gap_mm=0.04)[:, 2]
    assert model.p_wanted(gaps, u_gap_mm=0.04) == pytest.approx(wanted)
    assert not np.allclose(model.p_wanted(gaps), wanted)
    assert model.p_wanted(0.1) == pytest.approx(model.p_verdict(0.1)[:, 2])


@pytest.mark.parametrize("u", [0.0, 0.04])
@pytest.mark.parametrize(
    "trials", [(), (tried(0.3, "tight"),), (tried(0.9, "tight"), tried(0.05, "rattles"))]
)
def test_no_gap_on_a_fine_grid_is_better_than_the_best(trials: tuple[Trial, ...], u: float) -> None:
    model = learn(*PEG, size_mm=10.0, trials=trials)
    best, chance = model.best_gap_mm(u_gap_mm=u)
    grid = np.linspace(best - 0.2, best + 0.2, 101)
    assert chance >= model.p_wanted(grid, u_gap_mm=u).max() - 1e-6
    assert model.p_wanted(best, u_gap_mm=u) == pytest.approx(chance)


def test_a_pair_without_interference_has_its_best_gap_at_nought_at_the_least() -> None:
    loose = tuple(
        Trial(
            pair="screw hole", behaviour="snug by hand", size_mm=3.0, gap_mm=0.0, verdict="rattles"
        )
        for _ in range(8)
    )
    model = learn("screw hole", "snug by hand", size_mm=3.0, trials=loose)
    gap, chance = model.best_gap_mm()
    assert gap == 0.0
    assert chance == pytest.approx(float(model.p_wanted(0.0)[0]))
    assert chance < float(model.p_wanted(-0.1)[0])


def test_bands_grow_with_the_cube_root_of_the_size() -> None:
    small, large = gap_prior(*PEG, 10.0), gap_prior(*PEG, 80.0)
    assert (small.gap_mm, small.half_width_mm, small.zone_mm) == (0.22, 0.08, 0.10)
    assert (large.gap_mm, large.half_width_mm, large.zone_mm) == pytest.approx((0.44, 0.16, 0.20))
    assert small.basis == "common practice, no source (printed on printed, both round)"


def test_draws_that_nothing_was_learned_from_count_all_alike() -> None:
    draws = sample_posterior(lambda x: np.zeros(len(x)), np.array([1.0]), np.array([[4.0]]))
    assert draws.x.shape == (2048, 1)
    assert draws.weight == pytest.approx(1 / 2048)
    assert draws.effective == pytest.approx(2048)
    assert (draws.x.mean(), draws.x.std()) == pytest.approx((1.0, 2.0), abs=0.01)


@pytest.mark.parametrize("draws", [256, 1024])
def test_a_likelihood_far_out_and_sharp_is_still_found(draws: int) -> None:
    """N(0, 1) prior, one reading 4 ± 0.05: mean 4 / 1.0025, variance 0.0025 / 1.0025."""
    found = sample_posterior(
        lambda x: -0.5 * ((x[:, 0] - 4.0) / 0.05) ** 2,
        np.zeros(2), np.eye(2), draws=draws,
    )  # fmt: skip
    mean = found.weight @ found.x
    assert found.x.shape == (draws, 2)
    assert found.weight.sum() == pytest.approx(1.0)
    assert mean == pytest.approx([4 / 1.0025, 0.0], abs=0.02)
    spread = math.sqrt(found.weight @ (found.x[:, 0] - mean[0]) ** 2)
    assert spread == pytest.approx(math.sqrt(0.0025 / 1.0025), rel=0.05)
    assert found.effective >= draws / 4


NEAR = (tried(0.1, "tight"), tried(0.3, "as wanted"), tried(0.5, "loose"))


@pytest.mark.parametrize(
    ("trials", "size", "notes"),
    [
        (NEAR, 10.0, ()),
        (NEAR, 20.0, ()),
        (NEAR, 5.0, ()),
        (NEAR, 20.1, ("no trial near 20.1 mm: carried over from 10 mm",)),
        ((*NEAR, tried(0.2, "tight", size=4.0)), 40.0,
         ("no trial near 40 mm: carried over from 4, 10 mm",)),
        ((tried(0.3, "as wanted", behaviour="rotates freely"),), 10.0,
         ("no trial of 'peg and hole' that slides: learned from other fits",)),
        ((tried(0.02, "tight"), tried(0.05, "tight")), 10.0,
         ("beyond the gaps tried so far: the next trial may well change it",)),
        ((tried(0.6, "loose"), tried(0.5, "loose")), 10.0,
         ("beyond the gaps tried so far: the next trial may well change it",)),
        ((*NEAR, tried(0.0, "rattles")), 10.0,
         ("trials contradict each other: loose at 0.50 mm, but rattles at 0.00 mm; as wanted at "
          "0.30 mm, but rattles at 0.00 mm; tight at 0.10 mm, but rattles at 0.00 mm; measure "
          "these gaps again",)),
    ],
)  # fmt: skip
def test_a_choice_says_what_a_careful_person_would_ask(
    trials: tuple[Trial, ...], size: float, notes: tuple[str, ...]
) -> None:
    assert choose_gap(*PEG, size_mm=size, trials=trials).notes == notes


def test_a_choice_says_what_it_rests_on() -> None:
    one = choose_gap(*PEG, size_mm=10.0, trials=NEAR[1:2])
    assert (one.pair, one.behaviour, one.basis) == (*PEG, "1 trial on this printer")
    assert choose_gap(*PEG, size_mm=10.0, trials=NEAR).basis == "3 trials on this printer"
    model = learn(*PEG, size_mm=10.0, trials=NEAR)
    choice = choose_gap(*PEG, size_mm=10.0, trials=NEAR)
    assert choice.best_mm == model.best_gap_band_mm(0.9)
    assert (choice.low_mm, choice.high_mm) == model.wanted_band_mm
    assert (choice.gap_mm, choice.p_wanted) == model.best_gap_mm(u_gap_mm=0.04)


def test_a_gap_farther_than_0_3_mm_from_practice_is_doubted() -> None:
    wild = tuple(tried(0.9, "tight") for _ in range(10))
    choice = choose_gap(*PEG, size_mm=10.0, trials=wild)
    assert abs(choice.gap_mm - 0.22) > 0.3
    assert choice.notes[-1] == (
        "far from common practice (0.22 mm): check that the trials' gaps are as printed, over the "
        "full size, with clearance positive"
    )
    mild = choose_gap(*PEG, size_mm=10.0, trials=(tried(0.38, "tight"),) * 3)
    assert 0.1 < abs(mild.gap_mm - 0.22) < 0.3
    assert not any("far from" in note for note in mild.notes)


@pytest.mark.parametrize(
    ("behaviour", "words"),
    [
        ("rotates freely", "that rotates freely"),
        ("snug by hand", "that shall be snug by hand"),
        ("press by tool", "that shall be press by tool"),
    ],
)
def test_the_note_names_the_behaviour_in_a_sentence(behaviour: str, words: str) -> None:
    notes = choose_gap("peg and hole", behaviour, size_mm=10.0, trials=NEAR).notes
    assert notes[0] == f"no trial of 'peg and hole' {words}: learned from other fits"


def test_the_pair_that_clashes_most_is_named() -> None:
    tight = [tried(0.4, "tight"), tried(0.5, "tight")]
    loose = [tried(0.2, "loose"), tried(0.1, "loose")]
    assert contradiction(tight + loose, size_mm=10.0) == (tight[1], loose[1])
    assert contradiction(loose + tight, size_mm=10.0) == (tight[1], loose[1])
    # The uncertainty of their difference, 1.96 x 0.03 x sqrt 2 = 0.083 mm, is let pass.
    pair = [tried(0.185, "tight", u_gap_mm=0.03), tried(0.1, "loose", u_gap_mm=0.03)]
    assert contradiction(pair, size_mm=10.0) == (pair[0], pair[1])
    pair[0] = tried(0.183, "tight", u_gap_mm=0.03)
    assert contradiction(pair, size_mm=10.0) is None
    # So is a pair of unlike sizes, over a quarter of a doubling from the one asked for.
    assert contradiction(tight + loose, size_mm=11.8) is not None
    assert contradiction(tight + loose, size_mm=11.9) is None
    assert contradiction(tight + loose, size_mm=8.4) is None
    assert contradiction([tight[0], tried(0.1, "tight")], size_mm=10.0) is None


def test_of_many_trials_each_counts_whole() -> None:
    """Against elliptical slice sampling (Murray, Adams and MacKay 2010) of all parts one by one.

    What printer and pair share is drawn apart here, and all else too; 22 trials of nine kinds.
    """
    sizes = {"object in pocket": (68.0, 46.0), "tab and slot": (9.6, 4.5)}
    trials = [
        Trial(pair=pair, behaviour="slides", size_mm=size, gap_mm=gap, verdict=word, u_gap_mm=0.03)
        for pair, both in sizes.items()
        for size in both
        for gap, word in ((0.05 + size / 400, "tight"), (0.16 + size / 300, "as wanted"))
    ]
    trials += [
        tried(gap, word, behaviour="rotates freely", size=8.0)
        for gap, word in (
            (0.1, "tight"), (0.15, "tight"), (0.2, "tight"), (0.25, "as wanted"),
            (0.3, "as wanted"), (0.35, "as wanted"), (0.4, "as wanted"), (0.5, "loose"),
        )
    ]  # fmt: skip
    found = learn(*PEG, size_mm=8.0, trials=trials)
    slow = _slowly(trials, Kind(*PEG, 8.0, 0.0))
    mean = found.weight @ found.thresholds_mm
    assert mean == pytest.approx(slow.mean(axis=0), abs=0.006)
    spread = np.sqrt(found.weight @ np.square(found.thresholds_mm - mean))
    assert spread == pytest.approx(slow.std(axis=0), abs=0.008)
    assert found.effective > 500


def _slowly(trials: list[Trial], asked: Kind, chains: int = 200, steps: int = 450) -> np.ndarray:
    """Draws of the asked thresholds of usual printers, of shape (n, 4)."""
    kinds = [asked, *dict.fromkeys(Kind(t.pair, t.behaviour, t.size_mm, 0.0) for t in trials)]
    pairs = list(dict.fromkeys(kind.pair for kind in kinds))
    of_pair = np.array([pairs.index(kind.pair) for kind in kinds])
    own, common = len(kinds), len(pairs)
    cov = np.zeros((own + common + 4, own + common + 4))
    cov[:own, :own] = _own_covariance(kinds)
    cov[own:-4, own:-4] = 0.03**2 + 0.025**2 * np.eye(common)
    cov[range(-4, 0), range(-4, 0)] = np.square([0.35, 0.4, 0.4, 0.5])
    mean = np.array([0.0] * (own + common + 3) + [math.log(0.02)])
    place = [kinds.index((t.pair, t.behaviour, t.size_mm, 0.0), 1) for t in trials]
    seen = _Seen.of(trials, np.array(place))

    def log_likelihood(x: np.ndarray) -> np.ndarray:
        return seen.log_likelihood(x[:, :own] + x[:, own:-4][:, of_pair], x[:, -4:])

    rng, chol = np.random.default_rng(3), np.linalg.cholesky(cov)
    x = mean + rng.standard_normal((chains, len(mean))) @ chol.T
    high, kept = log_likelihood(x), []
    for step in range(steps):
        other = rng.standard_normal(x.shape) @ chol.T
        least = high + np.log(rng.random(chains))
        angle = rng.uniform(0.0, 2.0 * np.pi, chains)
        ends = np.stack([angle - 2.0 * np.pi, angle])
        then, at = x.copy(), np.arange(chains)
        while len(at):
            turn = angle[at, None]
            tried_x = mean + (x[at] - mean) * np.cos(turn) + other[at] * np.sin(turn)
            value = log_likelihood(tried_x)
            good = value > least[at]
            then[at[good]], high[at[good]] = tried_x[good], value[good]
            at = at[~good]
            ends[(angle[at] > 0).astype(int), at] = angle[at]
            angle[at] = rng.uniform(*ends[:, at])
        x = then
        if step >= steps // 3:
            kept.append(x)
    drawn = np.concatenate(kept)
    prior = gap_prior(*asked[:3])
    middle = prior.gap_mm + drawn[:, [0]] + drawn[:, [own + pairs.index(asked.pair)]]
    half, zone = np.array([prior.half_width_mm]), np.array([prior.zone_mm])
    return thresholds_of(middle, half, zone, drawn[:, -4:])[:, 0]
