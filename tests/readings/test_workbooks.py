"""What a workbook shows otherwise than it holds is said in a plain sentence and not counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.styles import Font

from fitkit.readings import ReadingTable

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

HEAD = ["feature", "reading", "unit"]


def _book(tmp_path: Path, change: Callable[[Any], None], *rows: list[Any]) -> ReadingTable:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(HEAD)
    for row in rows or (["lid", 10.0, "mm"], ["lid", 99.0, "mm"], ["lid", 10.02, "mm"]):
        sheet.append(row)
    change(sheet)
    book.save(tmp_path / "bench.xlsx")
    return ReadingTable.read(tmp_path / "bench.xlsx")


def test_a_hidden_row_does_not_count_and_is_named(tmp_path):
    def hide(sheet):
        sheet.row_dimensions[3].hidden = True

    table = _book(tmp_path, hide)
    assert table.counted["value_mm"].tolist() == [10.0, 10.02]
    assert table.rejected["row"].tolist() == [3]
    assert "hidden in the workbook" in table.rejected["rejected"].iloc[0]


def test_a_hidden_row_of_a_table_with_repeats_in_a_row_does_not_count(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (["feature", "1 (mm)", "2 (mm)"], ["lid", 10.0, 10.1], ["rim", 5.0, 5.1]):
        sheet.append(row)
    sheet.row_dimensions[2].hidden = True
    book.save(tmp_path / "bench.xlsx")
    table = ReadingTable.read(tmp_path / "bench.xlsx")
    assert table.features() == ("rim",)
    assert len(table.rejected) == 2


def test_a_struck_through_reading_does_not_count(tmp_path):
    def strike(sheet):
        sheet["B3"].font = Font(strike=True)

    table = _book(tmp_path, strike)
    assert table.counted["value_mm"].tolist() == [10.0, 10.02]
    assert "struck through" in table.rejected["rejected"].iloc[0]


def test_a_merged_name_is_that_of_all_its_rows(tmp_path):
    def merge(sheet):
        sheet.merge_cells("A2:A4")

    table = _book(tmp_path, merge)
    assert table.counted["feature"].tolist() == ["lid"] * 3
    assert any("merged: 'lid' is taken for rows 2 to 4" in note for note in table.notes)


def test_a_merged_reading_is_read_once(tmp_path):
    def merge(sheet):
        sheet.merge_cells("B2:B3")

    table = _book(tmp_path, merge)
    assert table.counted["value_mm"].tolist() == [10.0, 10.02]
    assert any("merged over rows 2 to 3" in note for note in table.notes)


@pytest.mark.parametrize(
    ("form", "value", "counts", "says"),
    [
        ("0.00%", 0.1234, [], "12.34%"),
        ('0.00" in"', 1.25, [31.75], ""),
        ("0.00", 1.25, [1.25], ""),
        ("#,##0.00", 12.5, [12.5], ""),
        (r"0.00\ \i\n", 1.25, [31.75], ""),
        (r"0.00\"", 1.25, [31.75], ""),
        (r'0.000\ "mm"', 1.25, [1.25], ""),
        ("0.0##", 12.343, [12.343], ""),
        ("0.0,", 12500.0, [], "'thousand' is not a unit"),
        (r"#,##0.00\ [$€-407]", 12.5, [], "12.50 €"),
        (r"_-* #,##0.00\ _€_-;-* #,##0.00\ _€_-", 12.5, [12.5], ""),
    ],
)
def test_a_cell_is_read_as_it_is_shown(tmp_path, form, value, counts, says):
    def shape(sheet):
        sheet["B2"].number_format = form

    table = _book(tmp_path, shape, ["lid", value, "mm"])
    assert table.counted["value_mm"].tolist() == counts
    assert says in "".join(table.rejected["rejected"])


def test_a_formula_without_a_result_is_refused_and_named(tmp_path):
    table = _book(tmp_path, lambda _: None, ["lid", "=10+2", "mm"], ["lid", 12.01, "mm"])
    assert table.counted["value_mm"].tolist() == [12.01]
    assert "B2 is a formula whose result is not stored" in table.rejected["rejected"].iloc[0]


def test_a_formula_with_its_result_is_told(tmp_path):
    import zipfile

    _book(tmp_path, lambda _: None, ["lid", 12.0, "mm"])
    with zipfile.ZipFile(tmp_path / "bench.xlsx") as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    parts[sheet] = parts[sheet].replace(b"<v>12</v>", b"<f>AVERAGE(D2:F2)</f><v>12.343333333</v>")
    with zipfile.ZipFile(tmp_path / "bench.xlsx", "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    table = ReadingTable.read(tmp_path / "bench.xlsx")
    assert table.counted["value_mm"].tolist() == [12.343333333]
    assert any("B2 are results of formulas" in note for note in table.notes)


def test_other_sheets_are_named_and_the_one_with_the_header_is_read(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "notes"
    book.active.append(["measured at the bench"])
    for name in ("case", "lid"):
        sheet = book.create_sheet(name)
        sheet.append(HEAD)
        sheet.append([name, 10.0, "mm"])
    book.save(tmp_path / "bench.xlsx")
    table = ReadingTable.read(tmp_path / "bench.xlsx")
    assert table.features() == ("case",)
    said = "only sheet 'case' is read, not sheets 'notes', 'lid'; 'lid' has such a table too"
    assert said in table.notes


def test_a_hidden_column_is_told(tmp_path):
    def hide(sheet):
        sheet.column_dimensions["C"].hidden = True

    assert any("column C is hidden" in note for note in _book(tmp_path, hide).notes)
