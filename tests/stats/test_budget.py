"""What a reader of an estimate sees: each row of its budget with its basis, and each note, whole.

One pair of calipers, worked by hand: limit of error ±0.03 mm, of whose variance 0.36 is common to
all readings; closed jaws show -0.02 mm, known to 0.004 mm; inside jaws 0.8 ± 0.06 mm wide.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace

import pytest

from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import Estimate, estimate, estimates
from fitkit.stats.average import Expansion

CALIPERS = Instrument(
    name="c",
    resolution_mm=0.01,
    mpe_mm=0.03,
    mpe_shared=0.36,
    zero_error_mm=-0.02,
    zero_u_mm=0.004,
    zero_checked=dt.date(2026, 3, 2),
    inside_face_mm=0.8,
    inside_face_tol_mm=0.06,
    repeatability_mm=0.015,
    repeatability_df=40,
    basis="maker's sheet",
    range_mm=300.0,
)
RULE = Instrument(name="rule", resolution_mm=0.5, mpe_mm=0.1, mpe_shared=1.0)
PETG = Expansion(material="PETG", per_k=6e-5, u_per_k=5e-6, basis="data sheet")

LIMIT_U = 0.03 / math.sqrt(3)
COMMON = ("c: limit of error, common", "B", "rectangular", "limit of error ±0.03 mm, maker's sheet")
PLACE = ("bar: limit of error, this place", *COMMON[1:])
ZERO = (
    "c: zero error", "B", "normal", "closed jaws showed -0.02 mm, checked 2026-03-02: +0.020 mm",
)  # fmt: skip
STEP = ("bar: resolution", "B", "rectangular", "step of 0.01 mm")
ALONE = (
    "one reading only: its spread is taken from the history of c (0.015 mm); "
    "read it again, for a slip would not show"
)
UNKNOWN = "one reading only: the uncertainty holds no repeatability and is too small; read it again"
TWO = "2 readings: their spread is itself little known; the factor allows for it"
EQUAL = "all repeats are equal: the spread is hidden below the resolution"
PIN = "round hole under 5 mm: check it with a pin or a drill shank"


def table(*readings: str | dict[str, str], **columns: str) -> ReadingTable:
    rows = [r if isinstance(r, dict) else {"reading": r} for r in readings]
    return ReadingTable.of(
        [{"feature": "bar", "instrument": "c"} | columns | row for row in rows], unit="mm"
    )


def read(*readings: str | dict[str, str], **columns: str) -> Estimate:
    return estimate(table(*readings, **columns), "bar", instruments=[CALIPERS, RULE])


def words(one: Estimate) -> set[tuple[str, str, str, str]]:
    return {(r.name, r.source.type, r.source.distribution, r.source.basis) for r in one.budget}


def test_four_readings_rest_on_five_inputs() -> None:
    one = read("20.01", "20.03", "20.02", "20.04")
    assert one.value_mm == pytest.approx(20.025 + 0.02)
    spread = math.sqrt((0.015**2 + 0.005**2 + 0.005**2 + 0.015**2) / 3)
    rows = {row.name: row for row in one.budget}
    assert words(one) == {
        COMMON, PLACE, ZERO, STEP,
        ("bar: repeatability", "A", "student t", "4 readings, one 0.013 mm"),
    }  # fmt: skip
    expected = {
        COMMON[0]: (0.0, 0.6 * LIMIT_U, math.inf, 1.0),
        PLACE[0]: (0.0, 0.8 * LIMIT_U, math.inf, 1.0),
        ZERO[0]: (-0.02, 0.004, math.inf, -1.0),
        STEP[0]: (0.0, 0.01 / math.sqrt(12), math.inf, 1.0),
        "bar: repeatability": (20.025, spread / 2, 3, 1.0),
    }
    for name, numbers in expected.items():
        row = rows[name]
        assert (row.value, row.u, row.df, row.sensitivity) == pytest.approx(numbers)
    assert one.notes == ()


def test_one_reading_takes_the_spread_of_the_instruments_history() -> None:
    one = read("20.01")
    basis = "one reading; history of c, 0.015 mm"
    repeats = ("bar: repeatability, pooled", "A", "student t", basis)
    assert words(one) == {COMMON, PLACE, ZERO, STEP, repeats}
    row = next(row for row in one.budget if row.name == repeats[0])
    assert (row.value, row.u, row.df, row.sensitivity) == (20.01, 0.015, 40, 1.0)
    assert one.notes == (ALONE,)


def test_without_a_history_it_takes_that_of_the_tables_other_repeats() -> None:
    """Spreads 0.0141 (1 df) and 0.02 (2 df) pool to sqrt((0.0002 + 0.0008) / 3)."""
    lone = {"feature": "lone", "reading": "5.00"}
    peg = [{"feature": "peg", "reading": reading} for reading in ("8.00", "8.02", "8.04")]
    slip = [{"feature": "s", "reading": reading} for reading in ("9.00", "9.01", "9.00", "9.70")]
    other = [{"feature": "o", "reading": r, "instrument": "rule"} for r in ("30.0", "31.5")]
    rows = table("20.01", "20.03", lone, *peg, *slip, *other)
    plain = replace(CALIPERS, repeatability_mm=None, repeatability_df=0)
    one = estimates(rows, instruments=[plain, RULE])["lone"]
    row = next(row for row in one.budget if row.name == "lone: repeatability, pooled")
    assert (row.u, row.df) == pytest.approx((math.sqrt(0.001 / 3), 3))
    assert row.source.basis == "one reading; other repeats of the table, 0.018 mm"
    assert "taken from the other repeats of the table (0.018 mm)" in one.notes[0]
    alone = estimate(rows, "lone", instruments=[plain, RULE])
    assert (alone.u_mm, alone.notes) == (one.u_mm, one.notes)


def test_one_reading_that_nothing_else_speaks_for_says_that_it_is_too_sure() -> None:
    plain = replace(CALIPERS, repeatability_mm=None, repeatability_df=0)
    equal = [{"feature": "peg", "reading": "8.00"}] * 3
    for rows in (table("20.01"), table("20.01", *equal)):
        one = estimate(rows, "bar", instruments=[plain])
        assert words(one) == {COMMON, PLACE, ZERO, STEP}
        # An exact input shows in no budget, but it is among the inputs.
        source = one.sources["bar: reading"]
        assert (source.type, source.distribution) == ("A", "exact")
        assert source.basis == "one reading: spread unknown"
        assert one.notes == (UNKNOWN,)


def test_repeats_that_agree_to_the_last_digit_and_three_that_do_not() -> None:
    assert read("20.01", "20.01").notes == (EQUAL,)
    # 2.94 less a zero error of -0.02 is not the same thrice to the last bit.
    assert read("2.94", "2.94", "2.94").notes == (EQUAL,)
    assert math.isinf(read("2.94", "2.94", "2.94").df)
    assert read("20.01", "20.03").notes == (TWO,)
    assert read("20.01", "20.03", "20.02").notes == (TWO.replace("2", "3", 1),)
    assert read("20.01", "20.03", "20.02", "20.02").notes == ()


def test_repeats_that_drift_count_as_one() -> None:
    one = read("20.10", "19.96", "19.83")
    row = next(row for row in one.budget if row.name == "bar: repeatability")
    spread = math.sqrt(((20.10 - 19.963333) ** 2 + 0.003333**2 + (19.83 - 19.963333) ** 2) / 2)
    assert row.u == pytest.approx(spread, abs=1e-6)
    assert (
        row.source.basis == "3 readings, one 0.135 mm; they drift, so their number does not count"
    )
    assert any("light touch" in note for note in one.notes)


def test_the_history_stands_in_for_the_spread() -> None:
    one = estimate(table("20.01", "20.03"), "bar", instruments=[CALIPERS], repeatability="pooled")
    row = next(row for row in one.budget if "repeatability" in row.name)
    assert (row.name, row.source.type, row.source.distribution, row.source.basis) == (
        "bar: repeatability, pooled", "A", "student t",
        "pooled repeatability of c, one reading 0.015 mm",
    )  # fmt: skip
    assert (row.value, row.u, row.df) == pytest.approx((20.02, 0.015 / math.sqrt(2), 40))
    assert one.notes == ("repeatability is the history's of c, not these readings'",)


def test_two_instruments_share_a_mean_by_their_readings() -> None:
    one = read("20.01", {"reading": "20", "instrument": "rule"}, "20.02", "20.04")
    assert one.value_mm == pytest.approx(20.0175 + 0.75 * 0.02)
    rows = {row.name: row for row in one.budget}
    assert rows["c: zero error"].sensitivity == pytest.approx(-0.75)
    assert rows["c: limit of error, common"].sensitivity == pytest.approx(0.75)
    assert rows["rule: limit of error, common"].sensitivity == pytest.approx(0.25)
    assert rows["rule: limit of error, common"].u == pytest.approx(0.1 / math.sqrt(3))
    # All of the rule's error is common, so it has no row of its own; the name tells them apart.
    assert rows["bar: limit of error, this place, c"].u == pytest.approx(0.75 * 0.8 * LIMIT_U)
    assert "bar: limit of error, this place, rule" not in one.sources
    assert rows["rule: limit of error, common"].source.basis == "limit of error ±0.1 mm"
    assert rows["bar: resolution"].source.basis == "step of 0.5 mm"  # the coarser one counts
    assert one.notes == ("rule: no zero check; close the jaws and write down what they show",)


def test_the_spread_of_two_instruments_is_that_of_corrected_readings() -> None:
    """20.00 less -0.02 and 20.02 less nothing are the same size."""
    one = read("20.00", {"reading": "20.02", "instrument": "rule"})
    assert EQUAL in one.notes


@pytest.mark.parametrize(
    ("columns", "note"),
    [
        ({"instrument": "e"},
         "instrument 'e' is not described: usual calipers are assumed (step 0.01 mm, limit of "
         "error ± 0.03 mm, no zero error)"),
        ({"instrument": ""},
         "no instrument is named: usual calipers are assumed (step 0.01 mm, limit of error "
         "± 0.03 mm, no zero error)"),
        ({"instrument": "rule"},
         "rule: no zero check; close the jaws and write down what they show"),
        ({"zeroed": "3.2"}, "zeroed on the feature: no zero correction"),
        ({"temperature": "30 °C"},
         "a temperature was given, but no coefficient of expansion: not brought to 20 °C"),
        ({"taken_at": "2026-03-04T08:00"},
         "c: zero checked 2026-03-02, readings of 2026-03-04 are younger"),
        ({"mode": "inside"}, "not said whether it is round: no correction for flat jaws"),
        ({"mode": "inside", "round": "yes", "instrument": "rule"},
         "round, but no correction for flat jaws: width of the inside jaws not given"),
        ({"mode": "inside", "round": "yes", "zeroed": "3.2"},
         "round, but no correction for flat jaws: zeroed on the feature"),
        ({"mode": "inside", "between": "bar", "instrument": "rule"},
         "between round holes, but no correction for flat jaws: width of the inside jaws not "
         "given"),
    ],
)  # fmt: skip
def test_what_was_not_corrected_is_said(columns: dict[str, str], note: str) -> None:
    assert note in read("20.01", "20.03", **columns).notes


def test_a_zero_check_without_a_date_counts_and_says_so() -> None:
    undated = replace(CALIPERS, zero_checked=None, zero_u_mm=None)
    one = estimate(table("20.01"), "bar", instruments={"c": undated})
    row = next(row for row in one.budget if row.name == "c: zero error")
    assert row.source.basis == (
        "closed jaws showed -0.02 mm, date of the check not given: +0.020 mm"
    )
    # Its uncertainty is that of one more reading on the same display.
    assert row.u == pytest.approx(0.01 / math.sqrt(12))
    assert one.notes == (ALONE, "c: the zero check has no date")


@pytest.mark.parametrize(
    "checked",
    [
        {"zero_checked": dt.date(2026, 3, 2)},
        {"zero_u_mm": 0.004},
        {"zero_error_mm": 0.01},
    ],
)
def test_any_sign_of_a_zero_check_makes_its_row(checked: dict[str, object]) -> None:
    bare = Instrument(name="c", resolution_mm=0.01, mpe_mm=0.03)
    plain = estimate(table("20.01"), "bar", instruments=[bare])
    assert not any("zero" in row.name for row in plain.budget)
    one = estimate(table("20.01"), "bar", instruments=[replace(bare, **checked)])  # type: ignore[arg-type]
    assert any(row.name == "c: zero error" for row in one.budget)


def test_readings_of_the_day_of_the_check_are_not_younger() -> None:
    for taken in ("2026-03-02T23:59", "2026-03-01T08:00", ""):
        assert read("20.01", "20.03", taken_at=taken).notes == (TWO,)
    mixed = read(
        {"reading": "20.01", "taken_at": ""}, {"reading": "20.03", "taken_at": "2026-03-03"}
    )
    assert mixed.notes[-1].endswith("readings of 2026-03-03 are younger")


def test_a_display_zeroed_for_some_readings_has_its_zero_in_the_others() -> None:
    one = read({"reading": "20.01", "zeroed": "3.2"}, {"reading": "20.03"})
    row = next(row for row in one.budget if row.name == "c: zero error")
    assert row.sensitivity == pytest.approx(-0.5)
    assert one.value_mm == pytest.approx(20.02 + 0.01)


def test_the_coarsest_of_the_steps_counts_and_unknown_instruments_step_as_typed() -> None:
    def step(*readings: str | dict[str, str], **columns: str) -> str:
        one = read(*readings, **columns)
        return next(row.source.basis for row in one.budget if row.name == "bar: resolution")

    assert step("20.1") == "step of 0.01 mm"  # a spreadsheet may have dropped the nought
    assert step("20.1", "20.15", instrument="") == "step of 0.01 mm"
    assert step("20.1", instrument="") == "step of 0.1 mm"
    assert step("1 3/16 in") == "step of 0.3969 mm"
    assert step("1 3/16 in", instrument="rule") == "step of 0.5 mm"


def test_flat_jaws_lengthen_a_chord_by_their_width() -> None:
    one = read("5.78", mode="inside", round="yes")
    assert one.value_mm == pytest.approx(math.hypot(5.80, 0.8))
    row = next(row for row in one.budget if row.name == "c: jaw width")
    assert (row.value, row.u) == pytest.approx((0.8, 0.06 / math.sqrt(3)))
    assert row.sensitivity == pytest.approx(0.8 / one.value_mm)
    assert (row.source.type, row.source.distribution) == ("B", "rectangular")
    assert row.source.basis == "width over the inside faces ±0.06 mm"
    assert one.notes == (ALONE, "flat jaws in a round hole: +0.055 mm")
    assert PIN in read("4.00", mode="inside", round="yes").notes
    slot = read("4.00", mode="inside", round="no")
    assert (slot.value_mm, slot.notes) == (pytest.approx(4.02), (ALONE,))
    mixed = read({"reading": "2.01"}, {"reading": "2", "instrument": "rule"},
                 mode="inside", round="yes")  # fmt: skip
    assert "round, but no correction for flat jaws: read with several instruments" in mixed.notes


def test_a_span_over_two_holes_says_how_the_jaws_may_have_lain() -> None:
    rows = [
        {
            "feature": "across",
            "reading": "61.15",
            "mode": "inside",
            "between": " tap  hole ;  tap hole ",
        },
        {"feature": "tap hole", "reading": "3.14", "mode": "inside", "round": "yes"},
    ]
    found = estimates(table(*rows), instruments=[CALIPERS])
    assert list(found) == ["across", "tap hole"]  # in the table's order, though holes come first
    one = found["across"]
    row = next(row for row in one.budget if row.name == "across: how the jaws lay")
    # A quarter to the whole of the square of the width, all alike likely: (1 - 1/4) / (2 sqrt 3).
    assert (row.value, row.u) == pytest.approx((0.625, 0.375 / math.sqrt(3)))
    assert (row.source.type, row.source.distribution, row.source.basis) == (
        "B", "rectangular", "swung to the largest reading, or along the line of centres",
    )  # fmt: skip
    # d - sqrt(d² - q w²), d the hole's diameter, halved twice: once for each of two like walls.
    d = found["tap hole"].value_mm
    assert one.value_mm - 61.17 == pytest.approx(d - math.sqrt(d**2 - 0.625 * 0.64))
    assert one.notes == (
        ALONE, "flat jaws in two round holes: +0.062 mm; swing the calipers to the largest reading",
    )  # fmt: skip
    assert "tap hole: resolution" in {row.name for row in one.budget}


@pytest.mark.parametrize(
    ("text", "celsius"), [("45 °C", 45.0), ("113 °F", 45.0), ("318.15 K", 45.0), ("-5,5 °C", -5.5)]
)
def test_a_warm_part_shrinks_to_20_degrees(text: str, celsius: float) -> None:
    warm = table("200.00", temperature=text)
    one = estimate(warm, "bar", instruments=[CALIPERS], expansion=PETG)
    size = 200.02 / (1 + 6e-5 * (celsius - 20))
    assert one.value_mm == pytest.approx(size)
    rows = {row.name: row for row in one.budget}
    rate, heat = rows["PETG: expansion per K"], rows["bar: temperature"]
    assert (rate.value, rate.u) == (6e-5, 5e-6)
    assert (rate.source.type, rate.source.distribution) == ("B", "normal")
    assert rate.source.basis == "data sheet"
    assert (heat.value, heat.u) == pytest.approx((celsius - 20, 1.0))
    assert (heat.source.type, heat.source.distribution) == ("B", "normal")
    assert heat.source.basis == "thermometer, u 1 K"
    assert one.notes[-1] == f"read at {celsius:g} °C: {size - 200.02:+.3f} mm to 20 °C"


def test_a_room_of_unknown_warmth_is_allowed_for() -> None:
    note = "temperature not given: let the part cool; ± 2 K is allowed for"
    half = table({"reading": "200", "temperature": "45 °C"}, {"reading": "200"})
    for readings in (table("200"), half):
        one = estimate(readings, "bar", instruments=[CALIPERS], expansion=replace(PETG, basis=""))
        heat = next(row for row in one.budget if row.name == "bar: temperature")
        assert (heat.value, heat.u) == pytest.approx((0.0, 2 / math.sqrt(3)))
        assert (heat.source.type, heat.source.distribution, heat.source.basis) == (
            "B", "rectangular", "not written down: 20 °C ± 2 K",
        )  # fmt: skip
        assert heat.contribution_mm == pytest.approx(-200.02 * 6e-5 * 2 / math.sqrt(3))
        assert one.value_mm == pytest.approx(200.02)
        assert one.notes[-1] == note
        assert one.sources["PETG: expansion per K"].basis == "PETG"


def test_a_part_read_in_a_mix_of_warmths_takes_the_mean() -> None:
    both = table(
        {"reading": "200", "temperature": "45 °C"}, {"reading": "200", "temperature": "40 °C"}
    )
    one = estimate(both, "bar", instruments=[CALIPERS], expansion=PETG)
    assert one.notes[-1].startswith("read at 42.5 °C")


BED = [{"reading": "20.01", "place": "bed"}, {"reading": "20.02", "place": "bed"}]
SEAM = [{"reading": "20.11", "place": "seam"}, {"reading": "20.12", "place": "seam"}]
MID = [{**row, "place": "mid"} for row in SEAM]
ALIKE = [{"reading": "20.01", "place": "mid"}, {"reading": "20.02", "place": "mid"}]


def test_places_that_differ_leave_the_middle_or_their_mean() -> None:
    means = "places differ by more than the readings in each: bed 20.015 mm, {} 20.115 mm "
    means += "(between 0.071 mm, within 0.007 mm)"
    middle = read(*BED, *MID)
    assert middle.value_mm == pytest.approx(20.135)
    assert middle.notes == (
        means.format("mid"),
        "the size is that at 'mid'",
        TWO,
        "mean 20.115 mm as shown; 20.065 mm with every reading",
    )
    # With three readings here and one there, the mean of places is not that of readings.
    both = read(*BED, {"reading": "20.01", "place": "bed"}, *SEAM)
    bed, seam = (20.01 + 20.02 + 20.01) / 3, 20.115
    assert both.value_mm == pytest.approx((bed + seam) / 2 + 0.02)
    row = next(row for row in both.budget if row.name == "bar: repeatability")
    assert row.u == pytest.approx((seam - bed) / 2)
    assert "no place is named 'mid': the size is the mean of the places" in both.notes


def test_places_that_agree_are_repeats_unless_one_is_asked_for() -> None:
    assert read(*BED, *ALIKE).notes == ()
    one = estimate(table(*BED, *ALIKE), "bar", instruments=[CALIPERS], place="bed")
    assert one.notes == (
        "the size is that at 'bed'", TWO, "mean 20.015 mm as shown; 20.015 mm with every reading",
    )  # fmt: skip
    single = estimate(table(*ALIKE), "bar", instruments=[CALIPERS], place="bed")
    # Read at one place only, there is nothing to choose from: it is taken, and said.
    assert single.notes == ("read at 'mid' only: taken for the size at 'bed'", TWO)
    assert estimate(table(*ALIKE), "bar", instruments=[CALIPERS], place="mid").notes == (TWO,)
    nowhere = estimate(table("20.01", "20.02"), "bar", instruments=[CALIPERS], place="bed")
    assert nowhere.notes[0] == "read without a place: taken for the size at 'bed'"


def test_a_reading_in_the_wrong_unit_is_not_called_outlying_as_well() -> None:
    one = read("31.75", "31.78", "1.2500", "31.76")
    assert [note for note in one.notes if "inch" in note]
    assert not [note for note in one.notes if "stands out" in note]
    assert [note for note in read("31.75", "31.78", "9.25", "31.76").notes if "stands out" in note]


def test_a_reading_left_out_and_one_with_a_stated_tolerance_are_said() -> None:
    one = estimate(
        table("20.01", "20.03 ± 0.02", "28.03").leave_out(4, "slipped"), "bar",
        instruments=[CALIPERS],
    )  # fmt: skip
    assert one.value_mm == pytest.approx(20.04)
    assert one.notes[:3] == (
        "row 4 (28.030 mm) left out by decision: slipped",
        TWO,
        "mean 20.020 mm as shown; 22.690 mm with every reading",
    )
    assert "a typed ± was not used, because its meaning is not known" in one.notes


def test_what_features_share_is_one_input() -> None:
    rows = [{"feature": name, "reading": size} for name, size in (("a", "60"), ("b", "20"))]
    found = estimates(table(*rows), instruments=[CALIPERS], expansion=PETG)
    off = found["a"] - found["b"]
    u = {row.name: abs(row.contribution_mm) for row in off.budget}
    assert u.get("c: zero error", 0.0) == pytest.approx(0.0, abs=1e-9)
    assert u.get("c: limit of error, common", 0.0) == pytest.approx(0.0, abs=1e-9)
    assert u["a: limit of error, this place"] == pytest.approx(0.8 * LIMIT_U)
    assert u["b: limit of error, this place"] == pytest.approx(0.8 * LIMIT_U)


def test_flags_of_a_feature_are_among_its_notes_and_no_others() -> None:
    drift = [{"feature": "soft", "reading": r} for r in ("20.10", "19.96", "19.83")]
    found = estimates(table(*drift, "20.01", "20.03"), instruments=[CALIPERS])
    assert "light touch" in found["soft"].notes[-1]
    assert found["bar"].notes == (TWO,)
