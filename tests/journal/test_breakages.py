"""Breakages are written down, counted by feature, taken back, and heeded at the next make."""

import pytest
from click.testing import CliRunner

from fitkit.core.errors import JournalError
from fitkit.journal import Journal, breakages, broke, history, withdraw
from fitkit.journal.breakages import by_feature
from fitkit.make import make
from fitkit.views.shell import commands
from fitkit.workshop import begin_workshop


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    begin_workshop(folder)
    (folder / "hook.toml").write_text(
        'schema = 1\ntitle = "hook"\ntemplate = "bracket"\n[printer]\ngeneric = "PETG"\n'
        '[outputs]\nfiles = ["3mf"]\n'
    )
    return folder


@pytest.fixture(scope="module")
def made(shop):
    return make(shop / "hook.toml", into=shop / "hook")


def typed(shop, *words):
    return CliRunner().invoke(commands, [*map(str, words), "--workshop", str(shop)])


def test_what_broke_is_told_by_history_and_by_the_next_make(shop, made):
    lug = made.part.lugs[0].name
    result = typed(shop, "broke", made.code, lug, "--how", "a cart ran into it", "--by", "me")
    assert result.exit_code == 0, result.output
    journal = Journal(shop / "journal")
    (one,) = breakages(journal)
    assert (one.of, one.feature, one.how) == (made.code, lug, "a cart ran into it")
    (version,) = history(journal, "hook")
    assert version.broken == (one,)
    told = typed(shop, "history", "hook").output
    assert "what broke, of 1 print:" in told
    assert f"{lug}: 1 ({made.code}, a cart ran into it)" in told
    again = make(shop / "hook.toml", into=shop / "again")
    (finding,) = [f for f in again.findings if f.check == "broken before"]
    assert finding.severity == "warn"
    assert made.code in finding.text
    assert "mm thick (now 4.0)" in finding.remedy
    text = (shop / "hook.toml").read_text()
    (shop / "hook.toml").write_text(text + '[values]\nthickness = "6 mm"\n')
    better = make(shop / "hook.toml", into=shop / "better")
    (finding,) = [f for f in better.findings if f.check == "broken before"]
    assert finding.severity == "note"
    assert "changed since" in finding.text
    (shop / "hook.toml").write_text(text)


def test_a_breakage_is_taken_back_and_stays_as_history(shop, made):
    journal = Journal(shop / "journal")
    record = broke(made_record := journal.print_of(made.code), "gusset", how="fell")
    journal.add(record)
    assert "gusset" in by_feature(breakages(journal, [made_record]))
    withdraw(journal, record.code, because="it was another part")
    assert "gusset" not in by_feature(breakages(journal, [made_record]))
    assert "gusset" in by_feature(breakages(journal, [made_record], withdrawn=True))
    said = typed(shop, "history", "hook").output
    assert "taken back, broke on" in said
    with pytest.raises(JournalError, match="withdrawn already"):
        withdraw(journal, journal.get(record.code).code)


def test_the_binder_tells_it_too(shop, made):
    from fitkit.journal.binder import render_html

    assert "a cart ran into it" in render_html(Journal(shop / "journal"))


@pytest.mark.parametrize(
    ("words", "said"),
    [(("3333333", "arm"), "there is no record"), (("", "arm"), "trace code")],
)
def test_a_code_that_is_not_there_writes_nothing(shop, words, said):
    before = len(list((shop / "journal").iterdir()))
    result = typed(shop, "broke", *words)
    assert result.exit_code != 0
    assert said in str(result.exception)
    assert len(list((shop / "journal").iterdir())) == before


def test_what_broke_must_be_named_and_short(shop, made):
    record = Journal(shop / "journal").print_of(made.code)
    with pytest.raises(JournalError, match="is not named"):
        broke(record, "  ")
    with pytest.raises(JournalError, match="letters"):
        broke(record, "x" * 201)
