"""What the documents say runs, runs: every Python block, every command, every link."""

import csv
import importlib.util
import re
import sys
import tokenize
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
PAGES = sorted([*ROOT.glob("*.md"), *DOCS.rglob("*.md")])
BLOCK = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)
COMMAND = re.compile(r"^\s*(?:python3 run\.py|fitkit) ([a-z][a-z-]+)(?=[ \n])")
LINK = re.compile(r"\]\(([^)#]+?)(?:#[^)]*)?\)")


@pytest.mark.parametrize(
    ("page", "code"),
    [
        pytest.param(page, code, id=f"{page.name}-{number}")
        for page in PAGES
        if page.parent.name != "how-to"  # run in the order of the page by tests/how_to
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

    known = {*commands.commands, "test", "lab", "bench", "docs", "check-more"}
    named = set()
    for page in PAGES:
        for line in page.read_text(encoding="utf-8").splitlines():
            # An indented line is a command as a whole; elsewhere each span between backticks is.
            spans = [line] if line.startswith("    python3") else line.split("`")[1::2]
            named |= {word for span in spans for word in COMMAND.findall(span + "\n")}
    assert named
    assert named <= known


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_to_files_that_are_there(page, source):
    """Links of the documentation may lead to pages that are made from the code."""
    folder = page.parent
    if DOCS in page.parents:
        folder = source / page.parent.relative_to(DOCS)
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert "://" in target or (folder / target).exists(), target


def test_the_readme_tells_of_each_notebook():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for notebook in (ROOT / "notebooks").glob("*.ipynb"):
        assert f"`{notebook.stem}`" in text


@pytest.fixture(scope="module")
def build():
    spec = importlib.util.spec_from_file_location("docs_build", DOCS / "build.py")
    module = importlib.util.module_from_spec(spec)
    sys.path.insert(0, str(DOCS))
    try:
        spec.loader.exec_module(module)
        yield module
    finally:
        sys.path.remove(str(DOCS))


@pytest.fixture(scope="module")
def source(build, tmp_path_factory):
    """The pages as Sphinx gets them; drawings, which need the CAD kernel, are left out."""
    return build.put_together(tmp_path_factory.mktemp("docs") / "source", drawings=False)


def test_each_part_of_the_site_has_its_pages(source):
    for part in ("lessons", "how-to", "explanation", "reference"):
        pages = [*(source / part).rglob("*.md"), *(source / part).rglob("*.rst")]
        assert len(pages) > 2, part
        assert any(page.stem == "index" for page in pages), part


def test_each_lesson_is_a_page_with_its_text(source):
    lessons = sorted((ROOT / "notebooks").glob("*.ipynb"))
    assert lessons
    for lesson in lessons:
        page = (source / "lessons" / f"{lesson.stem}.md").read_text("utf-8")
        assert page.startswith("# ")
        for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", page):
            assert (source / "lessons" / picture).is_file()


def shipped_kinds():
    """Templates, holders and carriers by title, without what pages and other tests registered."""
    from fitkit.parts import known_carriers, known_holders, templates

    return {
        group: {
            title: kind for title, kind in kinds.items() if kind.__module__.startswith("fitkit.")
        }
        for group, kinds in (
            ("templates", templates()),
            ("holders", known_holders()),
            ("carriers", known_carriers()),
        )
    }


def test_each_parameter_of_each_template_is_described(source):
    for folder, kinds in shipped_kinds().items():
        for title, kind in kinds.items():
            page = source / "reference" / folder / f"{title.replace(' ', '-')}.rst"
            told = re.findall(r"^\.\. parameter:: (.+)$", page.read_text("utf-8"), re.M)
            assert {f"{title}.{name}" for name in kind.model_fields} <= set(told)


def test_each_key_of_a_sheet_is_described_with_words(source):
    from fitkit.core.described import keys_of
    from fitkit.views.schemas import FILES, model_of

    for kind in FILES:
        page = (source / "reference" / "files" / f"{kind}.rst").read_text("utf-8")
        keys = list(keys_of(model_of(kind)))
        assert keys
        for key in keys:
            assert f".. key:: {kind}.{key.name}\n" in page
            assert key.help, key.name


def test_each_command_and_column_is_described(source):
    from fitkit.readings.schema import COLUMNS, OPTIONAL
    from fitkit.views.shell import commands

    page = (source / "reference" / "commands.rst").read_text("utf-8")
    for name, command in commands.commands.items():
        assert f".. command:: fitkit {name}\n" in page
        for option in command.params:
            assert any(opt in page for opt in option.opts) or option.param_type_name == "argument"
    page = (source / "reference" / "files" / "readings.rst").read_text("utf-8")
    for column in (*COLUMNS, *OPTIONAL):
        assert f".. column:: readings.{column}\n" in page


def test_every_public_name_is_in_the_reference_and_has_a_docstring(build, source):
    from generators.functions import ROOMS, public

    stubs = {path.parent.name for path in (ROOT / "fitkit").glob("*/__init__.pyi")}
    assert stubs <= set(ROOMS), "a room is missing in docs/generators/functions.py"
    for room in ROOMS:
        page = (
            source / "reference" / "functions" / f"{room.replace('.', '-').replace('_', '-')}.rst"
        )
        text = page.read_text("utf-8")
        module = importlib.import_module(f"fitkit.{room}")
        for name in public(room):
            assert f":: fitkit.{room}.{name}\n" in text
            assert getattr(module, name).__doc__, name


def test_a_template_has_its_picture():
    names = {path.stem for path in (DOCS / "pictures").glob("*.png")}
    wanted = {
        f"{'holder' if group == 'holders' else 'template'}-{title.replace(' ', '-')}"
        for group, kinds in shipped_kinds().items()
        for title in kinds
    }
    assert wanted <= names, "Run: .venv/bin/python docs/build.py pictures"


def test_every_mark_of_a_figure_without_a_source_is_in_the_list(build):
    """Lines are looked through once more by themselves: comments of code, and tables."""
    from generators.assumptions import assumptions

    found = assumptions()
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
