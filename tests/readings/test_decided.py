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


def test_a_decision_needs_a_reason_a_row_and_a_table_with_a_reading_in_each_row(
    tmp_path: Path,
) -> None:
    path = _file(tmp_path)
    with pytest.raises(ReadingError) as caught:
        decide(path, 4, "keep", because=" ")
    assert caught.value.code == "readings.no-reason"
    with pytest.raises(ReadingError) as caught:
        decide(path, 40, "keep", because="x")
    assert caught.value.code == "readings.no-such-row"
    wide = tmp_path / "wide.csv"
    wide.write_text("feature,1 (mm),2 (mm)\nbar,17.44,17.93\n")
    with pytest.raises(ReadingError) as caught:
        decide(wide, 2, "keep", because="x")
    assert caught.value.code == "readings.decision-not-written"
    assert path.read_text(encoding="utf-8") == TEXT
