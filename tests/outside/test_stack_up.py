"""Tolerance chains against closed forms.

Sources: sums of normals are normal (any probability text); the sum of two equal rectangulars is
triangular and of n is Irwin-Hall, whose distribution function is exact; the bivariate normal's
orthant probability 1/4 + asin(r)/(2 pi) (Sheppard 1899) for correlated ones. The worked numbers are
closed form, not taken from a handbook.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import irwinhall, norm

from fitkit.fits import Chain, Contributor
from fitkit.fits.chain_sample import sample_chain


def part(name: str, value: float, u: float, opens: bool, **more: object) -> Contributor:
    return Contributor(name=name, value_mm=value, u_mm=u, opens=opens, **more)  # type: ignore[arg-type]


def test_ten_normals_make_a_normal() -> None:
    us = 0.01 * np.arange(1, 11)
    parts = [part(f"c{i}", 5.0 + i, u, i % 2 == 1) for i, u in enumerate(us)]
    chain = Chain(name="gap", contributors=(*parts, part("rest", 4.7, 0.0, False)))
    assert chain.gap_mm == pytest.approx(0.3)
    drawn = sample_chain(chain, 1_000_000, seed=2)
    exact = norm.cdf(0.0, 0.3, math.sqrt(np.square(us).sum()))
    assert drawn.p_interference == pytest.approx(exact, abs=4 * drawn.u_p_interference)
    assert drawn.band_mm(0.95) == pytest.approx(chain.root_sum_square_mm, abs=0.002)


def test_rectangular_links_follow_irwin_hall() -> None:
    half = 0.1
    parts = [
        part(f"c{i}", 1.0, half / math.sqrt(3), i % 2 == 0, shape="rectangular") for i in range(6)
    ]
    chain = Chain(name="gap", contributors=tuple(parts), least_mm=-0.25)
    assert chain.worst_case_mm == pytest.approx((-0.6, 0.6))
    drawn = sample_chain(chain, 1_000_000, seed=4)
    exact = irwinhall.cdf(6 * 0.5 - 0.25 / (2 * half), 6)
    assert drawn.p_interference == pytest.approx(exact, abs=4 * drawn.u_p_interference)
    assert drawn.gaps_mm.min() > -0.6


def test_correlated_normals_keep_their_closed_form() -> None:
    parts = (part("a", 1.0, 0.2, True), part("b", 0.9, 0.1, False), part("c", 0.0, 0.05, True))
    chain = Chain(name="gap", contributors=parts, correlations={("a", "b"): 0.8})
    u = math.sqrt(0.2**2 + 0.1**2 - 2 * 0.8 * 0.2 * 0.1 + 0.05**2)
    assert chain.u_mm == pytest.approx(u)
    drawn = sample_chain(chain, 1_000_000, seed=6)
    assert drawn.p_interference == pytest.approx(norm.cdf(-0.1 / u), abs=4 * drawn.u_p_interference)


@pytest.mark.parametrize("r", [-0.9, -0.3, 0.5, 1.0])
def test_fully_and_partly_tied_shapes(r: float) -> None:
    """a + b of equal rectangulars: at r = 1 it is a rectangular twice as wide, exactly."""
    u = 0.1 / math.sqrt(3)
    parts = (part("a", 0.0, u, True, shape="rectangular"), part("b", 0.0, u, True))
    chain = Chain(name="gap", contributors=parts, correlations={("a", "b"): r})
    both = sample_chain(chain, 400_000, seed=8)
    assert both.p_interference == pytest.approx(0.5, abs=4 * both.u_p_interference)
    # Pearson's correlation of a rectangular with a normal under a normal copula: r * sqrt(3/pi).
    pearson = r * math.sqrt(3 / math.pi)
    assert np.std(both.gaps_mm) == pytest.approx(u * math.sqrt(2 + 2 * pearson), rel=0.01)
