"""The words of what parts refuse: each rule of the table is held, and given what it says."""

from __future__ import annotations

import ast
import string
from pathlib import Path

import pytest

import fitkit.parts
from fitkit.core.errors import FaultList
from fitkit.data import load_table
from fitkit.parts.forms import Rules

ROOM = Path(fitkit.parts.__file__).parent


def _held() -> dict[str, set[str]]:
    """Rules that the code names, each with the names of the values that it gives."""
    found: dict[str, set[str]] = {}
    for path in ROOM.rglob("*.py"):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(call, ast.Call)
                and isinstance(call.func, ast.Attribute)
                and call.func.attr in ("at_least", "at_most")
                and len(call.args) == 4
            ):
                words = call.args[3]
                options = (words.body, words.orelse) if isinstance(words, ast.IfExp) else (words,)
                for one in options:
                    assert isinstance(one, ast.Constant), f"{path.name}, line {call.lineno}"
                    given = {key.arg or "" for key in call.keywords}
                    assert found.setdefault(str(one.value), given) == given
    return found


def test_every_rule_of_the_table_is_held_and_given_what_it_says() -> None:
    table = load_table("part_rules").frame
    assert table["rule"].is_unique
    asked = {
        str(row["rule"]): {
            name
            for words in (row["why"], row["remedy"])
            for _, name, _, _ in string.Formatter().parse(str(words))
            if name
        }
        for row in table.to_dict("records")
    }
    held = _held()
    assert set(held) == set(asked)
    assert all(asked[rule] <= held[rule] for rule in asked)
    assert all(str(text).endswith(".") for text in table["remedy"])


def test_a_broken_rule_tells_value_bound_and_the_words_of_the_table() -> None:
    rules = Rules("spacer")
    rules.at_least("outside", 5.0, 7.4, "walls of the spacer", bore=5.0, least=1.2)
    rules.at_most("outside", 5.0, 7.4, "walls of the spacer", bore=5.0, least=1.2)
    with pytest.raises(FaultList) as told:
        rules.refuse()
    assert [str(fault) for fault in told.value.faults] == [
        "spacer, outside: 5 mm is below 7.4 mm: a bore of 5.00 mm needs walls of 1.2 mm. "
        "Make it wider, or choose a smaller screw."
    ]
