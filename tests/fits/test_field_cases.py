"""Field cases of fits: what makers really meet, with the numbers they met."""

from __future__ import annotations

import pytest

from fitkit.calibration import generic_profile
from fitkit.calibration.compensation import compensate
from fitkit.fits import VERDICTS, Chain, Contributor, Trial, choose_gap, learn
from fitkit.fits.chain_sample import sample_chain
from fitkit.stats import Estimate


def test_peg_and_hole_drawn_equal_are_foretold_to_clash() -> None:
    """8.00 peg printed 8.08, 8.00 hole printed 7.82: interference 0.26."""
    chain = Chain(
        name="play",
        contributors=(
            Contributor.of_estimate(Estimate.of("hole", 7.82, 0.02), opens=True),
            Contributor.of_estimate(Estimate.of("peg", 8.08, 0.02), opens=False),
        ),
    )
    assert chain.gap_mm == pytest.approx(-0.26)
    assert sample_chain(chain, 100_000).p_interference == 1.0
    model = learn("peg and hole", "slides", size_mm=8.0)
    chances = dict(zip(VERDICTS, model.p_verdict([-0.26])[0], strict=True))
    assert chances["will not go"] > 0.95

    choice = choose_gap("peg and hole", "slides", size_mm=8.0)
    assert choice.gap_mm > 0.15
    assert 0.3 < choice.p_wanted < 0.7
    # Its hole, drawn for a printer not yet measured, comes out at peg plus gap.
    hole = compensate(
        Estimate.of("hole", 8.08 + choice.gap_mm, 0.02), generic_profile("PETG"), kind="hole"
    )
    assert hole.expected_mm == pytest.approx(8.08 + choice.gap_mm)
    assert hole.drawn_mm > hole.target_mm


def test_a_coat_that_eats_the_gap_turns_a_sliding_fit_tight() -> None:
    """0.20 on the diameter was right; 0.08 ± 0.03 a surface round the bore leaves 0.04."""
    right = [
        Trial(pair="peg and hole", behaviour="slides", size_mm=8.0, gap_mm=gap, verdict=verdict)
        for gap, verdict in [(0.2, "as wanted"), (0.1, "tight"), (0.32, "loose")] * 2
    ]
    model = learn("peg and hole", "slides", size_mm=8.0, trials=right)
    before = dict(zip(VERDICTS, model.p_verdict([0.20])[0], strict=True))
    after = dict(zip(VERDICTS, model.p_verdict([0.04], u_gap_mm=0.06)[0], strict=True))
    assert before["as wanted"] > 0.8
    assert after["as wanted"] < 0.2
    assert after["will not go"] + after["tight"] > 0.8
    # Drawn for the coat, the bore comes out at the wanted size again.
    coat = Estimate.of("coat", 0.08, 0.03)
    hole = compensate("8.2 mm", generic_profile("PETG"), kind="hole", coated_faces=2, coat=coat)
    bare = compensate("8.2 mm", generic_profile("PETG"), kind="hole")
    assert hole.expected_mm == pytest.approx(8.2)
    assert hole.drawn_mm - bare.drawn_mm == pytest.approx(0.16, abs=0.01)
