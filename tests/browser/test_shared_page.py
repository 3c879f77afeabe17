"""The page to share, opened from a file in a headless Chromium without a net."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import lab as labs

pytestmark = [
    pytest.mark.browser,
    pytest.mark.xdist_group("browser"),
    pytest.mark.skipif(labs.CHROMIUM is None, reason="no Chromium is installed"),
]


def test_a_shared_page_is_turned_cut_and_measured_without_a_net(tmp_path):
    from PIL import Image

    from fitkit.export import view_page
    from fitkit.parts import template

    file = tmp_path / "case.html"
    part = template("board case").of().build(title="listening post case")
    file.write_text(view_page(part, code="K7M3PXA", made_on="2026-11-28"), encoding="utf-8")
    labs.ARTEFACTS.mkdir(exist_ok=True)
    with labs.chromium(*labs.SOFTWARE_GL) as browser:
        context = browser.new_context(offline=True, viewport={"width": 1280, "height": 800})
        page = context.new_page()
        asked, told = [], []
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda line: told.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: told.append(str(error)))
        page.goto(file.as_uri())
        page.locator(".picture[data-ticket]").wait_for(timeout=120_000)
        stage = page.locator(".stage")

        def pixels():
            page.wait_for_timeout(300)
            shot = Image.open(io.BytesIO(stage.screenshot())).convert("RGB")
            return np.asarray(shot).astype(int)

        def changed(before, after):
            return int((np.abs(before - after).max(axis=2) > 24).sum())

        first = pixels()
        page.screenshot(path=labs.ARTEFACTS / "shared-1280.png")
        stage.focus()
        page.keyboard.press("ArrowLeft")
        turned = pixels()
        assert changed(first, turned) > 2_000
        page.keyboard.press("x")
        cut = pixels()
        assert changed(turned, cut) > 2_000
        page.keyboard.press("g")
        page.locator(".legend").filter(has_text="board: least gap").wait_for(timeout=60_000)
        page.screenshot(path=labs.ARTEFACTS / "shared-cut-1280.png")
        size = page.locator(".sizes button.pick").first
        size.click()
        assert size.get_attribute("aria-pressed") == "true"
        assert "K7M3PXA" in page.locator("header").inner_text()
        page.set_viewport_size({"width": 600, "height": 900})
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth + 1")
        page.screenshot(path=labs.ARTEFACTS / "shared-600.png")
        # Nothing was asked for but the file, and its policy was held against nothing in it.
        assert [url for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []
        assert told == []
