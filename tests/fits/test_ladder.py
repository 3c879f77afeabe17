"""The next ladder teaches more than an even one, by its own figures and by simulated printers."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from fitkit.errors import FitError
from fitkit.fits import Trial, even_ladder, learn, next_ladder
from fitkit.fits.ladder import _greedy, _thinned

PEG = ("peg and hole", "slides")


@pytest.mark.parametrize("specimens", [1, 3, 8, 12])
def test_as_many_distinct_rising_gaps_as_asked(specimens: int) -> None:
    gaps = next_ladder(*PEG, size_mm=10.0, specimens=specimens).gaps_mm
    assert len(set(gaps)) == specimens
    assert list(gaps) == sorted(gaps)
    np.testing.assert_allclose(np.array(gaps) / 0.01, np.round(np.array(gaps) / 0.01), atol=1e-6)


def test_more_specimens_teach_more() -> None:
    ladders = [next_ladder(*PEG, size_mm=10.0, specimens=k) for k in (1, 2, 4, 8)]
    bits = [ladder.information_bits for ladder in ladders]
    assert bits == sorted(bits)
    assert bits[0] > 0.3
    assert ladders[-1].p_after > ladders[0].p_after >= ladders[0].p_now


def test_information_is_that_of_plain_enumeration() -> None:
    """Joint entropy of two verdicts less their scatter, summed outcome by outcome."""
    model = learn(*PEG, size_mm=10.0)
    gaps = np.linspace(0.0, 0.4, 9)
    by_draw = _thinned(model, gaps, 0.04)
    chosen, outcomes, bits = _greedy(by_draw, 2)
    a, b = by_draw[chosen[0]], by_draw[chosen[1]]
    joint = entropy_given = 0.0
    for v, w in itertools.product(range(5), range(5)):
        each = a[:, v] * b[:, w]
        joint -= each.mean() * np.log2(each.mean())
        entropy_given -= np.mean(each * np.log2(np.maximum(each, 1e-300)))
    assert bits == pytest.approx(joint - entropy_given, abs=1e-9)
    assert outcomes.sum() == pytest.approx(1.0)


def test_the_ladder_goes_where_the_doubt_is() -> None:
    clear = [
        Trial(pair=PEG[0], behaviour=PEG[1], size_mm=10.0, gap_mm=gap, verdict=verdict)
        for gap, verdict in [(0.1, "will not go"), (0.18, "tight"), (0.22, "tight")] * 3
    ]
    gaps = next_ladder(*PEG, size_mm=10.0, specimens=2, trials=clear).gaps_mm
    assert max(gaps) > 0.24


def test_a_through_hole_gets_no_interference_to_try() -> None:
    ladder = next_ladder("screw hole", "snug by hand", size_mm=2.0, specimens=8)
    assert min(ladder.gaps_mm) >= 0.0
    assert min(even_ladder("screw hole", "snug by hand", size_mm=2.0, specimens=8)) >= 0.0


@pytest.mark.parametrize("specimens", [0, 13])
def test_a_ladder_out_of_range_is_refused(specimens: int) -> None:
    with pytest.raises(FitError, match="Ask for 1 to 12"):
        next_ladder(*PEG, size_mm=10.0, specimens=specimens)
