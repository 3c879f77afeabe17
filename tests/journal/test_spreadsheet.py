"""Trials from a spreadsheet: any common layout, all faults at once, nothing twice."""

import errno
import os
import zipfile
from datetime import date

import pytest

from fitkit.core.errors import FaultList, InputError, JournalError, WriteError
from fitkit.journal import Journal, NoteRecord, bring_in, trials
from fitkit.journal.codes import trace_code
from fitkit.journal.spreadsheet import read_trials
from tests.kill_points import forks, killed_at

COMMA = """date,pair,wanted,nominal (mm),gap (mm),verdict,printer,material,remarks
2026-01-05,peg and hole,rotates freely,8,0.20,tight,bench,PETG,first
2026-01-05,peg and hole,rotates freely,8,0.35,as wanted,bench,PETG,
2026-01-05,Peg and hole,rotates freely,8,0.35,As wanted,bench,PETG,
"""
SEMICOLON = """\ufeffpair;size;clearance_mm;result
lid and rim;60,3 mm;0,25;as wanted
lid and rim;1 1/2 in;0,30;loose

"""


def test_comma_table(journal, tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    assert str(bring_in(journal, path)) == "3 trials brought in, 0 were there before"
    found = [(t.behaviour, t.size_mm, t.gap_mm, t.verdict, t.note) for t in trials(journal)]
    assert sorted(found) == [
        ("rotates freely", 8.0, 0.2, "tight", ""),
        ("rotates freely", 8.0, 0.35, "as wanted", ""),
        ("rotates freely", 8.0, 0.35, "as wanted", ""),
    ]
    assert set(journal.table().date) == {"2026-01-05"}


def test_semicolon_table_with_decimal_commas_inches_and_a_byte_order_mark(tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(SEMICOLON, encoding="utf-8")
    entries = [record.fits[0] for record in read_trials(path)]
    assert [(e.size_mm, e.gap_mm) for e in entries] == [(60.3, 0.25), (pytest.approx(38.1), 0.30)]


def test_bringing_in_twice_and_a_grown_table_adds_only_what_is_new(journal, tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    bring_in(journal, path)
    assert bring_in(journal, path).added == 0
    path.write_text(COMMA + "2026-01-09,snap pocket,slides,6,0.1,tight,bench,PETG,\n")
    result = bring_in(journal, path)
    assert (result.added, result.known) == (1, 3)


def test_workbook(journal, tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["Date", "Pair", "Size [mm]", "Gap [mm]", "Verdict"])
    book.active.append([date(2026, 1, 5), "tab and slot", 12, 0.25, "loose"])
    path = tmp_path / "trials.xlsx"
    book.save(path)
    assert bring_in(journal, path).added == 1
    (trial,) = trials(journal)
    assert (trial.pair, trial.size_mm, trial.gap_mm) == ("tab and slot", 12.0, 0.25)


def test_all_faults_at_once_and_nothing_brought_in(journal, tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(
        "pair,size,gap (mm),verdict,date\n"
        "peg and hole,8,0.2,tight,2026-01-05\n"
        "peg and whole,8 mm,0.2,tight,5 Jan\n"
        "peg and hole,8 mm,,stuck,2026-01-05\n"
        "snap pocket,8 mm,-0.2,tight,2026-01-05\n"
        "peg and hole,8 mm,0.2,tight,2026-01-05\n"
    )
    with pytest.raises(FaultList) as told:
        bring_in(journal, path)
    places = [(fault.file, fault.row, fault.column) for fault in told.value]
    assert len(places) == 6
    assert places[:3] == [
        ("trials.csv", 2, "size"), ("trials.csv", 3, "date"), ("trials.csv", 3, "pair"),
    ]  # fmt: skip
    assert "Did you mean" in told.value.faults[2].remedy
    assert ("trials.csv", 4, "gap") in places
    assert places[5] == ("trials.csv", 5, None)
    assert told.value.codes[:2] == ("unit.missing", "journal.not-a-date")
    assert journal.records() == []


def test_missing_columns_are_named(tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text("pair,size (mm)\npeg and hole,8\n")
    with pytest.raises(JournalError, match="no column 'gap', 'verdict'"):
        read_trials(path)


def test_a_workbook_that_unpacks_without_bound_is_refused(tmp_path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(3):
            archive.writestr(f"{number}.xml", bytes(100_000_000))
    with pytest.raises(JournalError, match="unpacks to more than 20 MB"):
        read_trials(path)
    path.write_bytes(b"not a workbook")
    with pytest.raises(JournalError, match="not an archive"):
        read_trials(path)


def test_an_archive_with_a_way_out_is_refused(tmp_path):
    from fitkit.core.files import check_archive

    for name in ("../../x", "/x", "a\\..\\..\\x", "C:x"):
        path = tmp_path / "a.zip"
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(name, b"")
        with pytest.raises(InputError, match="unsafe path"):
            check_archive(path)


CLASH = "date,pair,wanted,nominal (mm),gap (mm),verdict,note\n"
CLASH += "2026-05-01,peg and hole,slides,8,0.2,tight,10242352\n"


def test_a_row_whose_code_is_taken_gets_another_and_is_known_again(journal, tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(CLASH)
    (row,) = read_trials(path)
    journal.add(NoteRecord(code=row.code, notes=("an unrelated record",)))
    assert str(bring_in(journal, path)) == "1 trials brought in, 0 were there before"
    assert len(trials(journal)) == 1
    assert str(bring_in(journal, path)) == "0 trials brought in, 1 were there before"
    assert len({record.code for record in journal.records()}) == 2


def test_two_rows_of_one_file_that_share_a_code_are_both_brought_in(journal, tmp_path, monkeypatch):
    codes = iter(["NX7GAU9"] * 3)
    monkeypatch.setattr(
        "fitkit.journal.spreadsheet.trace_code",
        lambda of=None: next(codes) if of else trace_code(),
    )
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    assert str(bring_in(journal, path)) == "3 trials brought in, 0 were there before"
    assert len({record.code for record in journal.records()}) == 3


def test_rows_brought_in_by_a_release_that_kept_no_hash_are_known(journal, tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    for record in read_trials(path):
        kept = {key: value for key, value in record.extra.items() if key != "content"}
        code = journal.new_code()  # as of a workbook, whose cells were hashed otherwise
        journal.add(record.model_copy(update={"extra": kept, "code": code}))
    assert str(bring_in(journal, path)) == "0 trials brought in, 3 were there before"


def test_a_write_that_fails_in_the_midst_brings_in_nothing(journal, tmp_path, monkeypatch):
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    link, done = os.link, []

    def fails_at_third(*args, **options):
        done.append(args)
        if len(done) == 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return link(*args, **options)

    monkeypatch.setattr(os, "link", fails_at_third)
    with pytest.raises(WriteError, match="No space left"):
        bring_in(journal, path)
    assert journal.records() == []
    assert [path.name for path in journal.folder.glob(".*.p*")] == []


@forks
def test_killed_at_any_file_operation_all_rows_come_or_none(tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(COMMA)
    at, step = 1, 1
    while True:
        journal = Journal(tmp_path / f"journal{at}")
        died = killed_at(lambda journal=journal: bring_in(journal, path), journal.folder, at)
        journal.settle()
        assert len(journal.records()) in (0, 3)
        if not died:
            assert len(journal.records()) == 3
            break
        bring_in(journal, path)
        assert len(journal.records()) == 3
        at += step
    assert at > 10


def test_a_note_too_long_for_a_record_is_told_with_its_row(tmp_path):
    path = tmp_path / "trials.csv"
    path.write_text(CLASH + "2026-05-01,peg and hole,slides,8,0.2,tight," + "x" * 30_000 + "\n")
    with pytest.raises(FaultList, match="row 3"):
        read_trials(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes")
def test_a_pipe_is_no_table(tmp_path):
    os.mkfifo(tmp_path / "f.csv")
    with pytest.raises(JournalError, match="plain file"):
        read_trials(tmp_path / "f.csv")
