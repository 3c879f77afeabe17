"""A closed case on a table against a balance of heat that somebody else worked out.

Source: a node model apart from this code (device, air, sides, top; correlations for upright and
lying plates; nothing through the table), printed PETG of 2.4 mm in a room of 25 °C. It gave the air
as below, and boards 18 to 55 K above it.
"""

from __future__ import annotations

import pytest

from fitkit.checks.warmth import Case, device_c, lying_film, steady_state

BALANCES = [
    (0.074, 0.052, 0.022, 1.5, 50.3),
    (0.100, 0.080, 0.040, 3.0, 49.0),
    (0.150, 0.100, 0.050, 5.0, 48.9),
]


def standing(x: float, y: float, z: float) -> Case:
    area = x * y + 2 * (y * z + z * x)
    return Case(area_m2=area, height_m=z, wall_m=0.0024, conductivity=0.2, emissivity=0.9)


@pytest.mark.parametrize(("x", "y", "z", "watts", "air"), BALANCES)
def test_air_in_a_case_that_stands(x, y, z, watts, air) -> None:
    found = steady_state(watts, 25.0, standing(x, y, z)).inside_c
    assert found - 25 == pytest.approx(air - 25, rel=0.12)


@pytest.mark.parametrize(("x", "y", "z", "watts", "air"), BALANCES)
def test_the_device_is_told_above_its_air_by_as_much_as_the_balance(x, y, z, watts, air) -> None:
    warmth = steady_state(watts, 25.0, standing(x, y, z))
    rises = [
        device_c(
            watts,
            warmth.inside_c,
            warmth.surface_c,
            sides_m=(x * (0.7 * share) ** 0.5, y * (0.7 * share) ** 0.5),
            emissivity=0.9,
        )
        - warmth.inside_c
        for share in (1, 1 / 3)
    ]
    assert rises[0] < rises[1]
    # The two ends of what is told lie within, or meet, the balance's 18 to 55 K.
    assert rises[0] < 55
    assert rises[1] > 18


def test_lying_plate_of_a_heat_transfer_text() -> None:
    """A plate of 0.5 m square at 55 °C in air of 25 °C: h about 5 above, half of it below.

    The texts' example form; worked by hand with air at 40 °C: Ra = 9.81 (1/313) 30 0.125³ 0.71 /
    (1.70e-5)² = 4.5e6, Nu = 0.54 * 46 = 24.9, h = 24.9 * 0.0272 / 0.125 = 5.4.
    """
    above, below = lying_film(55.0, 25.0, 0.125)
    assert above == pytest.approx(5.4, rel=0.03)
    assert below == pytest.approx(above / 2)
