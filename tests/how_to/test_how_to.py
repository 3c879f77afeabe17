"""Every how-to page does what it says: commands, files and Python run in order, from nothing."""

from __future__ import annotations

import importlib.util
import shutil
import sys
from pathlib import Path

import pytest

from fitkit.demo import copy_demo

HERE = Path(__file__).parent
PAGES = sorted((HERE.parents[1] / "docs" / "how-to").glob("*.md"))


def _pages():
    spec = importlib.util.spec_from_file_location("how_to_pages", HERE / "pages.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


pages = _pages()


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """The demo with its ball seat made once, for all pages that begin so."""
    folder = tmp_path_factory.mktemp("made")
    copy_demo(folder / "demo")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        pages.run([pages.Step("shell", "fitkit make demo/measurements/ball_seat.toml")], folder)
    return folder


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_does_what_it_says(page, tmp_path, monkeypatch, request):
    text = page.read_text("utf-8")
    folder = tmp_path / "work"
    start = pages.start_of(text)
    if start == "made":
        shutil.copytree(request.getfixturevalue("made"), folder)
    else:
        folder.mkdir()
        if start == "demo":
            copy_demo(folder / "demo")
    monkeypatch.chdir(folder)
    pages.run(pages.steps_of(text), folder)


def test_most_pages_have_something_to_do():
    """A page whose blocks are no longer found would pass without a step."""
    steps = [len(pages.steps_of(page.read_text("utf-8"))) for page in PAGES]
    assert sum(count > 0 for count in steps) >= 14
    assert sum(steps) > 40
