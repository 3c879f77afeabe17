"""Commands in messages can be typed where the reader stands."""

import os
import shlex
import sys

import pytest

from fitkit.core.typed import STARTED_BY, command, quoted
from fitkit.views.judging import judging


@pytest.fixture
def started(monkeypatch):
    """Pretend that this process was started so."""

    def start(argv0, told=None):
        monkeypatch.setattr(sys, "argv", [argv0])
        if told is None:
            monkeypatch.delenv(STARTED_BY, raising=False)
        else:
            monkeypatch.setenv(STARTED_BY, told)

    return start


def test_a_command_begins_as_the_user_began_this_one(started):
    started("/home/a/.venv/bin/fitkit")
    assert command("log") == "fitkit log"
    started("/home/a/.venv/bin/fitkit", told="python3 run.py")
    assert command("log") == "python3 run.py log"
    started("/home/a/fitkit/__main__.py")
    assert command("log").endswith(" -m fitkit log")


def test_a_python_that_is_not_on_the_path_is_named_whole(started, monkeypatch, tmp_path):
    started("/home/a/fitkit/__main__.py")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert command("log") == f"{quoted(sys.executable)} -m fitkit log"


@pytest.mark.skipif(os.name == "nt", reason="the words of a POSIX shell")
@pytest.mark.parametrize(
    "word", ["lid=tight", "pocket length=as wanted", "maker's lid=tight", "$HOME", "plain", ""]
)
def test_a_shell_reads_back_the_words(started, word):
    started("fitkit")
    assert shlex.split(command("fitted", word)) == ["fitkit", "fitted", word]


def test_what_to_type_names_a_real_fit_and_code(started):
    from fitkit.journal import FitEntry, PrintRecord

    started("fitkit")
    bore = FitEntry(
        name="bore", kind="hole", target_mm=4.0, drawn_mm=4.1, expected_mm=4.0, U95_mm=0.1
    )
    lid = bore.model_copy(update={"name": "lid length", "sense": -1, "pair": "lid and rim"})

    def typed(*fits):
        record = PrintRecord.new(title="case", template="board case", fits=fits)
        return judging(record).replace(record.code, "CODE")

    assert "\n  fitkit fitted CODE 'lid length=tight'\n" in typed(bore, lid)
    assert "\n  fitkit fitted CODE 'bore=as wanted'\n" in typed(bore)
    assert typed() == ""
