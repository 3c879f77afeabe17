"""Files are there whole or not at all: full disks, refused names, failures in the midst."""

import errno
import os
import stat
import subprocess
import sys

import pytest

from fitkit.core.errors import ExportError, StateError
from fitkit.core.files import create_atomic, write_atomic
from fitkit.core.leavings import neighbour
from fitkit.core.staged import settle, staged_folder


def leftovers(folder):
    return [path.name for path in folder.rglob("*") if path.name.endswith((".part", ".claim"))]


def test_writes_text_as_utf8_with_its_own_line_ends(tmp_path):
    path = write_atomic(tmp_path / "new" / "a.txt", "Größe ± 0.1\nmm\n")
    assert path.read_bytes() == "Größe ± 0.1\nmm\n".encode()


def test_replaces_whole_and_keeps_the_mode(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text("a much longer text than the next")
    path.chmod(0o640)
    write_atomic(path, b"short")
    assert path.read_bytes() == b"short"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_mode_that_the_umask_gives(tmp_path):
    plain = tmp_path / "plain"
    plain.touch()
    assert write_atomic(tmp_path / "ours", "x").stat().st_mode == plain.stat().st_mode


@pytest.mark.parametrize("write", [write_atomic, create_atomic])
def test_full_disk_leaves_the_old_file_and_no_other(tmp_path, monkeypatch, write):
    path = tmp_path / "a.txt"
    if write is write_atomic:
        path.write_text("old")

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ExportError, match=r"No space left on device. Free some space"):
        write(path, "new")
    assert [p.name for p in tmp_path.iterdir()] == (["a.txt"] if write is write_atomic else [])
    if write is write_atomic:
        assert path.read_text() == "old"


def test_create_refuses_a_taken_name(tmp_path):
    create_atomic(tmp_path / "a", "first")
    with pytest.raises(FileExistsError):
        create_atomic(tmp_path / "a", "second")
    assert (tmp_path / "a").read_text() == "first"
    assert not leftovers(tmp_path)


def test_create_without_hard_links(tmp_path, monkeypatch):
    def no_links(*paths):
        raise OSError(errno.EPERM, "no hard links here")

    monkeypatch.setattr(os, "link", no_links)
    create_atomic(tmp_path / "a", "first")
    with pytest.raises(FileExistsError):
        create_atomic(tmp_path / "a", "second")
    assert (tmp_path / "a").read_text() == "first"
    assert not leftovers(tmp_path)


def test_stage_arrives_whole_and_keeps_other_files(tmp_path):
    target = tmp_path / "made"
    target.mkdir()
    (target / "mine.txt").write_text("keep")
    (target / "a.stl").write_text("old")
    with staged_folder(target) as stage:
        (stage / "a.stl").write_text("new")
        (stage / "b.stl").write_text("b")
        assert (target / "a.stl").read_text() == "old"
    assert {p.name: p.read_text() for p in target.iterdir()} == {
        "mine.txt": "keep",
        "a.stl": "new",
        "b.stl": "b",
    }
    assert not leftovers(tmp_path)


def test_stage_makes_the_folder_with_subfolders(tmp_path):
    with staged_folder(tmp_path / "deep" / "made") as stage:
        (stage / "sub").mkdir()
        (stage / "sub" / "a").write_text("a")
    assert (tmp_path / "deep" / "made" / "sub" / "a").read_text() == "a"


def test_a_failing_block_leaves_nothing(tmp_path):
    def block():
        with staged_folder(tmp_path / "made") as stage:
            (stage / "a").write_text("a")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        block()
    assert list(tmp_path.iterdir()) == []


def bring_new_a_and_b(target):
    with staged_folder(target) as stage:
        (stage / "a").write_text("new a")
        (stage / "b").write_text("new b")


def test_a_failing_move_leaves_the_old_folder_as_it_was(tmp_path, monkeypatch):
    target = tmp_path / "made"
    target.mkdir()
    (target / "a").write_text("old a")
    (target / "note").write_text("mine")
    rename = os.rename

    def fails_into_place(source, to, **options):
        if str(to) == str(target) and str(source).endswith(".part"):
            raise OSError(errno.EIO, "bad block")
        return rename(source, to, **options)

    monkeypatch.setattr(os, "rename", fails_into_place)

    with pytest.raises(ExportError, match="bad block"):
        bring_new_a_and_b(target)
    assert (target / "a").read_text() == "old a"
    assert sorted(p.name for p in target.rglob("*")) == ["a", "note"]
    assert [p.name for p in tmp_path.iterdir()] == ["made"]


def test_a_failing_move_into_a_folder_that_stays_is_undone(tmp_path, monkeypatch):
    target = tmp_path / "made"
    (target / "c").mkdir(parents=True)
    (target / "a").write_text("old a")
    rename = os.rename

    def fails_at_b(source, to, **options):
        if str(to) == str(target / "b"):
            raise OSError(errno.EIO, "bad block")
        return rename(source, to, **options)

    monkeypatch.setattr(os, "rename", fails_at_b)

    with pytest.raises(ExportError, match="bad block"):
        bring_new_a_and_b(target)
    assert (target / "a").read_text() == "old a"
    assert sorted(p.name for p in target.iterdir()) == ["a", "c"]
    assert [p.name for p in tmp_path.iterdir()] == ["made"]


def test_a_folder_that_bears_a_files_name_is_not_deleted(tmp_path):
    target = tmp_path / "made"
    (target / "a.stl").mkdir(parents=True)
    (target / "a.stl" / "keep.txt").write_text("keep")

    def block():
        with staged_folder(target) as stage:
            (stage / "a.stl").write_text("new")

    with pytest.raises(StateError, match=r"a folder bears the name of the file a\.stl"):
        block()
    assert (target / "a.stl" / "keep.txt").read_text() == "keep"


def test_subfolders_and_links_of_the_users_own_stay(tmp_path):
    target = tmp_path / "made"
    (target / "mine" / "deep").mkdir(parents=True)
    (target / "mine" / "deep" / "n.txt").write_text("n")
    (target / "to").symlink_to("mine/deep/n.txt")
    with staged_folder(target) as stage:
        (stage / "a").write_text("a")
    assert (target / "to").is_symlink()
    assert (target / "to").read_text() == "n"
    assert (target / "mine" / "deep" / "n.txt").stat().st_nlink == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["made"]


def test_a_link_keeps_its_place_and_its_target_is_replaced(tmp_path):
    (tmp_path / "cloud").mkdir()
    real = tmp_path / "cloud" / "r.csv"
    real.write_text("old")
    link = tmp_path / "l.csv"
    link.symlink_to(real)
    assert write_atomic(link, "new") == link
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert [p.name for p in real.parent.iterdir()] == ["r.csv"]


def test_a_file_of_two_names_keeps_both(tmp_path):
    (tmp_path / "a").write_text("a longer text than the new one")
    os.link(tmp_path / "a", tmp_path / "b")
    write_atomic(tmp_path / "a", "new")
    assert (tmp_path / "b").read_text() == "new"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "b"]


def test_a_full_disk_leaves_a_file_of_two_names_as_it_was(tmp_path, monkeypatch):
    (tmp_path / "a").write_text("old and longer")
    os.link(tmp_path / "a", tmp_path / "b")
    fsync, asked = os.fsync, []

    def full_at_second(handle):
        asked.append(handle)
        if len(asked) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return fsync(handle)

    monkeypatch.setattr(os, "fsync", full_at_second)
    with pytest.raises(ExportError, match="No space left"):
        write_atomic(tmp_path / "a", "new")
    assert (tmp_path / "b").read_text() == "old and longer"


def test_what_runs_is_left_alone_and_what_ended_is_taken_away_and_told(tmp_path):
    child = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"],
        capture_output=True,
        text=True,
        check=True,
    )
    host = neighbour(tmp_path / "r.csv").name.split(".")[-2].split("-")[0]
    ended = tmp_path / f".r.csv.{host}-{int(child.stdout)}-00c0ffee.part"
    ours = neighbour(tmp_path / "r.csv")
    others = tmp_path / ".r.csv.0badcafe-1-00c0ffee.part"
    for path in (ended, ours, others):
        path.write_text("half")

    for path in (tmp_path / "mine.part", tmp_path / ".hidden"):
        path.write_text("mine")
    said = settle(tmp_path)
    assert said == (
        f"{tmp_path / 'r.csv'}: took away an unfinished copy that a stopped program had left",
    )
    assert not ended.exists()
    assert ours.exists()
    assert others.exists()
    assert settle(tmp_path) == ()
    assert settle(tmp_path / "nowhere") == ()
