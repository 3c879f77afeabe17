"""Sheets of a carrier with things: keys, whose readings their expressions mean, and faults."""

from __future__ import annotations

import tomllib

import pytest

from fitkit.core.errors import FaultList, SheetError
from fitkit.flow import load_sheet, prepare
from fitkit.flow.sheet import save_sheet, sheet_of

HEADER = "item,feature,mode,reading,unit\n"
READINGS = HEADER + "".join(
    f"{item},{feature},outside,{value + shift:.2f},mm\n"
    for item, rows in (
        ("sound board", {"board length": 58.0, "board width": 38.0, "only here": 12.0}),
        ("sensor board", {"board length": 42.0, "board width": 30.0}),
    )
    for feature, value in rows.items()
    for shift in (-0.01, 0.0, 0.01)
)
SHEET = """
schema = 1
title = "two boards"
carrier = "case"
readings = "readings.csv"

[printer]
generic = "PETG"

[[things]]
name = "sound"
held = "board on standoffs"
item = "sound board"
board_length = "board_length"
board_width = "board_width"

[[things]]
name = "sensor"
held = "board on standoffs"
item = "Sensor board"
board_length = "board_length"
board_width = "board_width"
hole_spacing_x = "board_length - 8 mm"
hole_spacing_y = "22 mm"
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "workshop.toml").write_text('schema = 1\ntitle = "bench"\n', encoding="utf-8")
    (tmp_path / "readings.csv").write_text(READINGS, encoding="utf-8")
    return tmp_path


def solved(folder, text=SHEET):
    path = folder / "sheet.toml"
    path.write_text(text, encoding="utf-8")
    return prepare(load_sheet(path))


def test_each_things_expressions_mean_its_own_item(folder):
    plan = solved(folder)
    first, second = plan.template.things
    assert (first.board_length, second.board_length) == pytest.approx((58.0, 42.0))
    assert second.hole_spacing_x == pytest.approx(34.0)
    assert plan.row("sensor: standoff spacing x").measured.u_mm > 0


def test_all_readings_are_estimated_in_one_call_so_that_one_pair_of_calipers_stays_correlated(
    folder,
):
    plan = solved(folder)
    first = plan.parameters["things.0.board_length"]
    second = plan.parameters["things.1.board_length"]
    apart = (first.u_mm**2 + second.u_mm**2) ** 0.5
    assert (first - second).u_mm < 0.9 * apart


def test_features_that_one_item_alone_has_are_known_to_all_things(folder):
    plan = solved(folder, SHEET + 'tallest_part = "only_here"\n')
    assert plan.template.things[1].tallest_part == pytest.approx(12.0)


def test_sheet_and_plain_data_say_the_same_in_the_same_words(folder):
    plan = solved(folder)
    content = plan.sheet.content()
    assert content["carrier"] == "case"
    assert "template" not in content
    assert [thing["name"] for thing in content["things"]] == ["sound", "sensor"]
    save_sheet(plan.sheet, folder / "again.toml")
    again = load_sheet(folder / "again.toml")
    assert again.content() == content
    assert tomllib.loads((folder / "again.toml").read_text(encoding="utf-8")) == content


def test_a_fit_is_chosen_by_the_things_own_name(folder):
    port = (
        '[[things.ports]]\nwall = "front"\nalong = "20 mm"\n'
        '[fits."sensor: port 1 width"]\ngap = "0.7 mm"\n'
    )
    plan = solved(folder, SHEET + port)
    assert plan.row("sensor: port 1 width").gap_mm == pytest.approx(0.7)


@pytest.mark.parametrize(
    ("change", "code", "at"),
    [
        (
            ('item = "sound board"', 'item = "sund board"'),
            "flow.no-such-item",
            ("things", 0, "item"),
        ),
        (
            ('board_width = "board_width"', 'board_width = "bord_width"'),
            "expression.no-such-feature",
            ("things", 0, "board_width"),
        ),
        (('carrier = "case"', 'template = "case"'), "flow.things-without-carrier", ("things",)),
        (
            ('carrier = "case"', 'carrier = "case"\ntemplate = "panel"'),
            "flow.carrier-and-template",
            ("carrier",),
        ),
        (('name = "sensor"', 'name = "sound"'), "carrier.same-name", ("things", 1, "name")),
    ],
)
def test_a_fault_of_the_sheet_is_told_at_its_key(folder, change, code, at):
    with pytest.raises((SheetError, FaultList, ValueError)) as caught:
        solved(folder, SHEET.replace(*change, 1))
    error = caught.value
    first = next(iter(error)) if isinstance(error, FaultList) else error
    assert first.code == code
    assert first.at == at


def test_a_thing_without_an_item_is_told_the_names_that_there_are(folder):
    with pytest.raises((SheetError, FaultList)) as caught:
        solved(folder, SHEET.replace('item = "sound board"\n', "", 1))
    error = caught.value
    first = next(iter(error)) if isinstance(error, FaultList) else error
    assert first.at == ("things", 0, "board_length")


def test_a_carrier_in_plain_data_is_a_sheet(tmp_path):
    content = {
        "title": "one cell",
        "carrier": "plate",
        "things": [{"name": "cell", "held": "round cell in saddles"}],
        "printer": {"generic": "PETG"},
    }
    sheet = sheet_of(content, path=tmp_path / "sheet.toml")
    assert sheet.template == "plate"
    other = sheet.with_parameters({"thickness": "4 mm", "things": list(sheet.things)})
    assert other.values == {"thickness": "4 mm"}
    assert other.things == sheet.things
