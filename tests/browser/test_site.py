"""The documentation as a reader has it: built whole, opened from files, without a network.

A newcomer's questions are those that people had who tried fitkit for the first time; each is asked
in the site's own search, and the first hit must be the page that answers it.
"""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import pytest

spec = importlib.util.spec_from_file_location("labs_for_site", Path(__file__).with_name("lab.py"))
labs = importlib.util.module_from_spec(spec)
spec.loader.exec_module(labs)

pytestmark = [
    pytest.mark.browser,
    pytest.mark.xdist_group("browser"),
    pytest.mark.skipif(labs.CHROMIUM is None, reason="no Chromium is installed"),
]

HTML = labs.ROOT / "artefacts" / "docs" / "html"
# What is typed -> the page that answers it, by the end of its address.
QUESTIONS = {
    "corner_radius": "reference/templates/board-case.html",
    "part sheet keys": "reference/files/sheet.html",
    "list of templates": "reference/templates/index.html",
    "mode": "reference/files/readings.html",
    "distance between holes": "how-to/holes-and-spans.html",
    "heat-set insert": "how-to/screws-and-inserts.html",
    "cable exit": "how-to/ports-and-cables.html",
    "own calipers": "how-to/begin-a-workshop.html",
    "where is the journal": "how-to/begin-a-workshop.html",
    "too tight": "how-to/came-out-tight.html",
    "slicer settings": "how-to/print-settings.html",
    "elephant foot": "how-to/print-settings.html",
    "second printer": "how-to/second-printer.html",
    "coat": "reference/files/sheet.html",
    "per_kwh": "reference/files/sheet.html",
    "make-many": "reference/commands.html",
    "compensate": "reference/functions/calibration.html",
}


@pytest.fixture(scope="module")
def site():
    """Build it with every warning an error: a broken link, a name that is not there."""
    command = [sys.executable, str(labs.ROOT / "docs" / "build.py")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return HTML


@pytest.fixture(scope="module")
def page(site):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=labs.CHROMIUM, args=labs.FLAGS)
        page = browser.new_page()
        page.asked = []
        page.on("request", lambda request: page.asked.append(request.url))
        yield page
        browser.close()


def test_no_page_asks_the_network_for_anything(site, page):
    for path in ("index.html", "reference/templates/knob.html", "lessons/01_first_print.html"):
        page.goto((site / path).as_uri())
        page.wait_for_load_state("networkidle")
    assert page.asked
    assert {url.split(":")[0] for url in page.asked} <= {"file", "data"}


def test_no_page_names_a_script_a_style_or_a_picture_of_the_network(site):
    for path in site.rglob("*.html"):
        text = path.read_text("utf-8")
        assert not re.search(r"<(?:script|img|iframe)[^>]+src=\"(?:https?:)?//", text), path
        assert not re.search(r"<link[^>]+href=\"(?:https?:)?//", text), path


@pytest.mark.parametrize(("question", "answer"), QUESTIONS.items(), ids=QUESTIONS)
def test_a_newcomers_question_is_answered_by_the_first_hit(site, page, question, answer):
    page.goto(f"{(site / 'search.html').as_uri()}?q={question.replace(' ', '+')}")
    page.locator("ul.search li a").first.wait_for(timeout=30_000)
    page.wait_for_function("() => /finished|Found|found/.test(document.body.innerText)")
    hits = page.locator("ul.search li a").evaluate_all("all => all.map(a => a.href)")
    assert hits[0].partition("#")[0].partition("?")[0].endswith(answer), hits[:4]
