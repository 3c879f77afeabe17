"""What closed jaws showed is the zero check, wherever it is typed, and never a size."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import estimates

if TYPE_CHECKING:
    from pathlib import Path

BENCH = Instrument(
    name="bench", resolution_mm=0.01, mpe_mm=0.0, repeatability_mm=0.01, repeatability_df=30
)
ROWS = [
    {"feature": "board length", "reading": "68.00", "instrument": "bench"},
    {"feature": "board length", "reading": "68.02", "instrument": "bench"},
]


def _closed(*readings: str, name: str = "closed jaws", **more: str) -> ReadingTable:
    rows = [{"feature": name, "reading": one, "instrument": "bench"} | more for one in readings]
    return ReadingTable.of([*rows, *ROWS], unit="mm", name="board.csv")


@pytest.mark.parametrize("name", ["closed jaws", "Jaws closed", "zero", "ZERO CHECK", "zero_error"])
@pytest.mark.parametrize("mode", ["outside", "inside", "step"])
def test_closed_jaws_are_the_zero_of_the_readings_beside_them(name: str, mode: str) -> None:
    table = _closed("-0.02", "-0.02", name=name, mode=mode)
    assert not len(table.rejected)
    assert table.features() == ("board length",)
    assert list(table.zero_checks["value_mm"]) == [-0.02, -0.02]
    found = estimates(table, instruments=[BENCH])
    assert list(found) == ["board length"]
    # Closed jaws show 0.02 mm too little, so the board is 68.01 + 0.02 mm long.
    assert found["board length"].value_mm == pytest.approx(68.03)


def test_the_zero_of_calipers_that_nobody_described_is_taken_too() -> None:
    found = estimates(_closed("0.03"))["board length"]
    assert found.value_mm == pytest.approx(67.98)
    assert any("zero as shown here" in note for note in found.notes)


def test_a_check_that_names_no_instrument_is_of_the_only_one_there_is() -> None:
    table = _closed("0.05", instrument="")
    assert estimates(table, instruments=[BENCH])["board length"].value_mm == pytest.approx(67.96)


def test_a_check_among_the_readings_counts_before_that_of_the_file() -> None:
    old = replace(BENCH, zero_error_mm=0.10, zero_u_mm=0.005)
    assert estimates(_closed("0.00"), instruments=[old])["board length"].value_mm == pytest.approx(
        68.01
    )


def test_a_check_stays_with_every_item_and_is_no_item_of_its_own() -> None:
    rows = [
        {"item": "calipers", "feature": "zero", "reading": "0.02", "instrument": "bench"},
        *({"item": "board", **row} for row in ROWS),
    ]
    table = ReadingTable.of(rows, unit="mm")
    assert table.items() == ("board",)
    one = table.of_item("board")
    assert estimates(one, instruments=[BENCH])["board length"].value_mm == pytest.approx(67.99)


def test_a_check_that_was_left_out_does_not_count() -> None:
    table = _closed("0.50", left_out="dirt on the jaws")
    assert estimates(table, instruments=[BENCH])["board length"].value_mm == pytest.approx(68.01)


def test_a_size_that_is_called_zero_stays_a_size() -> None:
    assert _closed("12.00", name="zero").features() == ("zero", "board length")


def test_closed_jaws_survive_saving(tmp_path: Path) -> None:
    table = _closed("-0.02")
    again = ReadingTable.read(table.write(tmp_path / "x.csv"))
    assert list(again.zero_checks["value_mm"]) == [-0.02]
    assert not len(again.rejected)
