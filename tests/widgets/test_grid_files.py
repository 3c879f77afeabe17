"""Saving in the grid leaves a file the kind of file that it was, and what was typed as typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.widgets.grid_model import GridModel

if TYPE_CHECKING:
    from pathlib import Path


def _file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "bench.csv"
    path.write_text(text, encoding="utf-8")
    return path


def _lines(path: Path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines()


WIDE = """feature,mode,M1 (mm),M2 (mm),mean,note
board length,Outside,68.00,68.02,68.01,at mid height
board width,,46.00,46.02,46.01,
"""


def test_a_table_with_repeats_in_a_row_keeps_them_there(tmp_path):
    path = _file(tmp_path, WIDE)
    model = GridModel(path)
    model.type_cell(0, 0, "68.04")
    assert _lines(path) == [
        "feature,mode,M1 (mm),M2 (mm),mean,note",
        "board length,Outside,68.04,68.02,,at mid height",  # its average is no longer true
        "board width,,46.00,46.02,46.01,",
    ]


def test_more_repeats_get_columns_of_their_own(tmp_path):
    path = _file(tmp_path, WIDE)
    model = GridModel(path)
    model.type_cell(1, 2, "46.04")
    assert _lines(path)[0] == "feature,mode,M1 (mm),M2 (mm),M3 (mm),mean,note"
    assert _lines(path)[2] == "board width,,46.00,46.02,46.04,,"
    found = ReadingTable.read(path).counted.groupby("feature")["value_mm"].apply(list)
    assert found["board width"] == [46.0, 46.02, 46.04]
    assert found["board length"] == [68.0, 68.02]


def test_a_reading_of_a_row_of_several_is_decided_on_in_a_column_of_its_own(tmp_path):
    path = _file(tmp_path, WIDE)
    model = GridModel(path)
    model.leave_out(0, 0, "slipped")
    assert _lines(path)[0] == "feature,mode,M1 (mm),M2 (mm),mean,note,left_out M1"
    assert _lines(path)[1] == "board length,Outside,68.00,68.02,68.01,at mid height,slipped"
    again = GridModel(path)
    assert [one.left_out for one in again.rows[0].readings] == ["slipped", ""]
    again.leave_out(0, 0, "")
    assert not ReadingTable.read(path).frame["left_out"].any()


ACROSS = "no;bar (mm);hole [mm]\n1;17,44;3,20\n2;17,42;\n3;;3,22\n"


def test_features_side_by_side_stay_side_by_side(tmp_path):
    path = _file(tmp_path, ACROSS)
    model = GridModel(path)
    model.type_cell(0, 0, "17,46")
    assert _lines(path) == ["no;bar (mm);hole [mm]", "1;17,46;3,20", "2;17,42;", "3;;3,22"]
    model.type_cell(1, 2, "3,21")
    model.type_cell(1, 3, "3,24")
    assert _lines(path)[3:] == ["3;;3,22", "4;;3,21", "5;;3,24"]
    model.add("lid")
    model.type_cell(2, 0, "5,00")
    assert _lines(path)[0] == "no;bar (mm);hole [mm];lid [mm]"
    assert _lines(path)[1] == "1;17,46;3,20;5,00"
    model.type_head(0, "feature", "plug")
    assert "plug [mm]" in _lines(path)[0]
    model.remove(1)
    assert ReadingTable.read(path).features() == ("plug", "lid")
    found = ReadingTable.read(path).counted.groupby("feature")["value_mm"].apply(list)
    assert found["plug"] == [17.46, 17.42]


def test_what_features_side_by_side_have_no_place_for_is_refused_and_nothing_is_lost(tmp_path):
    path = _file(tmp_path, ACROSS)
    model = GridModel(path)
    with pytest.raises(ReadingError) as error:
        model.type_head(1, "mode", "inside")
    assert error.value.code == "readings.no-place"
    assert path.read_text() == ACROSS
    assert model.rows[1].mode == "outside"  # the grid shows what the file says
    model.decide(0, 1, "keep", "it has a lug there")
    assert ReadingTable.read(path).frame["kept"].tolist()[1] == "it has a lug there"


def test_features_side_by_side_say_what_was_declared(tmp_path):
    path = _file(tmp_path, "1;bar\n1;12,345\n".replace("1;bar", ";bar"))
    model = GridModel(path, bare_unit="mm", decimal=",")
    model.type_cell(0, 1, "12,347")
    assert _lines(path)[0] == ";bar [mm, decimal comma]"
    assert ReadingTable.read(path).counted["value_mm"].tolist() == [12.345, 12.347]


def test_a_cell_like_a_formula_stays_harmless_and_as_it_was(tmp_path):
    path = _file(tmp_path, "feature,reading,unit,note\nlid,12.34,mm,'=1+1\n")
    model = GridModel(path)
    model.type_cell(0, 1, "12.36")
    assert "'=1+1" in path.read_text()
    assert ReadingTable.read(path).frame["note"].tolist()[0] == "=1+1"


def test_lines_above_the_header_stay(tmp_path):
    path = _file(tmp_path, "# read on the bench\nfeature,reading,unit\nlid,12.34,mm\n")
    GridModel(path).type_cell(0, 1, "12.36")
    assert _lines(path)[0].startswith("# read on the bench")
    assert ReadingTable.read(path).counted["value_mm"].tolist() == [12.34, 12.36]


def test_a_mode_stays_as_it_was_typed(tmp_path):
    path = _file(tmp_path, "feature,mode,reading,unit\nlid,Inside,12.34,mm\nrim,,5.00,mm\n")
    model = GridModel(path)
    assert [row.mode for row in model.rows] == ["inside", "outside"]
    model.type_cell(0, 1, "12.36")
    table = ReadingTable.read(path)
    assert table.frame["mode_as_typed"].tolist() == ["Inside", "inside", ""]
    assert table.frame["mode"].tolist() == ["inside", "inside", "outside"]
    model.type_head(1, "mode", "step")
    assert ReadingTable.read(path).frame["mode_as_typed"].tolist() == ["Inside", "inside", "step"]


def test_a_table_writes_modes_as_they_were_typed(tmp_path):
    path = _file(tmp_path, "feature,mode,reading,unit\nlid,Inside,12.34,mm\nrim,,5.00,mm\n")
    table = ReadingTable.read(path).leave_out(2, "tilted")
    again = ReadingTable.read(table.write(tmp_path / "again.csv"))
    assert again.frame["mode_as_typed"].tolist() == ["Inside", ""]


TWO_ITEMS = """item,feature,mode,reading,unit
board A,length,outside,68.00,mm
board B,length,outside,52.00,mm
board B,bore,outside,8.00,mm
board B,bore,inside,4.00,mm
"""


def test_a_block_is_pasted_into_the_picked_rows_item(tmp_path):
    path = _file(tmp_path, TWO_ITEMS)
    model = GridModel(path)
    model.paste(1, 0, "length\t52.02\t52.04")
    assert [one.text for one in model.rows[0].readings] == ["68.00"]
    assert [one.text for one in model.rows[1].readings] == ["52.00", "52.02", "52.04"]


def test_a_block_that_names_items_and_modes_is_pasted_there(tmp_path):
    path = _file(tmp_path, TWO_ITEMS)
    model = GridModel(path)
    model.paste(
        0, 0, "item\tfeature\tmode\treading\tunit\nboard B\tbore\tinside\t4.02\tmm\n"
        "board A\tbore\tinside\t3.00\tmm\n",
    )  # fmt: skip
    assert [one.text for one in model.rows[3].readings] == ["4.00", "4.02"]
    assert (model.rows[4].item, model.rows[4].feature) == ("board A", "bore")


def test_the_picked_row_counts_where_a_feature_has_several(tmp_path):
    model = GridModel(_file(tmp_path, TWO_ITEMS))
    model.paste(3, 0, "bore\t4.02")
    assert [len(row.readings) for row in model.rows] == [1, 1, 1, 2]


def _doubted(tmp_path: Path) -> GridModel:
    rows = "".join(f"lid,outside,{n},mm\n" for n in ("17.44", "17.93", "17.42"))
    return GridModel(_file(tmp_path, "feature,mode,reading,unit\n" + rows))


def _words(model: GridModel) -> list[str]:
    return [flag["short"] for flag in model.shown([0])[0]["flags"]]


def test_a_reading_that_is_kept_is_not_doubted_any_more(tmp_path):
    model = _doubted(tmp_path)
    assert "outlier" in _words(model)
    model.decide(0, 1, "keep", "the lid has a lug there")
    assert "outlier" not in _words(model)
    assert model.shown([0])[0]["cells"][1]["kept"] == "the lid has a lug there"
    assert list(ReadingTable.read(model.path).frame["kept"])[1] == "the lid has a lug there"
    model.leave_out(0, 1, "it was a burr")
    assert not any(ReadingTable.read(model.path).frame.get("kept", [""]))


def test_what_is_to_be_read_again_is_reminded_of_until_it_is(tmp_path):
    model = _doubted(tmp_path)
    model.decide(0, 1, "again", "the jaws were tilted")
    assert "read again" in _words(model)
    table = ReadingTable.read(model.path)
    (flag,) = [flag for flag in table.flags if flag.kind == "read again"]
    assert "17.93 was to be read again" in flag.text
    assert "(the jaws were tilted)" in flag.text
    model.type_cell(0, 3, "17.43")
    assert "read again" not in _words(model)


def test_nothing_is_decided_without_a_reason(tmp_path):
    model = _doubted(tmp_path)
    with pytest.raises(ReadingError) as error:
        model.decide(0, 1, "keep", "  ")
    assert error.value.code == "widgets.no-reason"


def test_a_unit_and_a_decimal_sign_are_declared_once_and_the_file_says_them_then(tmp_path):
    path = _file(tmp_path, "feature;reading\nlid;12,345\n")
    model = GridModel(path, bare_unit="mm", decimal=",")
    model.type_cell(0, 1, "12,347")
    header, *_ = _lines(path)
    assert "reading [mm, decimal comma]" in header
    assert ReadingTable.read(path).counted["value_mm"].tolist()[0] == 12.345


def test_a_wide_table_says_what_was_declared_in_its_repeats(tmp_path):
    path = _file(tmp_path, "feature;1;2\nlid;12,345;12,346\n")
    model = GridModel(path, bare_unit="mm", decimal=",")
    model.type_cell(0, 0, "12,347")
    assert "1 [mm, decimal comma]" in _lines(path)[0]
    assert ReadingTable.read(path).counted["value_mm"].tolist() == [12.347, 12.346]


def test_the_grid_shows_sizes_with_closed_jaws_and_flat_jaws_allowed_for(tmp_path):
    from fitkit.readings import Instrument
    from fitkit.stats import estimates

    bench = Instrument(
        name="bench", resolution_mm=0.01, mpe_mm=0.0, inside_face_mm=0.5, repeatability_mm=0.01,
        repeatability_df=30,
    )  # fmt: skip
    path = _file(
        tmp_path,
        "item,feature,mode,reading,unit,instrument\n"
        "calipers,closed jaws,outside,0.05,mm,bench\n"
        + "board,board length,outside,68.05,mm,bench\n" * 2
        + "board,mounting hole,inside,3.20,mm,bench\n" * 2
        + "board,holes far edges,inside,61.20,mm,bench\n" * 2,
    )
    model = GridModel(path, instruments={"bench": bench})
    table = ReadingTable.read(path)
    found = estimates(table, instruments=[bench])
    assert found["board length"].value_mm == pytest.approx(68.0)
    shown = {row["feature"]: row["mean"] for row in model.shown()}
    for row in range(4):  # one row alone is shown as among all others
        one = model.shown([row])[0]
        assert one["mean"] == shown[one["feature"]]
    assert shown["closed jaws"] == ""
    assert shown["board length"].startswith("68.00")
    assert shown["holes far edges"].startswith(f"{found['holes far edges'].value_mm:.2f}")
    assert found["holes far edges"].value_mm - 61.15 > 0.02  # 0.05 zero off, jaws added


def test_empty_cells_wait_and_are_no_fault(tmp_path):
    from fitkit.readings.blank import blank_table

    path = tmp_path / "waiting.csv"
    hole = {"feature": "hole", "mode": "inside", "note": "lower left", "unit": "mm"}
    board = {"feature": "board", "mode": "outside", "unit": "mm"}
    path.write_text(blank_table([hole, hole, board, board, hole | {"feature": "slot"}]))
    model = GridModel(path, repeats=2)
    for row in model.shown():
        assert row["flags"] == []
        assert all(cell["bad"] == "" for cell in row["cells"])
    assert model.shown()[0]["note"] == "lower left"
    assert model.next_wanted() == (0, 0)
    for text in ("4.01", "4.03"):
        row, repeat = model.next_wanted()
        model.type_cell(row, repeat, text)
    assert model.next_wanted() == (1, 0)
    shown = model.shown([0])[0]
    assert [cell["size"] for cell in shown["cells"]] == [4.01, 4.03]
    assert shown["best"][0] == pytest.approx(4.02, abs=0.1)
    # What was typed went into the rows that waited, with their notes.
    assert [one.own.get("note") for one in model.rows[0].readings] == ["lower left"] * 2


def test_rows_are_ordered_so_that_the_jaws_change_least(tmp_path):
    model = GridModel(tmp_path / "ordered.csv")
    for name, mode in (("a", "outside"), ("b", "inside"), ("c", "outside"), ("d", "inside")):
        at = model.add(name)
        model.type_head(at, "mode", mode)
        model.type_cell(at, 0, "12.3")
    assert model.order_by_jaws()
    assert [row.feature for row in model.rows] == ["a", "c", "b", "d"]
    assert not model.order_by_jaws()  # nothing is left to move
    model.undo()
    assert [row.feature for row in model.rows] == ["a", "b", "c", "d"]


def test_readings_from_a_cable_go_where_the_next_one_is_wanted(tmp_path):
    from fitkit.readings.cable import Sent
    from fitkit.widgets.grid import ReadingsGrid

    model = GridModel(tmp_path / "cable.csv", repeats=2)
    for name in ("length", "width"):
        model.add(name)
    grid = ReadingsGrid(model)
    said = []
    grid.send = lambda content, buffers=None: said.append(content["said"])
    for number, unit in (("58.01", "mm"), ("58.03", "mm"), ("1.4960", "in"), ("38.02", "mm")):
        grid._take_sent(Sent(number=number, unit=unit))
    texts = [[one.text for one in row.readings] for row in model.rows]
    assert texts == [["58.01", "58.03"], ["1.4960 in", "38.02"]]
    # A display that changes its unit in mid-series is told each time.
    assert [text for text in said if "changed from" in text] == [
        "The calipers changed from mm to in in mid-series: look at the display.",
        "The calipers changed from in to mm in mid-series: look at the display.",
    ]
    grid._take_sent(Sent(number="1.00", unit="mm"))
    assert "no row wants a reading" in said[-1]
    grid.close()
