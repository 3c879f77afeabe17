"""One rotten, endless or misdated record is set aside and named; it stops and hides no other."""

import json
import os
import time
from datetime import UTC, datetime, timedelta

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import Journal, MachineRecord, history, trial_of
from fitkit.journal.codes import trace_code
from fitkit.journal.files import Damage, set_aside
from fitkit.journal.index import CACHE
from fitkit.journal.lookup import table
from fitkit.journal.records import SCHEMA

CODE = trace_code(of=b"room")


def note(what, **rest):
    return MachineRecord(printer="bench", what=what, **rest)


@pytest.fixture
def journal(tmp_path):
    found = Journal(tmp_path)
    for what in ("nozzle", "belt"):
        found.add(note(what))
    return found


def place(journal, code=CODE):
    return journal.folder / f"2026-05-01-{code}.json"


def a_pipe(path):
    os.mkfifo(path)


def a_device(path):
    path.symlink_to("/dev/zero")


def a_folder(path):
    path.mkdir()


def a_link_to_nothing(path):
    path.symlink_to("nowhere")


def a_ring(path):
    path.symlink_to(path.name)


def year_one(path):
    record = json.loads(note("room", code=CODE).to_json())
    path.write_text(json.dumps(record | {"made_at": "0001-01-01T00:00:00+14:00"}))


def deep(path):
    record = json.loads(note("room", code=CODE).to_json())
    inner = "[" * 400 + "]" * 400
    path.write_text(
        json.dumps(record | {"extra": {"a": 0}}).replace('{"a": 0}', f'{{"a": {inner}}}')
    )


def many_brackets(path):
    path.write_text("[" * 200_000)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes and devices")
@pytest.mark.parametrize(
    "spoil",
    [a_pipe, a_device, a_folder, a_link_to_nothing, a_ring, year_one, deep, many_brackets],
    ids=lambda spoil: spoil.__name__,
)
def test_what_is_no_sound_record_is_set_aside_and_named(journal, spoil):
    spoil(place(journal))
    for _ in range(2):  # read from the files, then from the cache
        assert [record.what for record in journal.records()] == ["nozzle", "belt"]
        assert [item.name for item in journal.damaged] == [place(journal).name]
        assert len(table(journal)) == 2
    with pytest.raises(JournalError):
        journal.get(CODE)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_text("[" * 200_000),
        lambda path: _with(path, rows=[1, None, ["x"], {"file": "x"}]),
        lambda path: _with(path, rows=7),
        lambda path: _with(path, bad=[["x", "y", 1, 2]]),
        lambda path: _with(path, layout=-1),
        lambda path: path.write_text("7"),
        lambda path: path.write_bytes(b"\xff\x00"),
        lambda path: _without_words(path),
    ],
    ids=[
        "brackets",
        "no rows",
        "a number as rows",
        "a short row",
        "another layout",
        "a number",
        "bytes",
        "rows without words",
    ],
)
def test_a_damaged_cache_costs_a_rebuild_and_nothing_else(journal, spoil):
    journal.records()
    spoil(journal.folder / CACHE)
    assert [record.what for record in journal.records()] == ["nozzle", "belt"]
    assert len(table(journal)) == 2
    assert journal.damaged == ()


def _with(path, **changes):
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


def _without_words(path):
    rows = json.loads(path.read_text())["rows"]
    _with(path, rows=[[None if isinstance(one, str) else one for one in row] for row in rows])


def from_a_newer_release(path):
    record = json.loads(note("room", code=CODE).to_json())
    path.write_text(json.dumps(record | {"schema": SCHEMA + 1, "humidity": 0.4}))


def test_a_record_of_a_newer_release_is_named_as_newer_and_not_as_damaged(journal):
    from_a_newer_release(place(journal))
    many_brackets(place(journal, "NX7GAU9"))
    for _ in range(2):  # read from the files, then from the cache
        newer, rotten = sorted(journal.damaged, key=lambda item: not item.newer)
        assert (newer.name, newer.newer) == (place(journal).name, True)
        assert (rotten.name, rotten.newer) == (place(journal, "NX7GAU9").name, False)
    damaged, old = set_aside(journal.damaged)
    assert rotten.name in damaged
    assert newer.name in old
    assert "too old for it" in old
    assert "Update fitkit. The file is sound." in old
    assert "cannot be read" not in old
    assert "Restore" not in old


def test_many_damaged_records_are_counted_not_all_listed(journal):
    items = [Damage(name=f"{n}.json", why="it is empty") for n in range(50)]
    lines = set_aside(items, most=3)
    assert len(lines) == 4
    assert lines[-1].endswith("47 further records")


def test_a_record_that_rots_with_its_size_and_time_kept_is_set_aside(journal):
    path = journal.add(note("room"))
    journal.records()
    held = path.stat()
    raw = path.read_bytes()
    path.write_bytes(b"\x00" * len(raw))
    os.utime(path, ns=(held.st_atime_ns, held.st_mtime_ns))
    assert [record.what for record in journal.records()] == ["nozzle", "belt"]
    assert [item.name for item in journal.damaged] == [path.name]
    assert [item.name for item in Journal(journal.folder).damaged] == [path.name]


def test_a_record_from_the_future_has_not_the_last_word_for_ever(tmp_path, made):
    journal = Journal(tmp_path / "j")
    made = made()
    journal.add(made)
    name = made.fits[0].name
    ahead = trial_of(made, {name: "rattles"})
    path = journal.add(ahead.model_copy(update={"made_at": datetime(2099, 1, 1, tzinfo=UTC)}))
    an_hour_ago = time.time() - 3600
    os.utime(path, (an_hour_ago, an_hour_ago))
    assert "rattles" in history(journal, made.title)[0].verdict
    journal.add(trial_of(made, {name: "as wanted"}))
    assert history(journal, made.title)[0].verdict == "as wanted"
    (doubt,) = journal.doubts
    assert f"record {ahead.code} is dated in the future, 2099-01-01" in doubt


def test_a_clock_an_hour_ahead_is_no_reason_to_doubt(journal):
    journal.add(note("room", made_at=datetime.now(UTC) + timedelta(hours=1)))
    assert journal.doubts == ()
    assert len(journal.records()) == 3
