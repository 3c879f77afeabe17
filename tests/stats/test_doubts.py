"""Spreads that the instrument and the object's form do not explain."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import estimate
from fitkit.stats.doubts import FORM_MM, chance_of_spread, critical_difference, doubts, spread_flags

BENCH = Instrument(
    name="bench",
    resolution_mm=0.01,
    mpe_mm=0.03,
    repeatability_mm=0.015,
    repeatability_df=20.0,
)


def _bars(*shown: str, place: tuple[str, ...] = (), **columns: str) -> ReadingTable:
    rows = [{"feature": "bar", "reading": one, "instrument": "bench"} | columns for one in shown]
    if place:
        rows = [row | {"place": where} for row, where in zip(rows, place, strict=True)]
    return ReadingTable.of(rows, unit="mm")


def _kinds(table: ReadingTable) -> list[str]:
    return [flag.kind for flag in doubts(table, instruments=[BENCH])]


def test_the_critical_difference_is_that_of_the_standard() -> None:
    """ISO 5725-6:1994, 4.1.4: f(2) = 2.8 at 95 % (from memory)."""
    assert critical_difference(1.0) == pytest.approx(2.8, abs=0.03)


def test_the_chance_of_a_spread_is_chi_square_where_the_known_one_is_sure() -> None:
    """Against scipy's chi-square; Montgomery's tables give 9.49 for 4 degrees and 5 %."""
    found = float(chance_of_spread(9.488 / 4, 5, 1.0, 1e9))
    assert found == pytest.approx(0.05, abs=1e-4)
    assert found == pytest.approx(stats.chi2.sf(9.488, 4), rel=1e-4)


def test_two_readings_a_millimetre_apart_are_doubted_from_calipers_that_repeat() -> None:
    (flag,) = doubts(_bars("12.34", "13.34"), instruments=[BENCH])
    assert (flag.kind, flag.rows) == ("spread", (2, 3))
    assert flag.ways == ((2,), (3,))
    assert "1.000 mm apart" in flag.text
    assert _kinds(_bars("12.34", "12.38")) == []


def test_two_groups_under_one_name_are_doubted_and_named_places_are_not() -> None:
    shown = ("96.10", "96.11", "96.09", "95.80", "95.81", "95.79")
    (flag,) = doubts(_bars(*shown), instruments=[BENCH])
    assert flag.kind == "groups"
    assert "3 near 95.800 mm and 3 near 96.100 mm" in flag.text
    assert set(flag.ways) == {(2, 3, 4), (5, 6, 7)}
    assert _kinds(_bars(*shown, place=("mid",) * 3 + ("bed",) * 3)) == []


def test_readings_at_one_place_have_no_form_to_explain_them() -> None:
    shown = ("20.00", "20.08")
    assert _kinds(_bars(*shown)) == []
    assert _kinds(_bars(*shown, place=("mid", "mid"))) == ["spread"]
    assert _kinds(_bars(*shown, form="0 mm")) == ["spread"]
    assert _kinds(_bars("20.00", "20.30", form="0.2 mm")) == []


def test_one_reading_of_three_that_stands_out_is_named_and_loses_weight() -> None:
    table = _bars("17.44", "17.93", "17.42")
    (flag,) = doubts(table, instruments=[BENCH])
    assert (flag.kind, flag.rows) == ("outlier", (3,))
    one = estimate(table, "bar", instruments=[BENCH])
    assert one.value_mm == pytest.approx(17.43, abs=0.04)
    assert _kinds(table.keep(3, "seen twice")) == []
    assert estimate(table.keep(3, "seen twice"), "bar").value_mm == pytest.approx(52.79 / 3)
    assert _kinds(table.leave_out(3, "slipped")) == []


def test_one_reading_among_many_is_held_against_the_median() -> None:
    shown = ["20.00", "20.01"] * 40 + ["20.15"]
    (flag,) = doubts(_bars(*shown), instruments=[BENCH])
    assert (flag.kind, flag.rows) == ("outlier", (82,))


def _simulated(rng: np.random.Generator, n: int, features: int, slip_mm: float) -> ReadingTable:
    """Readings of an object with form, through calipers and their display; the first slipped."""
    true = rng.uniform(10, 90, (features, 1))
    shown = true + rng.normal(0, FORM_MM, (features, n)) + rng.normal(0, 0.015, (features, n))
    shown[:, 0] += slip_mm * rng.choice([-1.0, 1.0], features)
    return ReadingTable.of(
        (
            {"feature": f"f{at}", "reading": f"{size:.2f}", "instrument": "bench"}
            for at, row in enumerate(shown)
            for size in row
        ),
        unit="mm",
    )


def _share(n: int, features: int, slip_mm: float, seed: int) -> float:
    table = _simulated(np.random.default_rng(seed), n, features, slip_mm)
    flags = doubts(table, instruments=[BENCH])
    return len({flag.feature for flag in flags}) / features


@pytest.mark.parametrize("n", [2, 3, 5])
def test_false_alarms_are_rare_and_a_slip_is_caught(n: int) -> None:
    assert _share(n, 600, 0.0, 11) <= 0.02  # 0.01 and three standard errors of the count
    if n > 2:
        assert _share(n, 300, 0.2, 12) >= 0.95


@pytest.mark.slow
@pytest.mark.parametrize("n", [2, 3, 4, 5, 6, 10])
def test_false_alarms_stay_below_one_in_a_hundred(n: int) -> None:
    assert _share(n, 10_000, 0.0, 1) <= 0.01
    if n > 2:
        assert _share(n, 10_000, 0.2, 2) >= 0.95
        assert _share(n, 10_000, 0.5, 3) >= 0.999


def test_an_empty_table_and_a_single_reading_are_not_doubted() -> None:
    assert spread_flags(_bars("20.00")) == ()
    assert spread_flags(ReadingTable.of([])) == ()
