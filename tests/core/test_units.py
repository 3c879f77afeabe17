"""Lengths as people type them."""

from __future__ import annotations

import contextlib

import pint
import pytest
from hypothesis import given, settings, strategies as st

from fitkit.core.errors import UnitError
from fitkit.core.units import (
    UNITS,
    Quantity,
    parse_length,
    parse_parameter,
    to_degrees,
    to_mm,
    to_mm2,
    ureg,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12,34 mm", 12.34),
        ("12,34mm", 12.34),
        ("12.34mm", 12.34),
        ("1.2 cm", 12.0),
        (".5 mm", 0.5),
        ("2 1/2 in", 63.5),
        ("1 3/16 in", 30.1625),
        ("1-3/16 in", 30.1625),
        ('1-3/16"', 30.1625),
        ("1½ in", 38.1),
        ('3/16"', 4.7625),
        ("3⁄16″", 4.7625),
        ("12.3″", 312.42),
        ("12.3”", 312.42),
        ("12.3''", 312.42),
        ("5' 3/4\"", 1543.05),
        ("5′ 3/4″", 1543.05),
        ("5 ft 3 in", 1600.2),
        ("\u22120.02 mm", -0.02),
        ("\u20130.02 mm", -0.02),
        ("12.34\u2009mm", 12.34),
        ("12.34\u00a0mm", 12.34),
        ("12.34\u202fmm", 12.34),
        ("20 thou", 0.508),
        ("20 mil", 0.508),
        ("50 µm", 0.05),
    ],
)
def test_a_length_is_read_as_it_was_meant(text: str, mm: float) -> None:
    assert to_mm(text) == mm


@pytest.mark.parametrize(
    "text",
    ["12.3 Mm", "12.3 MM", "3 pt", "12 min", "5 pinch", "5 m m", "12 mm 3", "mm", "", "3/16 mm",
     "1/0 in", "2 5/2 in", "1,2,3 mm", "1.234,5 mm", "nan mm", "5 ft 3 mm"],
)  # fmt: skip
def test_what_is_no_length_of_the_short_list_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        to_mm(text)


def test_a_refused_unit_names_the_accepted_ones() -> None:
    with pytest.raises(UnitError, match=r"'Mm' is not a unit.*Use one of: mm, cm"):
        to_mm("12.3 Mm")


@pytest.mark.parametrize("text", ["3-16", "3-16 in", '3-16"', "3 \u2013 16 mm"])
def test_a_dash_for_a_slash_is_refused_with_the_fraction_that_may_be_meant(text: str) -> None:
    with pytest.raises(UnitError, match=r"is not one length\. Write '3/16 in' if you meant that"):
        parse_length(text)


def test_a_bare_number_is_refused_unless_the_table_declares_its_unit() -> None:
    with pytest.raises(UnitError, match=r"'3/16' has no unit\. Write '3/16 in'\."):
        parse_length("3/16")
    assert parse_length("3/16", unit="in").value_mm == 4.7625
    assert parse_length("12.34", unit="mm").value_mm == 12.34
    for bare in (12.34, 12):
        with pytest.raises(UnitError, match="has no unit"):
            to_mm(bare)


def test_three_digits_after_a_comma_are_ambiguous_until_the_comma_is_declared() -> None:
    with pytest.raises(UnitError, match=r"could be 1\.234 or 1234"):
        parse_length("1,234 mm")
    assert parse_length("1,234 mm", decimal=",").value_mm == 1.234
    with pytest.raises(UnitError, match="could be"):
        parse_length("1.234 mm", decimal=",")
    with pytest.raises(UnitError, match="decimal sign is a point"):
        parse_length("12,34 mm", decimal=".")


def test_a_point_in_a_comma_table_is_read_and_noted() -> None:
    typed = parse_length("12.40", unit="mm", decimal=",")
    assert (typed.value_mm, typed.notes) == (12.4, ("point in a comma table",))


@pytest.mark.parametrize("sign", ["±", "+/-", "+-", " ± "])
def test_a_stated_uncertainty_is_told_and_not_used(sign: str) -> None:
    typed = parse_length(f"12.34{sign}0.02 mm")
    assert (typed.value_mm, typed.stated_mm) == (12.34, 0.02)
    assert "is not used" in typed.notes[0]
    with pytest.raises(UnitError, match="states an uncertainty"):
        to_mm(f"12.34{sign}0.02 mm")


def test_the_resolution_of_a_fraction_is_that_of_a_fraction_display() -> None:
    assert parse_length("1 3/16 in").resolution_mm == 25.4 / 64
    assert parse_length("1 3/128 in").resolution_mm == 25.4 / 128
    assert parse_length("12.30 mm").resolution_mm == 0.01
    assert parse_length("0.500 in").resolution_mm == 0.0254


def test_angles_and_pint_quantities() -> None:
    assert to_degrees("30 deg") == to_degrees("30°") == to_degrees(ureg.Quantity(30, "deg"))
    assert to_mm(ureg.Quantity(1, "inch")) == pytest.approx(25.4, rel=1e-15)
    assert parse_parameter("30 deg") == 30.0
    assert parse_parameter("2.4 mm") == 2.4
    with pytest.raises(UnitError, match="not a length"):
        to_mm(ureg.Quantity(1, "kg"))
    with pytest.raises(UnitError, match="not an angle"):
        to_degrees("30 mm")


@settings(deadline=None)
@given(st.integers(-(10**7), 10**7), st.integers(0, 4), st.sampled_from(["mm", "cm", "in", "ft"]))
def test_text_agrees_with_pint_where_pint_reads_it(digits: int, places: int, unit: str) -> None:
    number = digits / 10**places
    expected = pint.Quantity(number, unit).to("mm").magnitude
    assert to_mm(f"{number:.{places}f} {unit}") == pytest.approx(expected, rel=1e-12, abs=1e-12)


@settings(deadline=None)
@given(st.integers(1, 10**6), st.integers(0, 4), st.sampled_from(sorted(UNITS)))
def test_a_length_written_in_any_unit_comes_back(digits: int, places: int, unit: str) -> None:
    text = f"{digits / 10**places:.{places}f}"
    for spelling in (f"{text} {unit}", f"{text}{unit}", f" {text}\u2009{unit} "):
        typed = parse_length(spelling)
        assert typed.unit == unit
        assert typed.value_mm / float(UNITS[unit]) == pytest.approx(float(text), rel=1e-15)
    assert parse_length(text.replace(".", ","), unit=unit, decimal=",").value_mm == typed.value_mm


@settings(deadline=None)
@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_plain_refusal(text: str) -> None:
    with contextlib.suppress(UnitError):
        assert isinstance(to_mm(text), float)


@pytest.mark.parametrize(
    ("typed", "mm2"),
    # The inch is 25.4 mm exactly (international yard and pound agreement, 1959).
    [("240 mm²", 240.0), ("2,4 cm^2", 240.0), ("1 in**2", 645.16), (Quantity(3, "cm**2"), 300.0)],
)
def test_an_area_is_read_with_its_unit(typed, mm2):
    assert to_mm2(typed) == pytest.approx(mm2, rel=1e-12)


@pytest.mark.parametrize("typed", ["240", "240 mm", "wide", 240.0, Quantity(2, "mm")])
def test_what_is_no_area_is_refused(typed):
    with pytest.raises(UnitError):
        to_mm2(typed)
