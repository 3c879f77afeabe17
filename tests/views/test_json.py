"""What commands say with --json holds to the schema that they give of it; tables fit a terminal."""

from __future__ import annotations

import itertools
import json
import sys
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from fitkit.demo import copy_demo
from fitkit.readings.blank import blank_table
from fitkit.views.results import RESULTS, WITHOUT, result_schema
from fitkit.views.shell import commands
from tests.views.port import Port


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return copy_demo(tmp_path_factory.mktemp("demo") / "demo")


def filled_form(text: str) -> str:
    """Give a form of test strips with its example readings filled in."""
    lines = text.splitlines()
    start = lines.index("# [bending]")
    filled = [
        line[2:] if n >= start and line[2:3] in tuple("[stwlg]} {") else line
        for n, line in enumerate(lines)
    ]
    return "\n".join(filled)


def run(demo, *words: str, wide: int = 80):
    result = CliRunner().invoke(commands, words, env={"COLUMNS": str(wide)})
    assert result.exit_code == 0, (words, result.output, result.exception)
    return result.stdout


SHEET = """schema = 1
title = "a very long name of a spacer that keeps two long names apart from each other"
template = "spacer"
[printer]
generic = "PETG"
[outputs]
files = ["3mf"]
"""


@pytest.fixture(scope="module")
def typed(demo):
    """Words of a call of each command that gives JSON; each may be called again."""
    with Port() as port:
        yield calls(demo, port)


def calls(demo, port):
    home = ("--workshop", str(demo))
    readings = demo / "readings"
    profile = str(demo / "again.toml")
    run(demo, "calibrate", str(readings / "coupon_petg.csv"), profile, "--alone")
    sheet = demo / "spacer.toml"
    sheet.write_text(SHEET, encoding="utf-8")
    code = json.loads(run(demo, "make", str(sheet), "--json"))["code"]
    table = demo / "rows.csv"
    table.write_text("title,values.height\nshort one,12 mm\n", encoding="utf-8")
    exhibit = demo / "exhibit.toml"
    run(demo, "exhibit", str(exhibit), "--add", str(sheet), "--title", "a bench", *home)
    trials = demo / "trials.csv"
    trials.write_text("pair,size,gap,verdict\npeg and hole,8 mm,0.2 mm,tight\n", encoding="utf-8")
    form = demo / "form" / "strips.toml"
    run(demo, "strips", str(form.parent), *home)
    form.write_text(filled_form(form.read_text("utf-8")), encoding="utf-8")
    doubted = demo / "doubted.csv"
    doubted.write_text("feature,reading\na,4.00 mm\na,4.02 mm\na,4.90 mm\n", encoding="utf-8")
    broken = json.loads(run(demo, "broke", code, "left arm", *home, "--json"))
    fit = json.loads(run(demo, "show", code, *home))["fits"][0]["name"]
    number = itertools.count()

    def new(name: str) -> str:
        return str(demo / "new" / f"{next(number)} {name}")

    def waiting() -> str:
        file = Path(new("board.csv"))
        file.write_text(blank_table([{"feature": "hole", "unit": "mm"}]), encoding="utf-8")
        port.send_on("58.01 mm\r\n")
        return str(file)

    (demo / "new").mkdir()
    return {
        "begin": lambda: ("begin", new("shop")),
        "binder": lambda: ("binder", new("binder.html"), *home),
        "bring-in": lambda: ("bring-in", str(trials), *home),
        "broke": lambda: ("broke", code, "right arm", *home),
        "calibrate": lambda: ("calibrate", str(readings / "coupon_petg.csv"), new("p.toml")),
        "chance": lambda: ("chance", str(sheet)),
        "changed": lambda: ("changed", "bench printer A", "nozzle", *home),
        "check-calipers": lambda: ("check-calipers", "bench calipers", "10", "10.01", *home),
        "compare": lambda: ("compare", profile, profile),
        "coupon": lambda: ("coupon", new("c"), "--printer", "A", "--piece", "check", *home),
        "decide": lambda: ("decide", str(doubted), "3", "leave-out", "--because", "misread"),
        "demo": lambda: ("demo", str(demo.parent)),
        "exhibit": lambda: ("exhibit", str(exhibit), *home),
        "fitted": lambda: ("fitted", code, f"{fit}=as wanted", *home),
        "history": lambda: ("history", "sound board case", *home),
        "inspection": lambda: ("inspection", code, new("sheet.csv"), *home),
        "ladder": lambda: ("ladder", new("l"), "peg and hole", "slides", "8 mm", *home),
        "listen": lambda: ("listen", port.name, waiting()),
        "log": lambda: ("log", "--all", *home),
        "make": lambda: ("make", str(demo / "button_panel.toml"), "--into", new("p")),
        "make-many": lambda: ("make-many", str(table), str(sheet), "--into", new("m")),
        "material": lambda: ("material", str(form), "--name", new("m").rpartition("/")[2], *home),
        "new": lambda: ("new", new("part").rpartition("/")[2], "--folder", new("f")),
        "note": lambda: ("note", code, "came off the bed by itself", *home),
        "plate": lambda: ("plate", str(sheet), "--into", new("plates")),
        "readings": lambda: ("readings", str(readings / "sound_board.csv")),
        "reprint": lambda: ("reprint", code, "--into", new("r"), *home),
        "share": lambda: ("share", code, "--into", new("s"), *home),
        "strips": lambda: ("strips", new("strips"), *home),
        "success": lambda: ("success", *home),
        "tag": lambda: ("tag", code, new("label.svg"), *home),
        "trial-piece": lambda: ("trial-piece", str(demo / "sound_board.toml")),
        "withdraw": lambda: ("withdraw", broken["code"], *home),
    }


def test_every_command_takes_json_or_says_why_not():
    takes = {
        name
        for name, command in commands.commands.items()
        if any("--json" in option.opts for option in command.params)
    }
    assert takes == set(RESULTS)
    assert set(commands.commands) - takes == set(WITHOUT)
    assert all(WITHOUT.values())


@pytest.mark.parametrize("name", sorted(RESULTS))
def test_a_schema_is_one_itself_and_says_what_is_in_each_result(name, demo):
    schema = json.loads(run(demo, "schema", name, "--result"))
    assert schema == result_schema(name)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["description"]
    assert name in schema["description"]
    assert "schema_version" in schema["properties"]


@pytest.mark.parametrize("name", sorted(RESULTS))
def test_what_a_command_says_holds_to_its_schema(name, demo, typed):
    if name == "listen" and sys.platform == "win32":
        pytest.skip("needs a pseudo-terminal")
    said = json.loads(run(demo, *typed[name](), "--json"))
    jsonschema.Draft202012Validator(result_schema(name)).validate(said)
    assert said["schema_version"] == 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(result_schema(name)).validate({**said, "more": 1})


def test_figures_of_a_make_are_those_of_its_record(demo, typed):
    said = json.loads(run(demo, *typed["make"](), "--json"))
    record = json.loads(Path(said["record"]).read_text("utf-8"))
    assert record["code"] == said["code"]
    drawn = {fit["name"]: fit["drawn_mm"] for fit in record["fits"]}
    assert {one["name"]: one["drawn_mm"] for one in said["sizes"]} == pytest.approx(drawn)


def test_a_trial_says_what_was_read_and_whether_it_conforms(demo, typed):
    code = json.loads(run(demo, *typed["make"](), "--json"))["code"]
    home = ("--workshop", str(demo))
    said = run(demo, "inspection", code, str(demo / f"{code}.csv"), *home, "--json")
    sheet = Path(json.loads(said)["files"][0])
    head, first, *rest = sheet.read_text("utf-8-sig").splitlines()
    cells = first.split(",")
    expected = float(cells[4])
    cells[6:9] = [f"{expected - 1:.2f}", f"{expected + 1:.2f}", f"{expected:.2f}"]
    sheet.write_text("\n".join([head, ",".join(cells), *rest]), encoding="utf-8")
    said = json.loads(run(demo, "fitted", code, "--sheet", str(sheet), *home, "--json"))
    (size,) = said["sizes"]
    assert size["conformity"] == "conforms"
    assert size["value_mm"] == pytest.approx(expected, abs=0.005)
    assert said["of"] == code
    assert json.loads(run(demo, "show", said["code"], *home))["of"] == code


def test_what_new_can_start_with_is_listed_as_json_too(demo):
    said = json.loads(run(demo, "new", "--list", "--json"))
    jsonschema.Draft202012Validator(result_schema("new")).validate(said)
    assert "board case" in {one["name"] for one in said["templates"]}
    assert said["holders"]
    assert said["files"] == []
