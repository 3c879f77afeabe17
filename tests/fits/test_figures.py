"""Figures say what they show in words and units, and leave no plotting state behind."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib.colors import same_color

from fitkit.fits import (
    Chain,
    Contributor,
    Trial,
    chain_figure,
    choose_gap,
    iso_figure,
    learn,
    standard_fit,
    verdict_figure,
)
from fitkit.fits.iso286 import PREFERRED_FITS
from tests.looks import assert_legible, assert_wide

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

VERDICTS = ["will not go", "tight", "as wanted", "loose", "rattles"]


def trial(gap: float, verdict: str, *, size: float = 10.0, **more: object) -> Trial:
    given = {"pair": "peg and hole", "behaviour": "slides", "size_mm": size, "gap_mm": gap}
    return Trial(**(given | more), verdict=verdict)  # type: ignore[arg-type]


TRIALS = (
    trial(0.1, "will not go", u_gap_mm=0.02),
    trial(0.2, "tight"),
    trial(0.3, "as wanted"),
    trial(0.4, "loose"),
    trial(0.5, "loose"),
)
# Of another size, pair or behaviour: learned from, but no points of this picture.
OTHERS = (
    trial(0.9, "rattles", size=12.6),
    trial(0.9, "rattles", size=7.9),
    trial(0.9, "rattles", pair="lid and rim"),
    trial(0.9, "rattles", behaviour="rotates freely"),
)


def words(figure: Figure) -> str:
    axes = figure.axes[0]
    texts = [axes.get_title(), axes.get_xlabel(), axes.get_ylabel()]
    texts += [label.get_text() for label in (*axes.get_yticklabels(), *axes.texts)]
    return "\n".join(texts)


def legend(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.get_legend().get_texts()]


@pytest.fixture
def judged() -> Figure:
    model = learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS + OTHERS)
    return verdict_figure(model, u_gap_mm=0.04, next_gaps_mm=(0.25, 0.75))


def test_verdict_figure_has_a_curve_a_verdict(judged: Figure) -> None:
    model = learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS + OTHERS)
    axes = judged.axes[0]
    curves = {line.get_label(): line for line in axes.lines if len(line.get_xdata()) > 50}
    assert list(curves) == VERDICTS
    # No meaning by colour alone: like-coloured or not, each differs in line style or colour.
    assert len({(c.get_color(), c.get_linestyle()) for c in curves.values()}) == 5
    at = np.asarray(curves["as wanted"].get_xdata(), dtype=float)
    expected = model.p_verdict(at, u_gap_mm=0.04)
    for name, column in zip(VERDICTS, expected.T, strict=True):
        np.testing.assert_allclose(curves[name].get_ydata(), column)
    # The curves reach past the wanted band, and over all that was tried or is to be printed.
    low, high = model.wanted_band_mm
    assert (at.min(), at.max()) == pytest.approx((min(low - 0.15, 0.1), max(high + 0.15, 0.75)))
    wide = {name: curve.get_linewidth() for name, curve in curves.items()}
    assert all(3 > wide["as wanted"] > 1.5 * wide[n] > 1.5 for n in VERDICTS if n != "as wanted")


def test_verdict_figure_has_a_point_a_trial_above_its_curve(judged: Figure) -> None:
    axes = judged.axes[0]
    curves = {line.get_label(): line for line in axes.lines if len(line.get_xdata()) > 50}
    points = [bars.lines[0] for bars in axes.containers]
    shown = [
        (float(x), float(y), line.get_marker())
        for line in points
        for x, y in zip(line.get_xdata(), line.get_ydata(), strict=True)
    ]
    assert [x for x, _, _ in shown] == [0.1, 0.2, 0.3, 0.4, 0.5]
    heights = [y for _, y, _ in shown]
    # A row a verdict, in order, all above the chance of 1 and within the axes.
    assert heights[3] == heights[4]
    assert 1.05 < heights[0] < heights[1] < heights[2] < heights[3] < 1.25
    assert [mark for _, _, mark in shown[:4]] == ["x", "v", "o", "^"]
    colours = [line.get_color() for line in points]
    assert colours == [curves[name].get_color() for name in VERDICTS[:4]]
    assert len(set(colours)) == 4
    assert all(line.get_linestyle() == "None" for line in points)
    # The bar of each is as wide as its gap is uncertain, and thinner than any curve.
    assert axes.containers[0].lines[2][0].get_linewidth() < 1
    ((segment,),) = [line.get_segments() for line in axes.containers[0].lines[2]]
    assert segment[:, 0] == pytest.approx([0.08, 0.12])
    assert "peg and hole, slides, 10 mm: 5 trials as points" in words(judged)


def test_verdict_figure_marks_the_best_gap_and_the_next_ones(judged: Figure) -> None:
    model = learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS + OTHERS)
    axes = judged.axes[0]
    best, chance = model.best_gap_mm(u_gap_mm=0.04)
    (rule,) = [line for line in axes.lines if list(line.get_xdata()) == [best, best]]
    assert rule.get_color() == "#000000"
    (text,) = axes.texts
    assert text.get_text() == f" {best:.2f} mm: {100 * chance:.0f} % as wanted"
    x, y = text.get_position()
    assert (x, y) == pytest.approx((best, chance + 0.02))
    (band,) = axes.patches
    assert band.get_label() == "best gap, 90 %"
    low, high = model.best_gap_band_mm(0.9)
    assert (band.get_x(), band.get_width()) == pytest.approx((low, high - low))
    assert band.get_zorder() < min(line.get_zorder() for line in axes.lines)
    assert same_color(band.get_facecolor(), "0.92")
    (marks,) = [line for line in axes.lines if line.get_label() == "print next"]
    assert list(marks.get_xdata()) == [0.25, 0.75]
    assert all(0 < y < 0.1 for y in marks.get_ydata())
    assert (marks.get_marker(), marks.get_linestyle()) == ("D", "None")
    assert marks.get_color() == "#000000"
    assert legend(axes) == [*VERDICTS, "best gap, 90 %", "print next"]


def test_verdict_figure_has_chances_from_0_to_1_and_its_legend_beside_it(judged: Figure) -> None:
    axes = judged.axes[0]
    assert axes.get_xlabel() == "gap as printed, on the full size (mm)"
    assert axes.get_ylabel() == "chance of the verdict"
    assert axes.get_yticks() == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    assert axes.get_ylim() == pytest.approx((0.0, 1.25))
    assert_legible(judged)
    assert_wide(judged)
    beside = axes.get_legend().get_window_extent()
    assert beside.x0 >= axes.bbox.x1 - 1
    assert abs((beside.y0 + beside.y1) - (axes.bbox.y0 + axes.bbox.y1)) < 10  # at mid height


def test_verdict_figure_without_trials_says_so() -> None:
    figure = verdict_figure(learn("lid and rim", "slides", size_mm=80.0))
    assert "lid and rim, slides, 80 mm: no trials of this fit yet" in words(figure)
    axes = figure.axes[0]
    assert axes.get_ylim() == pytest.approx((0.0, 1.02))  # no points, no room for them
    assert "print next" not in legend(axes)
    assert axes.containers == []


def test_trials_within_a_quarter_of_the_size_are_shown() -> None:
    near = (trial(0.3, "as wanted", size=12.5), trial(0.3, "as wanted", size=8.0))
    model = learn("peg and hole", "slides", size_mm=10.0, trials=near)
    assert "2 trials as points" in words(verdict_figure(model))


CHAIN = Chain(
    name="air",
    contributors=(
        Contributor(name="case", value_mm=20.0, u_mm=0.05, opens=True),
        Contributor(name="board", value_mm=9.8, u_mm=0.01, opens=False, times=2.0),
    ),
)


def test_chain_figure_walks_to_the_gap() -> None:
    figure = chain_figure(CHAIN)
    axes = figure.axes[0]
    case, board, gap = axes.patches
    # A bar ends where it reaches, whichever way it was drawn.
    assert (case.get_x(), case.get_x() + case.get_width()) == pytest.approx((0.0, 20.0))
    assert (board.get_x(), board.get_x() + board.get_width()) == pytest.approx((20.0, 0.4))
    assert (gap.get_x(), gap.get_x() + gap.get_width()) == pytest.approx((0.0, 0.4))
    middles = [bar.get_y() + bar.get_height() / 2 for bar in axes.patches]
    assert middles == pytest.approx([0, 1, 2])
    assert all(bar.get_height() == pytest.approx(0.6) for bar in axes.patches)
    # Told apart by colour, and by hatch without it.
    assert [bar.get_hatch() or "" for bar in axes.patches] == ["", "//", "xx"]
    colours = [bar.get_facecolor() for bar in axes.patches]
    assert all(map(same_color, colours, ["#56B4E9", "#E69F00", "#009E73"]))
    assert all(same_color(bar.get_edgecolor(), "0.3") for bar in axes.patches)
    # From each bar's end a thin upright leads to the next.
    steps = [c.get_segments()[0] for c in axes.collections[:2]]
    assert np.array(steps)[:, :, 0] == pytest.approx(np.array([[20.0, 20.0], [0.4, 0.4]]))
    assert all(same_color(c.get_color()[0], "0.3") for c in axes.collections[:2])
    assert np.array(steps)[:, :, 1] == pytest.approx(np.array([[-0.3, 1.3], [0.7, 2.3]]))


def test_chain_figure_has_the_band_of_the_gap_on_its_bar_and_on_a_scale_of_its_own() -> None:
    axes = chain_figure(CHAIN).axes[1]
    (bars,) = [own for own in axes.containers if hasattr(own, "has_xerr")]
    ((segment,),) = [line.get_segments() for line in bars.lines[2]]
    u = np.hypot(0.05, 0.02)
    assert segment[:, 0] == pytest.approx([0.4 - 1.96 * u, 0.4 + 1.96 * u], abs=1e-4)
    assert list(segment[:, 1]) == [0, 0]
    assert bars.lines[1]  # with caps
    assert same_color(bars.lines[0].get_color(), "#000000")
    zero = [line for line in axes.lines if list(line.get_xdata()) == [0.0, 0.0]]
    assert len(zero) == 1


def test_chain_figure_names_each_length_with_its_part_of_the_spread() -> None:
    figure = chain_figure(CHAIN)
    axes = figure.axes[0]
    names = [label.get_text() for label in axes.get_yticklabels()]
    assert names == [
        "case  +20.00 ± 0.10 mm (86 % of variance)",
        "board  -19.60 ± 0.04 mm (14 % of variance)",
        "air  0.40 mm, 0.29 to 0.51 mm (95 %)",
    ]
    assert list(axes.get_yticks()) == [0, 1, 2]
    assert axes.yaxis_inverted()  # read from the top
    assert axes.get_title() == "tolerance chain: air"
    assert axes.get_xlabel() == "along the chain (mm); hatched: closes the gap"
    assert_legible(figure)


@pytest.mark.parametrize("lengths", [1, 12])
def test_rows_are_as_high_in_a_long_chain_as_in_a_short_one(lengths: int) -> None:
    parts = tuple(
        Contributor(name=f"length {i}", value_mm=1.0, u_mm=0.1, opens=True) for i in range(lengths)
    )
    figure = chain_figure(Chain(name="stack", contributors=parts))
    assert_legible(figure)
    assert 0.25 < figure.axes[0].bbox.height / figure.dpi / (lengths + 1) < 0.85


def test_iso_figure_puts_printed_gaps_beside_standard_fits() -> None:
    choices = [
        choose_gap("peg and hole", want, size_mm=10.0) for want in ("slides", "press by tool")
    ]
    figure = iso_figure(iter(choices), size_mm=10.0)
    axes = figure.axes[0]
    sliding, press, *others = axes.patches
    for bar, choice in ((sliding, choices[0]), (press, choices[1])):
        assert bar.get_x() == pytest.approx(choice.low_mm)
        assert bar.get_width() == pytest.approx(choice.high_mm - choice.low_mm)
    for bar, name in zip(others, PREFERRED_FITS, strict=True):
        fit = standard_fit(name, "10 mm")
        assert bar.get_x() == pytest.approx(fit.least_clearance_mm)
        assert bar.get_x() + bar.get_width() == pytest.approx(fit.greatest_clearance_mm)
    assert [bar.get_hatch() or "" for bar in axes.patches] == ["//"] * 2 + [""] * len(others)
    assert same_color(sliding.get_facecolor(), "#009E73")
    assert same_color(others[0].get_facecolor(), "0.8")


def test_iso_figure_marks_the_gap_to_aim_for_and_the_middle_of_each_fit() -> None:
    choice = choose_gap("peg and hole", "slides", size_mm=10.0)
    axes = iso_figure([choice], size_mm=10.0).axes[0]
    marks = [line for line in axes.lines if len(line.get_xdata()) == 1]
    assert [line.get_marker() for line in marks] == ["D"] + ["|"] * len(PREFERRED_FITS)
    assert [float(line.get_ydata()[0]) for line in marks] == list(range(len(marks)))
    assert all(line.get_color() == "#000000" for line in marks)
    assert float(marks[0].get_xdata()[0]) == pytest.approx(choice.gap_mm)
    middle = {
        name: float(m.get_xdata()[0]) for name, m in zip(PREFERRED_FITS, marks[1:], strict=True)
    }
    assert middle["H7/h6"] == pytest.approx((0 + 0.024) / 2)  # H7 is 15 µm wide, h6 is 9
    assert len([line for line in axes.lines if list(line.get_xdata()) == [0.0, 0.0]]) == 1


def test_iso_figure_names_rows_and_axis() -> None:
    choice = choose_gap("peg and hole", "slides", size_mm=10.0)
    figure = iso_figure([choice], size_mm=10.0)
    axes = figure.axes[0]
    names = [label.get_text() for label in axes.get_yticklabels()]
    assert names[:2] == ["peg and hole, slides", "H11/a11 very loose"]
    assert "H7/g6 sliding" in names
    assert list(axes.get_yticks()) == list(range(len(names)))
    assert axes.yaxis_inverted()
    assert axes.get_xlabel() == "clearance (mm); left of 0 is interference"
    assert axes.get_title() == (
        "10 mm: printed gaps (hatched) beside ISO 286 fits of machined parts"
    )
    assert_legible(figure)
    assert 0.2 < axes.bbox.height / figure.dpi / len(names) < 0.5


def test_figures_draw_and_need_no_pyplot() -> None:
    import io

    stream = io.BytesIO()
    verdict_figure(learn("peg and hole", "slides", size_mm=10.0, trials=TRIALS)).savefig(
        stream, format="svg"
    )
    assert stream.getvalue().startswith(b"<?xml")
    if "matplotlib.pyplot" in sys.modules:  # another test's doing: nothing may be registered
        assert sys.modules["matplotlib.pyplot"].get_fignums() == []
