"""The page to share: all in one file, nothing from elsewhere, and the part as it was built."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re

import numpy as np
import pytest

from fitkit.export import view_page
from fitkit.parts import template


@pytest.fixture(scope="module")
def page():
    part = template("spacer").of().build(title="spacer </script> of the <bench>")
    return part, view_page(part, code="K7M3PXA", made_on="2026-11-28")


def data_of(text):
    return json.loads(re.search(r'id="part">(.*?)</script>', text, re.DOTALL)[1])


def test_the_page_holds_the_part_to_the_last_corner(page):
    part, text = page
    data = data_of(text)
    assert data["head"]["title"] == part.title
    assert data["code"] == "K7M3PXA"
    first = np.frombuffer(base64.b64decode(data["arrays"][0]), "<f4").reshape(-1, 3)
    low, high = np.array(data["head"]["bounds"])
    assert first.min(axis=0) == pytest.approx(low, abs=1e-4)
    assert first.max(axis=0) == pytest.approx(high, abs=1e-4)
    names = [name for body in data["head"]["bodies"] for name in body["arrays"]]
    assert len(names) == len(data["arrays"])
    assert [one["name"] for one in data["head"]["dimensions"]] == [d.name for d in part.dimensions]


def test_only_the_program_of_the_page_may_run_and_no_address_is_reached(page):
    _, text = page
    policy = html.unescape(re.search(r'Content-Security-Policy" content="(.*?)"', text)[1])
    allowed = dict(one.strip().split(" ", 1) for one in policy.split(";"))
    assert allowed["default-src"] == "'none'"
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert len(scripts) == 1
    digest = base64.b64encode(hashlib.sha256(scripts[0].encode()).digest()).decode()
    assert allowed["script-src"] == f"'sha256-{digest}'"
    assert not re.search(r"<(?:link|img|iframe)\b|\ssrc=|@import|url\((?!data:)", text)


def test_a_title_with_signs_of_html_stays_a_title(page):
    part, text = page
    assert f"<title>{html.escape(part.title + ' K7M3PXA')}</title>" in text
    assert text.count("</script>") == 2  # the data's own and the program's
