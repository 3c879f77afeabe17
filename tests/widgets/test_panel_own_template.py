"""A panel on a sheet whose template is a file of one's own; solids come from its build process."""

import time

import pytest

from fitkit.flow import load_sheet
from fitkit.journal import Journal
from fitkit.parts import trust
from fitkit.parts.trust import TrustError
from fitkit.widgets.panel import part_panel
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import SheetSource
from tests.workbench import TEMPLATE, set_up

LONG = 90.0  # s: a limit for a stuck test, not a measure


@pytest.fixture
def sheet(tmp_path, monkeypatch):
    monkeypatch.setattr(trust, "state_folder", lambda: tmp_path / "state")
    monkeypatch.setattr(trust, "_allowed", set())
    return set_up(tmp_path / "caps")


def until(condition):
    deadline = time.monotonic() + LONG
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.01)


def test_without_a_yes_the_file_and_the_argument_are_named(sheet):
    with pytest.raises(TrustError) as told:
        part_panel(sheet)
    assert str(sheet.parent / "post_cap.py") in str(told.value)
    assert "trust_template=True in part_panel" in str(told.value)


def test_a_yes_given_once_serves_the_next_panel(sheet, monkeypatch):
    SheetSource(load_sheet(sheet), trust_template=True)
    monkeypatch.setattr(trust, "_allowed", set())
    model = PanelModel(SheetSource(load_sheet(sheet)))
    assert [c["path"] for g in model.groups() for c in g["controls"]][:2] == ["post", "wall"]


def test_a_panels_part_stays_that_of_the_text_it_was_opened_with(sheet):
    model = PanelModel(SheetSource(load_sheet(sheet), trust_template=True))
    (sheet.parent / "post_cap.py").write_text(TEMPLATE.replace('"2.4 mm"', '"3 mm"'), "utf-8")
    assert model.set("post", "25 mm")
    assert model.solved.template.wall == 2.4
    (sheet.parent / "post_cap.py").unlink()
    assert model.set("post", "26 mm")
    assert model.solved.plan.template_file.text == TEMPLATE
    assert model.source.with_values({}).content()["template_file"] == "post_cap.py"


def test_the_build_process_shows_checks_and_makes_the_part_and_the_journal_has_its_text(sheet):
    panel = part_panel(sheet, trust_template=True)
    try:
        assert panel.wait(LONG)
        until(lambda: not panel.doc["building"])
        assert panel.doc["trouble"] == ""
        until(lambda: panel.doc["checked"])
        # Even the file's end does not stop what the panel shows.
        (sheet.parent / "post_cap.py").unlink()
        panel.export()
        until(lambda: not panel.doc["exporting"])
        assert not panel.doc["said_bad"], panel.doc["said"]
    finally:
        panel.close()
    (record,) = Journal(sheet.parent / "journal").records()
    assert record.template_source.text == TEMPLATE
    assert record.template_source.place == "../post_cap.py"


def test_a_sheet_loaded_into_a_panel_is_asked_about_and_the_old_one_stays(sheet, tmp_path):
    panel = part_panel(sheet, trust_template=True)
    try:
        other = set_up(tmp_path / "other", TEMPLATE.replace("2.4 mm", "3 mm"))
        panel._hear(panel, {"kind": "load", "path": str(other)}, [])
        assert panel.doc["said_bad"]
        assert str(other.parent / "post_cap.py") in panel.doc["said"]
        assert panel.path == str(sheet)
        assert panel.model.solved.template.wall == 2.4
    finally:
        panel.close()
