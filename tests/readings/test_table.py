"""Readings tables: files, pasted blocks, rejected rows, decisions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import FaultList, ReadingError
from fitkit.readings import ReadingTable
from tests.strategies import reading_rows

if TYPE_CHECKING:
    from pathlib import Path


def _file(folder: Path, content: str | bytes, name: str = "readings.csv") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_a_comma_decimal_spreadsheet_with_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = _file(tmp_path, b"\xef\xbb\xbffeature;reading\r\nA;12,34\r\nB;12.40\r\n")
    table = ReadingTable.read(path, unit="mm")
    assert list(table.frame["value_mm"]) == [12.34, 12.40]
    assert list(table.frame["feature"]) == ["A", "B"]
    assert table.frame["remark"].iloc[1] == "point in a comma table"
    assert any(flag.text == "point in a comma table" for flag in table.flags)


def test_one_comma_among_points_does_not_turn_the_sign_of_the_whole_table() -> None:
    rows = [{"feature": "bar", "reading": text} for text in ("46.00", "46.02", "4,6,0x", "46,01")]
    table = ReadingTable.of(rows, unit="mm")
    assert table.decimal is None
    assert table.frame["value_mm"].dropna().tolist() == [46.0, 46.02, 46.01]
    assert set(table.frame["remark"]) == {""}
    assert ReadingTable.of(rows[1:2] + rows[3:], unit="mm").decimal == ","  # as many: a comma table


def test_comma_decimals_in_a_comma_file_are_refused_with_the_row(tmp_path: Path) -> None:
    path = _file(tmp_path, "feature,reading\nA,12,34\nB,12,40\n")
    with pytest.raises(FaultList, match="row 2 has 3 fields, header has 2") as caught:
        ReadingTable.read(path, unit="mm")
    assert len(caught.value.faults) == 2
    assert "use semicolons" in str(caught.value)


@pytest.mark.parametrize(
    "cell", ["16-Mar", "16. Mrz", "Mar-16", "2026-03-16", "2026-03-16 00:00:00", "16.03.2026"]
)
def test_a_date_is_kept_as_a_rejected_row_that_asks_what_was_typed(cell: str) -> None:
    table = ReadingTable.of([{"feature": "slot", "reading": cell}], unit="in")
    assert len(table.frame) == 1
    assert "a date; did you type 3/16?" in table.rejected["rejected"].iloc[0]
    assert cell in str(table.faults()[0])


def test_a_date_typed_cell_of_a_workbook_is_a_rejected_row(tmp_path: Path) -> None:
    import datetime

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["feature", "reading"])
    sheet.append(["slot", datetime.datetime(2026, 3, 16)])
    sheet.append(["bar", 12.5])
    sheet["B3"].number_format = "0.00"
    book.save(tmp_path / "r.xlsx")
    table = ReadingTable.read(tmp_path / "r.xlsx", unit="mm")
    assert "did you type 3/16?" in table.rejected["rejected"].iloc[0]
    assert table.accepted["reading"].iloc[0] == "12.50"


def test_names_of_features_are_text_kept_letter_by_letter(tmp_path: Path) -> None:
    names = ["NA", "null", "007", "1E5", "TRUE", "None"]
    path = _file(tmp_path, "feature,reading\n" + "".join(f"{name},1.5\n" for name in names))
    table = ReadingTable.read(path, unit="mm")
    assert list(table.features()) == names
    for ending in ("csv", "tsv", "xlsx"):
        again = ReadingTable.read(table.write(tmp_path / f"again.{ending}"))
        assert list(again.features()) == names


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_encodings_and_separators_give_the_same_table(
    tmp_path: Path, encoding: str, separator: str
) -> None:
    lines = [["feature", "reading", "unit"], ["Brücke", "12.34", "mm"], ["fuß", "1.5", "in"]]
    text = "\r\n".join(separator.join(line) for line in lines)
    table = ReadingTable.read(_file(tmp_path, text.encode(encoding)))
    assert list(table.features()) == ["Brücke", "fuß"]
    assert table.frame["value_mm"].tolist() == [12.34, 38.1]


def test_a_unit_is_never_guessed() -> None:
    table = ReadingTable.of([{"feature": "bar", "reading": "12.34"}])
    assert "has no unit" in table.rejected["rejected"].iloc[0]
    assert table.features() == ()


def test_a_unit_in_the_header_declares_it(tmp_path: Path) -> None:
    table = ReadingTable.read(_file(tmp_path, "feature,reading [in]\nbar,1.5\n"))
    assert table.frame["value_mm"].tolist() == [38.1]


def test_faults_of_a_row_are_named_in_plain_words() -> None:
    table = ReadingTable.of(
        [
            {"feature": "", "reading": "3 mm"},
            {"feature": "bar", "reading": "-3 mm"},
            {"feature": "bar", "reading": "3 mm", "mode": "sideways"},
            {"feature": "step", "reading": "-0.3 mm", "mode": "step"},
            {"feature": "bar", "reading": "3 mm", "taken_at": "yesterday"},
            {"feature": "bar", "reading": "3 mm", "zeroed": "x"},
        ]
    )
    reasons = table.frame["rejected"].tolist()
    assert reasons[0] == "the feature has no name"
    assert reasons[1] == "the size is not above zero"
    assert reasons[2] == "mode 'sideways' is none of outside, inside, depth, step"
    assert reasons[3] == ""
    assert reasons[4] == ""  # the reading is right, whatever stands for its day
    assert "taken_at 'yesterday' is not a date" in table.frame["remark"].iloc[4]
    assert reasons[5].startswith("zeroed: ")


def test_a_wide_block_becomes_a_row_a_reading() -> None:
    table = ReadingTable.paste(
        "feature\tmode\t1\t2\t3\nlength\toutside\t68.52\t68.54\t\nhole\tinside\t3,2\t3,21\t3,19",
        unit="mm",
    )
    assert table.frame.groupby("feature").size().to_dict() == {"length": 2, "hole": 3}
    assert set(table.frame["mode"]) == {"outside", "inside"}
    assert table.frame["row"].is_unique


def test_a_long_block_and_a_block_without_header_are_read() -> None:
    long = ReadingTable.paste("feature,reading,unit\nbar,1.5,in\nbar,1.51,in")
    assert long.frame["value_mm"].tolist() == [38.1, 38.354]
    plain = ReadingTable.paste("board length   68.52   68.54\nboard width   53.40", unit="mm")
    assert plain.features() == ("board length", "board width")
    assert len(plain.frame) == 3


@pytest.mark.parametrize("content", ["", "\n\n", "name,colour\nA,1\n", "feature,note\nA,b\n"])
def test_a_file_without_readings_says_what_it_lacks(tmp_path: Path, content: str) -> None:
    with pytest.raises(ReadingError, match=r"readings\.csv"):
        ReadingTable.read(_file(tmp_path, content), unit="mm")


def test_a_missing_file_and_a_false_workbook_are_told_plainly(tmp_path: Path) -> None:
    with pytest.raises(ReadingError, match="cannot be read"):
        ReadingTable.read(tmp_path / "none.csv")
    with pytest.raises(ReadingError, match=r"not a \.xlsx"):
        ReadingTable.read(_file(tmp_path, "feature,reading", "r.xlsx"))


def test_a_reading_is_left_out_only_with_a_reason_that_the_file_keeps(tmp_path: Path) -> None:
    table = ReadingTable.of(
        [{"feature": "bar", "reading": f"{size} mm"} for size in (17.42, 17.44, 17.93)]
    )
    with pytest.raises(ReadingError, match="without a reason"):
        table.leave_out(4, " ")
    with pytest.raises(ReadingError, match="no such row"):
        table.leave_out(9, "typo")
    fewer = table.leave_out(4, "mistyped: 17.43 on the photo")
    assert len(table.counted) == 3
    assert len(fewer.counted) == 2
    assert len(fewer.accepted) == 3
    again = ReadingTable.read(fewer.write(tmp_path / "r.csv"))
    assert again.frame["left_out"].tolist() == ["", "", "mistyped: 17.43 on the photo"]
    assert len(again.take_back(4).counted) == 3


def test_a_table_with_a_declared_decimal_comma_reads_back_on_its_own(tmp_path: Path) -> None:
    table = ReadingTable.of([{"feature": "a", "reading": "1,234"}], unit="mm", decimal=",")
    again = ReadingTable.read(table.write(tmp_path / "r.csv"))
    assert again.frame["value_mm"].tolist() == [1.234]


@settings(max_examples=20, deadline=None)
@given(rows=reading_rows())
def test_writing_and_reading_loses_nothing(
    rows: list[dict[str, str]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    table = ReadingTable.of(rows, unit="mm")
    folder = tmp_path_factory.mktemp("round")
    for ending in ("csv", "tsv", "xlsx"):
        again = ReadingTable.read(table.write(folder / f"r.{ending}"))
        for column in ("feature", "reading", "mode", "note", "shelf"):
            assert again.frame[column].tolist() == table.frame[column].tolist(), column
        assert again.frame["value_mm"].tolist() == pytest.approx(
            table.frame["value_mm"].tolist(), nan_ok=True
        )
        assert (again.frame["rejected"] == "").tolist() == (table.frame["rejected"] == "").tolist()


def test_the_table_is_drawn_with_its_text_escaped() -> None:
    table = ReadingTable.of([{"feature": "<b>bar</b>", "reading": "3/16"}])
    html = table._repr_html_()
    assert "<caption" in html
    assert "<b>" not in html
    assert "rejected: &#x27;3/16&#x27; has no unit" in html
    assert "1 rejected" in repr(table)


def test_joined_tables_keep_every_row_and_leave_foreign_columns_empty():
    one = ReadingTable.of([{"item": "a", "feature": "x", "reading": "1.20 mm", "place": "top"}])
    two = ReadingTable.of([{"item": "b ", "feature": "y", "reading": "3.4 mm", "box": "7"}])
    both = ReadingTable.joined([one, two])
    assert both.features() == ("x", "y")
    assert both.frame["value_mm"].tolist() == [1.2, 3.4]
    assert both.frame["place"].tolist() == ["top", ""]
    assert both.frame["box"].tolist() == ["", "7"]
    assert both.counted["feature"].tolist() == ["x", "y"]
    assert both.of_item("B").features() == ("y",)
    assert both.of_item("c").features() == ()
    assert ReadingTable.joined([one]) is one


SIGNS = st.sampled_from([",", ";", "\t"])


@st.composite
def typed_files(draw: st.DrawFn) -> bytes:
    """Draw a file as people leave it: signs, units, torn rows and rows that cannot be read."""
    sign = draw(SIGNS)
    comma = "," if sign != "," and draw(st.booleans()) else "."
    header = draw(st.sampled_from(["reading", "reading [mm]", "reading (in)"]))
    good = st.decimals("1", "99", places=2).map(lambda size: str(size).replace(".", comma))
    odd = st.sampled_from(
        ["1.234", "16-Mar", "", "about 3", "119.0", "3/16 in", "-0.02", "=1+1", "12"]
    )
    units = st.sampled_from(["mm", "", "in", "Mm"])
    lines = [["feature", header, "mode", "unit", "note"]]
    for _ in range(draw(st.integers(1, 8))):
        cells = [
            draw(st.sampled_from(["bar", "hole", "007"])),
            draw(st.one_of(good, odd)),
            draw(st.sampled_from(["outside", "inside", "step"])),
            draw(units),
            draw(st.sampled_from(["", "+new", "@here", "-", "'=kept"])),
        ]
        lines.append(cells[: draw(st.sampled_from([5, 5, 5, 2, 3]))])
    return "\n".join(sign.join(line) for line in lines).encode()


@settings(max_examples=60, deadline=None)
@given(content=typed_files())
def test_what_was_refused_stays_refused_and_every_text_stays_as_typed(
    content: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("again")
    table = ReadingTable.read(_file(folder, content))
    for ending in ("csv", "tsv", "xlsx"):
        again = ReadingTable.read(table.write(folder / f"again.{ending}"))
        for column in ("feature", "reading", "mode", "unit", "note", "rejected"):
            assert again.frame[column].tolist() == table.frame[column].tolist(), column
        assert again.frame["value_mm"].tolist() == pytest.approx(
            table.frame["value_mm"].tolist(), nan_ok=True
        )


def test_a_comma_table_is_written_with_its_commas(tmp_path: Path) -> None:
    path = _file(tmp_path, "feature;reading;unit\nbar;12,34;mm\nbar;12,36;mm\nbar;1.234;mm\n")
    table = ReadingTable.read(path)
    assert [bool(reason) for reason in table.frame["rejected"]] == [False, False, True]
    written = table.write(tmp_path / "again.csv")
    assert '"12,34"' in written.read_text()
    assert "reading [decimal comma]" in written.read_text().splitlines()[0]
    again = ReadingTable.read(written)
    assert again.frame["reading"].tolist() == ["12,34", "12,36", "1.234"]
    assert [bool(reason) for reason in again.frame["rejected"]] == [False, False, True]


def test_a_torn_row_is_rejected_even_where_a_unit_is_declared(tmp_path: Path) -> None:
    path = _file(tmp_path, "feature,mode,reading,unit\ncell,outside,14.23,mm\ncell,outside,14.2")
    table = ReadingTable.read(path, unit="mm")
    assert table.counted["row"].tolist() == [2]
    assert "shorter than the header" in table.rejected["rejected"].iloc[0]


def test_cells_that_begin_like_a_formula_are_written_harmlessly(tmp_path: Path) -> None:
    rows = [{"feature": "=HYPERLINK(1)", "reading": "-0.02 mm", "mode": "step", "note": "@x"}]
    written = ReadingTable.of(rows).write(tmp_path / "r.csv")
    assert "'=HYPERLINK(1)" in written.read_text()
    assert ",-0.02 mm," in written.read_text()
    again = ReadingTable.read(written)
    assert again.frame[["feature", "note"]].to_numpy().tolist() == [["=HYPERLINK(1)", "@x"]]


def test_control_characters_never_raise_and_never_reach_a_file(tmp_path: Path) -> None:
    table = ReadingTable.of([{"feature": "a\0b\x1b]0;x\x07", "reading": "3 mm"}])
    for ending in ("csv", "tsv", "xlsx"):
        again = ReadingTable.read(table.write(tmp_path / f"r.{ending}"))
        assert again.features() == ("a\ufffdb\ufffd]0;x\ufffd",)


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("# written by hand\nfeature,reading\nbar,12.34\n", [12.34]),
        ("sep=;\nfeature;reading\nbar;12,34\n", [12.34]),
        ("Bench, Monday\n\nfeature;mode;readings\nbar;outside;12.34\n", [12.34]),
        ("feature,M1 (mm),M2 (mm)\nbar,12.34,12.36\n", [12.34, 12.36]),
        ("feature,reading 1 (mm),reading 2 (mm)\nbar,12.34,12.36\n", [12.34, 12.36]),
        ("feature,1 (mm),2 (in)\nbar,25.41,1\n", [25.41, 25.4]),
        ("feature,reading in mm\nbar,12.34\n", [12.34]),
        ("feature,value,units\nbar,12.34,mm\n", [12.34]),
        ("#,bar,hole (mm)\n1,12.34,3.21\n2,12.36,3.20\n", [12.34, 12.36, 3.21, 3.20]),
        ("feature,reading\nbar,12.34\nfeature,reading\nbar,12.36\n", [12.34, 12.36]),
        ("feature,1,2,average\nbar,12.34,12.36,12.35\n", [12.34, 12.36]),
    ],
)
def test_common_tables_get_in(tmp_path: Path, text: str, sizes: list[float]) -> None:
    table = ReadingTable.read(_file(tmp_path, text), unit="mm")
    assert table.frame["rejected"].tolist() == [""] * len(sizes)
    assert table.frame["value_mm"].tolist() == pytest.approx(sizes)


@pytest.mark.parametrize(
    "line",
    [
        "board length: 12.34 12.36",
        "board length 12.34 12.36",
        "board length, 12.34, 12.36",
        "board length; 12,34; 12,36",
        "board length:12.34, 12.36",
        "board length\t12.34\t12.36",
    ],
)
def test_a_pasted_line_is_a_feature_and_its_repeats(line: str) -> None:
    table = ReadingTable.paste(line, unit="mm")
    assert table.features() == ("board length",)
    assert table.frame["value_mm"].tolist() == [12.34, 12.36]


def test_a_number_in_a_pasted_name_stays_in_the_name() -> None:
    table = ReadingTable.paste("bar x 20 20.05 20.06", unit="mm")
    assert table.features() == ("bar x 20",)
    assert table.frame["value_mm"].tolist() == [20.05, 20.06]


def test_an_average_that_is_not_that_of_its_row_is_told(tmp_path: Path) -> None:
    text = "feature,1,2,average\nbar,12.34,12.36,12.53\n"
    table = ReadingTable.read(_file(tmp_path, text), unit="mm")
    assert any("12.53 is not that of its readings" in note for note in table.notes)


def test_a_header_that_clashes_with_the_units_below_is_told(tmp_path: Path) -> None:
    table = ReadingTable.read(_file(tmp_path, "feature,reading [inch],unit\nbar,12.34,mm\n"))
    assert table.frame["value_mm"].tolist() == [12.34]
    assert any("the header says in, but some rows say mm" in note for note in table.notes)
