"""Figures say what they show in words and units, and leave no plotting state behind."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fitkit.fits import (
    Chain,
    Contributor,
    Trial,
    chain_figure,
    choose_gap,
    iso_figure,
    learn,
    verdict_figure,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

TRIALS = tuple(
    Trial(pair="peg and hole", behaviour="slides", size_mm=10.0, gap_mm=gap, verdict=verdict)
    for gap, verdict in [(0.2, "tight"), (0.3, "as wanted"), (0.4, "loose")]
)


def words(figure: Figure) -> str:
    axes = figure.axes[0]
    texts = [axes.get_title(), axes.get_xlabel(), axes.get_ylabel()]
    texts += [label.get_text() for label in (*axes.get_yticklabels(), *axes.texts)]
    return "\n".join(texts)


def test_verdict_figure_has_a_line_a_verdict_and_a_point_a_trial() -> None:
    model = learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS)
    figure = verdict_figure(model, u_gap_mm=0.04, next_gaps_mm=(0.25, 0.35))
    axes = figure.axes[0]
    curves = {line.get_label(): line for line in axes.lines if len(line.get_xdata()) > 50}
    assert list(curves) == ["will not go", "tight", "as wanted", "loose", "rattles"]
    # No meaning by colour alone: like-coloured or not, each differs in line style or colour.
    assert len({(c.get_color(), c.get_linestyle()) for c in curves.values()}) == 5
    at = np.asarray(curves["as wanted"].get_xdata(), dtype=float)
    np.testing.assert_allclose(
        curves["as wanted"].get_ydata(), model.p_verdict(at, u_gap_mm=0.04)[:, 2]
    )
    assert len(axes.containers) == 3
    assert "(mm)" in axes.get_xlabel()
    assert "3 trials as points" in words(figure)
    assert "print next" in [text.get_text() for text in axes.get_legend().get_texts()]


def test_verdict_figure_without_trials_says_so() -> None:
    figure = verdict_figure(learn("lid and rim", "slides", size_mm=80.0))
    assert "no trials of this fit yet" in words(figure)


def test_chain_figure_walks_to_the_gap() -> None:
    chain = Chain(
        name="air",
        contributors=(
            Contributor(name="case", value_mm=20.0, u_mm=0.05, opens=True),
            Contributor(name="board", value_mm=19.6, u_mm=0.02, opens=False),
        ),
    )
    figure = chain_figure(chain)
    bars = figure.axes[0].patches
    assert bars[1].get_x() + bars[1].get_width() == pytest.approx(chain.gap_mm)
    assert bars[2].get_width() == pytest.approx(chain.gap_mm)
    assert bars[0].get_hatch() != bars[1].get_hatch()
    assert "board  -19.60 ± 0.04 mm (14% of variance)" in words(figure)
    assert "(mm)" in figure.axes[0].get_xlabel()


def test_iso_figure_puts_printed_gaps_beside_standard_fits() -> None:
    choice = choose_gap("peg and hole", "slides", size_mm=10.0)
    figure = iso_figure([choice], size_mm=10.0)
    bars = figure.axes[0].patches
    assert bars[0].get_x() == pytest.approx(1000 * choice.low_mm)
    assert bars[0].get_width() == pytest.approx(1000 * (choice.high_mm - choice.low_mm))
    assert "H7/g6 sliding" in words(figure)
    assert "(µm)" in figure.axes[0].get_xlabel()


def test_figures_draw_and_need_no_pyplot() -> None:
    import io

    stream = io.BytesIO()
    verdict_figure(learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS)).savefig(
        stream, format="svg"
    )
    assert stream.getvalue().startswith(b"<?xml")
    if "matplotlib.pyplot" in sys.modules:  # another test's doing: nothing may be registered
        assert sys.modules["matplotlib.pyplot"].get_fignums() == []
