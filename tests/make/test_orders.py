"""What is ordered together comes together: the piece, the map of its features, its readings."""

import pytest

from fitkit.calibration import CouponSizes, PrintSettings, coupon_features, write_order
from fitkit.core.errors import CalibrationError
from fitkit.make import order_coupon
from fitkit.readings import ReadingTable


def test_a_coupon_is_refused_before_it_is_made_where_its_readings_would_lie_over_others(
    tmp_path, monkeypatch
):
    readings, _ = write_order(tmp_path)
    monkeypatch.setattr("fitkit.make.make", lambda *args, **options: pytest.fail("it was made"))
    with pytest.raises(CalibrationError, match="may hold readings"):
        order_coupon(tmp_path, settings=PrintSettings(printer="bench", material="PETG"))
    assert {path.name for path in tmp_path.iterdir()} == {readings.name, "coupon_order.html"}


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
