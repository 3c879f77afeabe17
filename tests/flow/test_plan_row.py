"""A solved sheet's rows by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.errors import SheetError
from fitkit.flow import load_sheet, prepare

DEMO = Path(__file__).parents[2] / "measurements" / "sound_board.toml"


def test_a_row_is_found_by_the_name_of_its_size_and_others_are_named():
    plan = prepare(load_sheet(DEMO))
    assert plan.row("pocket width").fit.name == "pocket width"
    with pytest.raises(SheetError, match="pocket length"):
        plan.row("pocket")
