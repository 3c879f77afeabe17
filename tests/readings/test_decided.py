"""Decisions about readings, written into their file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.readings.decided import decide
from fitkit.stats.doubts import doubts

if TYPE_CHECKING:
    from pathlib import Path

TEXT = """# Monday
feature;reading;unit;shelf
bar;17,44;mm;3
bar;17,93;mm;
bar;17,42
bar;17,43;mm;
"""


def _file(folder: Path) -> Path:
    path = folder / "r.csv"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_a_reading_that_is_left_out_or_kept_is_not_doubted_any_more(tmp_path: Path) -> None:
    path = _file(tmp_path)
    assert [flag.rows for flag in doubts(ReadingTable.read(path)) if flag.ways] == [(4,)]
    kept = decide(path, 4, "keep", because="read three times")
    assert len(kept.counted) == 3
    assert not [flag for flag in doubts(kept) if flag.ways]
    out = decide(path, 4, "leave-out", because="it slipped")
    assert len(out.counted) == 2
    assert out.frame.set_index("row").loc[4, ["left_out", "kept"]].tolist() == ["it slipped", ""]
    again = decide(path, 4, "again", because="it slipped")
    assert len(again.counted) == 2


def test_all_other_cells_stay_as_they_were_typed_and_a_torn_row_stays_torn(tmp_path: Path) -> None:
    path = _file(tmp_path)
    decide(path, 4, "leave-out", because="it slipped; twice")
    assert path.read_text(encoding="utf-8").splitlines() == [
        "# Monday",
        "feature;reading;unit;shelf;left_out",
        "bar;17,44;mm;3;",
        'bar;17,93;mm;;"it slipped; twice"',
        "bar;17,42",
        "bar;17,43;mm;;",
    ]
    assert ReadingTable.read(path).rejected["row"].tolist() == [5]


def test_a_decision_needs_a_reason_and_a_row(tmp_path: Path) -> None:
    path = _file(tmp_path)
    with pytest.raises(ReadingError) as caught:
        decide(path, 4, "keep", because=" ")
    assert caught.value.code == "readings.no-reason"
    with pytest.raises(ReadingError) as caught:
        decide(path, 40, "keep", because="x")
    assert caught.value.code == "readings.no-such-row"
    assert path.read_text(encoding="utf-8") == TEXT


def test_a_decision_is_not_written_into_a_workbook(tmp_path: Path) -> None:
    path = ReadingTable.read(_file(tmp_path)).write(tmp_path / "r.xlsx")
    before = path.read_bytes()
    with pytest.raises(ReadingError) as caught:
        decide(path, 4, "keep", because="x")
    assert caught.value.code == "readings.decision-not-written"
    assert path.read_bytes() == before


def test_repeats_in_a_row_are_decided_one_by_one(tmp_path: Path) -> None:
    path = tmp_path / "wide.csv"
    path.write_text(
        "# bench\nfeature,M1 (mm),M2 (mm),M3 (mm),note\n"
        "bar,17.44,17.93,17.42,left jig\nlid,5.00,,5.02,\n"
    )
    table = decide(path, 3, "leave-out", because="slipped")
    assert table.counted["reading"].tolist() == ["17.44", "17.42", "5.00", "5.02"]
    assert path.read_text().splitlines() == [
        "# bench",
        "feature,M1 (mm),M2 (mm),M3 (mm),note,left_out M2",
        "bar,17.44,17.93,17.42,left jig,slipped",
        "lid,5.00,5.02,,,",
    ]
    decide(path, 6, "keep", because="it has a lug there")
    table = decide(path, 3, "keep", because="it is right")
    assert table.frame["kept"].tolist() == ["", "it is right", "", "", "it has a lug there"]
    assert not any(table.frame["left_out"])
    header = path.read_text().splitlines()[1]
    assert header == "feature,M1 (mm),M2 (mm),M3 (mm),note,left_out M2,kept M2"


def test_features_side_by_side_are_decided_one_by_one(tmp_path: Path) -> None:
    path = tmp_path / "across.csv"
    path.write_text("#,bar (mm),lid in mm\n1,17.44,\n2,17.93,5.00\n3,17.42,5.02\n")
    table = decide(path, 3, "again", because="tilted")
    assert table.counted["reading"].tolist() == ["17.44", "17.42", "5.00", "5.02"]
    assert [flag.kind for flag in table.flags] == ["read again"]
    assert path.read_text().splitlines() == [
        "#,bar (mm),left_out bar,lid in mm",
        "1,17.44,,",
        "2,17.93,read again (3 readings then): tilted,5.00",
        "3,17.42,,5.02",
    ]
