"""A size is worked out once for what it rests on, however often another parameter is changed."""

from __future__ import annotations

import pytest

from fitkit.demo import copy_demo
from fitkit.flow import load_sheet, plan as planning, read_inputs, solve
from fitkit.flow.sheet import FitWish


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    return load_sheet(copy_demo(tmp_path_factory.mktemp("demo") / "demo") / "sound_board.toml")


@pytest.fixture
def counted(monkeypatch):
    """Names of the sizes that were worked out."""
    names = []
    work_out = planning._fit_row

    def counting(sheet, inputs, fit, *rest):
        names.append(fit.name)
        return work_out(sheet, inputs, fit, *rest)

    monkeypatch.setattr(planning, "_fit_row", counting)
    return names


def changed(sheet, **values):
    return sheet.with_parameters({**sheet.parameters, **values})


def told(plan):
    return [(row.texts(), row.size.notes, row.gap and row.gap.notes) for row in plan.rows]


def test_only_what_rests_on_a_changed_value_is_worked_out_again(sheet, counted):
    inputs = read_inputs(sheet)
    plan = solve(sheet, inputs)
    assert sorted(counted) == sorted(row.fit.name for row in plan.rows)
    counted.clear()
    solve(changed(sheet, floor="2.6 mm"), inputs)
    assert "pocket length" not in counted
    counted.clear()
    solve(changed(sheet, board_length="71 mm"), inputs)
    assert "pocket length" in counted
    assert "port 1 width" not in counted


@pytest.mark.parametrize(
    "values",
    [
        {"wall": "3 mm"},
        {"board_length": "71 mm"},
        {"board_length": "board_width"},
        {"board_length": "board_length + 1 mm"},
    ],
)
def test_what_is_kept_is_what_would_be_worked_out(sheet, values):
    inputs = read_inputs(sheet)
    solve(sheet, inputs)
    again = solve(changed(sheet, **values), inputs)
    fresh = solve(changed(sheet, **values), read_inputs(sheet))
    assert told(again) == told(fresh)
    assert again.drawn == fresh.drawn
    back = solve(sheet, inputs)
    assert told(back) == told(solve(sheet, read_inputs(sheet)))


def test_another_wish_or_coat_is_another_row(sheet, counted):
    inputs = read_inputs(sheet)
    solve(sheet, inputs)
    counted.clear()
    wish = FitWish(behaviour="snug by hand")
    wished = sheet.model_copy(update={"fits": {**sheet.fits, "pocket length": wish}})
    plan = solve(wished, inputs)
    assert counted == ["pocket length"]
    assert {row.fit.name: row.wanted for row in plan.rows}["pocket length"] == "snug by hand"


def test_readings_that_were_read_again_are_other_inputs(sheet):
    assert read_inputs(sheet)._rows == {}


def test_no_more_rows_are_kept_than_a_long_drag_needs(sheet, monkeypatch):
    monkeypatch.setattr(planning, "_MOST_ROWS", 30)
    inputs = read_inputs(sheet)
    for n in range(5):
        solve(changed(sheet, board_length=f"{70 + n} mm"), inputs)
        assert len(inputs._rows) <= 30
