"""Material ranges against other people's figures, and rows against each other.

The rows name their sources; what is checked here comes from others, each seen in a public copy:
3D Printing and Additive Manufacturing, doi 10.1089/3dp.2020.0109, abstract (printed PLA pulled
across its layers: 22.8 MPa, 47.8 % below the filament); the table of filament properties of the
public repository aut0maticjack/lazyweb (strength 50, 53, 41 MPa, modulus 3.5, 2.2, 2.0 GPa of PLA,
PETG, ABS); Plastics Engineering, table 1.8 (highest working temperature of ABS, 70 °C); the maker's
sheet of a PLA filament (57.8 °C under 0.45 MPa, 52 °C under 1.8 MPa). Figures of Processes 13
(2025) 2733, which rows do name, guard against slips of the pen. Friction, emissivity and PLA's
conductivity are held to the tables that their rows name.
"""

from __future__ import annotations

import pytest

from fitkit.checks import published_material
from fitkit.data import load_table

QUOTED = [
    ("PLA", "density", 1.25),
    ("ABS", "density", 1.04),
    ("PETG", "density", 1.27),
    ("PLA", "strength", 53.0),
    ("ABS", "strength", 40.0),
    ("PETG", "strength", 50.0),
    ("PLA", "modulus", 3500.0),
    ("ABS", "modulus", 2100.0),
    ("PETG", "modulus", 2000.0),
    ("PLA", "layer_factor", 1 - 0.478),
    ("PLA", "conductivity", 0.13),
    ("ABS", "layer_factor", 1 / 1.54),
]


# From sources that no row names; a figure may lie a tenth beyond a range over grades.
OTHERS = [
    ("PLA", "strength", 50.0),
    ("PETG", "strength", 53.0),
    ("ABS", "strength", 41.0),
    ("PLA", "modulus", 3500.0),
    ("PETG", "modulus", 2200.0),
    ("ABS", "modulus", 2000.0),
    ("PLA", "density", 1.30),
    ("PETG", "density", 1.29),
    ("ABS", "density", 1.10),
    ("PLA", "softening", 57.8),
    ("PLA", "softening", 52.0),
]


@pytest.mark.parametrize(("polymer", "name", "value"), OTHERS)
def test_range_is_near_the_figure_of_a_source_that_it_does_not_name(polymer, name, value):
    span = published_material(polymer).get(name)
    assert span.low / 1.1 <= value <= 1.1 * span.high


def test_what_is_recalled_only_gets_less():
    """Rows that rest on memory alone, and rows of which it gives one end."""
    rows = load_table("materials").frame["source"]
    assert sum(rows.str.startswith("from memory")) == 0
    assert sum(rows.str.contains("from memory")) <= 7


@pytest.mark.parametrize("polymer", ["PLA", "PETG", "ABS"])
def test_a_part_is_kept_cooler_than_its_working_temperature(polymer):
    """Softening less the margin of the heat check; of ABS a handbook gives 70 °C."""
    softening = published_material(polymer).get("softening")
    highest = {"PLA": 50.0, "PETG": 60.0, "ABS": 80.0}[polymer]  # the open wiki's table A.1
    assert softening.low - 10 <= highest


@pytest.mark.parametrize("polymer", ["PLA", "PETG", "ABS"])
def test_what_is_borne_for_long_is_less_than_what_is_borne_once(polymer):
    rows = published_material(polymer)
    for name in ("layer_factor", "repeated_factor", "steady_factor"):
        span = rows.get(name)
        assert 0 < span.low <= span.high <= 1
    assert rows.get("steady_factor").high < rows.get("layer_factor").high


@pytest.mark.parametrize(
    ("name", "values"),
    [
        # Shackelford, table 399: cast nylon 6 and polycarbonate against themselves.
        ("friction", (0.32, 0.52)),
        # Tables of infrared thermometers: opaque plastic; a plastic with a reflectivity of 0.08.
        ("emissivity", (0.95, 0.92)),
    ],
)
def test_what_holds_for_any_plastic_holds_the_tables_figures(name, values):
    span = published_material("PLA").get(name)
    assert all(span.low <= value <= span.high for value in values)


@pytest.mark.parametrize(("polymer", "name", "value"), QUOTED)
def test_range_holds_the_quoted_figure(polymer: str, name: str, value: float) -> None:
    span = published_material(polymer).get(name)
    assert span is not None
    assert span.low <= value <= span.high


def test_strength_across_layers_brackets_the_measured_one() -> None:
    pla = published_material("PLA")
    strength, layers = pla.get("strength"), pla.get("layer_factor")
    assert strength is not None
    assert layers is not None
    assert strength.low * layers.low < 22.8 < strength.high * layers.high


@pytest.mark.parametrize("polymer", ["PLA", "PETG", "ABS"])
def test_no_permissible_strain_asks_for_more_than_the_strength(polymer: str) -> None:
    """Stiff grades are strong ones: modulus and strength go together, end by end."""
    rows = published_material(polymer)
    strain, modulus, strength = (rows.get(n) for n in ("snap_strain", "modulus", "strength"))
    for part, stiff, strong in (
        (strain.high, modulus.low, strength.low),
        (strain.high, modulus.high, strength.high),
    ):
        assert 0.01 * part * stiff <= 1.001 * strong
    # A stiff grade at the low end must not be over the weakest either.
    assert 0.01 * strain.low * modulus.low <= strength.low
