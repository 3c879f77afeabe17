"""A folder and its record appear together, whole, at whichever file operation a program is killed.

"Killed" is by SIGKILL before each file operation in turn; then the next start settles what is left.
"""

import pytest

from fitkit.core.files import write_atomic
from fitkit.core.staged import create_together, settle, staged_folder
from tests.kill_points import forks, killed_at

NEW = {"part.3mf": "new 3mf", "part.html": "new sheet", "sub/a": "new a"}
OLD = {"part.3mf": "old 3mf", "part.html": "old sheet", "part.step": "old step", "sub/b": "own b"}
OWN = {"mine.txt": "keep", "sub/b": "own b"}


def fill(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)


def held(folder):
    if not folder.exists():
        return None
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in folder.rglob("*")
        if path.is_file()
    }


@forks
@pytest.mark.parametrize("there", ["fresh", "files", "folders"])
@pytest.mark.parametrize("record", [False, True], ids=["alone", "with a record"])
def test_killed_at_each_file_operation_the_folder_is_old_or_new(tmp_path, there, record):
    at = 0
    new = {name: text for name, text in NEW.items() if there == "folders" or "/" not in name}
    old = {**OLD, **OWN} if there == "folders" else {**OLD, "mine.txt": "keep"}
    old = {name: text for name, text in old.items() if there == "folders" or "/" not in name}
    before = None if there == "fresh" else old
    own = {name: text for name, text in OWN.items() if name in (before or {})}
    after = {**new, **own}
    while True:
        at += 1
        room = tmp_path / str(at)
        target, journal = room / "out", room / "journal"
        journal.mkdir(parents=True)
        if before:
            fill(target, before)
        file = journal / "record.json"
        elsewhere = {file: "record", journal / "bodies" / "k7m3pxa": b"bodies"} if record else {}

        def act(target=target, elsewhere=elsewhere):
            with staged_folder(target, drop=("part.step",), arrives_with=elsewhere) as stage:
                fill(stage, new)

        died = killed_at(act, room, at)
        # Before anything is settled: no files without a record, and none of two prints where the
        # folder can be moved.
        seen = held(target)
        assert there == "folders" or seen in (None, before, after), at
        if record and seen != before and seen is not None:
            assert all(path.exists() for path in elsewhere), at
        said = settle(journal, journal / "bodies", room)
        assert held(target) in (before, after), (at, said)
        if record:
            arrived = [path.exists() for path in elsewhere]
            assert arrived == [held(target) == after] * 2, (at, said)
        left = [path.name for path in room.rglob(".*") if not path.name.endswith(".lock")]
        assert left == [], (at, said)
        if not died:
            assert held(target) == after
            break
    assert at > (15 if record else 8)


@pytest.mark.parametrize("inner", ["journal", ""])
def test_a_record_that_lies_in_the_folder_itself_stays(tmp_path, inner):
    file = tmp_path / "out" / inner / "record.json"
    file.parent.mkdir(parents=True)
    (file.parent / "earlier.json").write_text("earlier")
    with staged_folder(tmp_path / "out", arrives_with={file: "record"}) as stage:
        fill(stage, {"part.3mf": "new"})
    assert file.read_text() == "record"
    assert (file.parent / "earlier.json").read_text() == "earlier"
    assert (tmp_path / "out" / "part.3mf").read_text() == "new"


def test_the_folder_that_one_works_in_is_not_taken_away(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    inode = tmp_path.stat().st_ino
    (tmp_path / "part.3mf").write_text("old")
    with staged_folder(".") as stage:
        fill(stage, {"part.3mf": "new"})
    assert tmp_path.stat().st_ino == inode
    assert (tmp_path / "part.3mf").read_text() == "new"


@forks
def test_killed_at_each_file_operation_a_file_is_old_or_new(tmp_path):
    at = 0
    while True:
        at += 1
        room = tmp_path / str(at)
        room.mkdir()
        path = room / "r.csv"
        path.write_text("old")
        died = killed_at(lambda path=path: write_atomic(path, "new"), room, at)
        assert path.read_text() in ("old", "new")
        settle(room)
        assert [p.name for p in room.iterdir()] == ["r.csv"]
        if not died:
            assert path.read_text() == "new"
            break
    assert at >= 3


@forks
def test_killed_at_each_file_operation_all_of_several_files_are_there_or_none(tmp_path):
    at = 0
    while True:
        at += 1
        room = tmp_path / str(at)
        room.mkdir()
        (room / "mine").write_text("mine")
        contents = {room / name: name for name in ("a", "b", "c")}
        died = killed_at(lambda contents=contents: create_together(contents), room, at)
        settle(room)
        names = sorted(path.name for path in room.iterdir())
        assert names in (["mine"], ["a", "b", "c", "mine"]), at
        if not died:
            assert len(names) == 4
            break
    assert at > 8


def test_several_files_of_which_one_is_there_leave_no_other(tmp_path):
    (tmp_path / "b").write_text("mine")
    with pytest.raises(FileExistsError):
        create_together({tmp_path / name: name for name in ("a", "b", "c")})
    assert [path.name for path in tmp_path.iterdir()] == ["b"]
    assert (tmp_path / "b").read_text() == "mine"
