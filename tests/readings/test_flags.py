"""Slips between inch and mm, and trends."""

from __future__ import annotations

import pytest

from fitkit.readings import ReadingTable
from fitkit.readings.flags import has_trend, unit_slips


def _table(*readings: str, **columns: str) -> ReadingTable:
    return ReadingTable.of([{"feature": "f", "reading": r, **columns} for r in readings], unit="mm")


def test_a_display_flipped_to_inch_is_flagged_and_not_converted() -> None:
    table = _table("31.75", "31.78", "1.2500", "31.76")
    (flag,) = (flag for flag in table.flags if flag.kind == "unit slip")
    assert flag.rows == (4,)
    assert flag.text.startswith("fits its repeats if read as inch: 31.75 mm")
    assert len(table.counted) == 4
    assert table.frame["value_mm"].iloc[2] == 1.25
    # Once the maker says so:
    mended = table.set_unit(4, "in")
    assert mended.frame["value_mm"].iloc[2] == 31.75
    assert not mended.flags


def test_a_display_flipped_to_mm_in_an_inch_table_is_flagged() -> None:
    rows = [{"feature": "f", "reading": r, "unit": "in"} for r in ("1.250", "31.75", "1.251")]
    (flag,) = ReadingTable.of(rows).flags
    assert flag.rows == (3,)
    assert "if read as mm: 31.75 mm" in flag.text


def test_equal_sizes_and_plain_outliers_are_no_slips() -> None:
    import numpy as np

    assert unit_slips(np.array([31.75, 31.78, 35.0])) == []
    assert unit_slips(np.array([31.75])) == []
    assert [at for at, _ in unit_slips(np.array([31.75, 1.25]))] == [0, 1]


def test_each_repeat_smaller_than_the_last_is_a_trend() -> None:
    (flag,) = _table("12.10", "11.96", "11.83").flags
    assert flag.kind == "trend"
    assert "light touch and read again" in flag.text


@pytest.mark.parametrize(
    "shown",
    [[12.10, 11.96], [12.10, 11.96, 12.01], [12.00, 12.01, 12.02], [12.0, 12.0, 12.0, 12.0]],
)
def test_what_chance_or_the_last_digit_explains_is_no_trend(shown: list[float]) -> None:
    import numpy as np

    assert not has_trend(np.array(shown))


def test_a_reading_kept_in_one_file_leaves_the_same_row_of_another_doubted() -> None:
    from fitkit.stats.doubts import doubts

    sizes = ("17.44", "17.93", "17.42")
    kept = [{"feature": "lid", "reading": size, "unit": "mm", "kept": "right"} for size in sizes]
    open_ = [{"feature": "rim", "reading": size, "unit": "mm"} for size in sizes]
    both = ReadingTable.joined([ReadingTable.of(kept), ReadingTable.of(open_)])
    assert [(flag.feature, flag.kind) for flag in doubts(both)] == [("rim", "outlier")]


def test_a_slip_of_the_unit_in_one_file_hides_no_spread_in_the_same_rows_of_another() -> None:
    from fitkit.stats.doubts import doubts

    slip = [{"feature": "lid", "reading": r, "unit": "mm"} for r in ("25.40", "1.000", "25.41")]
    wide = [{"feature": "rim", "reading": r, "unit": "mm"} for r in ("17.44", "17.93", "17.42")]
    both = ReadingTable.joined([ReadingTable.of(slip), ReadingTable.of(wide)])
    assert {(flag.feature, flag.kind) for flag in doubts(both)} == {
        ("lid", "unit slip"),
        ("rim", "outlier"),
    }


def test_names_that_differ_in_signs_that_nobody_sees_are_pointed_out() -> None:
    names = ("lid", "\ufefflid", "lid\u200b", "lid.", "bar 2.5", "bar 25")
    rows = [{"feature": name, "reading": "12.34", "unit": "mm"} for name in names]
    (flag,) = ReadingTable.of(rows).flags
    assert flag.kind == "spelling"
    assert flag.rows == (2, 3, 4, 5)
