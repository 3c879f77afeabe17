"""The heat model against a published example of a closed cabinet.

Source: an electrical distributor's public reference page on heat dissipation in electrical
enclosures (read): a 48 x 36 x 16 inch cabinet with 300 W inside, about 7.1 W a square foot, warms
by 30 °F (16.7 °C) after the trade's chart. The chart is read to a few degrees Fahrenheit, and its
cabinet is of painted sheet metal; emissivity 0.85 to 0.95 is assumed here.
"""

from __future__ import annotations

import pytest

from fitkit.checks.warmth import Case, steady_state

INCH = 0.0254
SIDES = [48 * INCH, 36 * INCH, 16 * INCH]
AREA = 2 * (SIDES[0] * SIDES[1] + SIDES[0] * SIDES[2] + SIDES[1] * SIDES[2])
RISE = 30 / 1.8


def test_area_is_that_of_the_example() -> None:
    assert pytest.approx(42.7, abs=0.1) == AREA / 0.3048**2
    assert pytest.approx(7.1, abs=0.1) == 300 / (AREA / 0.3048**2)


@pytest.mark.parametrize("emissivity", [0.85, 0.9, 0.95])
def test_rise_of_the_closed_cabinet(emissivity: float) -> None:
    cabinet = Case(
        area_m2=AREA, height_m=SIDES[0], wall_m=0.0015, conductivity=50.0, emissivity=emissivity
    )
    rise = steady_state(300.0, 25.0, cabinet).inside_c - 25.0
    assert rise == pytest.approx(RISE, rel=0.12)


def test_bare_metal_is_warmer_than_the_chart_for_painted_steel() -> None:
    bare = Case(area_m2=AREA, height_m=SIDES[0], wall_m=0.0015, conductivity=50.0, emissivity=0.1)
    assert steady_state(300.0, 25.0, bare).inside_c - 25.0 > 1.5 * RISE
