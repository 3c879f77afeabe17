"""A gap of a sheet is judged by both of its sides, and the check takes it from there."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from fitkit.flow import load_sheet, prepare

DEMO = Path(__file__).parents[2] / "measurements" / "sound_board.toml"


@pytest.fixture(scope="module")
def plan():
    return prepare(load_sheet(DEMO))


def test_a_lid_is_judged_with_its_rim(plan):
    lid, rim = plan.row("lid lip outside length"), plan.row("rim inside length")
    assert lid.fit.mate == rim.fit.name
    assert lid.doubt is not None
    # Line width closes the rim and widens the lid; of one part alone the gap would look surer.
    assert lid.doubt.u_mm > 1.1 * lid.size.u_print_mm
    # Shrinkage, which both share, cancels, and line width adds: about as if they shared nothing.
    alone = math.hypot(lid.size.u_print_mm, rim.size.u_print_mm)
    assert lid.doubt.u_mm == pytest.approx(alone, rel=0.05)
    assert 0 < lid.doubt.u_lasting_mm < lid.doubt.u_mm
    assert lid.doubt.df < 1000
    assert rim.doubt is None


def test_a_pocket_is_judged_with_the_reading_of_its_board(plan):
    row = plan.row("pocket length")
    assert row.doubt is not None
    both = math.hypot(row.size.u_print_mm, row.size.u_target_mm)
    # Worked out at the target instead of the drawn size, which is a little larger.
    assert row.doubt.u_mm == pytest.approx(both, rel=0.005)


def test_the_chance_told_is_that_of_the_gap_as_both_sides_leave_it(plan):
    from fitkit.fits import choose_gap

    row = plan.row("lid lip outside length")
    surer = choose_gap(
        "lid and rim", row.wanted, size_mm=row.fit.nominal_mm, trials=plan.inputs.trials,
        u_gap_mm=0.01,
    )  # fmt: skip
    assert row.gap is not None
    assert row.gap.p_wanted < surer.p_wanted
