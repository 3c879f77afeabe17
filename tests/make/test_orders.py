"""What is ordered together comes together, and nothing of it lies over what is there."""

import pytest

from fitkit.calibration import PrintSettings, write_order
from fitkit.core.errors import CalibrationError
from fitkit.make import order_coupon


def test_a_coupon_is_refused_before_it_is_made_where_its_readings_would_lie_over_others(
    tmp_path, monkeypatch
):
    readings, _ = write_order(tmp_path)
    monkeypatch.setattr("fitkit.make.make", lambda *args, **options: pytest.fail("it was made"))
    with pytest.raises(CalibrationError, match="may hold readings"):
        order_coupon(tmp_path, settings=PrintSettings(printer="bench", material="PETG"))
    assert {path.name for path in tmp_path.iterdir()} == {readings.name, "coupon_order.html"}
