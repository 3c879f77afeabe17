"""The map on a coupon's order sheet, read back as the SVG that it is."""

import xml.etree.ElementTree as ET
from itertools import combinations

import pytest

from fitkit.calibration import CouponSizes, coupon_features, order_sheet
from fitkit.calibration.coupon import first_readings
from fitkit.calibration.order_map import order_map
from fitkit.parts.designs.coupon import CalibrationCoupon

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=[CouponSizes(), CouponSizes.thorough()])
def drawn(request):
    """Features in the order of reading, where they are, and the map's parts by feature."""
    coupon = CalibrationCoupon.of_sizes(request.param)
    places = {row.name: (row.start, row.end) for row in coupon.build().dimensions}
    features = first_readings(coupon.features())
    root = ET.fromstring(order_map(features, places))
    marks = {group.findtext(f"{SVG}title"): group for group in root.iter(f"{SVG}g")}
    return features, places, root, marks


def test_every_feature_has_the_numbers_of_its_rows(drawn):
    features, _, _, marks = drawn
    assert set(marks) == {feature.name for feature in features}
    numbers = {name: group.findtext(f"{SVG}text").split(", ") for name, group in marks.items()}
    for number, feature in enumerate(features, start=1):
        assert str(number) in numbers[feature.name]
    assert sum(map(len, numbers.values())) == len(features)


def boxes(marks):
    for group in marks.values():
        rect = group.find(f"{SVG}rect")
        yield tuple(float(rect.get(key)) for key in ("x", "y", "width", "height"))


def test_no_number_lies_on_another_and_all_are_in_the_picture(drawn):
    _, _, root, marks = drawn
    left, top, wide, high = map(float, root.get("viewBox").split())
    for x, y, w, h in boxes(marks):
        assert left <= x <= x + w <= left + wide
        assert top <= y <= y + h <= top + high
    for (ax, ay, aw, ah), (bx, by, bw, bh) in combinations(boxes(marks), 2):
        apart_x = max(ax, bx) >= min(ax + aw, bx + bw) - 1e-2
        apart_y = max(ay, by) >= min(ay + ah, by + bh) - 1e-2
        assert apart_x or apart_y


def test_what_is_round_is_drawn_where_it_is_and_as_large(drawn):
    features, places, root, _ = drawn
    deep = max(end[1] for pair in places.values() for end in pair)
    found = sorted(
        (float(c.get("cx")), float(c.get("cy")), float(c.get("r")))
        for c in root.iter(f"{SVG}circle")
    )
    wanted = sorted(
        {
            (
                0.5 * (places[f.name][0][0] + places[f.name][1][0]),
                deep - 0.5 * (places[f.name][0][1] + places[f.name][1][1]),
                0.5 * f.drawn_mm,
            )
            for f in features
            if f.name.startswith(("hole", "peg"))
        }
    )
    assert [pytest.approx(row, abs=0.01) for row in wanted] == found


def test_the_sheet_tells_which_way_the_coupon_lies(drawn):
    features, places, *_ = drawn
    page = order_sheet(features, places=places)
    cut = not any(feature.diagonal for feature in features)
    assert ("the cut corner at the front left" in page) is cut
    assert ("D1 and D2 at the back" in page) is not cut


def test_without_places_there_is_no_map():
    features = coupon_features()
    assert order_map(features, {}) == ""
    assert "<svg" not in order_sheet(features)
