"""ISO 286 limits and fits against recalled published values and the standard's own formulas.

Sources: `tests/data/iso286_fits.csv` (derived from published tables of deviations, five rows
spot-checked against recalled published limits; see its head); hole classes at 25 mm as printed in
common tables (from memory); the generating formulas of ISO 286-1 (from memory), which the tables
follow within the standard's rounding where they hold: i = 0.45 D^(1/3) + 0.001 D for IT5 up, D the
geometric mean of the range, and those of each letter.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from fitkit.data import load_table
from fitkit.fits import limits, standard_fit

_FITS = Path(__file__).parents[1] / "data" / "iso286_fits.csv"


def _rows() -> list[dict[str, str]]:
    lines = [line for line in _FITS.read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize("row", _rows(), ids=lambda row: f"{row['size_mm']}-{row['fit']}")
def test_worked_fits(row: dict[str, str]) -> None:
    fit = standard_fit(row["fit"], f"{row['size_mm']} mm")
    got = {
        "hole_ES_um": fit.hole.upper_mm,
        "hole_EI_um": fit.hole.lower_mm,
        "shaft_es_um": fit.shaft.upper_mm,
        "shaft_ei_um": fit.shaft.lower_mm,
        "max_clearance_um": fit.greatest_clearance_mm,
        "min_clearance_um_negative_is_interference": fit.least_clearance_mm,
    }
    assert {key: round(1000 * value, 6) for key, value in got.items()} == {
        key: float(row[key]) for key in got
    }
    assert fit.kind == row["kind"]


@pytest.mark.parametrize(
    ("name", "lower", "upper"),
    [("K7", -15, 6), ("M7", -21, 0), ("N7", -28, -7), ("P7", -35, -14), ("S7", -48, -27),
     ("N9", -52, 0), ("F8", 20, 53), ("D10", 65, 149), ("JS7", -10.5, 10.5), ("K6", -11, 2)],
)  # fmt: skip
def test_holes_at_25_mm_as_printed_in_common_tables(name: str, lower: float, upper: float) -> None:
    got = limits(name, "25 mm")
    assert (1000 * got.lower_mm, 1000 * got.upper_mm) == pytest.approx((lower, upper))


def test_the_one_exception_m6_from_250_to_315() -> None:
    assert 1000 * limits("M6", "280 mm").upper_mm == pytest.approx(-9)


def test_standard_tolerances_follow_their_formula() -> None:
    steps = dict(zip(range(5, 19), (7, 10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000, 1600,
                                    2500), strict=True))  # fmt: skip
    for row in load_table("iso286_it").frame.to_dict("records")[1:]:  # not below 3 mm
        mean = math.sqrt(row["over_mm"] * row["up_to_mm"])
        unit = 0.45 * mean ** (1 / 3) + 0.001 * mean
        for grade, step in steps.items():
            # The standard rounds small values to whole µm and all to preferred steps.
            assert row[f"IT{grade}_um"] == pytest.approx(unit * step, rel=0.05, abs=0.7)


def test_fundamental_deviations_follow_their_formulas() -> None:
    ranges = load_table("iso286_it").frame.to_dict("records")
    checked = 0
    for row in load_table("iso286_deviations").frame.to_dict("records")[1:]:
        step = math.sqrt(row["over_mm"] * row["up_to_mm"])
        low, high = row["over_mm"], row["up_to_mm"]
        main = next(r for r in ranges if r["over_mm"] <= low and high <= r["up_to_mm"])
        mean = math.sqrt(main["over_mm"] * main["up_to_mm"])
        expected = {
            "a_um": -(265 + 1.3 * step if step <= 120 else 3.5 * step),
            "b_um": -(140 + 0.85 * step if step <= 160 else 1.8 * step),
            "d_um": -16 * mean**0.44,
            "e_um": -11 * mean**0.41,
            "f_um": -5.5 * mean**0.41,
            "g_um": -2.5 * mean**0.34,
            "h_um": 0,
            "k_um": 0.6 * mean ** (1 / 3),
            "m_um": main["IT7_um"] - main["IT6_um"],
            "n_um": 5 * mean**0.34,
        }
        if step > 40:
            expected["c_um"] = -(95 + 0.8 * step)
        if step > 50:
            expected["s_um"] = main["IT7_um"] + 0.4 * step
        if step > 18:
            expected["u_um"] = main["IT7_um"] + step
        for letter, value in expected.items():
            # a and b are rounded to 10 µm, or 20 to 50 where large; the rest to 1 or a few.
            near = 14.0 if letter in ("a_um", "b_um") else 1.0
            assert row[letter] == pytest.approx(value, rel=0.03, abs=near), (letter, row["over_mm"])
            checked += 1
        assert 0 <= row["p_um"] - main["IT7_um"] <= 6
        assert row["r_um"] == pytest.approx(math.sqrt(row["p_um"] * row["s_um"]), abs=1.5)
    assert checked > 250
