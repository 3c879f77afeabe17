"""Templates in files of one's own, by the shell: each command is a process that knows nothing."""

import hashlib
import json
import os
import sys

import pytest

from fitkit.journal import Journal
from fitkit.make import make
from fitkit.make.many import do_job, jobs
from fitkit.parts import trust, trust_template
from fitkit.parts.trust import TrustError
from tests.workbench import SHEET, TEMPLATE, fitkit, set_up

STEP = " " * 8


@pytest.fixture(autouse=True)
def _nobody_asked(tmp_path, monkeypatch):
    """Begin as a user who has said yes to nothing."""
    monkeypatch.setattr(trust, "state_folder", lambda: tmp_path / "state" / "fitkit")
    monkeypatch.setattr(trust, "_allowed", set())


def one_message(ended) -> str:
    assert ended.returncode == 2, ended.stdout + ended.stderr
    assert ended.stderr.startswith("fitkit: ")
    assert ended.stderr.count("\n") == 1, ended.stderr
    return ended.stderr


def volumes(folder) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.stl")}


def test_a_part_is_made_in_one_process_and_again_in_a_second(tmp_path):
    sheet = set_up(tmp_path)
    made = fitkit(tmp_path, "make", sheet.name, "--into", "first", "--trust-template")
    assert made.returncode == 0, made.stderr
    (record,) = Journal(tmp_path / "journal").records()
    text = (tmp_path / "post_cap.py").read_bytes()
    assert record.template_source.text.encode() == text
    assert record.template_source.sha256 == hashlib.sha256(text).hexdigest()
    # The yes was kept: the second process asks nothing, and needs neither file nor sheet.
    (tmp_path / "post_cap.py").unlink()
    sheet.unlink()
    again = fitkit(tmp_path, "reprint", record.code, "--journal", "journal", "--into", "again")
    assert again.returncode == 0, again.stderr
    assert "the same part" in again.stdout
    assert "is no longer there" in again.stdout
    # The record comes in full digits: the triangles are the same, byte for byte.
    assert volumes(tmp_path / "again") == volumes(tmp_path / "first") != {}


def test_a_script_that_says_no_yes_gets_one_message_and_nothing_is_run_or_written(tmp_path):
    witness = tmp_path / "ran"
    sheet = set_up(tmp_path, f"{TEMPLATE}open({str(witness)!r}, 'w').close()\n")
    said = one_message(fitkit(tmp_path, "make", sheet.name))
    digits = hashlib.sha256((tmp_path / "post_cap.py").read_bytes()).hexdigest()[:12]
    assert str(tmp_path / "post_cap.py") in said
    assert digits in said
    assert "--trust-template" in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["cap.toml", "post_cap.py"]
    assert fitkit(tmp_path, "make", sheet.name, "--trust-template").returncode == 0
    assert witness.exists()


def test_a_record_alone_starts_nothing_and_its_copy_is_laid_out_to_read(tmp_path):
    sheet = set_up(tmp_path / "theirs")
    trust_template(sheet.parent / "post_cap.py")
    made = make(sheet)
    mine = tmp_path / "mine"
    mine.mkdir()
    ask = ("reprint", made.code, "--journal", sheet.parent / "journal", "--into", "again")
    said = one_message(fitkit(mine, *ask))
    assert f"post_cap.py as kept in record {made.code}" in said
    (copy,) = (mine / "state" / "fitkit" / "templates").iterdir()
    assert str(copy) in said
    assert copy.read_text(encoding="utf-8") == TEMPLATE
    assert not (mine / "again").exists()
    again = fitkit(mine, *ask, "--trust-template")
    assert again.returncode == 0, again.stderr
    assert volumes(mine / "again") == volumes(made.folder)
    assert "trusted-templates.txt" in os.listdir(mine / "state" / "fitkit")


def test_a_file_that_has_changed_is_asked_about_and_a_reprint_takes_the_records_own(tmp_path):
    sheet = set_up(tmp_path)
    trust_template(tmp_path / "post_cap.py")
    made = make(sheet)
    changed = TEMPLATE.replace("DEPTH_MM = 12.0", "DEPTH_MM = 14.0")
    (tmp_path / "post_cap.py").write_text(changed, encoding="utf-8")
    said = one_message(fitkit(tmp_path, "make", sheet.name))
    assert "has changed since you said yes" in said
    again = fitkit(tmp_path, "reprint", made.code, "--journal", "journal", "--into", "again")
    assert again.returncode == 0, again.stderr
    assert "post_cap.py has changed since this print" in again.stdout
    assert volumes(tmp_path / "again") == volumes(made.folder)
    assert len(Journal(tmp_path / "journal").records()) == 1


@pytest.mark.parametrize(
    ("template", "said"),
    [
        (None, "no such template file"),
        ("x = 1\n", "holds no template"),
        (TEMPLATE + "\nclass Second(PostCap):\n    title = 'second'\n", "holds 2 templates"),
        (TEMPLATE.replace('"post cap"', '"post lid"'), "'post lid', not 'post cap'"),
        (TEMPLATE + "1 / 0  # here\n", "ZeroDivisionError"),
        (TEMPLATE + "def (  # here\n", "SyntaxError"),
        (TEMPLATE + "import not_there  # here\n", "ModuleNotFoundError"),
        (TEMPLATE + "raise SystemExit(0)  # here\n", "SystemExit"),
        (TEMPLATE.replace("bore, top", f"1 / 0  # here\n{STEP}bore, top"), "ZeroDivision"),
        (TEMPLATE.replace("fit = {", f"oops  # here\n{STEP}fit = {{"), "NameError"),
        (TEMPLATE.encode("utf-16"), "not UTF-8"),
        ("#" * 300_000, "larger than"),
    ],
    ids=["gone", "none", "two", "title", "raises", "grammar", "import", "exit", "build", "fits",
         "letters", "size"],
)  # fmt: skip
def test_a_file_that_cannot_serve_ends_in_one_message_and_writes_nothing(tmp_path, template, said):
    sheet = set_up(tmp_path)
    file = tmp_path / "post_cap.py"
    if template is None:
        file.unlink()
    else:
        file.write_bytes(template if isinstance(template, bytes) else template.encode())
    told = one_message(fitkit(tmp_path, "make", sheet.name, "--trust-template", "--quiet"))
    assert said in told
    assert file.name in told
    if isinstance(template, str) and "# here" in template:
        line = template.partition("# here")[0].count("\n") + 1
        assert f"{file}, line {line}: " in told
    assert Journal(tmp_path / "journal").records() == []
    assert not (tmp_path / "made").exists()


def test_at_a_keyboard_the_question_is_asked_once(tmp_path, monkeypatch, capsys):
    from fitkit.views.shell import main

    sheet = set_up(tmp_path)
    monkeypatch.chdir(tmp_path)
    questions: list[str] = []

    def answering(answer):
        def confirm(text, **options):
            questions.append(text)
            assert options["default"] is False
            return answer

        return confirm

    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.confirm", answering(False))
    with pytest.raises(SystemExit) as ended:
        main(["make", str(sheet), "--quiet"])
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert "Read it first: " + str(tmp_path / "post_cap.py") in said
    assert said.splitlines()[-1].startswith("fitkit: ")
    assert "not run, so nothing was made" in said
    monkeypatch.setattr("click.confirm", answering(True))
    for _ in range(2):
        with pytest.raises(SystemExit) as ended:
            main(["make", str(sheet), "--quiet"])
        assert ended.value.code == 0
    assert len(questions) == 2  # one was answered by no, one by yes, and then no more
    assert "post_cap.py" in questions[0]
    assert len(Journal(tmp_path / "journal").records()) == 2


@pytest.mark.skipif(os.name == "nt", reason="such a name cannot be there")
def test_a_name_cannot_hide_itself_on_the_terminal(tmp_path):
    sheet = set_up(tmp_path)
    name = "\x1b[2Knice.py"
    (tmp_path / name).write_text(TEMPLATE, encoding="utf-8")
    text = SHEET.replace('"post_cap.py"', json.dumps(name))
    sheet.write_text(text, encoding="utf-8")
    said = one_message(fitkit(tmp_path, "make", sheet.name))
    assert said.rstrip("\n").isprintable()
    assert "x1b[2Knice.py" in said


def test_a_record_whose_text_was_changed_is_refused(tmp_path):
    sheet = set_up(tmp_path)
    trust_template(tmp_path / "post_cap.py")
    made = make(sheet)
    content = json.loads(made.record.read_text(encoding="utf-8"))
    content["template_source"]["text"] += "\nprint('hello')\n"
    made.record.write_text(json.dumps(content), encoding="utf-8")
    said = one_message(
        fitkit(tmp_path, "reprint", made.code, "--journal", "journal", "--trust-template")
    )
    assert "does not match its hash" in said


def test_many_parts_by_an_own_template(tmp_path):
    set_up(tmp_path)
    (tmp_path / "caps.csv").write_text(
        "title,values.post\nnarrow,15 mm\nwide,30 mm\n", encoding="utf-8"
    )
    ask = ("make-many", "caps.csv", "cap.toml", "--into", "caps", "--workers", "1")
    assert "--trust-template" in one_message(fitkit(tmp_path, *ask))
    assert not (tmp_path / "caps").exists()
    made = fitkit(tmp_path, *ask, "--trust-template")
    assert made.returncode == 0, made.stdout + made.stderr
    assert "2 rows, 0 refused" in made.stdout
    titles = {record.title for record in Journal(tmp_path / "journal").records()}
    assert titles == {"narrow", "wide"}


def test_a_row_runs_where_nobody_was_asked_by_the_yes_that_came_with_it(tmp_path, monkeypatch):
    sheet = set_up(tmp_path)
    (tmp_path / "caps.csv").write_text("title,values.post\nnarrow,15 mm\n", encoding="utf-8")
    trust_template(tmp_path / "post_cap.py")
    (job,) = jobs(tmp_path / "caps.csv", sheet, tmp_path / "caps")
    monkeypatch.setattr(trust, "_allowed", set())
    monkeypatch.setattr(trust, "state_folder", lambda: tmp_path / "elsewhere")
    with pytest.raises(TrustError):
        make(sheet)
    assert do_job(job).state == "made"


def test_earlier_records_load_and_a_changed_template_shows_in_the_parts_life(tmp_path):
    from fitkit.journal import history

    sheet = set_up(tmp_path)
    trust_template(tmp_path / "post_cap.py")
    first = make(sheet)
    content = json.loads(first.record.read_text(encoding="utf-8"))
    del content["template_source"]
    first.record.write_text(json.dumps(content), encoding="utf-8")
    (record,) = Journal(tmp_path / "journal").records()
    assert record.template_source is None
    make(sheet)
    changes = [str(c) for v in history(Journal(tmp_path / "journal"), SHEET.split('"')[1])
               for c in v.changes]  # fmt: skip
    assert any(change.startswith("template file post_cap.py: none -> ") for change in changes)
