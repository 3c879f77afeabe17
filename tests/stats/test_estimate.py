"""Arithmetic on estimates, and how they show themselves."""

from __future__ import annotations

import math

import pytest

from fitkit.errors import StatsError
from fitkit.stats import Estimate

A = Estimate.of("a", 10.0, 0.03, df=5)
B = Estimate.of("b", 4.0, 0.04, notes=("doubt",))


def test_sums_differences_and_multiples_of_lengths_are_lengths() -> None:
    assert (A + B).value_mm == 14.0
    assert (A - B).u_mm == pytest.approx(0.05)
    assert (1.0 + A).value_mm == 11.0
    assert (12.0 - A).value_mm == 2.0
    assert (2 * A).u_mm == (A * 2).u_mm == pytest.approx(0.06)
    assert (A / 2).value_mm == 5.0
    assert (-A).value_mm == -10.0
    assert sum([A, B]).value_mm == 14.0  # type: ignore[union-attr]
    assert (A + B).notes == ("doubt",)


def test_products_and_ratios_of_lengths_are_refused() -> None:
    with pytest.raises(StatsError, match="an area, no length"):
        A * B  # type: ignore[operator]
    with pytest.raises(StatsError, match="a plain number, no length"):
        A / B  # type: ignore[operator]
    with pytest.raises(StatsError, match="no length"):
        1.0 / A


def test_what_two_estimates_share_cancels() -> None:
    assert (A - A).u_mm == 0.0
    assert ((A + B) - A).u_mm == pytest.approx(B.u_mm)


def test_two_inputs_of_one_name_stay_two() -> None:
    twice = A + Estimate.of("a", 1.0, 0.04)
    assert twice.u_mm == pytest.approx(0.05)
    assert sorted(row.u for row in twice.budget) == pytest.approx([0.03, 0.04])
    assert all(math.isfinite(row.sensitivity) for row in twice.budget)


def test_impossible_estimates_are_refused() -> None:
    for value, u, df in [(math.nan, 0.1, 5), (1.0, -0.1, 5), (1.0, 0.1, 0)]:
        with pytest.raises(StatsError, match="is no estimate"):
            Estimate.of("x", value, u, df=df)


def test_it_shows_two_digits_of_uncertainty_and_its_factor() -> None:
    assert str(Estimate.of("x", 3.21449, 0.0301, df=12)) == "3.214 mm ± 0.066 mm (95 %, k = 2.2)"
    assert str(Estimate.of("x", 3.2, 0.0)) == "3.200 mm (exact)"


def test_text_from_outside_is_escaped_in_html_and_every_row_has_units() -> None:
    html = Estimate.of("<i>x</i>", 3.2, 0.01)._repr_html_()
    assert "<i>" not in html
    assert "<caption>" in html
    assert "µm" in html
    assert "note: doubt" in B.summary()
