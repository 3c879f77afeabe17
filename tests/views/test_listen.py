"""`fitkit listen` itself, as a program of its own, at the other end of a pseudo-terminal pair."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import threading

import pytest

from fitkit.readings.blank import blank_table
from tests.views.port import Port

pytest.importorskip("serial")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
LONG = 60  # s: a limit for a stuck test, not a measure


def bits(size: int) -> str:
    return "".join(str(size >> n & 1) for n in range(24))


@pytest.fixture
def port():
    with Port() as one:
        yield one


@pytest.fixture
def listening(port):
    """Start the command; give its process once it has said that it listens."""
    started = []

    def start(*words: str) -> subprocess.Popen[str]:
        program = subprocess.Popen(
            [sys.executable, "-m", "fitkit", "listen", port.name, *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            # Whoever runs these tests in the background has them ignore Ctrl+C, and so their child.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        started.append(program)
        assert "listening" in program.stderr.readline()
        return program

    yield start
    for program in started:
        program.kill()
        program.wait()


def board(tmp_path, *names: str):
    path = tmp_path / "board.csv"
    path.write_text(blank_table([{"feature": name, "unit": "mm"} for name in names]), "utf-8")
    return path


def readings(path) -> list[str]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [row["reading"] for row in csv.DictReader(file)]


def test_lines_of_text_fill_the_rows_that_wait_and_the_last_one_ends_it(port, listening, tmp_path):
    path = board(tmp_path, "hole", "lid", "rim")
    program = listening(str(path))
    port.send_on("58.01 mm\r\n")
    said, told = program.communicate(timeout=LONG)
    assert program.returncode == 0
    assert said.splitlines() == [
        "hole, 1 of 1: 58.01 mm",
        "lid, 1 of 1: 58.01 mm",
        "rim, 1 of 1: 58.01 mm",
        "board.csv: no row waits any more",
    ]
    assert readings(path) == ["58.01"] * 3
    assert told == ""


def test_a_stream_of_bits_is_one_reading_and_torn_frames_are_none(port, listening, tmp_path):
    path = board(tmp_path, "hole", "lid")
    program = listening(str(path), "--json")
    over = threading.Event()

    def calipers() -> None:
        # The jaws go to a size and rest there; then they are moved away and close on the next one.
        for size in (5801, 7000, 6500, 6100, 3204):
            count = 14 if size in (5801, 3204) else 2
            for frame in [bits(size)[:-1], *[bits(size)] * count, bits(size) + "1"]:
                port.send(frame + "\r\n")
                over.wait(0.1)

    # What comes before the program has opened the port is thrown away by it.
    first = threading.Timer(1.0, calipers)
    first.start()
    said, _ = program.communicate(timeout=LONG)
    over.set()
    first.join()
    heard = [json.loads(line) for line in said.splitlines()]
    assert [(one["number"], one["unit"], one["feature"]) for one in heard] == [
        ("58.01", "mm", "hole"),
        ("32.04", "mm", "lid"),
    ]
    assert heard[-1]["left"] == 0
    assert readings(path) == ["58.01", "32.04"]


def test_a_change_of_the_unit_is_told_and_ctrl_c_ends_it(port, listening):
    program = listening()
    port.send_on("12.34 mm\r\n0.4860 in\r\n", every_s=0.2)
    assert program.stdout.readline().strip() in ("12.34 mm", "0.4860 in")
    assert "changed from" in program.stderr.readline()
    program.send_signal(signal.SIGINT)
    _, told = program.communicate(timeout=LONG)
    assert program.returncode == 0
    assert told.rstrip().endswith("ended")


def test_a_port_that_is_not_there_is_one_plain_message(tmp_path):
    ended = subprocess.run(
        [sys.executable, "-m", "fitkit", "listen", str(tmp_path / "no-port")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 2
    assert "cannot be read" in ended.stderr
    assert "Traceback" not in ended.stderr
