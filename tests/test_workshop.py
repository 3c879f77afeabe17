"""Which workshop counts, what its file may say, and that an original is not written into."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fitkit.core.errors import FaultList, WorkshopError
from fitkit.demo import copy_demo
from fitkit.flow.sheet import PrinterChoice, load_sheet
from fitkit.views.shell import main
from fitkit.workshop import begin_workshop, find_workshop, load_workshop

ROOT = Path(__file__).parents[1]
SHEET = 'schema = 1\ntitle = "foot"\ntemplate = "spacer"\n'


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FITKIT_WORKSHOP", raising=False)
    return tmp_path


def refused(capsys, *words):
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    assert ended.value.code == 2
    return capsys.readouterr().err


def ran(capsys, *words):
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    said = capsys.readouterr()
    assert ended.value.code == 0, said.err
    return said.out


def test_a_begun_workshop_names_every_place_and_needs_no_editing(here):
    workshop = begin_workshop(here / "bench", title='The "long" bench')
    assert workshop.title == 'The "long" bench'
    assert workshop.declared
    assert not workshop.note
    assert workshop.journal == here / "bench" / "journal"
    assert workshop.journal.is_dir()
    assert workshop.printer == PrinterChoice(generic="PETG")
    assert (workshop.repeats, workshop.handling, workshop.decimal) == (3, "touched", None)


def test_a_workshop_is_not_begun_twice(here):
    begin_workshop(here)
    before = (here / "workshop.toml").read_bytes()
    with pytest.raises(WorkshopError, match="already"):
        begin_workshop(here)
    assert (here / "workshop.toml").read_bytes() == before


def test_the_sheets_folder_counts_before_the_current_one_and_the_variable_comes_last(
    here, monkeypatch
):
    for name in ("one", "two", "three"):
        begin_workshop(here / name, title=name)
    (here / "one" / "deep" / "deeper").mkdir(parents=True)
    monkeypatch.setenv("FITKIT_WORKSHOP", str(here / "three"))
    assert find_workshop().title == "three"
    monkeypatch.chdir(here / "two")
    assert find_workshop().title == "two"
    assert find_workshop(here / "one" / "deep" / "deeper").title == "one"
    assert find_workshop(here / "one", named=here / "three" / "workshop.toml").title == "three"


def test_the_nearest_of_nested_workshops_counts_and_both_are_named(here):
    begin_workshop(here / "outer", title="outer")
    begin_workshop(here / "outer" / "inner", title="inner")
    found = find_workshop(here / "outer" / "inner")
    assert found.title == "inner"
    assert str(here / "outer" / "inner") in found.note
    assert found.note.endswith(f"inside the workshop {here / 'outer'}.")


def test_without_a_workshop_the_message_says_how_to_begin(here, capsys):
    said = refused(capsys, "log")
    assert said.count("\n") == 1
    assert "belongs to no workshop" in said
    assert "fitkit begin" in said


def test_a_workshop_below_the_current_folder_is_pointed_out(here, capsys):
    begin_workshop(here / "my_parts")
    assert "--workshop my_parts" in refused(capsys, "success")
    assert "0 records" in ran(capsys, "log", "--workshop", "my_parts")


def test_a_folder_of_the_first_release_still_works_and_says_so(here, capsys):
    (here / "foot.toml").write_text(SHEET + '[printer]\ngeneric = "PETG"\n')
    sheet = load_sheet(here / "foot.toml")
    assert not sheet.workshop.declared
    assert sheet.journal_folder == here / "journal"
    (here / "journal").mkdir()
    with pytest.raises(SystemExit):
        main(["log"])
    said = capsys.readouterr()
    assert "0 records" in said.out
    assert "fitkit begin" in said.err


def test_what_the_sheet_names_counts_before_the_workshop(here):
    begin_workshop(here)
    (here / "a.toml").write_text(SHEET)
    (here / "b.toml").write_text(
        SHEET.replace("schema = 1\n", 'schema = 1\njournal = "own"\n')
        + '[printer]\ngeneric = "PLA"\n[outputs]\nfolder = "out"\n'
    )
    plain, own = load_sheet(here / "a.toml"), load_sheet(here / "b.toml")
    assert plain.journal_folder == here / "journal"
    assert own.journal_folder == here / "own"
    assert plain.printer_to_draw_for.generic == "PETG"
    assert own.printer_to_draw_for.generic == "PLA"
    assert (plain.made_folder, own.made_folder) == (here / "made", here / "out")
    assert plain.instruments_file is None


def test_a_profile_is_found_in_the_workshop_by_its_name(here):
    begin_workshop(here)
    (here / "profiles").mkdir()
    (here / "profiles" / "desk.toml").write_text("")
    (here / "deep").mkdir()
    (here / "deep" / "foot.toml").write_text(SHEET + '[printer]\nprofile = "desk"\n')
    found = load_sheet(here / "deep" / "foot.toml").printer_to_draw_for.profile
    assert found == str(here / "profiles" / "desk.toml")


def test_all_faults_of_a_workshop_file_are_told_at_once(here):
    (here / "workshop.toml").write_text(
        'schema = 1\njurnal = "j"\n[habits]\nrepeats = 0\ncolour = "red"\n'
    )
    with pytest.raises(FaultList) as told:
        load_workshop(here / "workshop.toml")
    lines = str(told.value).splitlines()
    assert len(lines) == 3
    assert any("key jurnal" in line and "journal" in line.split("keys are")[1] for line in lines)
    assert any("habits.repeats" in line for line in lines)
    assert any("habits.colour" in line and "handling" in line for line in lines)


@pytest.mark.parametrize("text", ["schema = ", "\x00", "schema = 2"])
def test_a_broken_workshop_file_is_one_message(here, capsys, text):
    (here / "workshop.toml").write_text(text)
    said = refused(capsys, "log")
    assert str(here / "workshop.toml") in said
    assert said.count("\n") == 1


def test_a_wrong_name_after_the_option_is_told(here, capsys):
    assert "--workshop" in refused(capsys, "log", "--workshop", "nowhere")


def test_the_demo_is_read_only_and_its_copy_is_not(here, capsys):
    assert load_workshop(ROOT / "measurements" / "workshop.toml").read_only
    said = refused(capsys, "make", str(ROOT / "measurements" / "terminal_tray.toml"))
    assert "fitkit demo" in said
    said = refused(
        capsys, "changed", "desk printer", "nozzle", "--workshop", str(ROOT / "measurements")
    )
    assert "read-only" in said
    workshop = find_workshop(copy_demo(here / "mine"))
    assert not workshop.read_only
    assert workshop.instruments == here / "mine" / "shared" / "instruments" / "bench.toml"
    assert workshop.instruments.is_file()


def test_a_copy_never_overwrites_a_folder(here):
    (here / "mine").mkdir()
    (here / "mine" / "kept.txt").write_text("kept")
    with pytest.raises(WorkshopError, match="there already"):
        copy_demo(here / "mine")
    assert [p.name for p in (here / "mine").iterdir()] == ["kept.txt"]


@pytest.mark.skipif(os.name == "nt", reason="folders are closed in other ways there")
def test_a_journal_that_cannot_be_written_is_told_before_anything_is_made(here, capsys):
    begin_workshop(here)
    (here / "journal").rmdir()
    (here / "journal").write_text("a file where the folder should be")
    (here / "foot.toml").write_text(SHEET)
    said = refused(capsys, "make", "foot.toml")
    assert "no record can be written here" in said
    assert not (here / "made").exists()
