"""Letters come off a solid as if never sunk, and are seen where nothing hides them."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.solids import cut, extrude, fuse, is_valid, sink_text, volume_of
from fitkit.solids.bodies import box_of, turned
from fitkit.solids.marks import seen_marks, without_marks
from fitkit.solids.profiles import circle, rectangle

ABOVE = ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
FRONT = ((0.0, -1.0, 0.0), (1.0, 0.0, 0.0))


def plate(text: str = "B80K", depth: float = 0.4):
    block = extrude(rectangle(60, 20), 4.0)
    made, _ = sink_text(block, text, z=4.0, caps=6.0, room=(50.0, 12.0), depth=depth, body="plate")
    return made


def test_without_its_letters_a_plate_is_the_plain_block():
    plain, marks = without_marks(plate())
    assert is_valid(plain)
    assert volume_of(plain) == pytest.approx(60 * 20 * 4, rel=1e-12)
    # B and 8 have two islands each, 0 has one, K none; each letter has a rim.
    assert len(marks) == 4 + 2 + 2 + 1
    assert all(mark.normal == pytest.approx((0, 0, 1)) for mark in marks)
    assert all(np.allclose(mark.points[:, 2], 4.0) for mark in marks)


def test_the_area_within_the_outlines_is_what_was_sunk():
    """Shoelace over rims less islands, times the depth, against the kernel's volume."""
    made = plate()
    _, marks = without_marks(made)
    area = sum(
        float(np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1])) / 2
        for p in (mark.points for mark in marks)
    )
    assert 0.4 * abs(area) == pytest.approx(60 * 20 * 4 - volume_of(made), rel=1e-6)


def test_holes_and_deep_pockets_and_round_ones_stay():
    block = extrude(rectangle(60, 20), 4.0)
    block = cut(block, extrude(circle(5.0, at=(-15.0, 0.0)), 9.0, z=-2.0))
    block = cut(block, extrude(rectangle(6, 4, at=(0.0, 0.0)), 2.0, z=3.0))
    block = cut(block, extrude(circle(5.0, at=(15.0, 0.0)), 2.0, z=3.6))
    plain, marks = without_marks(block)
    assert marks == ()
    assert volume_of(plain) == volume_of(block)


def test_a_thin_plate_with_a_hole_is_not_taken_for_a_mark():
    sheet = cut(extrude(rectangle(30, 20), 0.5), extrude(rectangle(8, 6), 3.0, z=-1.0))
    plain, marks = without_marks(sheet)
    assert marks == ()
    assert box_of(plain) == box_of(sheet)


def test_letters_are_seen_from_before_their_face_alone():
    plain, marks = without_marks(plate())
    assert len(seen_marks(plain, marks, *ABOVE)) == len(marks)
    assert seen_marks(plain, marks, *FRONT) == ()
    standing = turned(plate(), x=90)  # the face that looked up looks to the front
    plain, marks = without_marks(standing)
    assert len(seen_marks(plain, marks, *FRONT)) == len(marks)


def test_letters_under_a_roof_are_not_seen():
    made = plate("KK")
    roof = extrude(rectangle(60, 20), 2.0, z=8.0)
    wall = extrude(rectangle(2, 20, at=(29.0, 0.0)), 5.0, z=4.0)
    plain, marks = without_marks(fuse(made, wall, roof))
    assert len(marks) == 2
    assert seen_marks(plain, marks, *ABOVE) == ()
