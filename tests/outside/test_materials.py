"""Material ranges against other people's figures.

Sources, each seen in a public copy: Processes 13 (2025) 2733, section 2.1 (density, strength and
modulus of PLA, ABS, PETG as their makers give them); 3D Printing and Additive Manufacturing, doi
10.1089/3dp.2020.0109, abstract (printed PLA pulled across its layers: 22.8 MPa, 47.8 % below the
filament). Softening temperatures have no such second source here. Rows must also
agree with each other.
"""

from __future__ import annotations

import pytest

from fitkit.checks import published_material

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
]


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
