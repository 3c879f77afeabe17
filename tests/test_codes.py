"""Every error has a code that programs may ask for."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from fitkit.core import errors

ROOT = Path(__file__).parents[1] / "fitkit"
KINDS = {
    name
    for name, kind in vars(errors).items()
    if isinstance(kind, type) and issubclass(kind, errors.FitkitError)
} - {"FaultList"}


def sites() -> list[tuple[str, str | None, str]]:
    """Room, code (None if there is none, empty if it is worked out), and file with line."""
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        file = path.relative_to(ROOT)
        room = file.parts[0].removesuffix(".py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") in KINDS):
                continue
            given = {keyword.arg: keyword.value for keyword in node.keywords}
            code: str | None = None
            if "code" in given:
                value = given["code"]
                code = str(value.value) if isinstance(value, ast.Constant) else ""
            found.append((room, code, f"{file}:{node.lineno}"))
    return found


def test_every_error_has_a_code():
    left = [place for _, code, place in sites() if code is None]
    assert left == [], "give new errors a code, such as code='part.too-thin'"


def test_codes_are_a_subject_and_words_with_hyphens():
    odd = [
        (code, place)
        for _, code, place in sites()
        if code and not re.fullmatch(r"[a-z]+\.[a-z0-9]+(-[a-z0-9]+)*", code)
    ]
    assert odd == []


def test_no_code_asks_what_an_english_sentence_says():
    """An error's words are for people: code asks its code, its place or its kind."""
    asked = []
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            calls = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
            if calls and node.func.attr in {
                "startswith", "endswith", "find", "index", "split", "partition",
            }:  # fmt: skip
                held = node.func.value
                if isinstance(held, ast.Attribute) and held.attr in {"what", "where", "remedy"}:
                    asked.append(f"{path.name}:{node.lineno}")
    assert asked == []
