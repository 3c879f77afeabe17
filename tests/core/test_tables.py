"""One table in every file it may come in: encodings, separators, workbooks, and what is refused."""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile

import openpyxl
import pytest
from hypothesis import given, strategies as st

from fitkit.core.errors import JournalError, ReadingError, SheetError
from fitkit.core.tables import read_table, separator_of, table_text, text_rows
from fitkit.journal.spreadsheet import read_trials
from fitkit.make.many import _rows
from fitkit.readings.cells import read_cells

TEXT = 'feature;größe\nlid;12,5\n\n"a;b\nc";3/8"\n'
ROWS = [(1, ["feature", "größe"]), (2, ["lid", "12,5"]), (4, ["a;b\nc", '3/8"'])]


@pytest.mark.parametrize(
    ("encoding", "notes"),
    [
        ("utf-8", ()),
        ("utf-8-sig", ()),
        ("utf-16", ()),
        ("cp1252", ("read as Windows-1252, not as UTF-8",)),
    ],
)
@pytest.mark.parametrize("sign", [";", "\t", ","])
def test_a_table_reads_the_same_in_each_encoding_and_with_each_separator(
    encoding, notes, sign, tmp_path
):
    file = tmp_path / "table.csv"
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=sign).writerows([row for _, row in ROWS])
    file.write_bytes(stream.getvalue().encode(encoding))
    table = read_table(file)
    assert [row for _, row in table.rows] == [row for _, row in ROWS]
    assert (table.separator, table.notes) == (sign, notes)


def test_rows_keep_the_lines_on_which_they_begin(tmp_path):
    file = tmp_path / "table.csv"
    file.write_text(TEXT, encoding="utf-8")
    assert read_table(file).rows == ROWS


def test_a_workbook_gives_its_cells_as_they_are_shown(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["feature", "reading", "day"])
    book.active.append([None, None, None])
    book.active.append(["lid", 12.5, dt.datetime(2026, 11, 25)])
    book.active["B3"].number_format = "0.00"
    # Named wrongly it is read all the same: a workbook is told by its content.
    for name in ("table.xlsx", "table.csv"):
        book.save(tmp_path / "table.xlsx")
        (tmp_path / name).write_bytes((tmp_path / "table.xlsx").read_bytes())
        assert read_table(tmp_path / name).rows == [
            (1, ["feature", "reading", "day"]),
            (3, ["lid", "12.50", "2026-11-25"]),
        ]


def _zip(**members: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.csv", b'x,y\n1,2\n3,"4\n5,6\n',
         r"a.csv: Not a valid CSV file \(row 3\): the quote is not closed."),
        ("a.csv", b"x,y\n1,2\n\0,3\n", r"a.csv: Not a text table \(row 3\): it holds NUL"),
        ("a.csv", b"x\n" + b"9" * 140_000, r"Not a valid CSV file \(row 2\): a cell is too long"),
        ("a.csv", b"x\n" + b"1\n" * 60, r"a.csv: has more than 50 rows"),
        ("a.csv", b"x\n" * 110_000, r"cannot be read: it is larger than 0.2 MB"),
        ("a.xls", b"\xd0\xcf\x11\xe0" + b"\0" * 99, r"old .xls format. Save it as .xlsx"),
        ("a.xlsx", b"x,y\n1,2\n", r"a.xlsx: is not a .xlsx workbook"),
        ("a.xlsx", _zip(a=b"1"), r"a.xlsx: is not a .xlsx workbook"),
        ("a.xlsx", _zip(a=b"\0" * 60_000_000), r"unpacks to more than 20 MB"),
        ("a.csv", None, r"cannot be read: there is no such file. Check the name."),
    ],
)  # fmt: skip
@pytest.mark.parametrize("error", [ReadingError, SheetError, JournalError])
def test_what_cannot_be_a_table_is_refused_in_one_message(name, content, said, error, tmp_path):
    file = tmp_path / name
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(error, match=said):
        read_table(file, max_bytes=200_000, max_rows=50, error=error)


def test_text_after_a_closing_quote_is_kept_as_it_stands():
    assert text_rows('a,"b"c\n', ",") == [(1, ["a", "bc"])]


@given(
    st.lists(
        st.lists(
            st.text(st.characters(blacklist_characters="\0\r", codec="utf-8"), max_size=8),
            min_size=2,
            max_size=4,
        ),
        max_size=6,
    ),
    st.sampled_from("\t;,"),
)  # fmt: skip
def test_what_a_csv_writer_wrote_comes_back(rows, sign):
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=sign, quoting=csv.QUOTE_ALL).writerows(rows)
    kept = [row for row in rows if any(cell.strip() for cell in row)]
    assert [row for _, row in text_rows(stream.getvalue(), sign)] == kept


def test_the_sign_that_the_first_row_has_most_of_parts_the_cells():
    assert [separator_of(text) for text in ("a;b,c;d\n", "\n\na,b\n1;2;3", "a\tb", "a")] == [
        ";", ",", "\t", "\t",
    ]  # fmt: skip


@pytest.mark.parametrize("form", ["cp1252", "xlsx"])
def test_readings_variants_and_trials_read_windows_1252_and_workbooks_alike(form, tmp_path):
    tables = {
        "readings": [["feature", "reading", "remark"], ["lid", "12.5 mm", "Größe"]],
        "variants": [["title", "values.wall"], ["Größe 2", "2 mm"]],
        "trials": [["pair", "size", "gap", "verdict", "note"],
                   ["peg and hole", "8 mm", "0.2 mm", "as wanted", "Größe 2"]],
    }  # fmt: skip
    found = {}
    for name, rows in tables.items():
        if form == "xlsx":
            book = openpyxl.Workbook()
            for row in rows:
                book.active.append(row)
            file = tmp_path / f"{name}.xlsx"
            book.save(file)
        else:
            file = tmp_path / f"{name}.csv"
            file.write_bytes("\n".join(";".join(row) for row in rows).encode("cp1252"))
        found[name] = file
    assert read_cells(found["readings"]).rows == ((2, ("lid", "12.5 mm", "Größe")),)
    assert _rows(found["variants"]) == [(2, {"title": "Größe 2", "values.wall": "2 mm"})]
    (trial,) = read_trials(found["trials"])
    assert (trial.fits[0].gap_mm, trial.fits[0].note) == (0.2, "Größe 2")


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_every_cell_that_is_written_reads_back_letter_by_letter(sign, end, tmp_path):
    """A lone carriage return in a cell once ended its row, and shifted the cells after it."""
    rows = [
        ["a", "two\rlines", "two\nlines", "two\r\nlines"],
        [" x ", 'a "b"', "3;4,5\t6", "'"],
    ]
    path = tmp_path / "t.csv"
    path.write_bytes(table_text(rows, separator=sign, line_end=end).encode())
    text = path.read_bytes().decode()
    assert [cells for _, cells in text_rows(text, sign)] == rows
    assert text.endswith(end)
