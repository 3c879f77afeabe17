"""What a release says of itself, in one place each."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import fitkit

ROOT = Path(__file__).parents[1]


def _text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_the_version_stands_in_the_package_alone():
    project = tomllib.loads(_text("pyproject.toml"))
    assert "version" not in project["project"]
    assert project["project"]["dynamic"] == ["version"]
    assert re.fullmatch(r"\d+\.\d+\.\d+(?:\.dev\d+)?", fitkit.__version__)


def test_the_citation_names_the_release_that_is_worked_on():
    cited = re.search(r"^version: (\S+)$", _text("CITATION.cff"), re.M)
    assert cited
    assert cited.group(1) == fitkit.__version__.partition(".dev")[0]


def test_the_changelog_begins_with_what_is_not_released():
    heads = re.findall(r"^## (.+)$", _text("CHANGELOG.md"), re.M)
    assert heads[0] == "Unreleased"
    assert fitkit.__version__ in heads


def test_hooks_are_local_and_fetch_nothing():
    config = _text(".pre-commit-config.yaml")
    assert set(re.findall(r"repo: (\S+)", config)) == {"local"}
    assert "://" not in config


def test_the_pythons_that_are_named_are_those_that_are_asked_for():
    project = tomllib.loads(_text("pyproject.toml"))["project"]
    named = [line.rpartition(" ")[2] for line in project["classifiers"] if "Python :: 3" in line]
    assert f">={named[0]}" == project["requires-python"]
    assert len(named) >= 3


def test_the_readmes_promise_is_what_the_study_found():
    """Figures of the README's table stand in the table that the study wrote."""
    study = _text("docs/explanation/virtual-print.md")
    plain, odd = study.split("### Odd machines: 60", 1)
    for line in _text("README.md").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if len(cells) != 5 or not re.fullmatch(r"0\.\d\d", cells[1]):
            continue
        for part, told in ((plain, cells[1:3]), (odd, cells[3:5])):
            found = re.search(rf"^\| {re.escape(cells[0])} \|(.+)\|$", part, re.M)
            assert found, cells[0]
            row = [cell.strip() for cell in found.group(1).split("|")]
            assert [row[2], row[4]] == told, cells[0]


def test_the_readme_has_its_promise():
    assert len(re.findall(r"^\| .+ \| 0\.\d\d \|", _text("README.md"), re.M)) >= 4
