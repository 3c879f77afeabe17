"""Classes and fits that the tables cannot give, and the nearest standard fit."""

from __future__ import annotations

import pytest

from fitkit.errors import FitError, UnitError
from fitkit.fits import limits, nearest_standard_fit, standard_fit, tolerance_grade
from fitkit.fits.iso286 import PREFERRED_FITS
from fitkit.stats import Estimate


@pytest.mark.parametrize(
    ("name", "size", "text"),
    [
        ("Q7", "25 mm", "'Q7' is no tolerance class of the tables. Write a letter and a grade"),
        ("H", "25 mm", "'H' is no tolerance class"),
        ("H19", "25 mm", "IT19 is no standard tolerance grade"),
        ("H7", "600 mm", "600 mm is outside ISO 286's ranges here. Give 0 to 500 mm."),
        ("H7", "0 mm", "0 mm is outside"),
        ("K9", "25 mm", "K9 is not defined over 3 mm"),
    ],
)
def test_what_the_tables_lack_is_refused(name: str, size: str, text: str) -> None:
    with pytest.raises(FitError) as error:
        limits(name, size)
    assert text in str(error.value)


def test_a_bare_size_is_refused() -> None:
    with pytest.raises(UnitError):
        limits("H7", 25.0)


@pytest.mark.parametrize("name", ["g6/H7", "H7", "H7g6", "H7/"])
def test_a_fit_names_the_hole_first(name: str) -> None:
    with pytest.raises(FitError, match="Write the hole first, then the shaft, as H7/g6"):
        standard_fit(name, "25 mm")


@pytest.mark.parametrize("size", [2, 3, 3.01, 18, 24, 50, 250, 499])
@pytest.mark.parametrize("letter", "abcdefgh")
def test_holes_a_to_h_mirror_shafts(letter: str, size: float) -> None:
    shaft, hole = limits(f"{letter}9", f"{size} mm"), limits(f"{letter.upper()}9", f"{size} mm")
    assert hole.lower_mm == pytest.approx(-shaft.upper_mm)
    assert hole.upper_mm == pytest.approx(-shaft.lower_mm)


@pytest.mark.parametrize("size", [2, 8, 25, 100, 300, 480])
def test_preferred_fits_fall_in_clearance(size: int) -> None:
    middles = []
    for name in PREFERRED_FITS:
        fit = standard_fit(name, f"{size} mm")
        middles.append(fit.least_clearance_mm + fit.greatest_clearance_mm)
    assert middles == sorted(middles, reverse=True)


def test_equal_interference_of_hole_and_shaft_basis() -> None:
    """ISO 286-1's delta rule exists so that H7/p6 and P7/h6 grip alike."""
    for size in ("10 mm", "40 mm", "200 mm"):
        hole_basis, shaft_basis = standard_fit("H7/p6", size), standard_fit("P7/h6", size)
        assert shaft_basis.least_clearance_mm == pytest.approx(hole_basis.least_clearance_mm)


def test_nearest_fit_says_that_prints_rarely_hold_it() -> None:
    near = nearest_standard_fit(Estimate.of("gap", 0.03, 0.05), "25 mm")
    assert near.fit.name == "H7/g6"
    assert near.off_mm == pytest.approx(0.03 - 0.024)
    assert "printed parts rarely hold grades finer than IT12" in near.notes[0]
    assert "means parts of about IT12" in near.notes[1]


def test_a_gap_beyond_all_fits_is_said() -> None:
    assert "outside all the preferred fits" in nearest_standard_fit("3 mm", "25 mm").notes[1]


def test_grade_of_a_width() -> None:
    assert tolerance_grade("0.021 mm", "25 mm") == 7
    assert tolerance_grade("5 mm", "25 mm") is None
