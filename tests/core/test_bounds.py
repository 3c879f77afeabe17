"""Bounds on what a file may ask for: digits, letters, columns, cells, nesting, messages."""

import zipfile

import openpyxl
import pytest

from fitkit.core.errors import FitkitError, InputError, ReadingError, UnitError
from fitkit.core.models import load_toml
from fitkit.core.tables import MAX_CELLS, MAX_STRINGS, harmless, read_table
from fitkit.core.units import parse_length, unit_name
from fitkit.readings import ReadingTable


@pytest.mark.parametrize("digits", [31, 320, 5_000])
def test_a_stuck_key_is_refused_with_its_row_and_the_file_stays_readable(tmp_path, digits):
    path = tmp_path / "r.csv"
    path.write_text(f"feature,reading,unit\nlen,{'6' * digits},mm\nlen,12.3,mm\n")
    table = ReadingTable.read(path)
    assert table.counted["value_mm"].tolist() == [12.3]
    (fault,) = table.faults()
    assert "row 2" in str(fault)
    assert "at most" in str(fault)
    assert len(str(fault)) < 300


def test_thirty_digits_are_still_a_length():
    assert parse_length("0." + "1" * 30 + " mm").value_mm == pytest.approx(1 / 9)


def test_a_text_that_is_no_length_costs_no_time_and_is_not_quoted_whole():
    with pytest.raises(UnitError) as refused:
        parse_length("1" + " " * 30_000 + "x")
    assert len(str(refused.value)) < 300
    with pytest.raises(UnitError) as refused:
        unit_name("x" * 100_000)
    assert len(str(refused.value)) < 300


def test_a_message_that_quotes_a_whole_file_keeps_its_two_ends():
    error = FitkitError("begin " + "x" * 100_000 + " end", remedy="y" * 100_000)
    assert len(str(error)) < 2_500
    assert error.what.startswith("begin xxx")
    assert error.what.endswith("xxx end")
    assert "letters left out" in error.what


def test_as_many_columns_as_a_spreadsheet_has_are_read(tmp_path):
    path = tmp_path / "wide.csv"
    own = [f"own {n}" for n in range(16_380)]
    head = ",".join(["feature", "mode", "reading", "unit", *own])
    path.write_text(f"{head}\nlen,outside,12.3,mm{',x' * len(own)}\n")
    table = ReadingTable.read(path)
    assert table.frame["own 16379"].tolist() == ["x"]
    assert table.counted["value_mm"].tolist() == [12.3]


def workbook(path, *, far=None):
    book = openpyxl.Workbook()
    book.active.append(["feature", "reading", "unit", "", ""])
    book.active.append(["len", "12.3", "mm"])
    if far:
        book.active[far] = "stray"
    book.save(path)
    return path


def test_a_stray_cell_in_the_last_corner_is_told(tmp_path):
    with pytest.raises(ReadingError, match="Delete the stray cells far from the table"):
        read_table(workbook(tmp_path / "far.xlsx", far="XFD1048576"))


def test_a_workbook_of_many_cells_is_refused_and_text_is_offered(tmp_path):
    path = tmp_path / "large.xlsx"
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    for _ in range(MAX_CELLS // 3 + 1):
        sheet.append(["len", 12.34, "mm"])
    book.save(path)
    with pytest.raises(ReadingError, match="save it as CSV") as caught:
        read_table(path)
    assert caught.value.code == "table.too-large"


def test_a_workbook_of_much_text_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.xlsx"
    strings = "xl/sharedStrings.xml"
    small = zipfile.ZipFile(workbook(tmp_path / "small.xlsx"))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in small.namelist():
            if name != strings:
                archive.writestr(name, small.read(name))
        archive.writestr(strings, b" " * (MAX_STRINGS + 1))
    with pytest.raises(ReadingError, match="more than 6 MB of text") as caught:
        read_table(path)
    assert caught.value.code == "table.too-large"


def test_a_workbooks_rows_are_as_wide_as_its_head(tmp_path):
    table = read_table(workbook(tmp_path / "r.xlsx"))
    assert table.rows == [(1, ["feature", "reading", "unit"]), (2, ["len", "12.3", "mm"])]
    table = read_table(workbook(tmp_path / "r.xlsx", far="H2"))
    assert table.rows[1] == (2, ["len", "12.3", "mm", "", "", "", "", "stray"])


def test_a_nul_in_a_sheet_is_told_with_its_key(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('[outputs]\nfolder = "a\\u0000b"\n')
    with pytest.raises(InputError, match=r"outputs\.folder.*NUL character"):
        load_toml(path, kind_of_file="part sheet")


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t=", "\r="])
def test_no_cell_of_a_report_is_a_formula(sign):
    cell = f"{sign}cmd|' /C calc'!A0"
    assert harmless(cell) == f"'{cell}"
    assert harmless("-0.05") == "-0.05"
