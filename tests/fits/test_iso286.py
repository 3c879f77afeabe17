"""Classes and fits that the tables cannot give, and the nearest standard fit."""

from __future__ import annotations

import pytest

from fitkit.core.errors import FitError, UnitError
from fitkit.fits import limits, nearest_standard_fit, standard_fit, tolerance_grade
from fitkit.fits.iso286 import PREFERRED_FITS
from fitkit.stats import Estimate


@pytest.mark.parametrize(
    ("name", "size", "text"),
    [
        ("Q7", "25 mm", "'Q7' is not a tolerance class of the tables. Write a letter and a grade"),
        ("H", "25 mm", "'H' is not a tolerance class"),
        ("H19", "25 mm", "IT19 is not a standard tolerance grade"),
        ("H7", "600 mm", "600 mm lies outside the sizes of ISO 286"),
        ("H7", "0 mm", "0 mm lies outside"),
        ("K9", "25 mm", "ISO 286 does not define K9 for sizes over 3 mm"),
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


@pytest.mark.parametrize(
    ("name", "size", "low_um", "high_um"),
    # ISO 286-2, from memory: where one rule ends and the next begins.
    [
        ("k3", "25 mm", 0, 4), ("k4", "25 mm", 2, 8), ("k7", "25 mm", 2, 23),
        ("k8", "25 mm", 0, 33), ("K3", "25 mm", -4.5, -0.5), ("K8", "25 mm", -23, 10),
        ("M8", "25 mm", -29, 4), ("M9", "25 mm", -60, -8), ("N9", "25 mm", -52, 0),
        ("N9", "3 mm", -29, -4), ("N9", "3.5 mm", -30, 0),
        ("N8", "25 mm", -36, -3), ("K6", "3 mm", -6, 0),
        ("K9", "3 mm", -25, 0), ("M6", "280 mm", -41, -9), ("M6", "250 mm", -37, -8),
        ("M7", "280 mm", -52, 0), ("P7", "280 mm", -88, -36), ("JS7", "25 mm", -10.5, 10.5),
        ("js6", "25 mm", -6.5, 6.5), ("h6", "25 mm", -13, 0), ("g6", "25 mm", -20, -7),
        ("s6", "25 mm", 35, 48),
    ],
)  # fmt: skip
def test_limits_where_rules_meet(name: str, size: str, low_um: float, high_um: float) -> None:
    found = limits(name, size)
    assert (1000 * found.lower_mm, 1000 * found.upper_mm) == pytest.approx((low_um, high_um))
    assert found.name == name


def test_a_class_reads_as_the_trade_writes_it() -> None:
    assert str(limits(" g6 ", "25 mm")) == "25 g6: 24.980 to 24.993 mm (-20 / -7 µm)"
    assert str(limits("H7", "25 mm")) == "25 H7: 25.000 to 25.021 mm (+0 / +21 µm)"
    assert str(limits("h6", "12.5 mm")) == "12.5 h6: 12.489 to 12.500 mm (-11 / +0 µm)"


def test_a_fit_carries_its_words_if_it_is_a_preferred_one() -> None:
    fit = standard_fit(" H7 / p6", "25 mm")
    assert (fit.name, fit.words, fit.kind) == ("H7/p6", "locational interference", "interference")
    assert (fit.hole.name, fit.shaft.name) == ("H7", "p6")
    assert standard_fit("H7/js6", "25 mm").words == ""
    assert standard_fit("H7/js6", "25 mm").kind == "transition"
    assert standard_fit("H7/h6", "25 mm").kind == "clearance"  # nought is still no interference


def test_the_nearest_fit_says_all_it_should() -> None:
    plain = nearest_standard_fit("0.03 mm", "25 mm")
    caution = (
        "ISO 286 fits are for machined parts: printed parts rarely hold grades finer than IT12, so "
        "read this as a word for the gap, not as a tolerance you will get"
    )
    assert plain.notes == (caution,)
    assert plain.gap_mm == 0.03
    # ± 0.1 mm of the gap is 0.05 u, 2 x 1.96 u / sqrt 2 = 0.139 mm a part: IT11 is 0.130, IT12
    # 0.210.
    vague = nearest_standard_fit(Estimate.of("gap", 0.03, 0.05), "25 mm")
    assert vague.notes == (
        caution, "a gap that spreads by ± 0.10 mm (95 %) means parts of about IT12",
    )  # fmt: skip
    wild = nearest_standard_fit(Estimate.of("gap", 9.0, 2.0), "25 mm")
    assert wild.notes == (
        caution,
        "the gap lies outside all the preferred fits of this size",
        "a gap that spreads by ± 3.92 mm (95 %) means parts of about no grade: coarser than IT18",
    )


@pytest.mark.parametrize(
    ("width", "grade"),
    [("0.0210 mm", 7), ("0.0211 mm", 8), ("0.0215 mm", 8), ("3.3 mm", 18), ("3.31 mm", None),
     ("0.0001 mm", 1)],
)  # fmt: skip
def test_the_finest_grade_as_wide_as_a_width(width: str, grade: int | None) -> None:
    """IT7 is 21 µm and IT18 3.3 mm over 18 to 30 mm (ISO 286-1, from memory)."""
    assert tolerance_grade(width, "25 mm") == grade


@pytest.mark.parametrize(("size", "um"), [("30 mm", 21), ("30.01 mm", 25), ("500 mm", 63)])
def test_a_range_holds_its_upper_end(size: str, um: float) -> None:
    assert 1000 * limits("H7", size).upper_mm == pytest.approx(um)


@pytest.mark.parametrize("name", ["a11", "B9", "N9", "h14", "H18"])
def test_answers_stop_where_the_standard_does_up_to_1_mm(name: str) -> None:
    """ISO 286-1, notes to tables 1 to 3 (from memory): not for sizes up to and including 1 mm."""
    limits(name, "1.01 mm")
    for size in ("0.5 mm", "1 mm"):
        with pytest.raises(FitError, match=f"ISO 286 does not define {name} for sizes up to 1 mm"):
            limits(name, size)
    limits("H13", "0.5 mm")


def test_no_grade_coarser_than_it13_is_named_up_to_1_mm() -> None:
    assert tolerance_grade("0.2 mm", "0.8 mm") is None
    assert tolerance_grade("0.2 mm", "2 mm") == 14
