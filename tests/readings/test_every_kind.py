"""Read, write, read again: the same readings, decisions and texts, for tables of every kind.

A kind is how the table lies in its file: a row a reading, the repeats of a feature in a row, or
features side by side; as text with each sign, or as a workbook.
"""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.readings.decided import decide
from fitkit.widgets.grid_model import GridModel

if TYPE_CHECKING:
    from pathlib import Path

KEPT = ["feature", "mode_as_typed", "reading", "unit", "note", "left_out", "kept", "rejected"]
GOOD = st.decimals("1", "99", places=2).map(str)
ODD = st.sampled_from(["1.234", "16-Mar", "about 3", "119.0", "3/16 in", "=1+1", "12", "1’234.5"])
SIGNS = st.sampled_from([",", ";", "\t"])
Rows = list[list[str]]


@st.composite
def long_rows(draw: st.DrawFn) -> Rows:
    header = draw(st.sampled_from(["reading", "reading [mm]", "value"]))
    rows = [["feature", header, "mode", "unit", "note", "left_out"]]
    cells = st.tuples(
        st.sampled_from(["bar", "hole", "007", "-lid"]),
        st.one_of(GOOD, ODD),
        st.sampled_from(["outside", "Inside", "step", ""]),
        st.sampled_from(["mm", "in", "", "Mm"]),
        st.sampled_from(["", "+new", "@here", "at mid height"]),
        st.sampled_from(["", "", "slipped"]),
    )
    return rows + list(map(list, draw(st.lists(cells, min_size=1, max_size=6))))


@st.composite
def rows_of_repeats(draw: st.DrawFn) -> Rows:
    unit = draw(st.sampled_from(["", " (mm)", " [in]"]))
    count = draw(st.integers(2, 4))
    repeats = [f"M{n}{unit}" for n in range(1, count + 1)]
    decided = draw(st.sampled_from([[], ["left_out M2"], ["kept M1", "left_out M2"]]))
    rows = [["feature", *repeats, "", "note", *decided]]
    for n in range(draw(st.integers(1, 4))):
        read = draw(st.lists(st.one_of(GOOD, ODD), min_size=count, max_size=count))
        last = draw(st.integers(1, count))
        read[last:] = [""] * (count - last)
        said = [draw(st.sampled_from(["", "slipped"])) if read[1] else "" for _ in decided]
        note = draw(st.sampled_from(["", "=left", "jig 2"]))
        rows.append([f"feature {n}", *read, draw(st.sampled_from(["", "own"])), note, *said])
    return rows


@st.composite
def features_side_by_side(draw: st.DrawFn) -> Rows:
    units = ["", " (mm)", " in mm", " [in]"]
    names = draw(st.lists(st.sampled_from(["bar", "hole (left)", "-lid", "rim"]), min_size=1,
                          unique=True))  # fmt: skip
    heads = [name + draw(st.sampled_from(units)) for name in names]
    decided = draw(st.booleans())
    rows = [[draw(st.sampled_from(["#", "no", ""])), *heads]]
    rows[0] += [f"left_out {names[0]}"] if decided else []
    for n in range(1, draw(st.integers(1, 4)) + 1):
        cells = [draw(st.one_of(GOOD, ODD, st.just(""))) for _ in heads]
        said = [draw(st.sampled_from(["", "slipped"])) if cells[0] else ""] if decided else []
        rows.append([str(n), *cells, *said])
    return rows


KINDS = {"long": long_rows(), "rows of repeats": rows_of_repeats(),
         "side by side": features_side_by_side()}  # fmt: skip


def _content(rows: Rows, sign: str) -> bytes:
    def cell(text: str) -> str:
        return f'"{text}"' if sign in text else text

    return "\n".join(sign.join(map(cell, row)) for row in rows).encode()


def _workbook(rows: Rows) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for line in book.active.iter_rows():
        for cell in line:
            cell.data_type = "s" if cell.value else cell.data_type
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _said(table: ReadingTable) -> list[tuple[str, ...]]:
    """What a table says, row by row: nothing of it may change."""
    told = {name: [""] * len(table) for name in KEPT}
    frame = table.frame.assign(**{name: told[name] for name in KEPT if name not in table.frame})
    frame = frame[[*KEPT, "value_mm"]]
    return [tuple(map(str, row)) for row in frame.itertuples(index=False)]


def _first_line(path: Path) -> str:
    return path.read_text(encoding="utf-8-sig").splitlines()[0]


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_a_table_written_where_it_lies_stays_its_kind_and_says_the_same(
    kind: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("kind")
    rows, sign = data.draw(KINDS[kind]), data.draw(SIGNS)
    path = folder / "r.csv"
    path.write_bytes(_content(rows, sign))
    table = ReadingTable.read(path)
    header = _first_line(path)
    for save in (
        lambda: table.write(path),
        lambda: GridModel(path).save(),
        lambda: table.write(folder / "new.csv"),
        lambda: table.write(folder / "new.xlsx"),
    ):
        written = save() or path
        assert _said(ReadingTable.read(written)) == _said(table)
    if kind != "long":
        assert _first_line(path) == header or _first_line(path).replace("'", "") == header
    elif table.frame["reading"].any():
        assert _first_line(path).count(sign) >= header.count(sign)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=6, deadline=None)
@given(data=st.data())
def test_a_workbook_of_any_kind_is_read_like_the_text_and_goes_on_in_a_csv(
    kind: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("book")
    rows = data.draw(KINDS[kind])
    (folder / "r.xlsx").write_bytes(_workbook(rows))
    (folder / "text.csv").write_bytes(_content(rows, ";"))
    table, text = (ReadingTable.read(folder / name) for name in ("r.xlsx", "text.csv"))
    assert _said(table) == _said(text)
    before = (folder / "r.xlsx").read_bytes()
    GridModel(folder / "r.xlsx").save()
    assert _said(ReadingTable.read(folder / "r.csv")) == _said(table)
    with pytest.raises(ReadingError):  # a workbook of somebody else's is not written over
        table.write(folder / "r.xlsx")
    assert (folder / "r.xlsx").read_bytes() == before


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_a_decision_changes_nothing_but_the_reading_that_it_is_about(
    kind: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("decided") / "r.csv"
    path.write_bytes(_content(data.draw(KINDS[kind]), data.draw(SIGNS)))
    table = ReadingTable.read(path)
    typed = table.frame.index[table.frame["reading"] != ""]
    if not len(typed):
        return
    at = data.draw(st.sampled_from(list(typed)))
    row = int(table.frame.loc[at, "row"])
    wanted = table.leave_out(row, "tilted")
    assert _said(decide(path, row, "leave-out", because="tilted")) == _said(wanted)
    assert _said(ReadingTable.read(path)) == _said(wanted)


def _archive(kind: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("mimetype", kind)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("r.ods", _archive(b"application/vnd.oasis.opendocument.spreadsheet")),
        ("r.xls", b"\xd0\xcf\x11\xe0" + bytes(600)),
        ("r.pdf", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"),
    ],
)
def test_what_is_no_table_of_ours_is_refused_by_reader_grid_and_decision_and_left_as_it_is(
    name: str, content: bytes, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    for act in (ReadingTable.read, GridModel, lambda p: decide(p, 2, "keep", because="x")):
        with pytest.raises(ReadingError) as caught:
            act(path)
        assert caught.value.code in ("table.foreign-format", "table.old-workbook")
    assert path.read_bytes() == content
    assert sorted(one.name for one in tmp_path.iterdir() if one.suffix != ".lock") == [name]
