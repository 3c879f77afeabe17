"""Many writers at once, killed in the midst, on a full disk: nothing lost, halved or doubled."""

import errno
import multiprocessing
import os
import signal
import subprocess
import sys
import time

import pytest

from fitkit.core.errors import ExportError
from fitkit.journal import Journal, MachineRecord


def _write(folder, writer, count):
    journal = Journal(folder)
    for number in range(count):
        journal.add(MachineRecord(printer=f"bench {writer}", what=f"change {number}"))
        if number % 25 == 0:
            journal.records()  # readers and the shared index go on meanwhile


def _assert_all_there(folder, writers, count):
    journal = Journal(folder)
    records = journal.records()
    assert journal.damaged == ()
    written = sorted((record.printer, record.what) for record in records)
    wanted = sorted((f"bench {w}", f"change {n}") for w in range(writers) for n in range(count))
    assert written == wanted
    assert len({record.code for record in records}) == len(records)
    assert not [p.name for p in folder.iterdir() if p.name.endswith(".part")]


@pytest.mark.parametrize(
    ("writers", "count"), [(4, 25), pytest.param(8, 250, marks=pytest.mark.slow)]
)
def test_writers_at_once_lose_and_double_nothing(tmp_path, writers, count):
    spawn = multiprocessing.get_context("fork")
    processes = [
        spawn.Process(target=_write, args=(tmp_path, writer, count)) for writer in range(writers)
    ]
    for process in processes:
        process.start()
    for process in processes:
        process.join(timeout=300)
        assert process.exitcode == 0
    _assert_all_there(tmp_path, writers, count)


_ENDLESS = """
import sys
from fitkit.journal import Journal, MachineRecord
journal = Journal(sys.argv[1])
number = 0
while True:
    record = MachineRecord(printer="bench", what=f"change {number}", notes=("x" * 20_000,) * 4)
    journal.add(record)
    print(record.code, flush=True)
    number += 1
"""


@pytest.mark.parametrize("wait", [0.05, 0.11, 0.17, 0.23])
def test_a_killed_writer_leaves_whole_records_only(tmp_path, wait):
    writer = subprocess.Popen(
        [sys.executable, "-c", _ENDLESS, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    first = writer.stdout.readline().strip()
    time.sleep(wait)
    writer.send_signal(signal.SIGKILL)
    told = [first, *writer.communicate()[0].split()]
    journal = Journal(tmp_path)
    found = [record.code for record in journal.records()]
    assert journal.damaged == ()
    # All that it was told is written is there; one more may be, whose telling was cut off.
    assert set(told) <= set(found)
    assert len(found) - len(told) in (0, 1)
    assert len(set(found)) == len(found)


def test_a_full_disk_loses_only_the_record_that_did_not_fit(journal, made, monkeypatch):
    kept = made()
    journal.add(kept)
    fsync = os.fsync

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    lost = made(day=1)
    with pytest.raises(ExportError, match="Free some space"):
        journal.add(lost)
    assert journal.records() == [kept]  # the index cannot be written either
    monkeypatch.setattr(os, "fsync", fsync)
    assert journal.records() == [kept]
    assert journal.damaged == ()
    journal.add(lost)
    assert journal.records() == [kept, lost]


def test_a_disk_that_is_really_full(tmp_path):
    """Write through a file-size limit, which the system enforces as it does a full disk."""
    code = """
import resource, signal, sys
from fitkit.core.errors import ExportError
from fitkit.journal import Journal, MachineRecord
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
journal = Journal(sys.argv[1])
journal.add(MachineRecord(printer="bench", what="small"))
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
try:
    journal.add(MachineRecord(printer="bench", what="large", notes=("x" * 20_000,)))
except ExportError as error:
    print(error)
"""
    told = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True
    ).stdout
    assert "cannot be written: File too large" in told
    assert [record.what for record in Journal(tmp_path).records()] == ["small"]
    assert not [p.name for p in tmp_path.iterdir() if p.name.endswith(".part")]
