"""The second way to propagate."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.errors import StatsError
from fitkit.stats import Estimate, Source, propagate
from fitkit.stats.montecarlo import disagreement


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
