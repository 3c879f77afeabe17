"""The chance that all fits of a part are as wanted, against drawing printers one by one."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.core.errors import FitError
from fitkit.fits import Trial, learn
from fitkit.fits.whole import WantedFit, chance_of_all

PEG = WantedFit("peg and hole", "slides", 10.0, 0.22)
LID = WantedFit("lid and rim", "snug by hand", 60.0, 0.20)
NOTHING = np.zeros((2, 2))


def by_hand(fresh: np.ndarray, lasting: np.ndarray, count: int = 400_000) -> float:
    """Both fits by plain drawing: printers, their bands, and one print of each."""
    rng = np.random.default_rng(7)
    far = rng.random(count) < 0.06
    times = np.where(far, 5.0, 1.0)
    printer = 0.03 * times * rng.standard_normal(count)
    scatter = np.exp(np.log(np.where(far, 0.08, 0.02)) + 0.5 * rng.standard_normal(count))
    wide = np.exp(0.35 * rng.standard_normal(count))
    off = rng.multivariate_normal(np.zeros(2), fresh + lasting, count)
    good = np.ones(count, dtype=bool)
    # The sizes are 2.6 doublings apart, so that their own parts are alike by exp(-2.6 / 2).
    alike = np.exp(-np.log2(6.0) / 2.0)
    sizes = rng.multivariate_normal(
        np.zeros(2), 0.025**2 * np.array([[1, alike], [alike, 1]]), count
    )
    for at, half in enumerate((0.08, 0.09)):
        shift = printer + 0.025 * times * rng.standard_normal(count)
        shift += 0.02 * rng.standard_normal(count) + sizes[:, at]
        felt = off[:, at] + scatter * rng.standard_normal(count)
        good &= np.abs(felt - shift) <= half * wide
    return float(good.mean())


@pytest.mark.parametrize("tie", [0.0, 0.9])
def test_two_fits_together_are_those_of_printers_drawn_by_hand(tie: float) -> None:
    fresh = 0.03**2 * np.array([[1.0, tie], [tie, 1.0]])
    lasting = 0.04**2 * np.array([[1.0, tie], [tie, 1.0]])
    found = chance_of_all([PEG, LID], fresh_mm2=fresh, lasting_mm2=lasting)
    assert found.p_all == pytest.approx(by_hand(fresh, lasting), abs=0.02)


def test_a_fit_can_be_used_unless_it_will_not_go_or_rattles() -> None:
    u = np.diag([0.05**2, 0.05**2])
    found = chance_of_all([PEG, LID], fresh_mm2=u, lasting_mm2=NOTHING)
    peg = learn(*PEG[:2], size_mm=10.0).p_verdict(0.22, u_gap_mm=0.05)[0]
    assert found.p_usable_each[0] == pytest.approx(1.0 - peg[0] - peg[-1], abs=0.005)
    assert found.p_each[0] == pytest.approx(peg[2], abs=0.01)
    assert np.prod(found.p_usable_each) < found.p_usable < min(found.p_usable_each)


def test_one_fit_has_the_chance_of_its_own_model() -> None:
    found = chance_of_all([PEG], fresh_mm2=np.array([[0.03**2]]), lasting_mm2=np.array([[0.04**2]]))
    model = learn(*PEG[:2], size_mm=10.0, u_lasting_mm=0.04)
    assert found.p_all == found.p_each[0]
    assert found.p_all == pytest.approx(float(model.p_wanted(0.22, u_gap_mm=0.03)[0]), abs=0.01)


def test_all_together_lie_between_the_product_and_the_least_sure() -> None:
    fits = [PEG, LID, PEG._replace(size_mm=20.0), LID._replace(size_mm=40.0)]
    u = 0.05**2 * (0.5 + 0.5 * np.eye(4))
    found = chance_of_all(fits, fresh_mm2=0.3 * u, lasting_mm2=0.7 * u)
    assert np.prod(found.p_each) + 0.05 < found.p_all < min(found.p_each)


def test_what_prints_share_makes_the_whole_likelier_than_independent_doubts_do() -> None:
    tied = np.full((2, 2), 0.08**2)
    apart = np.diag(np.diag(tied))
    chances = [
        chance_of_all([PEG, LID], fresh_mm2=cov, lasting_mm2=NOTHING).p_all for cov in (tied, apart)
    ]
    assert chances[0] > chances[1] + 0.03


def test_verdicts_raise_the_chance_and_few_degrees_of_freedom_change_it_little() -> None:
    good = [
        Trial(pair=fit.pair, behaviour=fit.behaviour, size_mm=fit.size_mm, gap_mm=fit.gap_mm,
              verdict="as wanted", u_gap_mm=0.02)
        for fit in (PEG, LID) for _ in range(3)
    ]  # fmt: skip
    fresh = np.diag([0.02**2, 0.02**2])
    before = chance_of_all([PEG, LID], fresh_mm2=fresh, lasting_mm2=NOTHING)
    after = chance_of_all([PEG, LID], fresh_mm2=fresh, lasting_mm2=NOTHING, trials=good)
    few = chance_of_all([PEG, LID], fresh_mm2=fresh, lasting_mm2=NOTHING, df=3.0)
    assert after.p_all > before.p_all + 0.1
    assert few.p_all == pytest.approx(before.p_all, abs=0.05)


def test_a_part_without_fits_is_sure_and_covariances_of_other_shape_are_refused() -> None:
    none = np.zeros((0, 0))
    assert chance_of_all([], fresh_mm2=none, lasting_mm2=none).p_all == 1.0
    with pytest.raises(FitError, match="do not suit 1 fits") as error:
        chance_of_all([PEG], fresh_mm2=NOTHING, lasting_mm2=NOTHING)
    assert error.value.code == "fits.covariance"
