"""The journal's commands, run as a shell would run them."""

import csv
from datetime import UTC, datetime

import pytest
from click.testing import CliRunner

from fitkit.core.errors import JournalError
from fitkit.journal import FitEntry, Journal, PrintRecord
from fitkit.views.shell_journal import commands


@pytest.fixture
def journal(tmp_path):
    return Journal(tmp_path / "journal")


@pytest.fixture
def record(journal):
    fit = FitEntry(
        name="lid", pair="lid and rim", wanted="slides", kind="outside", sense=-1, nominal_mm=60.3,
        gap_mm=0.3, target_mm=60.0, drawn_mm=60.1, expected_mm=60.0, U95_mm=0.1,
    )  # fmt: skip
    record = PrintRecord.new(
        title="sound board case",
        template="board case",
        fits=[fit],
        printer="bench",
        material="PETG",
        made_at=datetime(2026, 3, 2, tzinfo=UTC),
    )
    journal.add(record)
    return record


def run(journal, name, *arguments):
    result = CliRunner().invoke(
        commands[name], ["--journal", str(journal.folder), *map(str, arguments)]
    )
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def test_a_trial_is_written_and_shows_in_log_and_history(journal, record):
    code = record.code.lower()
    run(journal, "fitted", code, "lid=tight", "--measured", "lid=60.12 mm", "--by", "J")
    run(journal, "note", code, "kept in bin 4")
    run(journal, "changed", "bench", "nozzle", "--was", "brass", "--now", "steel")
    assert [r.kind for r in journal.records()] == ["print", "trial", "note", "machine"]
    assert "tight" in run(journal, "log")
    assert "1 record," in run(journal, "log", "bin", "4")
    assert "0 records" in run(journal, "log", "bin", "5")
    assert "4 records" in run(journal, "log", "--all")
    told = run(journal, "history", "sound board case")
    assert "tight (lid)" in told
    assert "note: kept in bin 4" in told
    assert "0 %" in run(journal, "success")


def test_the_time_that_a_print_took_is_written_down_alone(journal, record):
    run(journal, "fitted", record.code, "--took", "1:35")
    (trial,) = journal.records("trial")
    assert trial.took_h == pytest.approx(95 / 60)
    assert trial.fits == ()
    # A time says nothing of the fit: the part counts as not tried.
    assert "not tried" in run(journal, "log")


def test_an_answer_names_the_files_that_it_leaves_out(journal, record):
    (journal.folder / "2026-03-03-AC4ANYX.json").write_text('{"kind": "trial", ')
    for command in (["log"], ["success"], ["history", "sound board case"]):
        told = run(journal, *command)
        assert "set aside and not counted" in told
        assert "2026-03-03-AC4ANYX.json" in told
        assert "Restore the file" in told


def test_a_verdict_is_withdrawn_and_shows_as_such(journal, record):
    run(journal, "fitted", record.code, "LID= Tight ")
    assert "lid tight" in run(journal, "withdraw", record.code, "--because", "wrong lid")
    assert "withdrawn" in run(journal, "log", "--verdict", "withdrawn", "--kind", "trial")
    told = run(journal, "history", "sound board case")
    assert "sound board case: not tried" in told
    assert "lid tight, because: wrong lid" in told
    with pytest.raises(JournalError, match="left to withdraw"):
        run(journal, "withdraw", record.code)


def test_show_gives_the_whole_record(journal, record):
    assert PrintRecord.model_validate_json(run(journal, "show", record.code)) == record


def test_binder_and_tag(journal, record, tmp_path):
    for name in ("binder.html", "binder.pdf"):
        run(journal, "binder", tmp_path / name)
        assert (tmp_path / name).stat().st_size > 1000
    run(journal, "tag", record.code, tmp_path / "tag.svg")
    assert (tmp_path / "tag.svg").read_text().startswith("<svg")


def test_bring_in(journal, tmp_path):
    path = tmp_path / "trials.csv"
    with path.open("w", newline="") as stream:
        rows = [["pair", "size", "gap", "verdict"], ["tab and slot", "12 mm", "0.2 mm", "loose"]]
        csv.writer(stream).writerows(rows)
    assert "1 trials brought in" in run(journal, "bring-in", path)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["show", "XXXXXXX"], "check character"),
        (["fitted", "CODE", "lid:tight"], "'lid:tight' is not of the form NAME=VALUE"),
        (["fitted", "CODE"], "no size was judged"),
        (["note", "CODE"], "nothing to add"),
        (["binder", "x.doc"], "neither .html nor .pdf"),
    ],
)
def test_mistakes_end_in_one_message(journal, record, arguments, message):
    with pytest.raises(JournalError, match=message):
        run(journal, *[record.code if a == "CODE" else a for a in arguments])


def test_a_wrong_folder_is_told(tmp_path):
    with pytest.raises(JournalError, match="no such journal"):
        run(Journal(tmp_path / "absent"), "log")


def test_every_command_explains_itself():
    for name, command in commands.items():
        result = CliRunner().invoke(command, ["--help"])
        assert result.exit_code == 0
        assert command.help, name


def test_the_list_of_commands_cuts_no_sentence():
    from fitkit.views.shell import commands as every

    listed = CliRunner().invoke(every, ["--help"], terminal_width=80).output
    assert "make" in listed
    assert "..." not in listed.split("Commands:")[1]


def test_a_long_journal_is_listed_up_to_a_bound_and_the_rest_is_counted(journal, record):
    for number in range(4):
        run(journal, "changed", "bench", f"nozzle {number}")
    said = run(journal, "log", "--all", "--most", 2)
    assert "5 records, newest first" in said
    assert said.count("machine") == 2
    assert "3 older records are not listed; '--most 5' lists them too" in said
    assert "not listed" not in run(journal, "log", "--all")


def test_a_print_is_shared_as_one_page(tmp_path, monkeypatch):
    from fitkit.demo import copy_demo
    from fitkit.flow import load_sheet
    from fitkit.make import make

    shop = copy_demo(tmp_path / "shop")
    monkeypatch.chdir(tmp_path)
    made = make(load_sheet(shop / "terminal_tray.toml", workshop=shop))
    held = Journal(made.record.parent)
    said = run(held, "share", made.code, "--into", tmp_path / "page")
    [page] = (tmp_path / "page").iterdir()
    assert str(page) in said
    text = page.read_text(encoding="utf-8")
    assert made.code in text
    assert "Content-Security-Policy" in text
