"""The five parts of the demo: nothing false is said of them, and what is weak is found."""

from __future__ import annotations

import pytest

from fitkit.demo import demo_source
from fitkit.flow import build, load_sheet, prepare
from fitkit.flow.built import mesh_part
from fitkit.make.checking import check

QUIET = ["ball_seat", "battery_cradle", "button_panel", "terminal_tray"]


def worse_than_notes(name: str):
    plan = prepare(load_sheet(demo_source() / "measurements" / f"{name}.toml"))
    return [f for f in check(plan, mesh_part(build(plan))) if f.severity != "note"]


@pytest.mark.parametrize("name", QUIET)
def test_a_sound_demo_part_brings_no_warning(name: str) -> None:
    assert worse_than_notes(name) == []


def test_of_the_demo_case_only_the_side_wall_with_its_lid_off_is_weak() -> None:
    """Plate elements, apart from this code: the wall bears 35 to 41 N, floor and lid 100."""
    (found,) = [one for one in worse_than_notes("sound_board") if one.check == "strength"]
    assert found.text.startswith("estimate: side wall bears about 35 N")
    assert "with its lid off" in found.text
    assert found.severity == "warn"
