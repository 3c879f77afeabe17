"""Bodies on the bed never overlap, stay inside it, and use a second plate only if they must."""

import numpy as np
from hypothesis import given, strategies as st

from fitkit.solids.plate import lay_out

side = st.floats(5, 90)
boxes = st.lists(st.tuples(side, side), min_size=1, max_size=8)


@given(boxes)
def test_each_box_lies_once_inside_the_bed_and_apart(sizes):
    plates = lay_out(sizes, (100, 100), gap_mm=6)
    assert sorted(i for plate in plates for i in plate.members) == list(range(len(sizes)))
    for plate in plates:
        low = plate.shifts
        high = low + np.array(sizes)[list(plate.members)]
        assert (low >= -1e-9).all()
        assert (high <= 100 + 1e-9).all()
        for a in range(len(low)):
            for b in range(a):
                apart = np.maximum(low[a] - high[b], low[b] - high[a]).max()
                assert apart >= 6 - 1e-9


def test_four_small_boxes_share_a_plate():
    assert len(lay_out([[40, 40]] * 4, (100, 100))) == 1


def test_a_fifth_box_takes_a_second_plate():
    assert len(lay_out([[45, 45]] * 5, (100, 100))) == 2


def test_a_box_larger_than_the_bed_is_centred_alone():
    (plate,) = lay_out([[300, 20]], (100, 100))
    assert plate.shifts.tolist() == [[-100.0, 40.0]]
