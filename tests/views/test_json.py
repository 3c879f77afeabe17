"""What commands say with --json holds to the schema that they give of it; tables fit a terminal."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from fitkit.demo import copy_demo
from fitkit.views.results import RESULTS, result_schema
from fitkit.views.shell import commands


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return copy_demo(tmp_path_factory.mktemp("demo") / "demo")


def run(demo, *words: str, wide: int = 80):
    result = CliRunner().invoke(commands, words, env={"COLUMNS": str(wide)})
    assert result.exit_code == 0, (words, result.output, result.exception)
    return result.stdout


@pytest.fixture(scope="module")
def typed(demo):
    """Words of a call of each command that gives JSON."""
    home = ("--workshop", str(demo))
    profile = str(demo / "again.toml")
    run(demo, "calibrate", str(demo / "readings" / "coupon_petg.csv"), profile, "--alone")
    return {
        "chance": ("chance", str(demo / "button_panel.toml")),
        "compare": ("compare", profile, profile),
        "history": ("history", "sound board case", *home),
        "ladder": ("ladder", str(demo / "made" / "l"), "peg and hole", "slides", "8 mm", *home),
        "log": ("log", *home),
        "make": ("make", str(demo / "button_panel.toml"), "--into", str(demo / "made" / "p")),
        "readings": ("readings", str(demo / "readings" / "sound_board.csv")),
        "success": ("success", *home),
        "trial-piece": ("trial-piece", str(demo / "sound_board.toml")),
    }


def test_every_command_of_the_list_takes_json_and_no_other():
    takes = {
        name
        for name, command in commands.commands.items()
        if any("--json" in option.opts for option in command.params)
    }
    assert takes == set(RESULTS)


@pytest.mark.parametrize("name", sorted(RESULTS))
def test_a_schema_is_one_itself_and_says_what_is_in_each_result(name, demo):
    schema = json.loads(run(demo, "schema", name))
    assert schema == result_schema(name)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["description"]
    assert "schema_version" in schema["properties"]


@pytest.mark.parametrize("name", sorted(RESULTS))
def test_what_a_command_says_holds_to_its_schema(name, demo, typed):
    said = json.loads(run(demo, *typed[name], "--json"))
    jsonschema.Draft202012Validator(result_schema(name)).validate(said)
    assert said["schema_version"] == 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(result_schema(name)).validate({**said, "more": 1})


def test_figures_of_a_make_are_those_of_its_record(demo, typed):
    said = json.loads(run(demo, *typed["make"], "--json"))
    record = json.loads(Path(said["record"]).read_text("utf-8"))
    assert record["code"] == said["code"]
    drawn = {fit["name"]: fit["drawn_mm"] for fit in record["fits"]}
    assert {one["name"]: one["drawn_mm"] for one in said["sizes"]} == pytest.approx(drawn)


@pytest.mark.parametrize("wide", [60, 80])
@pytest.mark.parametrize("name", ["chance", "log", "make", "readings", "success"])
def test_tables_hold_in_a_narrow_terminal(name, wide, demo, typed):
    lines = run(demo, *typed[name], wide=wide).splitlines()
    rule = next(n for n, line in enumerate(lines) if set(line.strip()) & set("─━"))
    end = next((n for n in range(rule + 1, len(lines)) if not lines[n].strip()), len(lines))
    table = lines[max(rule - 3, 0) : end]
    assert len(table) > 3
    for line in table:
        assert "…" not in line
        assert len(line.rstrip()) <= wide or not set(line) & set("─━│┃"), line
    for line in lines[rule:end]:
        assert len(line.rstrip()) <= wide, line
