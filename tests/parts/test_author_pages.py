"""The page for authors of holders and carriers: its examples run as they stand, and are short."""

from __future__ import annotations

import re
import sys
import tomllib
import types
from pathlib import Path

import pytest

from fitkit.parts import template
from fitkit.parts.carriers.case import Case
from fitkit.solids import box_of, is_valid

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "holders-and-carriers.md"


def blocks(kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)


@pytest.fixture(scope="module")
def run():
    page = types.ModuleType("author_page")
    sys.modules[page.__name__] = page
    for block in blocks("python"):  # the page's own text, as a reader's file would hold it
        exec(compile(block, str(PAGE), "exec", dont_inherit=True), page.__dict__)
    yield page
    del sys.modules[page.__name__]


def test_each_example_has_thirty_lines_beside_its_imports():
    for block in blocks("python"):
        body = block[block.index("\n@") :]
        assert len([line for line in body.splitlines() if line.strip()]) <= 36


def test_the_pages_holder_joins_a_case_and_is_drawn_to_its_size(run):
    ring = {"name": "ring", "held": "ring on a peg", "bore": "12 mm", "outer": "18 mm"}
    made = Case.of(things=[ring, {"name": "cell", "held": "round cell in saddles"}])
    part = made.build({"ring: peg": 11.8})
    assert is_valid(part.bodies[0].solid)
    assert next(f for f in made.fit_sizes() if f.name == "ring: peg").nominal_mm == 12.0


def test_the_pages_carrier_carries_the_pages_holder(run):
    disc = template("disc").of(things=[{"name": "ring", "held": "ring on a peg", "high": "7 mm"}])
    part = disc.build({"ring: peg": 9.8})
    assert box_of(part.bodies[0].solid)[1][2] == pytest.approx(10.0)


def test_the_pages_sheet_has_only_keys_that_there_are():
    content = tomllib.loads(blocks("toml")[0])
    for thing in content["things"]:
        plain = {
            key: "30 mm" if isinstance(value, str) and key not in ("name", "held") else value
            for key, value in thing.items()
        }
        Case.of(things=[plain], **content["values"])
