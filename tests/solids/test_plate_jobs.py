"""Many boxes on few plates: shapely judges what lies where, areas and known packings how few."""

import math
import random

import pytest
import shapely
from hypothesis import given, strategies as st

from fitkit.solids.plate import fewest_plates, lay_out

side = st.floats(5, 240)


def boxes(plate, sizes):
    found = {}
    for member, x, y, turned in plate:
        w, d = sizes[member][::-1] if turned else sizes[member]
        found[member] = shapely.box(x, y, x + w, y + d)
    return found


@given(st.lists(st.tuples(side, side), min_size=1, max_size=14), st.tuples(side, side))
def test_every_box_lies_once_inside_the_bed_and_apart_from_the_others(sizes, bed):
    plates = fewest_plates(sizes, bed)
    assert sorted(spot.member for plate in plates for spot in plate) == list(range(len(sizes)))
    room = shapely.box(2, 2, bed[0] - 2, bed[1] - 2).buffer(1e-6) if min(bed) > 4 else None
    for plate in plates:
        placed = list(boxes(plate, sizes).values())
        for i, one in enumerate(placed):
            for other in placed[:i]:
                assert one.distance(other) > 6 - 1e-6
        if len(placed) > 1:
            assert all(room.covers(one) for one in placed)


@given(st.lists(st.tuples(side, side), min_size=1, max_size=14))
def test_it_never_needs_more_plates_than_rows_do(sizes):
    bed = (244.0, 244.0)
    # Rows know no margin along the edges, so that they are given the bed without it.
    assert len(fewest_plates(sizes, bed)) <= len(lay_out(sizes, (240.0, 240.0)))


def test_quarter_turns_are_taken_where_they_save_a_plate():
    # With gaps 70 x 30 each: two above one another, the third upright beside them, fill 100 x 70.
    (plate,) = fewest_plates([(64, 24)] * 3, (98, 68))
    assert sorted(spot.turned for spot in plate) == [False, False, True]


@pytest.mark.parametrize("seed", range(12))
def test_what_was_cut_from_full_plates_comes_back_on_few_more(seed):
    """Plates that were cut into boxes need so many plates and no fewer: area says so."""
    draw = random.Random(seed)
    sizes = []
    for _ in range(3):
        parts = [(206.0, 206.0)]  # 200 with the margin kept and one gap given back
        while len(parts) < 8:
            parts.sort(key=math.prod)
            w, d = parts.pop()
            share = draw.uniform(0.35, 0.65)
            halves = (w * share, w - w * share) if w > d else (d * share, d - d * share)
            parts += [(half, d) if w > d else (w, half) for half in halves]
        sizes += [(w - 6, d - 6) for w, d in parts]
    found = len(fewest_plates(sizes, (204.0, 204.0)))
    assert 3 <= found <= 4


def test_a_box_larger_than_the_bed_gets_a_plate_of_its_own():
    plates = fewest_plates([(300, 20), (30, 20), (30, 20)], (200, 200))
    assert sorted(len(plate) for plate in plates) == [1, 2]
