"""Readings entered twice, dates as spreadsheets write them, and what no instrument shows."""

from __future__ import annotations

import pytest

from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import estimates
from fitkit.stats.doubts import doubts


def _table(*rows: tuple[str, str], **columns: str) -> ReadingTable:
    return ReadingTable.of(
        [{"feature": "bar", "reading": size, "taken_at": when} | columns for size, when in rows],
        unit="mm",
    )


BLOCK = (
    ("20.01", "2026-03-02T10:05"),
    ("20.03", "2026-03-02T10:05"),
    ("20.02", "2026-03-02T10:06"),
)


def test_a_block_pasted_twice_counts_once_until_it_is_decided() -> None:
    once, twice = _table(*BLOCK), _table(*BLOCK, *BLOCK)
    assert len(twice.counted) == 3
    (flag,) = (flag for flag in twice.flags if flag.kind == "double entry")
    assert flag.rows == (5, 6, 7)
    assert estimates(twice)["bar"].U95_mm == pytest.approx(estimates(once)["bar"].U95_mm)
    kept = twice.keep(5, "read again").keep(6, "read again").keep(7, "read again")
    assert len(kept.counted) == 6
    assert not [flag for flag in kept.flags if flag.kind == "double entry"]


def test_equal_readings_within_a_minute_are_no_copies_and_within_a_second_they_are() -> None:
    assert len(_table(*[("20.01", "2026-03-02T10:05")] * 2).counted) == 2
    assert len(_table(*[("20.01", "2026-03-02T10:05:07")] * 2).counted) == 1
    assert len(_table(("20.01", ""), ("20.01", "")).counted) == 2


@pytest.mark.parametrize(
    "when", ["04.03.2026 05:06", "2026-03-04", "16/03/2026", "2026-03-04 05:06:07"]
)
def test_a_date_that_a_spreadsheet_made_is_taken(when: str) -> None:
    assert _table(("20.01", when)).frame["remark"].tolist() == [""]


@pytest.mark.parametrize("when", ["2026-13-45", "soon", "03/04/2026"])
def test_a_date_that_cannot_be_read_is_a_remark_and_the_reading_counts(when: str) -> None:
    table = _table(("20.01", when))
    assert len(table.counted) == 1
    assert "is not a date that fitkit can read" in table.frame["remark"].iloc[0]


def test_what_the_instrument_cannot_show_is_flagged_and_spoils_no_other_reading() -> None:
    bench = Instrument(
        name="bench", resolution_mm=0.01, mpe_mm=0.03, repeatability_mm=0.015, repeatability_df=9
    )
    rows = [
        {"feature": name, "reading": size, "instrument": "bench"}
        for name, size in (("long", "1234.5"), ("inch", "1.2505"), ("edge", "12.05"))
    ]
    table = ReadingTable.of(rows, unit="mm")
    found = {flag.feature: flag.text for flag in doubts(table, instruments=[bench])}
    assert "beyond the 150 mm" in found["long"]
    assert "more decimals than the display shows" in found["inch"]
    assert "edge" not in found
    assert estimates(table, instruments=[bench])["edge"].U95_mm < 0.1


def test_the_number_of_a_day_in_inches_is_refused() -> None:
    table = ReadingTable.of([{"feature": "slot", "reading": "46150", "unit": "in"}])
    assert "number of a day" in table.rejected["rejected"].iloc[0]


def test_of_two_halves_in_mm_and_inch_neither_is_said_to_be_the_wrong_one() -> None:
    table = _table(("25.40", ""), ("1.000", ""), ("25.41", ""), ("1.001", ""))
    (slip,) = [flag for flag in table.flags if flag.kind == "unit slip"]
    assert slip.rows == (2, 3, 4, 5)
    assert slip.ways == ((3, 5), (2, 4))
    assert slip.text.startswith("row 2, 4 reads 25.4 times what row 3, 5 reads")
