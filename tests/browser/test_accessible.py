"""axe finds nothing grave in trial form, panel and shared page, from 600 px to 4k, in both themes.

The page sides stand in a bare page, with the widget behind them; in JupyterLab the grid and the
panel are looked at by test_in_jupyterlab.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.lab import ARTEFACTS, CHROMIUM, SOFTWARE_GL, chromium
from tests.browser.mounted import Mounted

AXE = Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
pytestmark = [
    pytest.mark.browser,
    pytest.mark.xdist_group("browser"),
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine"),
    pytest.mark.skipif(not AXE.is_file(), reason="axe-core comes with: npm ci in web/"),
]
GRAVE = """async () => {
  const found = await axe.run(document.querySelector('.fitkit'), { resultTypes: ['violations'] });
  return found.violations
    .filter(({ impact }) => ['serious', 'critical'].includes(impact))
    .map(({ id, help, nodes }) => `${id}: ${help}: ${nodes[0].html}`);
}"""
SIZES = ((600, 800), (1280, 800), (3840, 2160))


@pytest.fixture(scope="module")
def browser():
    ARTEFACTS.mkdir(exist_ok=True)
    with chromium(*SOFTWARE_GL) as opened:
        yield opened


@pytest.fixture
def page(browser):
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    yield context.new_page()
    context.close()


@pytest.fixture
def demo(tmp_path):
    from fitkit.demo import copy_demo

    return copy_demo(tmp_path / "demo")


def look_over(page, name: str) -> None:
    """Look over what is on a page at each width and in each theme; nothing sticks out of it."""
    page.evaluate(AXE.read_text("utf-8"))
    shown = page.locator(".fitkit").first
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(250)
        for theme in ("light", "dark"):
            shown.evaluate("(e, theme) => { e.dataset.theme = theme; }", theme)
            page.wait_for_timeout(50)
            page.screenshot(path=ARTEFACTS / f"{name}-{theme}-{width}.png", full_page=True)
            assert page.evaluate(GRAVE) == [], (width, theme)
        assert shown.evaluate("e => e.scrollWidth <= e.clientWidth + 1"), width
    shown.evaluate("e => { e.append(document.createElement('button')); }")
    assert page.evaluate(GRAVE) != []  # faults are found at all: a button without a name is one


def inside_the_stage(page) -> None:
    """Part and dimension lines are in the picture, whole."""
    stage = page.locator(".stage").bounding_box()
    for text in page.locator("text.callout.facing").all():
        box = text.bounding_box()
        assert stage["x"] <= box["x"], text.text_content()
        assert box["x"] + box["width"] <= stage["x"] + stage["width"], text.text_content()
        assert stage["y"] <= box["y"], text.text_content()
        assert box["y"] + box["height"] <= stage["y"] + stage["height"], text.text_content()


def test_the_trial_form_with_its_picture(page, demo):
    from fitkit.journal import Journal
    from fitkit.widgets.trial import TrialEntry, TrialModel

    entry = TrialEntry(TrialModel(Journal(demo / "journal")))
    form = Mounted(page, entry, "trial", "state")
    form.pump(".marked .card")
    names = [fit["name"] for fit in entry.state["fits"] if fit["judged"]]
    assert page.locator(".mark").count() >= len(names)
    # One press a verdict: the picture goes on to the next fit by itself.
    for _ in names:
        page.locator(".card [data-verdict='as wanted']").click()
        form.pump()
    assert f"{len(names)} of {len(names)} judged" in page.locator(".card").inner_text()
    page.locator("[data-key='mark pocket length'] circle").first.click()
    form.pump(".card input")
    page.locator(".card input").fill("68,46")
    page.get_by_role("button", name="Write down").click()
    form.pump(f".trial[data-saved='{entry.state['saved']}']")
    assert entry.state["tried"][0]["said"].count("as wanted") == len(names)
    look_over(page, "trial")
    entry.close()


def test_the_panel_with_a_doubt_and_a_value_that_is_wrong(page, demo):
    from fitkit.widgets import part_panel

    panel = part_panel(demo / "sound_board.toml")
    assert panel.wait(90)
    shown = Mounted(page, panel, "part", "doc", "still_id")
    shown.pump(".picture[data-ticket]")
    page.locator(".stage").press("6")
    shown.pump("text.callout.facing")  # the lines of the view were asked for, and came
    for _ in range(25):  # until lines and part agree on the size
        page.wait_for_timeout(40)
        shown.pump()
    inside_the_stage(page)
    wall = page.locator("[data-path='wall'] input[type=text], input[data-path='wall']").first
    wall.fill("101.6")
    wall.press("Enter")
    shown.pump(".stage.old")
    look_over(page, "panel")
    panel.close()


def test_the_page_to_share(page, tmp_path):
    from fitkit.export import view_page
    from fitkit.parts import template

    file = tmp_path / "case.htm"
    part = template("board case").of().build(title="listening post case")
    file.write_text(view_page(part, code="K7M3PXA", made_on="2026-11-28"), encoding="utf-8")
    page.goto(file.as_uri())
    page.locator(".picture[data-ticket]").wait_for()
    page.locator(".stage").press("2")
    page.locator("text.callout.facing").first.wait_for()
    page.wait_for_timeout(500)
    inside_the_stage(page)
    page.locator("button.pick").first.click()
    look_over(page, "share")
