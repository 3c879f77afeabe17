"""The second way to propagate."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitkit.core.errors import StatsError
from fitkit.stats import Estimate, Source, propagate
from fitkit.stats.montecarlo import MonteCarlo, disagreement, draw


def _rng() -> np.random.Generator:
    return np.random.default_rng(101)


def test_both_ways_agree_where_the_model_is_straight_and_normal() -> None:
    a, b = Estimate.of("a", 10.0, 0.03), Estimate.of("b", 4.0, 0.04)
    drawn = propagate(lambda a, b: a - b, {"a": a, "b": b}, rng=_rng())
    assert drawn.u == pytest.approx(0.05, rel=0.01)
    assert disagreement(a - b, drawn) is None


def test_what_inputs_share_is_drawn_once() -> None:
    a = Estimate.of("a", 10.0, 0.03)
    drawn = propagate(lambda x, y: x - y, {"x": a + 1.0, "y": a}, rng=_rng())
    assert drawn.u == pytest.approx(0.0, abs=1e-12)
    assert drawn.value == pytest.approx(1.0)


def test_a_limit_on_its_own_is_where_the_two_ways_disagree() -> None:
    flat = Estimate.of("x", 10.0, 0.03, source=Source(type="B", distribution="rectangular"))
    drawn = propagate(lambda x: x, {"x": flat}, rng=_rng())
    # 95 % of a rectangle: 0.95 √3 u, not 1.96 u.
    assert drawn.high95 - drawn.low95 == pytest.approx(2 * 0.95 * 3**0.5 * 0.03, rel=0.005)
    assert "use the draws" in (disagreement(flat, drawn) or "")


def test_student_inputs_draw_wider_tails() -> None:
    few = Estimate.of("x", 0.0, 1.0, df=4, source=Source(type="A", distribution="student t"))
    drawn = propagate(lambda x: x, {"x": few}, rng=_rng())
    assert drawn.high95 - drawn.low95 == pytest.approx(2 * few.U95_mm, rel=0.03)


def test_too_few_draws_are_refused() -> None:
    with pytest.raises(StatsError, match="1000 or more"):
        propagate(lambda x: x, {"x": Estimate.of("x", 1.0, 0.1)}, rng=_rng(), draws=10)


@pytest.mark.parametrize(
    ("distribution", "df", "quantile"),
    [
        # At 97.5 %, in standard uncertainties: JCGM 101, 6.4; ends at sqrt 3 and sqrt 6.
        ("normal", math.inf, 1.960),
        ("rectangular", math.inf, 0.95 * math.sqrt(3)),
        ("triangular", math.inf, (1 - math.sqrt(0.05)) * math.sqrt(6)),
        ("student t", 4.0, 2.776),
        ("student t", math.inf, 1.960),
    ],
)
def test_each_distribution_has_its_own_tails(distribution, df, quantile) -> None:
    source = Source(type="B", distribution=distribution)
    one = Estimate.of("x", 10.0, 0.1, df=df, source=source)
    drawn = draw(one, 200_000, _rng())
    low, high = (np.quantile(drawn, [0.025, 0.975]) - 10.0) / 0.1
    assert (-low, high) == pytest.approx((quantile, quantile), rel=0.02)
    assert np.median(drawn) == pytest.approx(10.0, abs=0.002)
    ends = {"rectangular": math.sqrt(3), "triangular": math.sqrt(6)}
    if distribution in ends:
        assert np.abs(drawn - 10.0).max() <= 0.1 * ends[distribution]


def test_draws_are_weighted_by_their_sensitivity_and_kept_for_others() -> None:
    a, b = Estimate.of("a", 10.0, 0.1), Estimate.of("b", 4.0, 0.01)
    made: dict = {}
    first = draw(a - 3 * b, 1000, _rng(), made)
    assert len(made) == 2
    second = draw(b, 1000, _rng(), made)
    assert len(made) == 2
    third = draw(a, 1000, _rng(), made)
    np.testing.assert_allclose(first, third - 3 * second)


def test_the_shortest_interval_of_a_lopsided_result_hugs_its_steep_side() -> None:
    """Of an exponential the shortest 95 % run from 0 to -ln 0.05."""
    uniform = Estimate.of(
        "x", 0.5, 1 / math.sqrt(12), source=Source(type="B", distribution="rectangular")
    )
    drawn = propagate(lambda x: -np.log(np.clip(x, 1e-12, None)), {"x": uniform}, rng=_rng())
    assert drawn.low95 == pytest.approx(0.0, abs=0.01)
    assert drawn.high95 == pytest.approx(-math.log(0.05), abs=0.03)
    assert (drawn.value, drawn.u) == pytest.approx((1.0, 1.0), abs=0.01)
    assert drawn.draws == 200_000


def test_the_interval_holds_as_many_draws_as_it_says() -> None:
    seen: list[np.ndarray] = []

    def model(x: np.ndarray) -> np.ndarray:
        seen.append(x)
        return x

    drawn = propagate(model, {"x": Estimate.of("x", 1.0, 0.1)}, rng=_rng(), draws=1001)
    (x,) = seen
    held = np.count_nonzero((x >= drawn.low95) & (x <= drawn.high95))
    assert held == 951  # 0.95 of 1001, rounded up
    assert (drawn.value, drawn.u) == pytest.approx((x.mean(), x.std(ddof=1)), rel=1e-12)


def test_a_model_that_ignores_its_inputs_has_no_spread() -> None:
    drawn = propagate(lambda x: 3.0, {"x": Estimate.of("x", 1.0, 0.1)}, rng=_rng(), draws=1000)
    assert (drawn.value, drawn.u, drawn.low95, drawn.high95) == (3.0, 0.0, 3.0, 3.0)


def test_draws_in_one_line() -> None:
    one = MonteCarlo(value=3.21449, u=0.1, low95=3.0, high95=3.5, draws=1000)
    assert str(one) == "3.2145, 95 % in [3.0000, 3.5000] (1000 draws)"


@pytest.mark.parametrize(
    ("u", "digits", "off", "clash"),
    [
        # Half a unit in the first digit of 0.03 is 0.005, in the second 0.0005.
        (0.03, 1, 0.0049, False),
        (0.03, 1, 0.0051, True),
        (0.03, 2, 0.00049, False),
        (0.03, 2, 0.00051, True),
        (0.2, 1, 0.049, False),
        (0.2, 1, 0.051, True),
    ],
)
@pytest.mark.parametrize("end", ["low95", "high95"])
@pytest.mark.parametrize("sign", [-1, 1])
def test_ends_may_differ_by_half_a_unit_of_the_last_digit(u, digits, off, clash, end, sign) -> None:
    first = Estimate.of("x", 10.0, u)
    ends = {"low95": 10.0 - first.U95_mm, "high95": 10.0 + first.U95_mm}
    ends[end] += sign * off
    second = MonteCarlo(value=10.0, u=u, draws=1000, **ends)
    assert (disagreement(first, second, digits=digits) is not None) is clash
    if digits == 1:
        assert (disagreement(first, second) is not None) is clash


def test_a_disagreement_says_both_intervals_and_what_is_allowed() -> None:
    first = Estimate.of("x", 10.0, 0.03)
    second = MonteCarlo(value=10.0, u=0.03, low95=9.951, high95=10.049, draws=1000)
    assert disagreement(first, second) == (
        "the draws give [9.9510, 10.0490] mm, the law of propagation 10.0000 ± 0.0588 mm: ends "
        "differ by -0.0098 and +0.0098 mm where 0.0050 mm is allowed; use the draws"
    )
    assert disagreement(Estimate.of("x", 10.0, 0.0), second) is None  # exact: nothing to compare
