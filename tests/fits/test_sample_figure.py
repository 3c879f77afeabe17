"""The histogram of a chain's gaps: bars add up to all draws, hatched ones to those outside."""

from __future__ import annotations

import pytest

from fitkit.fits import Chain, Contributor, sample_figure


def test_hatched_bars_hold_the_share_that_is_too_tight():
    parts = (
        Contributor(name="rim", value_mm=50.1, u_mm=0.05, opens=True),
        Contributor(name="lip", value_mm=50.0, u_mm=0.05, opens=False),
    )
    sample = Chain(name="lid", contributors=parts).sample(200_000, seed=1)
    axes = sample_figure(sample).axes[0]
    bars = {bar.get_label(): sum(p.get_height() for p in bar) for bar in axes.containers}
    assert sum(bars.values()) == pytest.approx(1.0)
    assert bars["outside"] == pytest.approx(sample.p_interference, abs=0.01)
    assert f"{sample.p_interference:.2%} too tight" in axes.get_title()
