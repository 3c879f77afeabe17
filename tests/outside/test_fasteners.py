"""Fastener tables against published ISO 273 holes and the standards' plain rules.

Sources: ISO 273:1979 clearance holes for M3 to M12 as printed in a fastener supplier's reference
table; ISO 4762 and ISO 4032 sizes (from memory); geometry of the hexagon.
"""

from __future__ import annotations

import math

import pytest

from fitkit.core.errors import FitError
from fitkit.data import load_table
from fitkit.fits import clearance_hole_mm, fastener, hold_in_plastic

_ISO_273 = {
    "M1.6": (1.7, 1.8, 2.0), "M2": (2.2, 2.4, 2.6), "M2.5": (2.7, 2.9, 3.1), "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8), "M5": (5.3, 5.5, 5.8), "M6": (6.4, 6.6, 7.0), "M8": (8.4, 9.0, 10.0),
    "M10": (10.5, 11.0, 12.0), "M12": (13.0, 13.5, 14.5),
}  # fmt: skip


@pytest.mark.parametrize("thread", _ISO_273)
def test_clearance_holes(thread: str) -> None:
    got = tuple(clearance_hole_mm(thread, series) for series in ("fine", "medium", "coarse"))
    assert got == _ISO_273[thread]


@pytest.mark.parametrize("thread", _ISO_273)
def test_sizes_hang_together(thread: str) -> None:
    screw = fastener(thread)
    # Tap drill: size less pitch, rounded to a drill (ISO 2306's rule).
    assert screw.tap_drill_mm == pytest.approx(screw.size_mm - screw.pitch_mm, abs=0.06)
    assert screw.head_height_mm == screw.size_mm  # ISO 4762
    # Corners of a hexagon: at most 2/sqrt(3) over the flats, at least 1.09 (ISO 4032 e min).
    assert 1.06 < screw.nut_corners_mm / screw.nut_flats_mm <= 2 / math.sqrt(3)
    assert screw.washer_hole_mm == screw.clear_fine_mm  # ISO 7089 takes ISO 273 fine


def test_pilots_and_inserts_lie_between_core_and_clearance() -> None:
    for row in load_table("fasteners_in_plastic").frame.to_dict("records"):
        screw, hold = fastener(f"M{row['size_mm']:g}"), hold_in_plastic(f"M{row['size_mm']:g}")
        assert screw.tap_drill_mm <= hold.pilot_mm < screw.size_mm
        assert screw.size_mm < hold.insert_hole_mm < hold.insert_knurl_mm < hold.insert_boss_mm
        assert hold.basis == "common practice, no source"


@pytest.mark.parametrize("thread", ["M7", "3", "M", "1/4-20"])
def test_unknown_threads_are_refused(thread: str) -> None:
    with pytest.raises(FitError, match=r"the table has no thread .* It has: M1.6, M2, M2.5, M3"):
        fastener(thread)


def test_unknown_series_is_refused() -> None:
    with pytest.raises(FitError, match="There are: fine, medium, coarse"):
        clearance_hole_mm("M3", "close")  # type: ignore[arg-type]
