"""Arithmetic on estimates, and how they show themselves."""

from __future__ import annotations

import math

import pytest

from fitkit.core.errors import StatsError
from fitkit.stats import Estimate, Source

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
    with pytest.raises(StatsError, match="an area, not a length"):
        A * B  # type: ignore[operator]
    with pytest.raises(StatsError, match="a plain number, not a length"):
        A / B  # type: ignore[operator]
    with pytest.raises(StatsError, match="not a length"):
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
        with pytest.raises(StatsError, match="is not an estimate"):
            Estimate.of("x", value, u, df=df)


def test_it_shows_two_digits_of_uncertainty_and_its_factor() -> None:
    assert str(Estimate.of("x", 3.21449, 0.0301, df=12)) == "3.214 mm ± 0.066 mm (95 %, k = 2.2)"
    assert str(Estimate.of("x", 3.2, 0.0)) == "3.200 mm (exact)"


def test_text_from_outside_is_escaped_in_html_and_every_row_has_units() -> None:
    html = Estimate.of("<i>x</i>", 3.2, 0.01)._repr_html_()
    assert "<i>" not in html
    assert "<caption" in html
    assert "µm" in html
    assert "note: doubt" in B.summary()


@pytest.mark.parametrize(
    ("made", "name", "value"),
    [
        (lambda: A + B, "a + b", 14.0),
        (lambda: A - B, "a - b", 6.0),
        (lambda: A + 1.5, "a + 1.5 mm", 11.5),
        (lambda: 1.5 + A, "1.5 mm + a", 11.5),
        (lambda: A - 1.5, "a - 1.5 mm", 8.5),
        (lambda: 1.5 - A, "1.5 mm - a", -8.5),
        (lambda: 3 * A, "a", 30.0),
        (lambda: A / 4, "a", 2.5),
        (lambda: -A, "a", -10.0),
        (lambda: +A, "a", 10.0),
        (lambda: sum([A, B]), "a + b", 14.0),
    ],
)
def test_a_result_is_named_by_how_it_was_made(made, name, value) -> None:
    assert (made().name, made().value_mm) == (name, pytest.approx(value))


def test_a_scaled_length_scales_its_uncertainty_and_keeps_its_inputs() -> None:
    assert (A / 4).u_mm == pytest.approx(0.0075)
    assert (-A).u_mm == pytest.approx(0.03)
    assert dict((3 * A).sources) == dict(A.sources)
    assert (3 * A).df == pytest.approx(5)


def test_notes_are_joined_once_each_in_order() -> None:
    other = Estimate.of("c", 1.0, 0.1, notes=("worn", "doubt"))
    assert (B + other).notes == ("doubt", "worn")
    assert (B + 1.0).notes == ("doubt",)
    named = B.named("lid", "by hand", "late")
    assert (named.name, named.notes) == ("lid", ("doubt", "by hand", "late"))
    assert named.value_mm == B.value_mm


def test_an_estimate_is_its_own_input_normal_unless_told_or_exact() -> None:
    row = Estimate.of("x", 3.0, 0.1, df=7).budget[0]
    assert (row.name, row.value, row.u, row.df) == ("x", 3.0, 0.1, pytest.approx(7))
    assert (row.sensitivity, row.contribution_mm) == (1.0, pytest.approx(0.1))
    assert (row.source.type, row.source.distribution) == ("B", "normal")
    exact = Estimate.of("x", 3.0, 0.0)
    assert (exact.sources["x"].type, exact.sources["x"].distribution) == ("B", "exact")
    assert exact.budget == ()
    assert (exact.U95_mm, exact.df) == (0.0, math.inf)
    told = Source(type="A", distribution="triangular", basis="sheet")
    kept = Estimate.of("x", 3.0, 0.1, source=told).sources["x"]
    assert (kept.type, kept.distribution, kept.basis) == ("A", "triangular", "sheet")


@pytest.mark.parametrize(
    ("df", "k"),
    # Student's t at 97.5 % (GUM table G.2); between whole numbers it lies between theirs.
    [(1.0, 12.706), (2.0, 4.303), (10.0, 2.228), (math.inf, 1.960)],
)
def test_the_coverage_factor_is_students_at_the_degrees_of_freedom(df, k) -> None:
    one = Estimate.of("x", 3.0, 0.1, df=df)
    assert one.k95 == pytest.approx(k, abs=1e-3)
    assert one.U95_mm == pytest.approx(0.1 * k, abs=1e-4)


def test_without_an_input_its_part_of_the_spread_is_gone_and_no_other() -> None:
    whole = A - 2 * B
    rest = whole.without("b")
    assert rest.value_mm == pytest.approx(2.0)
    assert rest.u_mm == pytest.approx(0.03)
    assert list(rest.sources) == ["a"]
    assert {row.name: abs(row.contribution_mm) for row in rest.budget} == pytest.approx(
        {"a": 0.03, "b": 0.0}
    )
    assert whole.without("a").u_mm == pytest.approx(0.08)


def test_the_budget_has_the_largest_part_first_with_its_sign() -> None:
    rows = (A - 2 * B).budget
    assert [(row.name, row.sensitivity) for row in rows] == [("b", -2.0), ("a", 1.0)]
    assert [row.contribution_mm for row in rows] == pytest.approx([-0.08, 0.03])


def test_a_part_whose_input_is_not_kept_still_has_its_row() -> None:
    bare = Estimate(name="sum", uncertain=(A - B).uncertain, sources={"a": A.sources["a"]})
    rows = {row.name: row for row in bare.budget}
    assert rows["a"].contribution_mm == pytest.approx(0.03)
    unknown = rows["b"]
    assert (unknown.source.type, unknown.source.distribution) == ("B", "normal")
    assert abs(unknown.contribution_mm) == pytest.approx(0.04)
    assert all(math.isnan(x) for x in (unknown.value, unknown.u, unknown.df, unknown.sensitivity))


def test_three_inputs_of_one_name_are_numbered() -> None:
    total = A + Estimate.of("a", 1.0, 0.1) + Estimate.of("a", 1.0, 0.2)
    assert list(total.sources) == ["a", "a (2)", "a (3)"]
    assert list((total + A).sources) == ["a", "a (2)", "a (3)"]  # the first again is no fourth
    bare = Source(type="B", distribution="normal", basis="x")
    one, two = (
        Estimate(name="n", uncertain=A.uncertain, sources={"n": source})
        for source in (bare, Source(type="B", distribution="normal", basis="y"))
    )
    assert list((one + one).sources) == ["n"]
    assert list((one + two).sources) == ["n", "n (2)"]
