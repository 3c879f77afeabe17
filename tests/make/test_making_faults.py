"""Faults in the midst of making a part: it is there whole or not at all, and the next try works.

Each write point is a call by which a file or folder is flushed, named or moved. "Killed" means by
SIGKILL, which no program can catch.
"""

import errno
import multiprocessing
import os
import re
import subprocess
import sys
import time
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fitkit.core.errors import ExportError, FitkitError, PartError, RecordWriteError, WriteError
from fitkit.core.files import write_atomic
from fitkit.core.staged import settle
from fitkit.journal import Journal, MachineRecord
from fitkit.make import make
from tests.kill_points import forks, killed_at

SHEET = """\
schema = 1
title = "TITLE"
template = "spacer"
journal = "journal"
[printer]
generic = "PETG"
[values]
height = "10 mm"
[outputs]
files = ["3mf", "step", "stl", "sheet"]
"""
POINTS = ("fsync", "rename", "replace", "link")
ENDINGS = {".3mf", ".step", ".stl", ".html"}


@pytest.fixture
def sheet(tmp_path) -> Path:
    return write(tmp_path)


def write(folder: Path, title: str = "spacer") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "sheet.toml"
    path.write_text(SHEET.replace("TITLE", title), encoding="utf-8")
    return path


def records(sheet: Path) -> list:
    journal = Journal(sheet.parent / "journal")
    assert not journal.damaged
    return journal.records()


def whole(folder: Path) -> bool:
    """Whether a folder has all files; it must have all or not be there."""
    endings = {path.suffix for path in folder.iterdir()} if folder.exists() else set()
    endings -= {".txt"}  # one's own
    assert endings in (ENDINGS, set()), endings
    return bool(endings)


def counted(monkeypatch, act, at: int) -> list[str]:
    """Have the write point of this number do something else; give the list of points so far."""
    seen: list[str] = []

    def through(name, real):
        def call(*args, **options):
            seen.append(name)
            if len(seen) == at:
                act()
            return real(*args, **options)

        return call

    for name in POINTS:
        monkeypatch.setattr(os, name, through(name, getattr(os, name)))
    return seen


def full() -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_disk_that_fills_at_any_write_point_leaves_nothing_half(sheet, monkeypatch):
    with monkeypatch.context() as patch:
        seen = counted(patch, full, 0)
        make(sheet, into=sheet.parent / "first")
    assert set(seen) >= {"fsync", "rename", "link"}
    told = 0
    for at in range(1, len(seen) + 1):
        folder = sheet.parent / f"out{at}"
        before = len(records(sheet))
        with monkeypatch.context() as patch:
            counted(patch, full, at)
            try:
                make(sheet, into=folder)
            except WriteError as error:
                told += "No space left on device" in str(error)
        assert len(records(sheet)) == before + whole(folder)
    assert told >= len(seen) / 2  # a folder that cannot be flushed is no reason to refuse
    left = [path.name for path in sheet.parent.rglob(".*.p*")]
    assert left == []
    make(sheet, into=sheet.parent / "last")
    assert whole(sheet.parent / "last")


@forks
@pytest.mark.slow
@pytest.mark.parametrize("there", [False, True], ids=["fresh", "existing"])
def test_kill_9_at_each_file_operation_leaves_files_and_record_together(sheet, there):
    import fitkit.make.warm  # noqa: F401  # loaded, not used: a used kernel's threads do not fork

    at, killed = 0, 0
    while True:
        at += 1
        room = sheet.parent / f"room{at}"
        here = write(room)
        folder = room / "out"
        before = None
        if there:
            assert not killed_at(lambda here=here, folder=folder: make(here, into=folder), room, 0)
            before = code_in(folder)
            (folder / "mine.txt").write_text("keep", encoding="utf-8")
        died = killed_at(lambda here=here, folder=folder: make(here, into=folder), room, at)
        assert code_in(folder) in known(here), at  # before anything is settled
        Journal(room / "journal").settle()
        settle(room)
        code = code_in(folder)
        assert (code == before) == (len(known(here)) == 1 + there), at
        assert code in known(here)
        if there:
            assert (folder / "mine.txt").read_text(encoding="utf-8") == "keep"
        kept = {path.name for path in (room / "journal" / "bodies").glob("*")}
        assert kept == {record.bodies.name for record in records(here)}, at
        left = [path.name for path in room.rglob(".*.p*") if path.suffix != ".lock"]
        assert left == [], at
        killed += died
        if not died:
            assert code != before
            break
    assert killed >= 15


def code_in(folder: Path) -> str | None:
    """The one trace code that all files of a folder bear; None if it is not there."""
    if not folder.exists():
        return None
    assert whole(folder)
    sheet = next(folder.glob("*.html")).read_text(encoding="utf-8")
    with zipfile.ZipFile(next(folder.glob("*.3mf"))) as archive:
        model = archive.read("3D/3dmodel.model").decode()
    (code,) = set(re.findall(r"trace code ([0-9A-Z]{7})", model))
    assert code in sheet
    return code


def known(sheet: Path) -> set[str | None]:
    return {None, *(record.code for record in records(sheet))}


def _make(sheet: str, folder: str) -> None:
    make(sheet, into=folder)


@pytest.mark.skipif(
    "forkserver" not in multiprocessing.get_all_start_methods(), reason="needs a fork server"
)
def test_two_who_make_into_one_folder_at_once_leave_it_whole(sheet):
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["fitkit.make.warm"])
    folder = sheet.parent / "out"
    both = [context.Process(target=_make, args=(str(sheet), str(folder))) for _ in range(2)]
    for process in both:
        process.start()
    for process in both:
        process.join(120)
    assert 0 in [process.exitcode for process in both]
    assert whole(folder)
    assert 1 <= len(records(sheet)) <= 2


def test_a_file_limit_stops_each_writer_in_plain_words(sheet):
    """The system refuses bytes beyond a limit, as it does on a full disk, whoever writes."""
    code = """
import resource, signal, sys
from fitkit.core.errors import FitkitError
from fitkit.make import make
from tests.kill_points import forks, killed_at
from fitkit.solids import kernel_ready
kernel_ready(wait=True)
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
from pathlib import Path
text = Path(sys.argv[1]).read_text(encoding="utf-8")
for kind in ("3mf", "step", "stl", "sheet"):
    sheet = Path(sys.argv[1]).with_name(f"{kind}.toml")
    sheet.write_text(text.replace('"3mf", "step", "stl", "sheet"', f'"{kind}"'), encoding="utf-8")
    resource.setrlimit(resource.RLIMIT_FSIZE, (700, resource.RLIM_INFINITY))
    try:
        make(sheet, into=sheet.with_name(kind))
        print(kind, "MADE")
    except FitkitError as error:
        print(kind, str(error).replace(chr(10), " "))
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
"""
    told = subprocess.run(
        [sys.executable, "-c", code, str(sheet)], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert [line.split()[0] for line in told] == ["3mf", "step", "stl", "sheet"]
    for line in told:
        assert "MADE" not in line
        assert "written" in line or "read" in line, line
    for kind in ("3mf", "step", "stl", "sheet"):
        assert not (sheet.parent / kind).exists()
    assert records(sheet) == []


def test_a_journal_that_cannot_be_written_is_told_before_the_solids(sheet):
    (sheet.parent / "journal").write_text("a file", encoding="utf-8")
    steps: list[str] = []
    with pytest.raises(RecordWriteError, match="a file bears the name of this folder"):
        make(sheet, into=sheet.parent / "out", step=steps.append)
    assert "building the solids" not in steps
    assert not (sheet.parent / "out").exists()


def test_damaged_records_are_told_in_notes_findings_and_sheet(sheet):
    journal = sheet.parent / "journal"
    journal.mkdir()
    (journal / "2026-05-01-NX7GAU9.json").write_text('{"schema": 2', encoding="utf-8")
    made = make(sheet, into=sheet.parent / "out")
    said = "1 record of the journal could not be read: gaps and drawn sizes are chosen without"
    assert made.page.notes[0].startswith(said)
    (finding,) = (item for item in made.findings if item.check == "journal")
    assert finding.severity == "warn"
    assert said in finding.text
    assert "2026-05-01-NX7GAU9.json" in finding.text
    assert said in next(made.folder.glob("*.html")).read_text(encoding="utf-8")


def test_a_refused_sheet_leaves_no_folder_behind(sheet):
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace('"10 mm"', '"10 mum"'), encoding="utf-8")
    with pytest.raises(FitkitError):
        make(sheet)
    assert sorted(path.name for path in sheet.parent.iterdir()) == ["sheet.toml"]


def test_into_a_folder_of_an_earlier_print_its_files_go_and_ones_own_stay(sheet):
    folder = sheet.parent / "out"
    first = make(sheet, into=folder)
    (folder / "mine.txt").write_text("keep", encoding="utf-8")
    step = next(path for path in first.files if path.suffix == ".step")
    step.write_text("changed by hand", encoding="utf-8")
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace('"3mf", "step", "stl", "sheet"', '"3mf"'), encoding="utf-8")
    second = make(sheet, into=folder)
    assert sorted(path.suffix for path in folder.iterdir()) == [".3mf", ".step", ".txt"]
    assert step.read_text(encoding="utf-8") == "changed by hand"
    assert second.told == (
        f"{folder}: the files of print {first.code} were there and are replaced",
    )


@pytest.mark.skipif(not Path("/sys/kernel").is_dir(), reason="needs a folder that nobody writes")
def test_a_folder_that_takes_no_files_is_told(sheet):
    with pytest.raises(ExportError, match="Check that the folder is there and that you may write"):
        make(sheet, into="/sys/kernel/part")
    assert records(sheet) == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_a_read_only_folder_is_told(sheet):
    shut = sheet.parent / "shut"
    shut.mkdir(mode=0o500)
    with pytest.raises(ExportError, match="you may write in it"):
        make(sheet, into=shut / "out")


@pytest.mark.parametrize(
    ("place", "title"),
    [
        ("größe 箱 & so", "Gehäuse für Ölofen № 1"),
        ("a b  c", "  spaced  out  "),
        ("quote'\"s", 'it\'s \\"x\\"'),
        ("x" * 200, "y" * 80),
        ("emoji 🦉", "箱"),
    ],
)
def test_any_path_and_title_that_the_disk_takes_serves(tmp_path, place, title):
    sheet = write(tmp_path / place, title)
    made = make(sheet)
    assert whole(made.folder)
    assert len(records(sheet)) == 1


def test_a_clock_that_went_back_loses_no_record_and_no_correction(tmp_path):
    journal, now = Journal(tmp_path), datetime(2026, 3, 2, 12, tzinfo=UTC)
    first = MachineRecord(printer="bench", what="nozzle", made_at=now)
    journal.add(first)
    later = MachineRecord(
        printer="bench",
        what="nozzle 0.6",
        made_at=now - timedelta(days=400),
        supersedes=first.code,
        reason="misread",
    )
    journal.add(later)
    assert journal.get(first.code).what == "nozzle 0.6"
    assert [record.what for record in journal.records()] == ["nozzle 0.6"]
    assert len(journal.records(corrected=True)) == 2


def test_a_file_written_twice_while_the_clock_goes_back_is_the_later_writing(tmp_path):
    path = write_atomic(tmp_path / "a", "first")
    os.utime(path, (2e9, 2e9))
    write_atomic(path, "second")
    assert path.read_text(encoding="utf-8") == "second"


def test_a_missing_system_library_is_told_in_one_line(sheet):
    code = """
import sys
class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("OCP", "build123d"):
            raise ImportError("libGL.so.1: cannot open shared object file: No such file")
sys.meta_path.insert(0, Missing())
from fitkit.views.shell import main
main(["make", sys.argv[1]])
"""
    ended = subprocess.run(
        [sys.executable, "-c", code, str(sheet)], capture_output=True, text=True, check=False
    )
    assert ended.returncode == 2
    assert "Traceback" not in ended.stderr
    assert "libGL.so.1" in ended.stderr
    assert "install libgl1 and libx11-6" in ended.stderr


def test_no_font_of_the_machine_is_needed(sheet):
    code = """
import sys
from fitkit.make import make
from tests.kill_points import forks, killed_at
print(len(make(sys.argv[1]).files))
"""
    bare = {"PATH": os.environ.get("PATH", ""), "HOME": str(sheet.parent / "home")}
    bare |= {"FONTCONFIG_FILE": os.devnull, "FONTCONFIG_PATH": os.devnull}
    ended = subprocess.run(
        [sys.executable, "-c", code, str(sheet)],
        capture_output=True,
        text=True,
        check=True,
        env=bare,
    )
    assert ended.stdout.split()[-1] == "4"


def test_a_kernel_that_dies_in_a_build_is_told_and_the_next_build_is_done():
    import queue

    from fitkit.make.worker import Worker

    worker, outcomes = Worker(), queue.Queue()
    try:
        worker.submit(os.getpid, done=outcomes.put)  # the process is there
        assert outcomes.get(timeout=120).error is None
        worker.submit(_segfault, done=outcomes.put)
        crash = outcomes.get(timeout=120)
        assert isinstance(crash.error, PartError)
        assert "the CAD kernel stopped" in str(crash.error)
        worker.submit(_height, done=outcomes.put)
        assert outcomes.get(timeout=120).value == pytest.approx(10, abs=0.3)
    finally:
        worker.close()


def _segfault() -> None:
    import ctypes

    ctypes.string_at(0)


def _height() -> float:
    from fitkit.parts import template
    from fitkit.solids import tessellate

    part = template("spacer").of().build()
    return float(tessellate(part.bodies[0].solid).size[2])


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="finds processes in /proc")
def test_a_notebook_killed_in_the_midst_of_a_build_leaves_no_process(tmp_path):
    code = """
import time
import zipfile
from fitkit.make.worker import Worker
worker = Worker()
worker.submit(time.sleep, 2, done=print)
while worker.pid is None:
    time.sleep(0.01)
print(worker.pid, flush=True)
time.sleep(600)
"""
    notebook = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert notebook.stdout
    child = int(notebook.stdout.readline())
    assert Path(f"/proc/{child}").exists()
    notebook.kill()
    notebook.wait()
    until = time.monotonic() + 120
    while Path(f"/proc/{child}").exists():
        assert time.monotonic() < until, "the build process is left"
        time.sleep(0.1)
    notebook.stdout.close()
