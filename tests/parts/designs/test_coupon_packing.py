"""Where a coupon's items go, as plain rectangles: nothing is built here."""

from itertools import combinations, product

import pytest

from fitkit.core.errors import PartError
from fitkit.parts.designs.coupon import CalibrationCoupon
from fitkit.parts.designs.coupon.kinds import items_of
from fitkit.parts.designs.coupon.packing import pack
from fitkit.parts.designs.coupon.plate import Plate
from fitkit.parts.designs.coupon.practice import LABEL_DEEP_MM
from fitkit.solids.rectangles import Rect, take

PLATE = Rect(0.0, 0.0, 40.0, 30.0)


def packed(coupon):
    plate = Plate.of(coupon)
    return pack(items_of(coupon.features(), plate), plate, where="here").placed


def holds(rect, x, y):
    return rect.x < x < rect.x + rect.w and rect.y < y < rect.y + rect.d


@pytest.mark.parametrize(
    "taken",
    [
        Rect(10.0, 10.0, 5.0, 5.0),
        Rect(0.0, 0.0, 12.0, 7.0),
        Rect(-5.0, 20.0, 60.0, 20.0),
        Rect(30.0, 8.0, 10.0, 22.0),
    ],
)
def test_all_that_is_not_taken_stays_free(taken):
    left = take([PLATE], taken)
    for x, y in product(range(40), range(30)):
        at = x + 0.5, y + 0.5
        assert any(holds(rect, *at) for rect in left) != holds(taken, *at)


def test_taking_what_meets_nothing_changes_nothing():
    assert take([PLATE], Rect(40.0, 0.0, 10.0, 10.0)) == [PLATE]


def test_all_taken_leaves_nothing():
    assert take([PLATE], Rect(-1.0, -1.0, 42.0, 32.0)) == []


def test_a_strip_too_narrow_for_anything_is_dropped():
    assert take([PLATE], Rect(0.0, 0.0, 40.0, 28.5)) == []


def test_of_free_rectangles_inside_one_another_the_largest_stays():
    inner = Rect(5.0, 5.0, 10.0, 10.0)
    assert take([inner, PLATE, PLATE], Rect(50.0, 50.0, 1.0, 1.0)) == [PLATE]


NARROW = {
    "bars_x": ["45 mm"],
    "bars_y": ["29.5 mm", "60 mm"],
    "heights": ["2 mm", "20 mm"],
    "slots": ["12 mm"],
    "holes": ["6 mm"],
    "diagonal": "0 mm",
    "pocket_x": "0 mm",
    "pocket_y": "0 mm",
} | dict.fromkeys(("tabs", "pegs", "insides_x", "insides_y", "lying_holes", "bridges"), ())
COUPONS = {"default": {}, "whole corners": {"diagonal": "0 mm"}, "narrow": NARROW}


@pytest.mark.parametrize("values", COUPONS.values(), ids=COUPONS)
def test_no_two_items_take_the_same_plate_and_none_goes_over_its_edge(values):
    coupon = CalibrationCoupon.of(**values)
    plate = Plate.of(coupon)
    whole = Rect(0.0, 0.0, plate.wide, plate.deep)
    taken = []
    for item, x, y in packed(coupon):
        w, _ = item.room
        corner = x - 0.5 * (w - item.w), y - item.pad_y - item.lines_below * LABEL_DEEP_MM
        taken += item.footprints(*corner)
    assert all(rect.within(whole) for rect in taken)
    assert not any(one.meets(other) for one, other in combinations(taken, 2))


@pytest.mark.parametrize(
    ("values", "largest"),
    [({}, lambda room: max(room)), (NARROW, lambda room: room[0] * room[1])],
    ids=["by side", "by area where sides leave one without room"],
)
def test_inner_items_are_placed_largest_first(values, largest):
    rooms = [item.room for item, _, _ in packed(CalibrationCoupon.of(**values)) if item.rank == 3]
    sizes = [largest(room) for room in rooms]
    assert len(sizes) > 4
    assert sizes == sorted(sizes, reverse=True)


def test_every_feature_but_flare_and_diagonals_is_on_an_item():
    coupon = CalibrationCoupon()
    placed = [feature for item, _, _ in packed(coupon) for feature in item.features]
    wanted = [f for f in coupon.features() if f.place != "bed" and not f.diagonal]
    assert sorted(f.name for f in placed) == sorted(f.name for f in wanted)


def test_the_item_without_room_is_named():
    crowded = CalibrationCoupon.of(pegs=[f"{n} mm" for n in range(10, 24)])
    with pytest.raises(PartError, match=r"^here: 'peg \d+' has no room left on 96 x 64 mm"):
        packed(crowded)
