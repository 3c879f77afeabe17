"""What a command is doing is shown on a terminal while it does it, and nowhere else."""

from __future__ import annotations

import io
import os
import subprocess
import sys

import pytest

from fitkit.views.terminal import progress

SHEET = """schema = 1
title = "spacer"
template = "spacer"
[printer]
generic = "PETG"
[outputs]
files = ["3mf", "sheet"]
"""
STEPS = (
    "starting",
    "working out sizes from the readings",
    "building the solids",
    "checking",
    "writing files and reading them back",
    "drawing the sheet",
    "writing the record",
)


class Stream(io.StringIO):
    def __init__(self, *, terminal: bool) -> None:
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "spacer.toml"
    path.write_text(SHEET, encoding="utf-8")
    return path


def make_it(sheet, *words, stderr, width="80"):
    return subprocess.run(
        [sys.executable, "-m", "fitkit", "make", str(sheet), *words],
        stdout=subprocess.PIPE,
        stderr=stderr,
        env={**os.environ, "COLUMNS": width, "TERM": "xterm"},
        check=True,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_each_step_is_on_the_terminal_while_it_runs_and_none_is_left(sheet):
    ours, theirs = os.openpty()
    made = make_it(sheet, stderr=theirs)
    os.close(theirs)
    told = b""
    try:
        while piece := os.read(ours, 65536):
            told += piece
    except OSError:  # Linux says so at the end of a pseudo-terminal
        pass
    os.close(ours)
    lines = told.decode().split("\r\x1b[2K")
    assert lines == ["", *(f"{step} …" for step in STEPS), ""]
    assert not set(made.stdout) & {0x0D, 0x1B}


def test_a_pipe_gets_nothing_of_it(sheet):
    made = make_it(sheet, stderr=subprocess.PIPE)
    assert made.stderr == b""
    assert b"trace code" in made.stdout


@pytest.mark.parametrize(("quiet", "term"), [(True, "xterm"), (False, "dumb")])
def test_who_wants_quiet_or_cannot_take_lines_away_gets_none(quiet, term, monkeypatch):
    stream = Stream(terminal=True)
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", term)
    with progress(quiet) as step:
        step("building the solids")
    assert stream.getvalue() == ""


def test_a_long_step_stays_in_its_line_and_the_line_goes_even_if_the_work_fails(monkeypatch):
    stream = Stream(terminal=True)
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "40")

    def work():
        with progress() as step:
            step("building and checking " + "x" * 80 + "\x1b[2J")
            raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        work()
    start, *lines = stream.getvalue().split("\r\x1b[2K")
    assert start == ""
    assert lines[-1] == ""
    assert max(map(len, lines)) == 39
    assert not any("\x1b" in line for line in lines)
