import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration.choose import candidate_features, choose_features
from fitkit.calibration.fit import fit_profile
from fitkit.calibration.generic import generic_profile
from fitkit.calibration.model import TERMS, design
from fitkit.core.errors import CalibrationError

I16 = choose_features(16)


def test_more_features_never_make_it_worse():
    seen = [choose_features(n).expected_U95_mm for n in (8, 12, 16, 24)]
    mean = [np.mean(list(u.values())) for u in seen]
    assert mean == sorted(mean, reverse=True)
    assert all(seen[-1][kind] < 0.75 * I16.before_U95_mm[kind] for kind in seen[-1])


def test_the_choice_beats_features_taken_at_random():
    def loss(features):
        generic_u = 0.025
        rows = np.array([design(tuple(TERMS), f.drawn_mm, f.kind, f.axis) for f in features])
        rows = rows / generic_u
        prior = generic_profile("PETG").cov + 1e-12 * np.eye(len(TERMS))
        cov = np.linalg.inv(np.linalg.inv(prior) + rows.T @ rows)
        sizes = np.geomspace(2.5, 16, 20)
        grid = design(tuple(TERMS), sizes, "hole")
        return float(np.einsum("ij,jk,ik->i", grid, cov, grid).mean())

    rng = np.random.default_rng(1)
    pool = candidate_features()
    chosen = choose_features(6, wanted_mm={"hole": (2.5, 16.0)}).features
    others = [loss([pool[i] for i in rng.permutation(len(pool))[:6]]) for _ in range(200)]
    assert loss(chosen) < min(others)


def test_only_wanted_kinds_are_measured():
    chosen = choose_features(6, wanted_mm={"hole": (3.0, 10.0)}).features
    assert {f.kind for f in chosen} <= {"hole", "outside"}
    assert sum(f.kind == "hole" for f in chosen) >= 4


def test_for_a_straight_line_the_ends_are_best():
    """D- and I-optimal designs of a line put their points at the ends of the range (textbook)."""
    pool = [f for f in candidate_features() if f.name.startswith("bar x") and f.place == "mid"]
    for criterion in ("D", "I"):
        chosen = choose_features(
            2, wanted_mm={"outside": (10.0, 96.0)}, candidates=pool, criterion=criterion
        ).features
        assert {f.drawn_mm for f in chosen} == {10.0, 96.0}


def test_what_is_expected_is_what_a_fit_then_gives(coupon):
    """The expected U, told before printing, against that of coupons simulated with the choice."""
    choice = choose_features(24)
    found = {kind: [] for kind in ("outside", "hole", "inside")}
    for seed in range(12):
        truth = Truth(feature=0.02, reading=0.02, resolution=0.01)
        profile = fit_profile(coupon(truth, seed, choice.features))
        for kind, low, high in (("outside", 5, 80), ("hole", 2.5, 16), ("inside", 3, 75)):
            half = profile.U95(np.geomspace(low, high, 12), kind=kind, axis="x", mean=True)
            found[kind].append(half.max())
    for kind, values in found.items():
        assert np.median(values) == pytest.approx(choice.expected_U95_mm[kind], rel=0.25), kind


@pytest.mark.parametrize("count", [0, 1000])
def test_an_impossible_count_is_refused(count):
    with pytest.raises(CalibrationError, match="features are wanted"):
        choose_features(count)


def test_an_empty_range_is_refused():
    with pytest.raises(CalibrationError, match=r"range of hole sizes, 10\.0 to 3\.0 mm, is empty"):
        choose_features(5, wanted_mm={"hole": (10.0, 3.0)})
