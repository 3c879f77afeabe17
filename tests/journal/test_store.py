"""The journal folder: written once, corrected by later records, damaged files set aside."""

import json
import os

import pytest
from pydantic import ValidationError

from fitkit.core.errors import JournalError, WriteError
from fitkit.journal import Journal, MachineRecord, NoteRecord, PrintRecord, trace_code
from fitkit.journal.index import CACHE


def test_a_record_comes_back_equal(journal, made):
    record = made(notes="first try", cost={"filament": 1.2}, extra={"bed": "textured"})
    path = journal.add(record)
    assert path.name == f"2026-03-02-{record.code}.json"
    assert journal.get(record.code.lower()) == record
    assert journal.records() == [record]


def test_an_empty_or_missing_folder_is_an_empty_journal(journal):
    assert journal.records() == []
    assert len(journal.table()) == 0
    assert not journal.folder.exists()


def test_a_code_is_never_used_twice_even_on_another_day(journal, made):
    first = made()
    journal.add(first)
    with pytest.raises(JournalError, match=f"trace code {first.code} is taken"):
        journal.add(made("another", code=first.code, day=3))
    assert journal.records() == [first]


def test_a_correction_takes_the_place_of_what_it_corrects(journal, made):
    first = made()
    path = journal.add(first)
    before = path.read_bytes()
    second = first.corrected("wrong spool", spool="blue, opened in March")
    third = second.corrected("and the material", material="PLA")
    journal.add(second)
    journal.add(third)
    assert path.read_bytes() == before
    assert journal.get(first.code) == third
    assert journal.get(first.code, corrected=True) == first
    assert journal.records("print") == [third]
    assert journal.records(corrected=True) == sorted([first, second, third], key=_time)
    assert list(journal.table().code) == [third.code]


def _time(record):
    return record.made_at


def test_a_correction_of_nothing_is_refused(journal, made):
    stray = made(supersedes=trace_code())
    with pytest.raises(JournalError, match=r"no record .* corrects"):
        journal.add(stray)
    with pytest.raises(JournalError, match=r"no record .* is of"):
        journal.add(NoteRecord(of=trace_code(), notes=("lost",)))
    assert journal.records() == []


def test_damaged_files_are_set_aside_and_named_and_the_rest_loads(journal, made):
    good = [made(day=day) for day in range(3)]
    for record in good:
        journal.add(record)
    half, empty, renamed, later, merge = (made(day=9) for _ in range(5))
    (journal.folder / f"2026-03-11-{half.code}.json").write_text(half.to_json()[:200])
    (journal.folder / f"2026-03-11-{empty.code}.json").touch()
    (journal.folder / f"2026-03-11-{trace_code()}.json").write_text(renamed.to_json())
    newer = json.loads(later.to_json()) | {"schema": 99}
    (journal.folder / f"2026-03-11-{later.code}.json").write_text(json.dumps(newer))
    conflict = "<<<<<<< ours\n" + merge.to_json()
    (journal.folder / f"2026-03-11-{merge.code}.json").write_text(conflict)
    assert journal.records() == good
    why = {item.name: item.why for item in journal.damaged}
    assert len(why) == 5
    assert "not whole JSON" in why[f"2026-03-11-{half.code}.json"]
    assert "empty" in why[f"2026-03-11-{empty.code}.json"]
    assert "a newer release of fitkit wrote it (schema 99" in why[f"2026-03-11-{later.code}.json"]
    assert any("its name is not that of record" in text for text in why.values())
    with pytest.raises(JournalError, match=r"not whole JSON.*Restore the file"):
        journal.get(half.code)


def test_a_mended_file_is_back_at_once(journal, made):
    record = made()
    path = journal.add(record)
    whole = path.read_bytes()
    path.write_bytes(whole[:-20])
    assert journal.records() == []
    path.write_bytes(whole)
    assert journal.records() == [record]
    assert journal.damaged == ()


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"layout": 3, "rows": 4}', b"\xff"])
def test_the_index_is_rebuilt_from_the_files(journal, made, content):
    for day in range(4):
        journal.add(made(day=day))
    table = journal.table()
    (journal.folder / CACHE).write_bytes(content)
    assert journal.table().equals(table)
    (journal.folder / CACHE).unlink()
    assert journal.table().equals(table)


def test_a_read_only_folder_still_reads(journal, made, monkeypatch):
    record = made()
    journal.add(record)

    def denied(path, content):
        raise JournalError("cannot be written")

    monkeypatch.setattr("fitkit.journal.index.write_atomic", denied)
    assert journal.records() == [record]


def test_two_folders_merge_by_putting_all_files_into_one(tmp_path, made):
    ours, theirs = Journal(tmp_path / "ours"), Journal(tmp_path / "theirs")
    for journal in (ours, theirs):
        for day in range(5):
            journal.add(made(day=day))
    both = {record.code for journal in (ours, theirs) for record in journal.records()}
    for path in theirs.files():
        assert not (ours.folder / path.name).exists()
        os.rename(path, ours.folder / path.name)
    assert {record.code for record in ours.records()} == both
    assert len(both) == 10


def test_one_code_on_two_records_is_told_not_guessed(journal, made):
    record = made()
    journal.add(record)
    twin = made("another", code=record.code, day=1)
    (journal.folder / f"2026-03-03-{record.code}.json").write_text(twin.to_json())
    with pytest.raises(JournalError, match="is the code of 2 records"):
        journal.get(record.code)


@pytest.mark.parametrize(
    "name",
    ["../x.stl", "/etc/passwd", "a/b.stl", "..\\x", "C:x", "", ".hidden", "nul.txt", "a\x00"],
)
def test_paths_in_records_cannot_leave_the_folder(made, name):
    content = made().model_dump(by_alias=True)
    content["files"] = [{"name": name, "sha256": "0" * 64}]
    with pytest.raises(ValidationError, match="not a plain file name"):
        PrintRecord.model_validate(content)


def test_a_linked_photo_folder_cannot_lead_outside(journal, made, tmp_path):
    from fitkit.journal.names import inside

    journal.folder.mkdir()
    (journal.folder / "photos").symlink_to(tmp_path)
    with pytest.raises(JournalError, match="leads out of the journal"):
        inside(journal.folder, "photos", "x.jpg")


def test_new_takes_what_the_rooms_hand_about(tmp_path):
    import hashlib

    from fitkit.calibration import generic_profile
    from fitkit.stats.uncertainty import Estimate

    readings = tmp_path / "board.csv"
    readings.write_bytes(b"feature,reading\n")
    profile = generic_profile("PETG")
    board = Estimate.of("board length", 68.5, 0.02, df=4)
    record = PrintRecord.new(
        title="case",
        template="board case",
        readings=[readings],
        measured={"board length": board},
        profile=profile,
        files={"case.3mf": "ab" * 32},
    )
    assert record.readings[0].sha256 == hashlib.sha256(b"feature,reading\n").hexdigest()
    assert record.measured["board length"].df == 4
    assert record.material == "PETG"
    assert record.profile["terms"]
    assert {"fitkit", "python", "build123d"} < set(record.versions)
    assert any(name.startswith("cadquery-ocp") for name in record.versions)
    again = PrintRecord.model_validate_json(record.to_json())
    assert again == record


def test_a_file_with_an_odd_name_is_kept_under_a_plain_one(tmp_path, made):
    path = tmp_path / "board: second?.csv"
    path.write_text("x")
    assert made(readings=[path]).readings[0].name == "board second .csv"


def test_new_says_what_cannot_be_kept(made):
    with pytest.raises(JournalError, match=r"record of 'case', drawn.lid"):
        made("case", drawn={"lid": float("nan")})
    with pytest.raises(JournalError, match="kind object cannot be stored"):
        made("case", cost={"filament": object()})


def _adds(folder, count):
    journal = Journal(folder)
    for number in range(count):
        journal.add(MachineRecord(code=journal.new_code(), printer="bench", what=f"{number}"))


@pytest.mark.parametrize(
    ("writers", "count"), [(4, 10), pytest.param(8, 250, marks=pytest.mark.slow)]
)
def test_writers_at_once_lose_no_record(tmp_path, writers, count):
    import multiprocessing

    context = multiprocessing.get_context("spawn")
    workers = [context.Process(target=_adds, args=(tmp_path, count)) for _ in range(writers)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(300)
        assert worker.exitcode == 0
    journal = Journal(tmp_path)
    assert len(journal.records()) == writers * count
    assert journal.damaged == ()
    left = {path.name for path in tmp_path.glob(".*")} - {".index.json", ".gitignore"}
    assert left == set()


def test_a_journal_that_is_a_file_is_told_as_what_it_is(tmp_path):
    (tmp_path / "journal").write_text("a file", encoding="utf-8")
    with pytest.raises(WriteError, match="a file bears the name of this folder"):
        Journal(tmp_path / "journal").add(MachineRecord(printer="bench", what="nozzle"))
