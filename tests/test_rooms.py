"""The rooms stand in one order: no import runs up, none in a circle, and none hides in a string.

Annotations and imports inside functions count like any other: they tie files together all the same.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).parents[1]
# From the ground up: a room may import those before it and itself.
ORDER = (
    "moved", "core", "data", "workshop", "demo", "readings", "stats", "calibration", "fits",
    "solids", "parts", "checks", "drawings", "export", "journal", "flow", "make", "views",
    "widgets", "__main__",
)  # fmt: skip
NUMERIC = ("core", "data", "readings", "stats", "calibration", "fits", "checks")
HEAVY = ("build123d", "OCP", "anywidget", "ipywidgets", "traitlets", "lib3mf")


def _name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def modules() -> dict[str, ast.Module]:
    files = sorted(p for p in (ROOT / "fitkit").rglob("*.py"))
    return {_name(p): ast.parse(p.read_text(encoding="utf-8")) for p in files}


def _targets(tree: ast.AST) -> list[str]:
    """Every module that a file imports, anywhere in it."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            # A name taken from a package may be a file of it.
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                found.append(full if full in modules() else node.module)
    return found


def _texts(tree: ast.Module) -> list[str]:
    """Every string that is not a docstring."""
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs
    ]


def _named_in_strings(tree: ast.Module) -> list[str]:
    """Modules that a string names and nothing else: a text may speak of them."""
    return [text for text in _texts(tree) if re.fullmatch(r"fitkit(\.\w+)+", text)]


def room(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def arrows(*, strings: bool = True) -> list[tuple[str, str]]:
    found = []
    for name, tree in modules().items():
        # `moved` names where old names lead to, and imports none of it before somebody asks.
        named = [] if name == "fitkit.moved" or not strings else _named_in_strings(tree)
        targets = _targets(tree) + [text for text in named if text in modules()]
        found += [(name, target) for target in targets if target.split(".")[0] == "fitkit"]
    return found


def test_every_room_has_its_place_in_the_order():
    rooms = {room(name) for name in modules()} - {""}
    assert rooms == set(ORDER)


@pytest.mark.parametrize("kind", ["imports", "names in strings"])
def test_no_arrow_runs_up(kind):
    up = {
        f"{source} -> {target}"
        for source, target in arrows(strings=kind != "imports")
        if room(source) and room(target) and ORDER.index(room(target)) > ORDER.index(room(source))
    }
    assert up == set()


def test_no_file_imports_in_a_circle():
    graph = nx.DiGraph((a, b) for a, b in arrows(strings=False) if a != b and b in modules())
    circles = [sorted(c) for c in nx.strongly_connected_components(graph) if len(c) > 1]
    assert circles == []


def test_nothing_imports_the_studies():
    used = {name for name, tree in modules().items() for t in _targets(tree) if t[:7] == "studies"}
    assert used == set()


def test_numeric_rooms_import_neither_kernel_nor_widgets():
    heavy = {
        f"{name} -> {target}"
        for name, tree in modules().items()
        if room(name) in NUMERIC
        for target in _targets(tree)
        if target.split(".")[0] in HEAVY
    }
    assert heavy == set()


def test_an_arrow_that_runs_up_is_found():
    """The test above could pass by seeing nothing: it must see a bad import in each disguise."""
    bad = ast.parse(
        "def f():\n    from fitkit.widgets import panel\n\nPRELOAD = ['fitkit.widgets.warm']\n"
    )
    assert _targets(bad) == ["fitkit.widgets.panel"]
    assert _named_in_strings(bad) == ["fitkit.widgets.warm"]
