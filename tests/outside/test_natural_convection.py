"""Natural convection against a textbook's worked example and a textbook's table of air.

Sources: an upright glass plate, Churchill and Chu's correlation, worked in a heat-transfer textbook
(from memory; see tests/data/natural_convection.json); thermophysical properties of air at 300, 350
and 400 K as tabulated in the same kind of textbook (from memory).
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitkit.checks.warmth import air, plate_film, plate_nusselt

EXAMPLE = json.loads(
    (Path(__file__).parents[1] / "data" / "natural_convection.json").read_text(encoding="utf-8")
)["vertical_plate"]
GIVEN, PUBLISHED = EXAMPLE["inputs"], EXAMPLE["published"]


def test_nusselt_number_of_the_glass_plate() -> None:
    assert plate_nusselt(PUBLISHED["Ra"], GIVEN["Pr"]) == pytest.approx(PUBLISHED["Nu"], abs=0.5)


def test_film_coefficient_and_heat_of_the_glass_plate() -> None:
    # With our own air, whose properties differ from the table's by a percent.
    film = plate_film(GIVEN["Ts_C"], GIVEN["Tinf_C"], GIVEN["L_m"])
    assert film == pytest.approx(PUBLISHED["h"], rel=0.015)
    heat = film * GIVEN["L_m"] * GIVEN["W_m"] * (GIVEN["Ts_C"] - GIVEN["Tinf_C"])
    assert heat == pytest.approx(PUBLISHED["q_W"], rel=0.015)


@pytest.mark.parametrize(
    ("kelvin", "conductivity", "viscosity", "density"),
    [
        (300, 0.0263, 15.89e-6, 1.1614),
        (350, 0.0300, 20.92e-6, 0.9950),
        (400, 0.0338, 26.41e-6, 0.8711),
    ],
)
def test_air_against_the_table(
    kelvin: float, conductivity: float, viscosity: float, density: float
) -> None:
    ours = air(kelvin - 273.15)
    assert ours.conductivity == pytest.approx(conductivity, rel=0.02)
    assert ours.viscosity == pytest.approx(viscosity, rel=0.025)
    assert ours.density == pytest.approx(density, rel=0.015)
    assert ours.prandtl == pytest.approx(0.70, abs=0.02)
