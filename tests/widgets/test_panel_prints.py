"""Two prints of a part laid over each other in its panel."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from fitkit.demo import copy_demo
from fitkit.journal import Journal
from fitkit.widgets import part_panel


@pytest.fixture
def panel(tmp_path):
    shown = part_panel(copy_demo(tmp_path / "demo") / "sound_board.toml")
    yield shown
    shown.close()


def test_two_prints_are_picked_and_drawn_over_each_other(panel):
    heard, came = [], threading.Event()

    def keep(content, buffers=None):
        heard.append((content, buffers))
        if content["kind"] == "before":
            came.set()

    panel.send = keep
    panel._hear(panel, {"kind": "prints"}, [])
    ((listed, _),) = [one for one in heard if one[0]["kind"] == "prints"]
    assert [one["code"] for one in listed["prints"]] == ["KR944JU", "RJYMK9H"]
    panel._hear(panel, {"kind": "over", "first": "RJYMK9H", "second": "KR944JU"}, [])
    assert came.wait(120)
    content, buffers = next(one for one in heard if one[0]["kind"] == "before")
    assert content["what"].startswith("RJYMK9H, printed on 2026-03-02")
    assert content["over"].startswith("KR944JU, printed on 2026-03-11")
    assert (content["count"], len(buffers)) == (2, 4)  # a tray and a lid each
    sheet = panel.model.source.sheet  # the records say how large the bodies are
    records = [Journal(sheet.journal_folder).print_of(code) for code in ("RJYMK9H", "KR944JU")]
    sizes = [np.subtract(b.high_mm, b.low_mm) for record in records for b in record.geometry]
    drawn = [np.ptp(np.frombuffer(piece, "<f4").reshape(-1, 3), axis=0) for piece in buffers]
    for size, edges in zip(sizes, drawn, strict=True):
        # Round ends of the ears have no edge where they reach farthest, along x.
        assert edges[1:] == pytest.approx(size[1:], abs=0.02)
    # A view that is opened later gets them too; the end takes them away.
    panel._hear(panel, {"kind": "ready"}, [])
    assert heard[-1][0]["kind"] == "before"
    panel._hear(panel, {"kind": "over", "first": "", "second": ""}, [])
    assert heard[-1][0] == {"kind": "before", "what": "", "count": 0, "over": ""}


def test_a_code_of_no_print_is_said(panel):
    panel._hear(panel, {"kind": "over", "first": "ZZZZZZZ", "second": ""}, [])
    assert panel.doc["said_bad"]
    assert "ZZZZZZZ" in panel.doc["said"]
