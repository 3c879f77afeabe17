"""What every stored notebook keeps to: short, run in order, told in words, no code of its own.

That they run and show what is stored is tested by running them (see conftest.py at the root).
"""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("[0-9]*.ipynb"))
OWN_TEMPLATE = "08_own_template.ipynb"  # the one that teaches to write code


def _cells(path, kind):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [cell for cell in cells if cell["cell_type"] == kind]


def _source(cell):
    return "".join(cell["source"])


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.stem)
def notebook(request):
    return request.param


def test_there_are_notebooks():
    assert NOTEBOOKS


def test_it_is_short_and_says_its_goal_first(notebook):
    words, code = _cells(notebook, "markdown"), _cells(notebook, "code")
    assert 12 <= len(words) + len(code) <= 30
    assert "**Goal.**" in _source(words[0])
    assert len(words) >= 0.75 * len(code), "each step has its reason"


def test_it_was_run_from_the_top_once(notebook):
    counts = [cell["execution_count"] for cell in _cells(notebook, "code")]
    assert counts == list(range(1, len(counts) + 1))


def test_its_logic_is_in_the_package(notebook):
    kept = (ast.FunctionDef, ast.ClassDef, ast.For, ast.While, ast.Lambda, ast.BinOp, ast.ListComp)
    for cell in _cells(notebook, "code"):
        if "class " in _source(cell) and notebook.name == OWN_TEMPLATE:
            continue
        source = re.sub(r"^%.*$", "", _source(cell), flags=re.M)
        for node in ast.walk(ast.parse(source)):
            # Paths are joined with /, mappings with |.
            join = isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div | ast.BitOr)
            assert join or not isinstance(node, kept), ast.unparse(node)


def test_it_shows_what_was_made(notebook):
    outputs = [output for cell in _cells(notebook, "code") for output in cell["outputs"]]
    shown = [output.get("data", {}) for output in outputs]
    assert any("image/png" in data for data in shown)
    files = [_source(cell) for cell in _cells(notebook, "code") if "made_files" in _source(cell)]
    assert files, "ends with the names of its files"


def test_its_outputs_ask_nothing_of_a_network_and_hold_no_failure(notebook):
    content = json.loads(notebook.read_text(encoding="utf-8"))
    assert "widgets" not in content["metadata"]
    for cell in _cells(notebook, "code"):
        for output in cell["outputs"]:
            assert output["output_type"] != "error"
            assert "application/vnd.jupyter.widget-view+json" not in output.get("data", {})
            text = re.sub(r"data:image/png;base64,[A-Za-z0-9+/=]+", "", json.dumps(output))
            text = re.sub(r'xmlns(:\w+)?=\\"[^"]*\\"', "", text)  # a name, never fetched
            assert not re.search(r"https?://|<script|<iframe", text)
            assert "/home/" not in text
            assert "/tmp/" not in text


def test_its_outputs_are_small(notebook):
    """Pictures in few colours; `tests/notebooks/store.py --as-run` makes them so."""
    assert notebook.stat().st_size < 150_000
    for cell in _cells(notebook, "code"):
        for output in cell["outputs"]:
            assert "image/jpeg" not in output.get("data", {})
