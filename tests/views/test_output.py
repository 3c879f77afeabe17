"""What the commands print reaches any terminal and any file, and carries no control characters."""

import io
import os
import subprocess
import sys

import pytest

from fitkit.core.errors import FitkitError
from fitkit.journal import Journal, MachineRecord, PrintRecord
from fitkit.views.output import say, serve_any_encoding, shown, visible
from fitkit.views.shell import main

HOSTILE = "A\x1b]0;PWN\x07\x1b[2J\x9b1m \u202egnp.exe"


@pytest.fixture
def written(monkeypatch):
    """Let what is printed go through an encoding, as where it is redirected."""

    def through(encoding):
        raw = io.BytesIO()
        stream = io.TextIOWrapper(raw, encoding=encoding, errors="strict", write_through=True)
        monkeypatch.setattr(sys, "stdout", stream)
        return raw

    return through


@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "ascii", "utf-8"])
def test_every_sign_of_ours_goes_through_every_encoding(written, encoding):
    raw = written(encoding)
    serve_any_encoding()
    say("○ note – 12.34 mm ± 0.05 mm … Größe 箱 \udcff")
    told = raw.getvalue().decode(encoding)
    assert "12.34 mm" in told
    if encoding == "ascii":
        assert told == "o note - 12.34 mm +/- 0.05 mm ... Gro?e ? ?\n"
    if encoding == "utf-8":
        assert "○ note – 12.34 mm ± 0.05 mm … Größe 箱" in told


def test_control_and_turning_characters_are_shown_by_their_number():
    assert visible(HOSTILE) == r"A\x1b]0;PWN\x07\x1b[2J\x9b1m \u202egnp.exe"
    assert visible("two\nlines\tand a tab, Größe 箱") == "two\nlines\tand a tab, Größe 箱"
    assert shown("[red]x\x1b") == r"\[red]x\x1b"


def test_no_command_lets_control_characters_of_a_record_out(tmp_path, capsys):
    journal = Journal(tmp_path)
    made = PrintRecord.new(title=HOSTILE, template="spacer", printer=HOSTILE, notes=HOSTILE)
    journal.add(made)
    journal.add(MachineRecord(printer=HOSTILE, what=HOSTILE))
    where = ("--journal", str(tmp_path))
    for words in (["log", "--all"], ["history", made.code], ["show", made.code], ["success"]):
        with pytest.raises(SystemExit) as end:
            main([*words, *where])
        assert end.value.code == 0
    told = "".join(capsys.readouterr())
    assert r"\x1b" in told
    assert not set(told) & {"\x1b", "\x07", "\x9b", "\u202e"}


def test_words_that_are_no_text_are_refused_plainly(tmp_path, capsys):
    with pytest.raises(SystemExit) as end:
        main(["new", "gr\udcf6\udcdfe", "--folder", str(tmp_path)])
    assert end.value.code == 2
    told = capsys.readouterr().err
    assert r"'gr\udcf6\udcdfe' is not text in the encoding of this terminal" in told
    assert "unforeseen" not in told
    assert list(tmp_path.iterdir()) == []


def test_an_error_names_a_hostile_place_harmlessly(monkeypatch, capsys):
    def fails(**rest):
        raise FitkitError("no good", where=HOSTILE)

    monkeypatch.setattr("fitkit.views.shell.commands.main", fails)
    with pytest.raises(SystemExit):
        main([])
    assert "\x1b" not in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no C locale to set")
def test_in_the_c_locale_a_part_is_made_and_its_code_told_first(tmp_path):
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(
        'schema = 1\ntitle = "spacer"\ntemplate = "spacer"\njournal = "journal"\n'
        '[printer]\ngeneric = "PETG"\n[outputs]\nfiles = ["stl"]\n',
        encoding="utf-8",
    )
    bare = os.environ | {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    bare.pop("PYTHONIOENCODING", None)
    ended = subprocess.run(
        [sys.executable, "-m", "fitkit", "make", str(sheet)],
        capture_output=True,
        check=False,
        env=bare,
    )
    told = ended.stdout.decode("ascii")
    assert ended.returncode == 0, ended.stderr
    code = Journal(tmp_path / "journal").records()[0].code
    assert told.startswith(f"trace code {code}")
    assert "+/-" in told
