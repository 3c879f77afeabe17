"""The readings grid without a browser: typing, pasting, undoing, saving, doubts in words."""

import csv
import os
import time

import pytest

from fitkit.core.errors import FitkitError, ReadingError, WriteError
from fitkit.readings import Instrument, ReadingTable
from fitkit.readings.form import FileForm
from fitkit.readings.schema import COLUMNS
from fitkit.stats import estimates
from fitkit.widgets import readings_grid
from fitkit.widgets.grid_model import GridModel
from fitkit.workshop import begin_workshop


@pytest.fixture
def model(tmp_path):
    made = GridModel(tmp_path / "board.csv")
    made.add("board length")
    made.add("board width")
    return made


def typed(model, row, *texts):
    for repeat, text in enumerate(texts):
        model.type_cell(row, repeat, text)


def texts(model):
    return [[one.text for one in row.readings] for row in model.rows]


def test_each_reading_is_in_the_file_as_soon_as_it_is_committed(model):
    typed(model, 0, "12.34")
    assert list(ReadingTable.read(model.path).frame["reading"]) == ["12.34"]
    typed(model, 0, "12.34", "12.36")
    frame = ReadingTable.read(model.path).frame
    assert list(frame["reading"]) == ["12.34", "12.36"]
    assert set(frame["unit"]) == {"mm"}
    assert (frame["taken_at"] != "").all()


def test_the_file_is_replaced_whole(model, monkeypatch):
    typed(model, 0, "12.34")
    before = model.path.read_text()

    def no_disk(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_disk)
    with pytest.raises(WriteError, match="Free some space"):
        model.type_cell(0, 1, "12.36")
    assert model.path.read_text() == before
    assert [path.name for path in model.path.parent.iterdir()] == ["board.csv"]


def test_a_new_grid_on_the_file_has_all_that_was_committed(model):
    typed(model, 0, "12.34", "12.36")
    typed(model, 1, "49.01")
    again = GridModel(model.path)
    assert texts(again) == [["12.34", "12.36"], ["49.01"]]


def test_what_another_grid_has_saved_is_taken_in_and_never_written_over(model):
    typed(model, 0, "12.34")
    other = GridModel(model.path)
    typed(other, 0, "12.34", "12.36")
    other.add("hole")
    typed(other, 1, "3.20")
    with pytest.raises(ReadingError, match=r"board.csv: was saved elsewhere .* make the change"):
        model.type_cell(0, 1, "99.99")
    names = [row.feature for row in model.rows]
    assert names == ["board length", "hole", "board width"]  # the last has no reading yet
    assert texts(model) == [["12.34", "12.36"], ["3.20"], []]
    typed(model, 2, "49.01")
    assert model.undo()
    assert texts(GridModel(model.path)) == [["12.34", "12.36"], ["3.20"]]


def test_a_file_that_was_spoilt_elsewhere_is_left_as_it_is(model):
    typed(model, 0, "12.34")
    model.path.write_text("not,a,readings\nfile", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(FitkitError):
            model.type_cell(0, 1, "12.36")
    assert model.path.read_text(encoding="utf-8") == "not,a,readings\nfile"


def test_best_value_and_uncertainty_are_those_of_the_stats_room(model):
    typed(model, 0, "12.34", "12.36", "12.35")
    shown = model.shown([0])[0]
    wanted = estimates(ReadingTable.read(model.path))["board length"]
    assert shown["mean"] == f"{wanted.value_mm:.3f} ± {wanted.U95_mm:.3f} mm"
    assert shown["spread"] == "0.020 mm"


def test_an_outlier_is_told_in_words_with_both_means(model):
    typed(model, 0, "17.42", "17.44", "17.43", "17.41", "17.93")
    flags = [flag["text"] for flag in model.shown([0])[0]["flags"]]
    outlier = next(text for text in flags if text.startswith("outlier"))
    assert "reading 5" in outlier
    assert "0.226 mm" in outlier  # the standard deviation of the five
    assert "17.526" in outlier
    assert "17.425" in outlier


def test_a_slip_of_unit_is_told_in_words(model):
    typed(model, 1, "49.01", "1.9295", "49.03")
    flags = [flag["text"] for flag in model.shown([1])[0]["flags"]]
    assert any(text.startswith("unit slip: reading 2") for text in flags)


def test_read_again_is_asked_when_the_fit_cannot_bear_the_uncertainty(model):
    typed(model, 0, "12.30", "12.50")
    assert any("read again" in flag["text"] for flag in model.shown([0])[0]["flags"])
    typed(model, 0, "12.34", "12.34", "12.35", "12.34")
    assert not any("read again" in flag["text"] for flag in model.shown([0])[0]["flags"])


def test_what_cannot_be_read_stays_visible_with_its_reason(model):
    typed(model, 0, "12.34", "12.3.4")
    shown = model.shown([0])[0]
    assert shown["cells"][1]["text"] == "12.3.4"
    assert shown["cells"][1]["bad"]
    assert shown["flags"][0]["severity"] == "stop"
    assert shown["mean"].startswith("12.340")


def test_a_reading_is_left_out_with_a_reason_and_taken_back(model):
    typed(model, 0, "17.42", "17.44", "17.93")
    model.leave_out(0, 2, "jaw on the burr")
    assert model.shown([0])[0]["mean"].startswith("17.430")
    assert ReadingTable.read(model.path).frame["left_out"].tolist() == ["", "", "jaw on the burr"]
    model.leave_out(0, 2, "")
    # It counts again, but stands out and so has little weight until it is decided on.
    assert model.shown([0])[0]["mean"].startswith("17.5 ± ")
    with pytest.raises(ReadingError, match="there is no reading"):
        model.leave_out(0, 7, "why")


def test_a_block_of_numbers_fills_right_and_down(model):
    said = model.paste(0, 0, "68.52\t68.54\t68.53\r\n49.01\t49.02\t49.03\r\n")
    assert said == "Pasted 6 readings."
    assert texts(model) == [["68.52", "68.54", "68.53"], ["49.01", "49.02", "49.03"]]


def test_lines_beyond_the_last_feature_are_told_not_lost_in_silence(model):
    assert "2 lines are left over" in model.paste(1, 0, "1.0\n2.0\n3.0")


def test_a_block_with_names_finds_or_adds_its_features(model):
    said = model.paste(0, 0, "board length\t68.52\t68.54\nlid height\t3.10\t3.12")
    assert said == "Pasted 4 readings of 2 features, 1 of them new."
    assert [row.feature for row in model.rows] == ["board length", "board width", "lid height"]
    assert texts(model)[2] == ["3.10", "3.12"]


def test_undo_goes_back_edit_by_edit_and_saves(model):
    typed(model, 0, "12.34", "12.36")
    model.paste(0, 0, "1.0\t2.0")
    model.remove(1)
    assert model.undo()
    assert len(model.rows) == 2
    assert model.undo()
    assert texts(model)[0] == ["12.34", "12.36"]
    assert list(ReadingTable.read(model.path).frame["reading"]) == ["12.34", "12.36"]
    while model.undo():
        pass
    assert model.rows == ()


def test_mode_and_unit_are_set_by_row(model):
    typed(model, 0, "0.5", "0.5")
    model.type_head(0, "unit", "in")
    model.type_head(0, "mode", "depth")
    assert model.shown([0])[0]["mean"].startswith("12.7 ± ")
    assert set(ReadingTable.read(model.path).frame["mode"]) == {"depth"}


def test_columns_that_are_not_shown_are_kept(tmp_path):
    path = tmp_path / "kept.csv"
    path.write_text(
        "item,feature,mode,reading,unit,instrument,taken_at,note,place,bench\n"
        "b,peg,outside,8.08,mm,,2026-03-16,at seam,seam,two\n"
    )
    model = GridModel(path)
    model.type_cell(0, 1, "8.05")
    frame = ReadingTable.read(path).frame
    first = frame.iloc[0]
    assert (first["note"], first["place"], first["bench"]) == ("at seam", "seam", "two")
    assert first["taken_at"] == "2026-03-16"


def test_a_decimal_comma_file_is_read_and_goes_on(tmp_path):
    path = tmp_path / "comma.csv"
    path.write_bytes("\ufefffeature;mode;reading;unit\nA;outside;12,34;mm\n".encode())
    model = GridModel(path)
    model.type_cell(0, 1, "12.36")
    assert ReadingTable.read(path).frame["value_mm"].tolist() == [12.34, 12.36]


def test_messages_of_the_view_reach_the_model(tmp_path):
    grid = readings_grid(tmp_path / "a.csv", features=["board length"])
    sent = []
    grid.send = lambda content, buffers=None: sent.append(content)
    hear = lambda **content: grid._hear(grid, content, [])  # noqa: E731
    hear(kind="ready")
    assert sent[-1]["kind"] == "all"
    hear(kind="cell", row=0, repeat=0, text="12.34")
    assert sent[-1]["rows"][0]["cells"][0]["text"] == "12.34"
    hear(kind="add", name="board width")
    hear(kind="head", row=1, column="feature", text="")
    assert sent[-1]["bad"]
    assert "no name" in sent[-1]["said"]
    hear(kind="remove", row=0)
    hear(kind="undo")
    assert [row["feature"] for row in sent[-1]["rows"]] == ["board length", "board width"]
    assert grid.table.features() == ("board length",)


def test_what_cannot_be_read_is_said_though_the_cursor_has_gone_on(tmp_path):
    grid = readings_grid(tmp_path / "a.csv", features=["board length"])
    sent = []
    grid.send = lambda content, buffers=None: sent.append(content)
    for repeat, text in enumerate(("68.00", "68.02", "68.O1")):
        grid._hear(grid, {"kind": "cell", "row": 0, "repeat": repeat, "text": text}, [])
    assert sent[-1]["said"].startswith("Saved. board length, not read: reading 3: '68.O1' is not")
    grid._hear(grid, {"kind": "cell", "row": 0, "repeat": 2, "text": "2.678"}, [])
    assert sent[-1]["said"].startswith("Saved. board length: unit slip")
    grid._hear(grid, {"kind": "cell", "row": 0, "repeat": 2, "text": "68.01"}, [])
    assert sent[-1]["said"] == "Saved."


def test_a_long_table_is_shown_before_it_is_worked_out(tmp_path):
    path = tmp_path / "long.csv"
    rows = "".join(f"f{n},outside,{10 + n / 100:.2f},mm\n" for n in range(400))
    path.write_text("feature,mode,reading,unit\n" + rows)
    grid = readings_grid(path)
    sent = []
    grid.send = lambda content, buffers=None: sent.append(content)
    grid._hear(grid, {"kind": "ready"}, [])
    assert [content["kind"] for content in sent] == ["all", "rows"]
    assert sent[0]["rows"][399]["mean"] == ""
    assert sent[1]["rows"][399]["mean"].startswith("13.990")


def test_a_single_reading_is_judged_by_the_repeats_of_all_others(model):
    """Usual calipers, 0.02 mm with 5 degrees of freedom, and 0.04 mm with 2: 0.027 mm."""
    typed(model, 1, "46.00", "46.04", "46.08")
    typed(model, 0, "68.01")
    found = model._judged({("", "board length")})
    assert list(found) == [("", "board length")]
    whole = estimates(ReadingTable.read(model.path))["board length"]
    assert found["", "board length"].estimate.u_mm == pytest.approx(whole.u_mm)
    assert "usual spread of calipers and other repeats here (0.027 mm)" in whole.notes[0]


def test_a_reading_in_the_wrong_unit_is_doubted_once(model):
    typed(model, 0, "31.75", "31.78", "1.2500", "31.76")
    kinds = [
        kind for kind, _, _ in model._judged({("", "board length")})["", "board length"].doubts
    ]
    assert kinds == ["unit slip"]


def test_a_span_keeps_its_holes_when_it_is_typed_in(tmp_path):
    path = tmp_path / "holes.csv"
    path.write_text(
        "feature,mode,reading,unit,instrument,round,between\n"
        + "hole,inside,3.15,mm,bench,yes,\n" * 2
        + "far edges,inside,61.21,mm,bench,,hole\n" * 2,
        encoding="utf-8",
    )
    bench = Instrument(name="bench", resolution_mm=0.01, mpe_mm=0.02, inside_face_mm=0.6)
    model = GridModel(path, instruments={"bench": bench})
    model.type_cell(1, 1, "61.20")
    (row,) = model.shown([1])
    assert row["mean"].startswith("61.2")
    assert "no estimate" not in [flag["short"] for flag in row["flags"]]


def test_the_grid_takes_the_workshops_instruments_and_marks_one_that_nobody_described(tmp_path):
    workshop = begin_workshop(tmp_path)
    habits = tmp_path / "workshop.toml"
    habits.write_text(habits.read_text().replace("repeats = 3", "repeats = 5"))
    workshop.instruments.write_text(
        'schema = 1\n[[instrument]]\nname = "loft calipers"\nresolution = "0.01 mm"\n'
        'mpe = "0.03 mm"\nzero_error = "-0.02 mm"\nzero_checked = 2026-03-02\n'
    )
    path = tmp_path / "readings" / "a.csv"
    path.parent.mkdir()
    path.write_text(
        "feature,reading,unit,instrument\n"
        "board length,68.01,mm,Loft Calipers\nboard length,68.03,mm,Loft Calipers\n"
        "board width,46.01,mm,bench\nboard width,46.03,mm,bench\n"
    )
    grid = readings_grid(path)
    assert grid.model.repeats == 5
    assert readings_grid(path, repeats=2).model.repeats == 2
    length, width = grid.model.shown()
    assert length["mean"].startswith("68.040 ±")
    assert width["mean"].startswith("46.020 ±")
    told = [[flag["short"] for flag in row["flags"] if flag["severity"] == "note"]
            for row in (length, width)]  # fmt: skip
    assert told == [[], ["usual calipers"]]


def test_an_edit_leaves_refused_rows_and_decimal_commas_as_they_were(tmp_path):
    path = tmp_path / "comma.csv"
    path.write_text(
        "feature;mode;reading;unit\nbar;outside;12,34;mm\nbar;outside;12,36;mm\n"
        "bar;outside;1.234;mm\nbar;outside;1.234,5;mm\ncell;outside;119,0;\ncell;outside;14,2\n",
        encoding="utf-8",
    )
    before = ReadingTable.read(path).frame
    model = GridModel(path)
    model.add("edge")
    model.type_cell(len(model.rows) - 1, 0, "5,67")
    table = ReadingTable.read(path)
    after = table.frame[table.frame["feature"] != "edge"]
    for column in ("reading", "unit", "rejected"):
        assert sorted(after[column]) == sorted(before[column]), column
    assert table.frame["value_mm"].iloc[-1] == 5.67


def test_two_items_with_a_feature_of_one_name_are_judged_apart(tmp_path):
    path = tmp_path / "items.csv"
    path.write_text("item,feature,reading,unit\nA,length,68.00,mm\nB,length,52.00,mm\n")
    shown = GridModel(path).shown()
    assert [row["mean"].split(".")[0] for row in shown] == ["68", "52"]
    assert GridModel(path).same_feature(0) == [0]


def workbook(path):
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["feature", "mode", "reading", "unit"])
    sheet.append(["len", "outside", 12.34, "mm"])
    book.create_sheet("other")["A1"] = "=1+1"
    book.save(path)
    return path


def test_a_workbook_is_left_as_it_is_and_readings_go_into_a_csv_beside_it(tmp_path):
    path = workbook(tmp_path / "r.xlsx")
    before = path.read_bytes()
    model = GridModel(path)
    assert "saved in r.csv beside it" in model.said
    model.type_cell(0, 1, "12.36")
    assert path.read_bytes() == before
    assert ReadingTable.read(tmp_path / "r.csv").frame["value_mm"].tolist() == [12.34, 12.36]
    with pytest.raises(ReadingError, match=r"r\.csv lies beside it. Open r\.csv in the grid"):
        GridModel(path)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.tsv", b"feature\tmode\treading\tunit\r\nlen\toutside\t12.34\tmm\r\n"),
        ("a.csv", "\ufefffeature;mode;reading;unit\nlen;outside;12,34;mm\n".encode()),
        ("a.csv", "feature;mode;reading;unit;note\nlen;outside;12,34;mm;Größe\n".encode("cp1252")),
        ("a.csv", "feature;mode;reading;unit;note\nlen;outside;12,34;mm;Größe\n".encode("utf-16")),
    ],
    ids=["tabs", "semicolons with a mark", "Windows-1252", "UTF-16"],
)
def test_an_edit_keeps_separator_encoding_and_line_ends(tmp_path, name, content):
    path = tmp_path / name
    path.write_bytes(content)
    form = FileForm.of(path)
    GridModel(path).type_cell(0, 1, "12,36")
    assert FileForm.of(path) == form
    header, first, second = path.read_bytes().decode(form.encoding).splitlines()
    assert header.startswith(form.separator.join(("item", "feature", "mode", "reading")))
    assert "12,36" in second
    assert ("Größe" in content.decode(form.encoding)) == ("Größe" in first)


def test_columns_without_a_name_and_columns_called_as_ours_keep_their_cells(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        "feature,mode,reading,unit,,,row,counts,rejected,remark\n"
        "len,outside,12.34,mm,batch 7,left jig,A7,9,no,seen twice\n",
        encoding="utf-8",
    )
    for text in ("12.36", "12.35", "12.37"):
        GridModel(path).type_cell(0, 1, text)
        table = ReadingTable.read(path)
        table.write(path)
        with path.open(encoding="utf-8") as stream:
            first = next(csv.DictReader(stream))
        own = {name: cell for name, cell in first.items() if name not in COLUMNS}
        assert own == {
            "column 5": "batch 7",
            "column 6": "left jig",
            "row": "A7",
            "counts": "9",
            "rejected": "no",
            "remark": "seen twice",
        }


def test_a_reading_refused_as_ambiguous_stays_refused_after_a_save(tmp_path):
    path = tmp_path / "a.csv"
    text = "feature;reading;unit\nlen;12,34;mm\nlen;12,36;mm\nlen;12.345;mm\n"
    path.write_text(text, encoding="utf-8")
    GridModel(path).add("new")
    model = GridModel(path)
    model.type_cell(0, 0, "12,35")
    table = ReadingTable.read(path)
    assert table.frame["value_mm"].tolist()[:2] == [12.35, 12.36]
    assert table.rejected["reading"].tolist() == ["12.345"]
    assert "could be 12,345 or 12345" in model.shown()[0]["cells"][2]["bad"]
    table.leave_out(2, "slip").write(tmp_path / "b.csv")
    again = ReadingTable.read(tmp_path / "b.csv")
    assert again.rejected["reading"].tolist() == ["12.345"]


def test_a_linked_file_is_edited_where_it_lies(tmp_path):
    (tmp_path / "cloud").mkdir()
    real = tmp_path / "cloud" / "r.csv"
    real.write_text("feature,mode,reading,unit\nlen,outside,12.34,mm\n", encoding="utf-8")
    (tmp_path / "l.csv").symlink_to(real)
    GridModel(tmp_path / "l.csv").type_cell(0, 1, "12.36")
    assert (tmp_path / "l.csv").is_symlink()
    assert "12.36" in real.read_text(encoding="utf-8")


def _types(path, name, count, pause_s):
    """Type readings of a feature of one's own, again when refused; as a person at a grid does."""
    model = GridModel(path)
    for number in range(count):
        while True:
            try:
                names = [row.feature for row in model.rows]
                row = names.index(name) if name in names else model.add(name)
                model.type_cell(row, number, f"{number + 1}.25")
                break
            except ReadingError:
                continue
        time.sleep(pause_s)


@pytest.mark.parametrize(
    ("writers", "count"), [(4, 6), pytest.param(4, 30, marks=pytest.mark.slow)]
)
def test_grids_on_one_file_at_once_lose_no_reading_that_was_saved(tmp_path, writers, count):
    import multiprocessing

    path = tmp_path / "r.csv"
    context = multiprocessing.get_context("spawn")
    names = [f"feature {n}" for n in range(writers)]
    workers = [context.Process(target=_types, args=(path, n, count, 0.05)) for n in names]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(300)
        assert worker.exitcode == 0
    frame = ReadingTable.read(path).frame
    wanted = [f"{number + 1}.25" for number in range(count)]
    for name in names:
        assert frame.loc[frame["feature"] == name, "reading"].tolist() == wanted
    assert [p.name for p in tmp_path.iterdir()] == ["r.csv"]


def test_a_grid_takes_away_and_tells_what_a_stopped_one_left(tmp_path):
    path = tmp_path / "r.csv"
    path.write_text("feature,mode,reading,unit\nlen,outside,12.34,mm\n", encoding="utf-8")
    left = tmp_path / ".r.csv.999999999-00c0ffee.part"
    left.write_text("half", encoding="utf-8")
    assert "took away an unfinished copy" in GridModel(path).said
    assert not left.exists()
    assert GridModel(path).said == ""


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes")
def test_a_pipe_is_no_file_to_type_into(tmp_path):
    os.mkfifo(tmp_path / "r.csv")
    with pytest.raises(ReadingError, match="plain file"):
        GridModel(tmp_path / "r.csv")
