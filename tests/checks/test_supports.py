"""Supports are told where a body hangs over air, as it lies on the bed."""

from __future__ import annotations

import pytest

from fitkit.checks.supports import support_places, supports_text
from fitkit.core.finding import Finding
from fitkit.solids import extrude, fuse, tessellate
from fitkit.solids.profiles import rectangle


@pytest.fixture(scope="module")
def table():
    """A post of 10 x 10 x 15 mm at the left under a board of 60 x 10 x 5 mm, its end in the air."""
    post = extrude(rectangle(10, 10, at=(5.0, 5.0)), 15.0)
    return tessellate(fuse(post, extrude(rectangle(60, 10, at=(30.0, 5.0)), 5.0, z=15.0)))


def test_the_underside_of_a_board_that_sticks_out_is_the_place(table):
    (place,) = support_places(table)
    assert place.area_mm2 == pytest.approx(50 * 10, rel=1e-6)
    assert (place.left_mm, place.front_mm) == pytest.approx((35.0, 5.0))
    assert place.above_mm == pytest.approx(15.0)


def test_a_block_needs_none():
    assert support_places(tessellate(extrude(rectangle(20, 20), 5.0))) == ()


def test_words_tell_the_place_or_that_none_is_needed(table):
    found = Finding(check="overhang", severity="warn", text="hangs.", body="table")
    assert supports_text({"table": table}, [found]) == (
        "needed, as each body lies: table: 500 mm² at 35 mm from the left and 5 mm from the front, "
        "15.0 mm above the bed"
    )
    note = Finding(check="overhang", severity="note", text="a little.", body="table")
    assert supports_text({"table": table}, [note]) == "none are needed"
    assert supports_text({"table": table}, []) == "none are needed"
