import csv
import io
from itertools import pairwise

import pytest
from hypothesis import given, strategies as st

from fitkit.calibration import CouponSizes, PrintSettings, coupon_features, parse_feature
from fitkit.calibration.coupon import first_readings
from fitkit.calibration.order import blank_readings, order_sheet, write_order
from fitkit.calibration.settings import parse_item
from fitkit.core.errors import CalibrationError


def test_every_feature_name_reads_back_as_itself():
    for feature in coupon_features():
        assert parse_feature(feature.name) == feature
        assert parse_feature(f"  {feature.name.upper()} ") == feature


def test_names_are_unique_and_labels_short():
    features = coupon_features()
    assert len({f.name for f in features}) == len(features)
    assert all(len(f.label) <= 4 for f in features)


def test_lying_holes_are_read_both_ways():
    across, up = parse_feature("lying hole 5 width"), parse_feature("lying hole 5 height")
    assert (across.axis, up.axis) == ("x", "z")
    assert across.mode == up.mode == "inside"


@pytest.mark.parametrize("name", ["", "hole", "hole -3", "bar 40", "hole 0", "bar z 20", "Loch 3"])
def test_other_names_are_refused_with_examples(name):
    with pytest.raises(CalibrationError, match=r"hole 3|has a size of zero"):
        parse_feature(name)


def test_a_size_given_twice_is_refused():
    with pytest.raises(CalibrationError, match="'hole 3' is on the coupon twice"):
        coupon_features(CouponSizes(holes=(3.0, 3.0, 4.0)))


def test_the_longest_bars_are_read_at_the_bed_each_at_its_own_length():
    sizes = CouponSizes(bars_x=(30.0, 80.0), bars_y=(60.0, 10.0))
    at_bed = [f.name for f in coupon_features(sizes) if f.place == "bed"]
    assert at_bed == ["bar x 80 at bed", "bar y 60 at bed"]
    assert all(f.place == "mid" for f in coupon_features(CouponSizes(flare=False)))


def test_blank_readings_hold_every_row_and_no_reading():
    text = blank_readings(settings=PrintSettings(printer="A", material="PLA"), prints=2, repeats=3)
    rows = list(csv.DictReader(io.StringIO(text)))
    # What alone tells a habit comes twice.
    assert len(rows) == 2 * 3 * len(first_readings(coupon_features()))
    assert {row["reading"] for row in rows} == {""}
    assert {row["feature"] for row in rows} == {f.name for f in coupon_features()}
    assert {parse_item(row["item"])[1] for row in rows} == {1, 2}
    assert list(rows[0]) == [
        "item",
        "feature",
        "mode",
        "reading",
        "unit",
        "instrument",
        "taken_at",
        "note",
        "round",
    ]


def test_order_sheet_names_every_feature_and_escapes_what_people_type():
    page = order_sheet(settings=PrintSettings(printer="<A>", material="PLA"))
    assert "&lt;A&gt;" in page
    assert "<A>" not in page
    assert all(f">{feature.name}<" in page for feature in coupon_features())


def test_a_filled_readings_file_is_not_overwritten(tmp_path):
    readings, _ = write_order(tmp_path)
    readings.write_text("filled", encoding="utf-8")
    with pytest.raises(CalibrationError, match="may hold readings"):
        write_order(tmp_path)
    assert readings.read_text(encoding="utf-8") == "filled"


@given(
    layer=st.integers(5, 40).map(lambda n: n / 100),
    nozzle=st.integers(20, 120).map(lambda n: n / 100),
    number=st.integers(1, 99),
)
def test_an_item_reads_back_as_its_settings(layer, nozzle, number):
    settings = PrintSettings(
        printer="bench printer A", material="PETG", layer_height_mm=layer, nozzle_mm=nozzle
    )
    assert parse_item(settings.item(number)) == (settings, number)


def test_an_item_without_material_is_refused():
    with pytest.raises(CalibrationError, match="a printer and a material"):
        parse_item("coupon")


def test_reading_needs_one_change_of_jaws_and_what_alone_tells_a_habit_comes_twice():
    order = first_readings(coupon_features())
    jaws = [feature.mode for feature in order]
    assert jaws == sorted(jaws, reverse=True)  # outside first, then inside
    names = [feature.name for feature in order]
    twice = {name for name in names if names.count(name) == 2}
    assert twice == {"height 2", "height 20", "pocket x 14 by 50", "pocket y 50 by 14", "bridge 4"}
    # The second time the jaws are set again: something else is read in between.
    assert all(a != b for a, b in pairwise(names))
    assert len(order) <= 28


def test_heights_and_bridges_of_an_order_are_whole_layers():
    sizes = CouponSizes().on_layers(0.3, 0.25)
    assert sizes.heights == (2.05, 20.05)
    assert sizes.bridges == (3.9,)
    assert CouponSizes().on_layers(0.2, 0.2) == CouponSizes()


def test_pockets_and_bridges_are_named_as_they_are():
    pocket, bridge = parse_feature("pocket x 14 by 50"), parse_feature("bridge 4")
    assert (pocket.kind, pocket.axis, pocket.wall_mm) == ("pocket", "x", 50.0)
    assert (bridge.kind, bridge.axis, bridge.mode) == ("inside", "z", "inside")
