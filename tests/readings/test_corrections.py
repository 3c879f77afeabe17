"""Zero error, flat jaws in a round hole, warm parts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import ReadingError
from fitkit.readings.corrections import bore_from_reading, chord_error, cooled, without_zero_error


def test_closed_jaws_off_zero_shift_every_size() -> None:
    assert without_zero_error(25.43, -0.02) == pytest.approx(25.45)


def test_small_holes_read_small_with_flat_jaws() -> None:
    # Field figures: 3.000 mm reads 2.96 with 0.5 mm and 2.89 with 0.8 mm; 10 mm reads 9.99.
    for bore, face, shown in [(3.0, 0.5, 2.96), (3.0, 0.8, 2.89), (10.0, 0.5, 9.99)]:
        assert bore - chord_error(bore, face_mm=face) == pytest.approx(shown, abs=0.005)


def test_jaws_wider_than_the_hole_are_refused() -> None:
    with pytest.raises(ReadingError, match=r"do not enter a hole of 0\.4 mm"):
        chord_error([3.0, 0.4], face_mm=0.5)


@settings(deadline=None)
@given(st.floats(1.0, 100.0), st.floats(0.0, 0.9))
def test_the_correction_undoes_the_error(bore: float, face: float) -> None:
    shown = bore - chord_error(bore, face_mm=face)
    assert bore_from_reading(shown, face_mm=face) == pytest.approx(bore, rel=1e-12)


def test_a_coupon_read_warm_is_brought_to_20_degrees() -> None:
    warm = 100.0
    cold = cooled(warm, temperature_c=45.0, expansion_per_k=9e-5)
    assert warm - cold == pytest.approx(0.225, abs=0.001)
    assert np.allclose(cooled([50.0, 100.0], temperature_c=20.0, expansion_per_k=9e-5), [50, 100])
