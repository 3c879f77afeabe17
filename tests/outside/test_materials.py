"""Material ranges against other people's figures.

Sources, each seen in a public copy: Processes 13 (2025) 2733, section 2.1 (density, strength and
modulus of PLA, ABS, PETG as their makers give them); 3D Printing and Additive Manufacturing, doi
10.1089/3dp.2020.0109, abstract (printed PLA pulled across its layers: 22.8 MPa, 47.8 % below the
filament). Softening temperatures and snap strains have no such second source here.
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
