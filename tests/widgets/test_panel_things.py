"""A panel of a part with several things: fields of each holder, places, faults beside them."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.flow import load_sheet
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import SheetSource

DEMO = Path(__file__).parents[2] / "measurements" / "listening_post.toml"


@pytest.fixture
def panel():
    return PanelModel(SheetSource(load_sheet(DEMO)))


def things(panel):
    return next(
        control
        for group in panel.groups()
        for control in group["controls"]
        if control["path"] == "things"
    )


def test_each_thing_has_the_fields_of_its_own_holder(panel):
    assert panel.messages == {}
    items = {item["title"]: item["controls"] for item in things(panel)["items"]}
    assert list(items)[:3] == ["sound board", "terminal blocks", "cells"]
    paths = {title: {control["path"] for control in own} for title, own in items.items()}
    assert "things.0.board_length" in paths["sound board"]
    assert "things.1.body_height" in paths["terminal blocks"]
    assert "things.2.diameter" in paths["cells"]
    assert "things.2.place" in paths["cells"]


def test_a_place_is_typed_and_taken_back(panel):
    assert panel.solved.template.things[2].place == "auto"
    assert panel.add("things.2.place")
    assert panel.solved.template.things[2].place == "auto"  # nothing is typed yet
    assert not panel.set("things.2.place.x", "45 mm")  # y is still 0: in the front wall
    assert "things.2.place.y" in panel.messages
    assert panel.set("things.2.place.y", "80 mm")
    place = panel.solved.template.things[2].place
    assert (place.x, place.y) == (45.0, 80.0)
    assert panel.remove("things.2.place", 0)
    assert panel.solved.template.things[2].place == "auto"


def test_a_thing_is_added_and_told_to_have_a_name_of_its_own(panel):
    assert not panel.add("things")
    assert "display" in panel.messages["things.6.name"]
    assert panel.set("things.6.name", "second display")
    assert [fit.name for fit in panel.solved.template.fit_sizes()][-1].startswith("second display")
    assert panel.remove("things", 6)


def test_a_value_of_a_thing_goes_through_the_readings(panel):
    assert panel.set("things.0.tallest_part", "over_tallest_part")
    assert panel.solved.template.things[0].tallest_part > 12.0
    sheet = panel.source.with_values(panel.values)
    assert sheet.things[0]["tallest_part"] == "over_tallest_part"
    assert "things" not in sheet.values
