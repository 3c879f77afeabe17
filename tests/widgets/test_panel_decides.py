"""A doubt about a reading is decided in the panel, below the finding that it makes."""

import pytest

from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.widgets.grid_model import GridModel
from fitkit.widgets.panel import part_panel
from tests.flow.fronts import SHEET
from tests.widgets.test_panel import LONG, told, until

ROWS = ("35.50", "36.00", "35.51")


@pytest.fixture
def panel(tmp_path):
    rows = "".join(f"display length,outside,{size},mm\n" for size in ROWS)
    (tmp_path / "front.csv").write_text("feature,mode,reading,unit\n" + rows)
    (tmp_path / "front.toml").write_text(SHEET)
    made = part_panel(tmp_path / "front.toml")
    assert made.wait(LONG)
    until(lambda: made.doc["checked"])
    yield made
    made.close()


def doubts(panel):
    return [one for one in panel.doc["findings"] if one["check"] == "readings"]


@pytest.mark.parametrize(("decision", "drawn"), [("keep", [3]), ("leave-out", [2]), ("again", [2])])
def test_a_doubt_that_stops_is_decided_with_a_reason(panel, tmp_path, decision, drawn):
    (finding,) = doubts(panel)
    assert finding["severity"] == "stop"
    (doubted,) = finding["readings"]
    assert doubted == {
        "file": str(tmp_path / "front.csv"), "row": 3, "text": "display length 36.00 mm",
    }  # fmt: skip
    before = panel.doc["rows"]
    where = {"file": doubted["file"], "row": doubted["row"], "decision": decision}
    told(panel, kind="decide", **where, reason="seen on the photo")
    table = ReadingTable.read(tmp_path / "front.csv")
    assert [len(table.counted)] == drawn
    assert "seen on the photo" in " ".join(map(str, table.frame.iloc[1]))
    assert panel.doc["said"].startswith("front.csv, row 3: display length 36.00")
    assert not panel.doc["said_bad"]
    until(lambda: panel.doc["checked"] and not panel.doc["building"])
    left = {one["severity"] for one in doubts(panel)}
    assert "stop" not in left
    if decision != "keep":
        assert panel.doc["rows"] != before
    if decision == "again":  # a reminder that another reading is wanted
        assert "was to be read again" in doubts(panel)[0]["text"]


def test_nothing_is_written_into_a_file_that_is_not_the_sheets(panel, tmp_path):
    other = tmp_path / "other.csv"
    other.write_text("feature,mode,reading,unit\nbar,outside,3.00,mm\n")
    told(panel, kind="decide", file=str(other), row=2, decision="keep", reason="x")
    assert "not one of the sheet's readings files" in panel.doc["said"]
    assert panel.doc["said_bad"]
    assert other.read_text().count("\n") == 2
    with pytest.raises(ReadingError) as caught:
        panel.decide(other, 2, "keep", "x")
    assert caught.value.code == "widgets.not-a-readings-file"


def test_a_decision_without_a_reason_is_refused_and_the_file_stays(panel, tmp_path):
    before = (tmp_path / "front.csv").read_bytes()
    where = {"file": str(tmp_path / "front.csv"), "row": 3}
    told(panel, kind="decide", **where, decision="leave-out", reason=" ")
    assert "without a reason" in panel.doc["said"]
    assert (tmp_path / "front.csv").read_bytes() == before


def test_a_grid_on_the_same_file_takes_the_decision_in_before_it_writes(panel, tmp_path):
    grid = GridModel(tmp_path / "front.csv")
    panel.decide(tmp_path / "front.csv", 3, "leave-out", "it slipped")
    with pytest.raises(ReadingError) as caught:
        grid.type_cell(0, 3, "35.52")
    assert caught.value.code == "widgets.saved-elsewhere"
    grid.type_cell(0, 3, "35.52")
    assert [one.left_out for one in grid.rows[0].readings] == ["", "it slipped", "", ""]
