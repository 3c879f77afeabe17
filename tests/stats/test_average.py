"""From readings to estimates: every correction in its row, few readings told honestly."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import StatsError
from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import Estimate, estimate, estimates
from fitkit.stats.average import Expansion
from tests.strategies import repeats

PLAIN = Instrument(name="c", resolution_mm=0.01, mpe_mm=0.03)
ZEROED = Instrument(
    name="c",
    resolution_mm=0.01,
    mpe_mm=0.03,
    zero_error_mm=-0.02,
    zero_u_mm=0.005,
    inside_face_mm=0.8,
    inside_face_tol_mm=0.1,
    repeatability_mm=0.015,
    repeatability_df=40,
)


def _table(feature: str = "f", *readings: float | str, **columns: str) -> ReadingTable:
    return ReadingTable.of(
        [{"feature": feature, "reading": str(r), "instrument": "c", **columns} for r in readings],
        unit="mm",
    )


def _one(*readings: float | str, instrument: Instrument = PLAIN, **columns: str) -> Estimate:
    return estimate(_table("f", *readings, **columns), "f", instruments=[instrument])


def test_one_reading_has_resolution_and_limit_of_error_only_and_says_so() -> None:
    one = _one(9.98)
    assert one.u_mm == pytest.approx(math.hypot(0.01 / math.sqrt(12), 0.03 / math.sqrt(3)))
    assert one.u_mm == pytest.approx(0.0176, abs=5e-5)
    assert any("holds no repeatability" in note for note in one.notes)


def test_two_readings_take_students_t_with_one_degree_of_freedom() -> None:
    bare = Instrument(name="c", resolution_mm=1e-9, mpe_mm=0.0)
    one = _one(10.02, 10.10, instrument=bare)
    assert one.value_mm == pytest.approx(10.06)
    assert one.u_mm == pytest.approx(0.04)
    assert one.df == pytest.approx(1.0)
    assert one.k95 == pytest.approx(12.7, abs=0.01)
    assert any("2 readings" in note for note in one.notes)


def test_a_pooled_repeatability_is_used_when_asked_for_and_named() -> None:
    table = _table("f", 10.02, 10.10)
    one = estimate(table, "f", instruments=[ZEROED], repeatability="pooled")
    row = next(row for row in one.budget if "pooled" in row.name)
    assert row.u == pytest.approx(0.015 / math.sqrt(2))
    assert row.df == 40
    assert "pooled repeatability of c" in row.source.basis
    with pytest.raises(StatsError, match="no pooled repeatability"):
        estimate(table, "f", instruments=[PLAIN], repeatability="pooled")


def test_the_zero_error_is_taken_off_in_its_own_row() -> None:
    one = _one(25.43, instrument=ZEROED)
    assert one.value_mm == pytest.approx(25.45)
    row = next(row for row in one.budget if row.name == "c: zero error")
    assert (row.value, row.u, row.sensitivity) == (-0.02, 0.005, -1.0)
    assert any("zero check has no date" in note for note in one.notes)
    assert any("no zero check" in note for note in _one(25.43).notes)


def test_a_zero_check_older_than_the_readings_is_said() -> None:
    import datetime as dt
    from dataclasses import replace

    old = replace(ZEROED, zero_checked=dt.date(2026, 3, 2))
    late = _one(25.43, instrument=old, taken_at="2026-03-09T10:00")
    assert any("zero checked 2026-03-02, readings of 2026-03-09" in note for note in late.notes)
    soon = _one(25.43, instrument=old, taken_at="2026-03-02T10:00")
    assert not any("zero checked" in note for note in soon.notes)


def test_a_round_hole_read_with_flat_jaws_is_corrected_with_the_jaws_uncertainty() -> None:
    columns = {"mode": "inside", "round": "yes"}
    one = _one(2.87, instrument=ZEROED, **columns)
    shown = 2.89
    assert one.value_mm == pytest.approx(math.hypot(shown, 0.8))
    assert one.value_mm - shown > 0.1  # it matters: more than three limits of error
    row = next(row for row in one.budget if row.name == "c: jaw width")
    assert row.contribution_mm == pytest.approx(0.8 / one.value_mm * 0.1 / math.sqrt(3))
    assert any("check it with a pin" in note for note in one.notes)
    slot = _one(2.87, instrument=ZEROED, mode="inside", round="no")
    assert slot.value_mm == pytest.approx(shown)
    unsaid = _one(2.87, instrument=ZEROED, mode="inside")
    assert any("not said whether it is round" in note for note in unsaid.notes)


def test_an_outlier_has_little_weight_until_it_is_decided_on_and_both_values_are_shown() -> None:
    table = _table("bar", 17.42, 17.44, 17.43, 17.41, 17.93)
    one = estimate(table, "bar", instruments=[PLAIN])
    # Huber's weight is 1.5 s / 0.5 mm; s of usual repeats, form and step: √(2 · 0.02² + 0.01²/12).
    weight = 1.5 * math.sqrt(2 * 0.02**2 + 0.01**2 / 12) / 0.5
    assert one.value_mm == pytest.approx((4 * 17.425 + weight * 17.93) / (4 + weight))
    assert one.U95_mm > 0.1  # it is not sold as well known meanwhile
    kept = estimate(table.keep(6, "read three times"), "bar", instruments=[PLAIN])
    assert kept.value_mm == pytest.approx(17.526)
    assert not any("stands out" in note for note in kept.notes)
    assert any("17.526 mm with it, 17.425 mm without it" in note for note in one.notes)
    fewer = estimate(table.leave_out(6, "mistyped"), "bar", instruments=[PLAIN])
    assert fewer.value_mm == pytest.approx(17.425)
    assert any("row 6 (17.930 mm) left out by decision: mistyped" in n for n in fewer.notes)
    assert any("17.526 mm with every reading" in n for n in fewer.notes)


def test_drifting_repeats_are_not_shown_as_well_known() -> None:
    drifting = _one(12.10, 11.96, 11.83)
    scattered = _one(11.96, 12.10, 11.83)
    assert drifting.u_mm > 1.5 * scattered.u_mm
    assert any("light touch" in note for note in drifting.notes)


def test_places_are_kept_apart_and_the_middle_is_used_unless_told() -> None:
    places = {"mid": (20.05, 20.06, 20.05), "seam": (20.31, 20.30), "bed": (20.38, 20.37)}
    table = ReadingTable.of(
        [
            {"feature": "bar", "reading": str(r), "place": place, "instrument": "c"}
            for place, readings in places.items()
            for r in readings
        ],
        unit="mm",
    )
    one = estimate(table, "bar", instruments=[PLAIN])
    assert one.value_mm == pytest.approx(20.0533, abs=1e-4)
    assert any("places differ by more than the readings in each" in n for n in one.notes)
    bed = estimate(table, "bar", instruments=[PLAIN], place="bed")
    assert bed.value_mm == pytest.approx(20.375)


def test_a_warm_part_is_brought_to_20_degrees_with_uncertainty() -> None:
    plastic = Expansion(material="PETG", per_k=9e-5, u_per_k=1e-5)
    table = _table("bar", 100.0, temperature="45 °C")
    one = estimate(table, "bar", instruments=[PLAIN], expansion=plastic)
    assert 100 - one.value_mm == pytest.approx(0.225, abs=0.001)
    rows = {row.name: row for row in one.budget}
    # 25 K times 1e-5 per K times 100 mm, and 1 K times 9e-5 per K times 100 mm.
    assert abs(rows["PETG: expansion per K"].contribution_mm) == pytest.approx(0.025, rel=0.01)
    assert abs(rows["bar: temperature"].contribution_mm) == pytest.approx(0.009, rel=0.01)
    unsaid = estimate(_table("bar", 100.0), "bar", instruments=[PLAIN], expansion=plastic)
    assert any("let the part cool" in note for note in unsaid.notes)
    assert unsaid.value_mm == 100.0


def test_a_fraction_display_resolves_a_64th_whatever_the_instrument_does() -> None:
    row = next(r for r in _one("1 3/16 in").budget if r.name == "f: resolution")
    assert row.u == pytest.approx(25.4 / 64 / math.sqrt(12))


def test_an_instrument_that_nobody_described_counts_as_usual_calipers_and_that_is_said() -> None:
    """u² = 0.02² + 0.01²/12 + 0.03²/3, with u⁴ / (0.02⁴/5) degrees of freedom (GUM G.4.1).

    Worked by hand: u = 0.026615 mm, 15.68 degrees of freedom.
    """
    for instruments in (None, [ZEROED]):
        one = estimate(_table("f", "10.00", instrument="loft"), "f", instruments=instruments)
        assert one.value_mm == 10.0
        assert one.u_mm == pytest.approx(0.026615, abs=1e-6)
        assert one.df == pytest.approx(15.68, abs=0.01)
        assert (
            "instrument 'loft' is not described: usual calipers are assumed (step 0.01 mm, limit "
            "of error ± 0.03 mm, no zero error)" in one.notes
        )
        assert any("usual spread of calipers (0.020 mm)" in note for note in one.notes)


def test_usual_calipers_take_the_tables_other_repeats_into_their_spread() -> None:
    """Five degrees of freedom at 0.02 mm and two at 0.04: (5 · 0.0004 + 2 · 0.0016) / 7."""
    rows = [{"feature": "f", "reading": "10.00"}]
    rows += [{"feature": "g", "reading": reading} for reading in ("5.00", "5.04", "5.08")]
    one = estimates(ReadingTable.of(rows, unit="mm"))["f"]
    row = next(row for row in one.budget if row.name == "f: repeatability, pooled")
    assert (row.u, row.df) == pytest.approx((math.sqrt(0.0052 / 7), 7))


def test_usual_calipers_that_showed_a_coarser_step_count_it() -> None:
    one = estimate(_table("f", "10.5", "10.6"), "f")
    row = next(row for row in one.budget if row.name == "f: resolution")
    assert row.u == pytest.approx(0.1 / math.sqrt(12))


def test_an_instruments_name_counts_without_case_and_blanks_and_a_near_one_is_suggested() -> None:
    bench = Instrument(name="bench calipers", resolution_mm=0.01, mpe_mm=0.03, zero_error_mm=-0.02)
    spelt = [
        {"feature": name, "reading": "10.00 mm", "instrument": instrument}
        for name, instrument in (("a", "Bench  Calipers"), ("b", "benchcalipers "))
    ]
    found = estimates(ReadingTable.of(spelt), instruments=[bench])
    assert [one.value_mm for one in found.values()] == pytest.approx([10.02, 10.02])
    # One zero error, whatever the spelling: it cancels in the difference.
    difference = found["a"] - found["b"]
    zero = next(row for row in difference.budget if row.name == "bench calipers: zero error")
    assert zero.sensitivity == pytest.approx(0.0, abs=1e-12)
    near = estimate(_table("f", 10.0, instrument="bench caliper"), "f", instruments=[bench])
    assert any(note.endswith("did you mean 'bench calipers'?") for note in near.notes)
    assert near.value_mm == 10.0


def test_two_modes_under_one_name_are_refused() -> None:
    table = ReadingTable.of(
        [{"feature": "f", "reading": "3 mm", "mode": mode} for mode in ("inside", "outside")]
    )
    with pytest.raises(StatsError, match="differ in mode: 'inside', 'outside'"):
        estimates(table)
    with pytest.raises(StatsError, match="no reading of 'g'"):
        estimate(table, "g")


@settings(max_examples=30, deadline=None)
@given(shown=repeats(), seed=st.integers(0, 99))
def test_order_of_readings_does_not_matter(shown: list[float], seed: int) -> None:
    shuffled = list(np.random.default_rng(seed).permutation(shown))
    one, other = (_one(*(f"{x:.2f}" for x in xs)) for xs in (shown, shuffled))
    assert one.value_mm == pytest.approx(other.value_mm, rel=1e-12)
    # A trend is a doubt about the order itself.
    if not any("light touch" in note for note in (*one.notes, *other.notes)):
        assert one.u_mm == pytest.approx(other.u_mm, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(shown=repeats())
def test_the_unit_leaves_relative_results_alone(shown: list[float]) -> None:
    bare = Instrument(name="c", resolution_mm=1e-9, mpe_mm=0.0)
    kept = {"kept": "what is doubted depends on the size in mm"}
    mm = _one(*(f"{x:.2f} mm" for x in shown), instrument=bare, **kept)
    inch = _one(*(f"{x:.2f} in" for x in shown), instrument=bare, **kept)
    assert inch.value_mm == pytest.approx(25.4 * mm.value_mm, rel=1e-12)
    if "light touch" not in str((mm.notes, inch.notes)):
        assert inch.u_mm == pytest.approx(25.4 * mm.u_mm, rel=1e-6, abs=1e-7)


@settings(max_examples=20, deadline=None)
@given(shown=repeats())
def test_dropping_a_budget_row_never_makes_u_larger_and_rows_add_up(shown: list[float]) -> None:
    one = _one(*(f"{x:.2f}" for x in shown), instrument=ZEROED, mode="inside", round="yes")
    assert sum(row.contribution_mm**2 for row in one.budget) == pytest.approx(one.u_mm**2)
    for row in one.budget:
        rest = one.without(row.name)
        assert rest.u_mm <= one.u_mm * (1 + 1e-12)
        assert rest.u_mm == pytest.approx(
            math.sqrt(max(one.u_mm**2 - row.contribution_mm**2, 0)), abs=1e-9
        )


def test_two_spellings_of_an_instrument_that_nobody_described_share_its_error() -> None:
    def U95(*names: str) -> float:
        rows = [
            {"feature": "lid", "reading": size, "unit": "mm", "instrument": name}
            for size, name in zip(("12.34", "12.36", "12.35"), names, strict=True)
        ]
        return estimate(ReadingTable.of(rows), "lid").U95_mm

    alike = U95("bench", "Bench", "b ench")
    assert alike == pytest.approx(U95("bench", "bench", "bench"))
    assert alike > 1.2 * U95("bench", "loft", "hall")
