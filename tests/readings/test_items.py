"""A feature belongs to its item: two things with a feature of one name are never averaged."""

from __future__ import annotations

import pytest

from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.readings.items import shared_names
from fitkit.stats import estimates
from fitkit.stats.doubts import doubts


def _table(*rows: tuple[str, str, str]) -> ReadingTable:
    return ReadingTable.of(
        [{"item": item, "feature": name, "reading": size} for item, name, size in rows], unit="mm"
    )


BOARDS = _table(
    ("board A", "length", "68.00"),
    ("board A", "length", "68.02"),
    ("board B", "length", "52.00"),
    ("board B", "length", "52.02"),
)


def test_two_items_with_a_feature_of_one_name_are_refused_and_each_alone_is_not() -> None:
    with pytest.raises(ReadingError, match="'length' was read on several items: board A, board B"):
        estimates(BOARDS)
    found = estimates(BOARDS.of_item("Board b"), whole=BOARDS)
    assert found["length"].value_mm == pytest.approx(52.01)


def test_a_row_that_names_no_item_is_no_repeat_of_one_that_does() -> None:
    table = _table(("", "length", "58.02"), ("other board", "length", "90.00"))
    assert shared_names(table) == {"length": ("", "other board")}
    with pytest.raises(ReadingError, match="rows that name no item"):
        estimates(table)


def test_items_that_share_no_feature_stand_in_one_table_and_spellings_of_an_item_are_one() -> None:
    table = _table(
        ("bolt", "shank", "8.00"), ("Board", "length", "9.00"), ("board ", "length", "9.01")
    )
    assert shared_names(table) == {}
    assert set(estimates(table)) == {"shank", "length"}


def test_doubts_are_found_within_each_item() -> None:
    assert not [flag for flag in doubts(BOARDS) if flag.kind != "remark"]


def test_near_spellings_of_one_feature_are_pointed_out() -> None:
    names = ("Board length", "board length", "board_length", "board width")
    table = _table(*(("a", name, "68.00") for name in names))
    (flag,) = (flag for flag in table.flags if flag.kind == "spelling")
    assert flag.rows == (2, 3, 4)
    assert "look like one feature, but count as 3" in flag.text
