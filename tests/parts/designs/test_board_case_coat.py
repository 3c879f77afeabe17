"""A board case to be painted: rims are drawn wider, lips narrower, middles where they were."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.flow import load_sheet, prepare
from fitkit.flow.sheet import Finish

DEMO = Path(__file__).parents[3] / "measurements" / "sound_board.toml"
# Coat of 0.05 mm on both faces of a size.
BOTH_MM = 0.10


def test_a_coat_is_drawn_for_on_every_face_that_it_covers(tmp_path):
    # No earlier print counts: a size kept from one, or corrected by one, would move as well.
    alone = {"journal": str(tmp_path), "keep_fitted": False}
    bare = load_sheet(DEMO).model_copy(update=alone)
    coated = bare.model_copy(update={"finish": Finish(coat="0.05 mm", kind="paint")})
    before, after = prepare(bare).drawn, prepare(coated).drawn
    grown = {name: after[name] - before[name] for name in before}
    # Shrinkage of some tenths of a percent comes on top of the coat itself.
    assert grown["rim inside length"] == pytest.approx(BOTH_MM, rel=0.01)
    assert grown["lid lip outside length"] == pytest.approx(-BOTH_MM, rel=0.01)
    assert grown["pocket length"] == pytest.approx(BOTH_MM, rel=0.01)
    assert grown["standoff spacing x"] == 0
    assert grown["screw pilot"] == 0
