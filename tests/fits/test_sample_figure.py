"""The histogram of a chain's gaps: bars add up to all draws, hatched ones to those outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.colors import same_color

from fitkit.core.chances import say_chance
from fitkit.fits import Chain, Contributor, sample_figure
from fitkit.fits.chain_sample import sample_chain
from tests.looks import assert_legible, assert_wide

if TYPE_CHECKING:
    from fitkit.fits import ChainSample

PARTS = (
    Contributor(name="rim", value_mm=50.1, u_mm=0.05, opens=True),
    Contributor(name="lip", value_mm=50.0, u_mm=0.05, opens=False),
)


def drawn(**more: float) -> ChainSample:
    return sample_chain(Chain(name="lid", contributors=PARTS, **more), 100_000, seed=1)  # type: ignore[arg-type]


def test_hatched_bars_hold_the_share_that_is_too_tight():
    sample = drawn()
    figure = sample_figure(sample)
    axes = figure.axes[0]
    bars = {bar.get_label(): sum(p.get_height() for p in bar) for bar in axes.containers}
    assert sum(bars.values()) == pytest.approx(1.0)
    assert bars["outside"] == pytest.approx(sample.p_interference, abs=0.01)
    assert axes.get_title() == f"lid: {say_chance(sample.p_interference)} too tight"
    assert axes.get_xlabel() == "gap (mm); solid: limits, dashed: 95 % of the gaps"
    assert axes.get_ylabel() == "share of the draws"
    assert [text.get_text() for text in axes.get_legend().get_texts()] == [
        "within limits",
        "outside",
    ]
    within, outside = (bar.patches[0] for bar in axes.containers)
    assert (within.get_hatch(), outside.get_hatch()) == (None, "//")
    assert same_color(within.get_facecolor(), "#56B4E9")
    assert same_color(outside.get_facecolor(), "#D55E00")
    assert same_color(outside.get_edgecolor(), "0.3")  # and so its hatch
    assert outside.get_linewidth() < 0.5  # eighty bars lie side by side
    assert_legible(figure)
    assert_wide(figure)


def test_bars_lie_side_by_side_over_all_gaps():
    sample = drawn(most_mm=0.2)
    axes = sample_figure(sample).axes[0]
    edges = sorted((p.get_x(), p.get_x() + p.get_width()) for p in axes.patches)
    assert (edges[0][0], edges[-1][1]) == pytest.approx(
        (sample.gaps_mm.min(), sample.gaps_mm.max())
    )
    assert [a[1] for a in edges[:-1]] == pytest.approx([b[0] for b in edges[1:]])
    assert 50 <= len(edges) <= 150


def test_both_limits_part_the_bars_and_are_drawn_solid_the_band_dashed():
    sample = drawn(least_mm=0.02, most_mm=0.2)
    axes = sample_figure(sample).axes[0]
    solid = [line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == "-"]
    dashed = [line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == "--"]
    assert solid == [0.02, 0.2]
    assert dashed == pytest.approx(np.quantile(sample.gaps_mm, [0.025, 0.975]))
    assert all(line.get_color() == "#000000" for line in axes.lines)
    widths = {line.get_linestyle(): line.get_linewidth() for line in axes.lines}
    assert widths["-"] > widths["--"]
    middles = {
        bar.get_label(): [p.get_x() + p.get_width() / 2 for p in bar] for bar in axes.containers
    }
    assert all(0.02 <= x <= 0.2 for x in middles["within limits"])
    assert all(x < 0.02 or x > 0.2 for x in middles["outside"])
    assert {x < 0.02 for x in middles["outside"]} == {True, False}
    assert axes.get_title() == (
        f"lid: {say_chance(sample.p_interference)} too tight, "
        f"{say_chance(sample.p_too_wide)} too wide"
    )


def test_gaps_all_within_have_no_bar_outside():
    axes = sample_figure(drawn(least_mm=-9.0)).axes[0]
    assert [text.get_text() for text in axes.get_legend().get_texts()] == ["within limits"]
    assert len(axes.containers) == 1
