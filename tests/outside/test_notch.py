"""The notch factor at an arm's root against a handbook's formula.

Source: Roark's Formulas for Stress and Strain, table 17.1, square shoulder with fillet in a member
of rectangular section, in-plane bending (the polynomials as a public transcription has them, read
on 28 November 2026). They hold for shoulders of 0.1 to 20 times the radius.
"""

from __future__ import annotations

import math

import pytest

from fitkit.parts.arms import SHARP_MM, notch_factor

LOW = (
    (1.007, 1.000, -0.031),
    (-0.270, -2.404, 0.749),
    (0.677, 1.133, -0.904),
    (-0.414, 0.271, 0.186),
)
HIGH = (
    (1.042, 0.982, -0.036),
    (-3.599, 1.619, -0.431),
    (6.084, -5.607, 1.158),
    (-2.527, 3.006, -0.691),
)


def roark(radius: float, thin: float, deep: float) -> float:
    step = (deep - thin) / 2
    over = step / radius
    assert 0.1 <= over <= 20
    rows = LOW if over <= 2 else HIGH
    share = 2 * step / deep
    return sum(
        (a + b * math.sqrt(over) + c * over) * share**power for power, (a, b, c) in enumerate(rows)
    )


@pytest.mark.parametrize("deep", [2.0, 3.0, 5.0])
@pytest.mark.parametrize("share", [0.1, 0.15, 0.2, 0.25, 0.3, 0.5, 0.75, 1.0])
def test_the_notch_factor_is_the_handbooks(share: float, deep: float) -> None:
    assert notch_factor(2 * share, 2.0) == pytest.approx(roark(share, 1.0, deep), rel=0.07)


def test_a_corner_as_sharp_as_a_print_can_be_is_never_told_milder_than_the_handbook() -> None:
    for thick in (1.0, 1.6, 2.0, 3.0, 4.0):
        sharp = roark(SHARP_MM, thick, 3 * thick)
        assert notch_factor(0.0, thick) == pytest.approx(sharp, rel=0.04)
