"""What `fitkit readings` and `fitkit decide` say of a file."""

from __future__ import annotations

import pytest

from fitkit.views.shell import main

ROWS = "bar,outside,17.44,mm\nbar,outside,17.93,mm\nbar,outside,17.42,mm\n"


def _run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "160")
    path = tmp_path / "r.csv"
    path.write_text(f"feature,mode,reading,unit\n{ROWS}", encoding="utf-8")
    return path


def test_doubts_come_before_the_sizes_and_a_decision_ends_them(file, capsys):
    assert _run("readings", "r.csv") == 0
    said = capsys.readouterr().out
    assert said.index("▲ warn  bar, row 3: 17.930 mm stands out") < said.index("features, mm")
    assert _run("decide", "r.csv", "3", "leave-out", "--because", "slipped") == 0
    assert "r.csv, row 3, bar 17.93: does not count (slipped)" in capsys.readouterr().out
    assert _run("readings", "r.csv") == 0
    assert "stands out" not in capsys.readouterr().out


def test_a_file_of_which_nothing_counts_ends_with_status_2(file, capsys):
    file.write_text("feature,reading\nbar,12.34\n")
    assert _run("readings", "r.csv") == 2
    assert "has no unit" in capsys.readouterr().err
    file.write_text("feature,reading\n")
    assert _run("readings", "r.csv") == 2
    assert "no readings" in capsys.readouterr().err
    file.write_text("feature;reading\nbar;12,345\n")
    assert _run("readings", "r.csv", "--unit", "mm", "--decimal", ",") == 0
    assert "12.345" in capsys.readouterr().out


def test_two_items_are_shown_one_after_the_other(file, capsys):
    file.write_text("item,feature,reading\nA,length,68 mm\nB,length,52 mm\n")
    assert _run("readings", "r.csv") == 0
    said = capsys.readouterr().out
    assert "A: features, mm" in said
    assert "B: features, mm" in said
    assert "60" not in said
    assert _run("readings", "r.csv", "--item", "b") == 0
    assert "A: features" not in capsys.readouterr().out
    assert _run("readings", "r.csv", "--item", "C") == 2


def test_notes_of_the_table_are_told_and_no_raw_bytes_reach_the_terminal(file, capsys):
    file.write_bytes("feature,reading,unit\nhöhe\x1b]0;owned\x07,12.34,mm\n".encode("cp1252"))
    assert _run("readings", "r.csv") == 0
    said = capsys.readouterr().out
    assert "read as Windows-1252" in said
    assert "readings without a mode are taken as outside readings" in said
    assert "\x1b]" not in said
    file.write_text("\x1b]0;owned\x07,reading\nbar,12.34\n")
    assert _run("readings", "r.csv") == 2
    assert "\x1b" not in capsys.readouterr().err


def test_the_workshop_declares_unit_and_decimal_sign_for_every_command(file, capsys):
    (file.parent / "workshop.toml").write_text(
        'schema = 1\n[habits]\ndecimal = ","\nunit = "mm"\n', encoding="utf-8"
    )
    file.write_text("feature;reading\nbar;12,345\nbar;12,347\n")
    assert _run("readings", "r.csv") == 0
    said = capsys.readouterr().out
    assert "12.346" in said
    assert "bare numbers are taken in mm" in said
    assert _run("decide", "r.csv", "2", "again", "--because", "the jaws were tilted") == 0
    capsys.readouterr()
    assert _run("readings", "r.csv") == 0
    assert "12,345 was to be read again" in capsys.readouterr().out
