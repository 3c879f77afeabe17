"""JCGM 101:2008 (GUM Supplement 1): the worked examples 9.2.2 to 9.2.4 and 9.3.

Figures of 9.2.2 and 9.2.3 as quoted in the tests of a public library from tables 2 and 3; those of
9.2.4 (table 4) and of the mass example 9.3 (tables 5 and 6) are from memory. The examples have no
unit of length; they are put in as millimetres. Intervals are for 95 %.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitkit.fits import Chain, Contributor, sample_chain
from fitkit.stats import Estimate, Source, propagate


def four(shape, *deviations):
    return Chain(
        name="9.2",
        contributors=tuple(
            Contributor(name=f"X{i}", value_mm=0.0, u_mm=u, opens=True, shape=shape)
            for i, u in enumerate(deviations, 1)
        ),
    )


# To the digits printed: half a unit of the last one, and the scatter of a million draws.
@pytest.mark.parametrize(
    ("shape", "deviations", "u_law", "law", "u_drawn", "drawn"),
    [
        ("normal", (1, 1, 1, 1), 2.0, 3.92, 2.0, 3.92),
        ("rectangular", (1, 1, 1, 1), 2.0, 3.92, 2.0, 3.88),
        ("rectangular", (1, 1, 1, 10), 10.1, 19.9, 10.1, 17.0),
    ],
    ids=["9.2.2", "9.2.3", "9.2.4"],
)
def test_the_additive_model(shape, deviations, u_law, law, u_drawn, drawn):
    chain = four(shape, *deviations)
    assert chain.gap_mm == 0.0
    digits = 1 if law > 10 else 2
    assert chain.u_mm == pytest.approx(u_law, abs=0.051)
    assert chain.root_sum_square_mm[1] == pytest.approx(law, abs=0.51 * 10**-digits)
    sample = sample_chain(chain, 1_000_000)
    assert sample.gaps_mm.std() == pytest.approx(u_drawn, abs=0.06)
    assert sample.band_mm(0.95) == pytest.approx((-drawn, drawn), abs=1.2 * 10**-digits)


def limits(name, low, high):
    middle, u = 0.5 * (low + high), (high - low) / math.sqrt(12.0)
    return Estimate.of(name, middle, u, source=Source(type="B", distribution="rectangular"))


def test_the_mass_example_needs_draws_and_gets_them():
    """9.3: first order gives u = 0.0539; draws give 0.0754."""
    result = propagate(
        lambda m, d, a, w, r: (m + d) * (1 + (a - 1.2) * (1 / w - 1 / r)) - 100_000.0,
        {
            "m": Estimate.of("conventional mass of R, mg", 100_000.0, 0.050),
            "d": Estimate.of("added to R, mg", 1.234, 0.020),
            "a": limits("density of air", 1.10, 1.30),
            "w": limits("density of W", 7_000.0, 9_000.0),
            "r": limits("density of R", 7_950.0, 8_050.0),
        },
        rng=np.random.default_rng(9),
        draws=1_000_000,
    )
    assert result.value == pytest.approx(1.234, abs=0.0006)
    assert result.u == pytest.approx(0.0754, abs=0.0002)
    assert (result.low95, result.high95) == pytest.approx((1.0834, 1.3825), abs=0.003)
    assert math.hypot(0.050, 0.020) == pytest.approx(0.0539, abs=0.00005)  # all that is first order
