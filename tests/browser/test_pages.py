"""Pages as a browser prints them: how many sheets of A4, and the label's code as it is seen."""

from __future__ import annotations

import io
import re

import pytest

from tests.browser.lab import CHROMIUM, chromium

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine"),
]


def sheets(page) -> int:
    raw = page.pdf(prefer_css_page_size=True, format="A4")
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", raw))


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A workshop with a coupon and a ladder ordered in it."""
    from fitkit.calibration import PrintSettings
    from fitkit.make.orders import order_coupon, order_ladder
    from fitkit.workshop import begin_workshop

    folder = tmp_path_factory.mktemp("home")
    begin_workshop(folder)
    order_coupon(folder / "coupon", settings=PrintSettings(printer="bench", material="PETG"))
    order_ladder(folder / "ladder", "peg and hole", "slides", size_mm=8.0)
    return folder


def test_order_sheets_take_one_page_each_and_a_print_of_the_binder_too(home):
    from fitkit.journal import Journal, tag_svg, write_html, write_pdf

    journal = Journal(home / "journal")
    prints = journal.records("print")
    assert len(prints) == 2
    binder = write_html(journal, home / "binder.html")
    pdf = write_pdf(journal, home / "binder.pdf").read_bytes()
    with chromium() as browser:
        page = browser.new_page(viewport={"width": 794, "height": 1123})
        for name in ("coupon/coupon_order.html", "ladder/ladder_order.html"):
            page.goto((home / name).as_uri())
            assert sheets(page) == 1, name
        page.goto(binder.as_uri())
        assert sheets(page) == len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
        # The label as it is seen, decoded from pixels.
        page.set_content(f'<body style="margin:0">{tag_svg(prints[0])}</body>')
        page.evaluate("document.querySelector('svg').style.width = '124mm'")
        page.evaluate("document.querySelector('svg').style.height = '58mm'")
        shot = page.locator("svg").first.screenshot()
    import zxingcpp
    from PIL import Image

    from fitkit.journal.tag import tag_text

    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(shot)))
    assert found.text == tag_text(prints[0])
