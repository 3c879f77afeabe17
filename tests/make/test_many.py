"""Many parts from one table: each row made once, whatever stops the run, and all faults told."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from fitkit.core.errors import FaultList, SheetError
from fitkit.journal import Journal
from fitkit.make import many
from fitkit.make.many import MARK, _read_mark, do_job, jobs, make_many
from fitkit.make.own_code import code_hash

LONG = 120  # s: a limit for a stuck test, not a measure
SHEET = """\
schema = 1
title = "spacer"
template = "spacer"
journal = "journal"
[printer]
generic = "PETG"
[values]
height = "10 mm"
bore = "screw"
[outputs]
files = ["stl"]
"""


@pytest.fixture
def sheet(tmp_path) -> Path:
    path = tmp_path / "spacer.toml"
    path.write_text(SHEET, encoding="utf-8")
    return path


@pytest.fixture
def table(tmp_path):
    """Write a table of variants from its lines."""

    def write(*lines: str) -> Path:
        path = tmp_path / "variants.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


def heights(*sizes: int) -> list[str]:
    return ["title,values.height", *(f"spacer {size},{size} mm" for size in sizes)]


def states(outcomes) -> list[str]:
    return [outcome.state for outcome in outcomes]


def test_each_row_is_a_part_with_its_own_size_record_and_line_of_the_report(table, sheet):
    import trimesh

    into = sheet.parent / "made"
    told = []
    outcomes = make_many(table(*heights(5, 8, 12)), sheet, into, workers=2, told=told.append)
    assert states(outcomes) == ["made"] * 3
    assert [outcome.row for outcome in outcomes] == [2, 3, 4]
    assert sorted(o.row for o in told) == [2, 3, 4]
    for outcome, size in zip(outcomes, (5, 8, 12), strict=True):
        (stl,) = Path(outcome.folder).glob("*.stl")
        assert trimesh.load_mesh(stl).extents[2] == pytest.approx(size, abs=0.2)
    codes = [record.code for record in Journal(sheet.parent / "journal").records()]
    assert sorted(codes) == sorted(o.code for o in outcomes)
    with (into / "report.csv").open(encoding="utf-8", newline="") as stream:
        report = list(csv.DictReader(stream))
    assert [(r["row"], r["state"], r["trace code"]) for r in report] == [
        (str(o.row), "made", o.code) for o in outcomes
    ]


def test_a_second_run_makes_only_rows_that_are_new_changed_or_undone(table, sheet):
    into = sheet.parent / "made"
    first = make_many(table(*heights(5, 8, 12)), sheet, into, workers=1)
    next(Path(first[2].folder).glob("*.stl")).unlink()
    lines = [
        "title,values.height",
        "spacer 5,5 mm",
        "spacer 8,8.5 mm",
        "spacer 12,12 mm",
        "new,9 mm",
    ]
    second = make_many(table(*lines), sheet, into, workers=1)
    assert states(second) == ["kept", "made", "made", "made"]
    assert second[0].code == first[0].code


def test_a_changed_file_that_the_sheet_names_makes_the_rows_anew(table, sheet):
    readings = sheet.parent / "readings.csv"
    readings.write_text("feature,mode,reading,unit\ngap,inside,9.00,mm\ngap,inside,9.02,mm\n")
    sheet.write_text(
        SHEET.replace('height = "10 mm"', 'height = "gap"').replace(
            'journal = "journal"', 'journal = "journal"\nreadings = "readings.csv"'
        )
    )
    rows = table("title,values.screw", "small,M3")
    into = sheet.parent / "made"
    assert states(make_many(rows, sheet, into, workers=1)) == ["made"]
    assert states(make_many(rows, sheet, into, workers=1)) == ["kept"]
    readings.write_text("feature,mode,reading,unit\ngap,inside,9.50,mm\ngap,inside,9.52,mm\n")
    assert states(make_many(rows, sheet, into, workers=1)) == ["made"]


def test_a_refused_row_costs_the_others_nothing(table, sheet):
    into = sheet.parent / "made"
    lines = ["title,values.height,values.outside", "good,9 mm,", "thin,9 mm,4 mm", "tall,500 mm,"]
    good, thin, tall = make_many(table(*lines), sheet, into, workers=2)
    assert (good.state, thin.state, tall.state) == ("made", "refused", "refused")
    assert "wall" in thin.message
    assert "above 120" in tall.message
    assert not Path(thin.folder).exists()
    assert "Traceback" not in thin.message + tall.message


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["title,values.height"], "the table has no rows"),
        ([""], "the table has no rows"),
        (["title,values.height", "a,5 mm", "a,6 mm"], "title 'a' is that of row 2"),
        (["title,values.height", "a,5 mm,6"], "more cells than the header"),
        (["title,,values.height", "a,,5 mm"], "column 2 has no name"),
        (["title,title", "a,b"], "column 'title' is there twice"),
        (["title,title.x", "a,b"], "no place 'title.x' in the sheet"),
        (["title,outputs.files.0", "a,b"], "no place 'outputs.files.0' in the sheet"),
        (["title,outputs.files.²", "a,b"], "no place 'outputs.files.²' in the sheet"),
        (["title,colour", "a,red"], "row 2: .*colour: no such key|colour"),
        (["title,values.height", 'a,"5 mm'], r"\(row 2\): the quote is not closed"),
        (["title,printer.profile", "a,x.toml"], "name just one of profile, coupon, generic"),
        (["title", "a" * 81], "has 81 letters, over 80"),
    ],
)
def test_faults_of_the_table_are_told_with_their_row(table, sheet, lines, told):
    with pytest.raises((FaultList, SheetError), match=told) as refused:
        jobs(table(*lines), sheet, sheet.parent)
    assert "variants.csv" in str(refused.value)


def test_all_faults_are_told_at_once(table, sheet):
    with pytest.raises(FaultList) as refused:
        jobs(table("title,colour", "a,red", "b,blue"), sheet, sheet.parent)
    assert "row 2" in str(refused.value)
    assert "row 3" in str(refused.value)


def test_semicolons_empty_rows_and_trailing_cells_are_taken(table, sheet):
    todo = jobs(table("title;values.height;", "a;5,5 mm;", ";;", "", "b;;"), sheet, sheet.parent)
    assert [(job.row, job.title) for job in todo] == [(2, "a"), (5, "b")]
    assert [job.content["values"]["height"] for job in todo] == ["5,5 mm", "10 mm"]


def test_titles_that_no_file_name_can_tell_apart_get_folders_of_their_own(table, sheet):
    todo = jobs(table("title", "Ständer 1", "stander 1", "箱", "箱庭"), sheet, sheet.parent)
    assert len({job.folder for job in todo}) == 4
    for job in todo:
        assert Path(job.folder).parent == sheet.parent


def test_a_title_cannot_lead_out_of_the_folder(table, sheet):
    into = sheet.parent / "made"
    for job in jobs(table("title", "../../x", "/etc/x", "..", "a\\..\\b"), sheet, into):
        assert Path(job.folder).resolve().parent == into.resolve()


def test_a_row_stopped_after_its_record_and_before_its_mark_is_not_made_again(table, sheet):
    (job,) = jobs(table(*heights(5)), sheet, sheet.parent / "made")
    first = do_job(job)
    mark = Path(job.folder) / MARK
    mark.write_text(json.dumps({"key": job.key}))  # as it is between record and mark
    again = do_job(job)
    assert (again.state, again.code) == ("kept", first.code)
    assert json.loads(mark.read_text())["code"] == first.code
    assert len(Journal(sheet.parent / "journal").records()) == 1


def test_a_row_is_made_again_when_the_code_of_its_template_has_changed(table, sheet, monkeypatch):
    rows, into = table(*heights(5)), sheet.parent / "made"
    (job,) = jobs(rows, sheet, into)
    assert do_job(job).state == "made"
    assert do_job(job).state == "kept"
    monkeypatch.setattr(many, "code_hash", lambda: "of the changed code")
    (job,) = jobs(rows, sheet, into)
    assert do_job(job).state == "made"


def test_the_hash_of_the_code_follows_templates_and_tables_and_no_view(tmp_path):
    files = ["parts/designs/spacer.py", "data/materials.csv", "views/shell.py"]
    for name in files:
        (tmp_path / name).parent.mkdir(parents=True)
        (tmp_path / name).write_text("1\n")
    before = code_hash.__wrapped__(tmp_path)
    assert code_hash.__wrapped__(tmp_path) == before
    changed = []
    for name in files:
        (tmp_path / name).write_text("2\n")
        changed.append(code_hash.__wrapped__(tmp_path))
    assert changed[0] != before
    assert changed[1] != changed[0]
    assert changed[2] == changed[1]


def test_a_row_stopped_before_its_record_is_made_again(table, sheet):
    (job,) = jobs(table(*heights(5)), sheet, sheet.parent / "made")
    first = do_job(job)
    for path in (sheet.parent / "journal").glob("2*.json"):
        path.unlink()
    (Path(job.folder) / MARK).write_text(json.dumps({"key": job.key}))
    again = do_job(job)
    assert again.state == "made"
    assert again.code != first.code


def test_a_damaged_mark_costs_a_build_and_nothing_else(table, sheet):
    (job,) = jobs(table(*heights(5)), sheet, sheet.parent / "made")
    do_job(job)
    for content in ("", "[]", '{"key": 3}', '{"key": '):
        (Path(job.folder) / MARK).write_text(content)
        assert _read_mark(Path(job.folder) / MARK).get("key") != job.key
    assert do_job(job).state == "made"


def _children(pid: int) -> list[int]:
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    found = [int(word) for word in text.split()]
    return found + [below for child in found for below in _children(child)]


def test_a_row_that_kills_its_process_twice_is_refused_and_the_rest_is_made(
    table, sheet, monkeypatch
):
    killed: Counter[str] = Counter()
    most = {"spacer 5": 2, "spacer 7": 1}  # one by each of its tries, one by chance

    def give(hand, job) -> None:
        handed(hand, job)
        # The process dies, as it would of a fault of the kernel's.
        if killed[job.title] < most.get(job.title, 0):
            killed[job.title] += 1
            os.kill(hand.child.pid, signal.SIGTERM)

    handed = many._Hand.give
    monkeypatch.setattr(many._Hand, "give", give)
    rows, made = table(*heights(*range(3, 11))), sheet.parent / "made"
    outcomes = make_many(rows, sheet, made, workers=2)
    assert killed == most
    assert [o.title for o in outcomes if o.state == "refused"] == ["spacer 5"]
    assert Counter(states(outcomes)) == {"made": 7, "refused": 1}
    assert all("kernel stopped" in o.message for o in outcomes if o.state == "refused")
    # What was refused is made by the next run.
    assert Counter(states(make_many(rows, sheet, made, workers=1))) == {"kept": 7, "made": 1}
    titles = Counter(r.title for r in Journal(sheet.parent / "journal").records("print"))
    assert titles == {f"spacer {size}": 1 for size in range(3, 11)}


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="kills a group of processes")
def test_after_kill_9_the_next_run_makes_what_is_left_and_no_row_twice(table, sheet):
    into, count = sheet.parent / "made", 12
    path = table(*heights(*range(3, 3 + count)))
    command = [sys.executable, "-m", "fitkit", "make-many", str(path), str(sheet)]
    command += ["--into", str(into), "--workers", "2"]
    for done in (2, 6):  # stopped twice, further on each time
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, start_new_session=True)
        until = time.monotonic() + LONG
        while sum('"code"' in m.read_text() for m in into.glob(f"*/{MARK}")) < done:
            assert time.monotonic() < until
            assert process.poll() is None
            time.sleep(0.02)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    outcomes = make_many(path, sheet, into, workers=2)
    found = Counter(states(outcomes))
    assert found["kept"] >= 6
    assert found["kept"] + found["made"] == count
    titles = Counter(r.title for r in Journal(sheet.parent / "journal").records("print"))
    assert titles == {f"spacer {size}": 1 for size in range(3, 3 + count)}


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="finds processes in /proc")
def test_no_process_outlives_one_that_was_killed(table, sheet):
    path = table(*heights(*range(3, 30)))
    command = [sys.executable, "-m", "fitkit", "make-many", str(path), str(sheet)]
    command += ["--into", str(sheet.parent / "made"), "--workers", "2"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE)
    assert process.stdout
    process.stdout.readline()
    below = _children(process.pid)
    assert below
    process.kill()
    process.wait()
    until = time.monotonic() + LONG
    while any(Path(f"/proc/{pid}").exists() for pid in below):
        assert time.monotonic() < until, "a process is left"
        time.sleep(0.1)
    process.stdout.close()
