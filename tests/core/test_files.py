"""Files are there whole or not at all: full disks, refused names, failures in the midst."""

import errno
import os
import stat

import pytest

from fitkit.core.errors import ExportError
from fitkit.core.files import create_atomic, staged_folder, write_atomic


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


def test_a_failing_move_is_undone(tmp_path, monkeypatch):
    target = tmp_path / "made"
    target.mkdir()
    (target / "a").write_text("old a")
    (target / "c").mkdir()
    rename = type(target).rename

    def fails_at_b(self, to):
        if self.name == "b":
            raise OSError(errno.EIO, "bad block")
        return rename(self, to)

    monkeypatch.setattr(type(target), "rename", fails_at_b)

    def block():
        with staged_folder(target) as stage:
            (stage / "a").write_text("new a")
            (stage / "b").write_text("new b")

    with pytest.raises(ExportError, match="bad block"):
        block()
    assert (target / "a").read_text() == "old a"
    assert sorted(p.name for p in target.iterdir()) == ["a", "c"]
    assert not leftovers(tmp_path)
