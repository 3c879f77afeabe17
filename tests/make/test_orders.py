"""Orders of coupons: what is made for each piece, and where its map says that features are."""

import pytest

from fitkit.calibration import CouponSizes, PrintSettings, coupon_features
from fitkit.make.orders import order_coupon
from fitkit.readings import ReadingTable


@pytest.mark.parametrize(
    ("piece", "sizes"),
    [("second", CouponSizes.second_printer()), ("check", CouponSizes.check_piece())],
)
def test_a_small_pieces_files_name_its_features_and_show_them_on_a_map(piece, sizes, tmp_path):
    settings = PrintSettings(printer="printer B", material="PETG")
    order = order_coupon(tmp_path, settings=settings, piece=piece)
    wanted = {feature.name for feature in coupon_features(sizes)}
    assert set(ReadingTable.read(order.readings).frame["feature"]) == wanted
    page = order.order.read_text(encoding="utf-8")
    assert page.count("<g><title>") == len(wanted)
    assert "the cut corner at the front left" in page
    assert {row.name for row in order.made.part.dimensions} == wanted
