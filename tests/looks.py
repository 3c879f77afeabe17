"""What a reader of a figure relies on: words that can be read, and marks told apart."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.transforms import Bbox


def assert_legible(figure: Figure) -> None:
    """Hold a figure, drawn, to what a page of text asks of it.

    It is as wide as a page's text; no word lies outside it or is set in less than 8 points; what
    stands beside the marks is smaller than the axes' own words; names of rows do not run into each
    other; only the left and the lower edge are drawn.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    assert 6.9 <= figure.get_figwidth() <= 7.6
    for axes in figure.axes:
        _assert_axes_legible(axes, figure.bbox)


def _assert_axes_legible(axes: Axes, whole: Bbox) -> None:
    low, high = sorted(axes.get_ylim())
    names = [name for name in axes.get_yticklabels() if low <= name.get_position()[1] <= high]
    legend = axes.get_legend()
    small = [*axes.texts, *(legend.get_texts() if legend else [])]
    small += [name for name in names if any(map(str.isalpha, name.get_text()))]
    assert all(text.get_fontsize() < 9 for text in small)
    texts = [axes.title, axes.xaxis.label, axes.yaxis.label, *names, *small]
    boxes = {text: text.get_window_extent() for text in texts if text.get_text()}
    for text, box in boxes.items():
        assert 8.0 <= text.get_fontsize() <= 10.0, text
        assert whole.x0 - 1 <= box.x0 < box.x1 <= whole.x1 + 1, text
        assert whole.y0 - 1 <= box.y0 < box.y1 <= whole.y1 + 1, text
    heights = sorted((boxes[name].y0, boxes[name].y1) for name in names)
    assert all(one[1] <= other[0] for one, other in pairwise(heights))
    drawn = {side for side, spine in axes.spines.items() if spine.get_visible()}
    assert drawn == {"left", "bottom"}
    if legend:
        assert not legend.get_frame_on()


def assert_wide(figure: Figure) -> None:
    """Hold a picture of curves or points to about half as high as it is wide."""
    assert 0.45 < figure.get_figheight() / figure.get_figwidth() < 0.62
