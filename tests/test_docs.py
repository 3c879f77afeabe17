"""What the documents say runs, runs: every Python block, every command, every link."""

import csv
import re
import tokenize
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")])
BLOCK = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)
COMMAND = re.compile(r"^\s*(?:python3 run\.py|fitkit) ([a-z][a-z-]+)(?=[ \n])")
LINK = re.compile(r"\]\(([^)#]+?)(?:#[^)]*)?\)")


@pytest.mark.parametrize(
    ("page", "code"),
    [
        pytest.param(page, code, id=f"{page.name}-{number}")
        for page in PAGES
        for number, code in enumerate(BLOCK.findall(page.read_text(encoding="utf-8")))
    ],
)
def test_a_python_block_runs(page, code, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    exec(compile(code, str(page), "exec"), {"__name__": "block"})


def test_the_readme_has_a_python_block():
    assert BLOCK.search((ROOT / "README.md").read_text(encoding="utf-8"))


def test_each_command_that_the_documents_name_exists():
    from fitkit.views.shell import commands

    known = {*commands.commands, "test", "lab", "bench"}
    named = set()
    for page in PAGES:
        for line in page.read_text(encoding="utf-8").splitlines():
            # An indented line is a command as a whole; elsewhere each span between backticks is.
            spans = [line] if line.startswith("    python3") else line.split("`")[1::2]
            named |= {word for span in spans for word in COMMAND.findall(span + "\n")}
    assert named
    assert named <= known


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_to_files_that_are_there(page):
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_the_readme_tells_of_each_notebook():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for notebook in (ROOT / "notebooks").glob("*.ipynb"):
        assert f"`{notebook.stem}`" in text


def docs_file(name):
    import importlib.util

    spec = importlib.util.spec_from_file_location(f"docs_{name}", ROOT / "docs" / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_list_of_figures_without_a_source_is_as_the_code_has_it():
    made = docs_file("assumptions").page()
    assert (ROOT / "docs" / "assumptions.md").read_text("utf-8") == made, (
        "Run: .venv/bin/python docs/build.py assumptions"
    )


def test_every_mark_of_a_figure_without_a_source_is_in_the_list():
    """Lines are looked through once more by themselves: comments of code, and tables."""
    found = docs_file("assumptions").assumptions()
    said: dict[str, str] = {}
    for one in found:
        said[one.file] = said.get(one.file, "") + " " + one.words
    marked = 0
    for path in (ROOT / "fitkit").rglob("*"):
        name = path.relative_to(ROOT / "fitkit").as_posix()
        if path.suffix == ".py":
            with path.open("rb") as stream:
                tokens = [
                    t for t in tokenize.tokenize(stream.readline) if t.type == tokenize.COMMENT
                ]
            lines = [token.string.lstrip("# ") for token in tokens]
        elif path.suffix == ".csv":
            lines = path.read_text("utf-8").splitlines()
        else:
            continue
        for line in lines:
            if re.search("no source|from memory", line):
                marked += 1
                words = line.lstrip("# ") if line.startswith("#") else next(csv.reader([line]))[-1]
                assert words.strip() in said[name], (name, line)
            elif path.suffix == ".py":
                # The mark may stand on the next line of the same comment.
                assert not re.search(r"[Cc]ommon practice\b(?!, no$)", line), (name, line)
    assert marked > 60
    # A file whose sizes all rest on common practice, and a table that does.
    assert sum(one.file.endswith("coupon/practice.py") for one in found) >= 11
    assert any(one.file == "data/gap_priors.csv" for one in found)


def test_the_reference_has_every_public_name_and_a_docstring_for_each():
    build = docs_file("build")
    heads = re.findall(r"^### (\S+)$", (ROOT / "docs" / "reference.md").read_text("utf-8"), re.M)
    assert set(heads) == set(re.findall(r"^### (\S+)$", build.reference(), re.M))
    assert "```text\n\n```" not in build.reference()
