"""A panel of a given shape: a pose is picked in the picture, or typed, and taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.core.errors import SheetError
from fitkit.flow import load_sheet
from fitkit.widgets.panel import PartPanel, Picked
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import SheetSource

MEASUREMENTS = Path(__file__).parents[2] / "measurements"


@pytest.fixture
def model():
    return PanelModel(SheetSource(load_sheet(MEASUREMENTS / "carved_owl.toml")))


def test_a_pose_is_typed_as_a_row(model):
    assert model.messages == {}
    assert model.set("things.1.place.at", "0; 33.27; 24.89")
    assert model.solved.template.things[1].place.at == (0.0, 33.27, 24.89)
    assert not model.set("things.1.place.at", "0; 60; 24.89")
    assert "mm off the shape" in model.messages["things.1.place.at"]


def test_a_picked_spot_places_a_thing_and_one_step_takes_it_back(model):
    before = model.solved.template.things[1].place
    spot = Picked("shape", (0.004, 33.27, 24.891), (0.0, 0.9982, -0.06))
    assert model.put("lamp cable", spot.point_mm, spot.normal)
    place = model.solved.template.things[1].place
    assert place.at == (0.0, 33.27, 24.89)
    assert place.normal == (0.0, 0.9982, -0.06)
    sheet = model.source.with_values(model.values)
    assert sheet.things[1]["place"]["at"] == ["0.00 mm", "33.27 mm", "24.89 mm"]
    assert model.undo()
    assert model.solved.template.things[1].place == before


def test_what_was_typed_beside_the_pose_stays(model):
    assert model.put("ball", (0.0, 0.0, 118.42), (0.0, 0.0, 1.0))
    assert model.solved.template.things[0].place.sunk == 14.0


def test_an_unknown_thing_or_another_part_is_refused(model):
    with pytest.raises(SheetError, match="'lamp'") as caught:
        model.put("lamp", (0, 0, 0), (0, 0, 1))
    assert "lamp cable" in (caught.value.remedy or "")
    case = PanelModel(SheetSource(load_sheet(MEASUREMENTS / "listening_post.toml")))
    with pytest.raises(SheetError, match="not a given shape"):
        case.put("cells", (0, 0, 0), (0, 0, 1))


def test_a_spot_pressed_in_the_picture_is_told_and_takes_a_thing():
    panel = PartPanel(SheetSource(load_sheet(MEASUREMENTS / "carved_owl.toml")))
    try:
        with pytest.raises(SheetError, match="no spot is picked yet"):
            panel.put("lamp cable")
        assert panel.wait(240)
        at, normal = [0.0, 33.27, 24.89], [0.0, 0.9982, -0.06]
        panel._hear(panel, {"kind": "pick", "body": "shape", "at": at, "normal": normal}, [])
        assert 'at = ["0.00 mm", "33.27 mm", "24.89 mm"]' in panel._said
        before = panel._ticket
        panel.put("lamp cable")
        assert panel._ticket == before + 1
        assert panel.model.solved.template.things[1].place.at == tuple(at)
    finally:
        panel.close()


def test_a_part_in_halves_is_shown_in_halves():
    sheet = load_sheet(MEASUREMENTS / "carved_owl.toml").changed(
        split={"along": "z", "at": "60 mm", "joint": "dowels"}
    )
    solved = PanelModel(SheetSource(sheet)).solved
    part = solved.builder.build(dict(solved.drawn), title=solved.title)
    assert [body.name for body in part.bodies] == ["shape 1", "shape 2"]
