"""The picture of a gauge study: every reading is there, less its part's mean."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fitkit.readings import ReadingTable
from fitkit.stats.figures import study_figure
from tests.looks import assert_legible, assert_wide

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STUDY = Path(__file__).parents[2] / "measurements" / "readings" / "gauge_study.csv"


@pytest.fixture
def figure() -> Figure:
    return study_figure(ReadingTable.read(STUDY), part="feature", appraiser="read_by")


def test_each_reading_is_a_point_and_each_part_has_mean_zero(figure):
    axes = figure.axes[0]
    points = [line.get_xydata() for line in axes.lines if line.get_marker() != "None"]
    assert [len(own) for own in points] == [15, 15, 15]
    both = np.vstack(points)
    for place in range(5):
        assert abs(both[np.abs(both[:, 0] - place) < 0.4, 1].mean()) < 1e-9
    frame = ReadingTable.read(STUDY).counted
    off = frame["value_mm"] - frame.groupby("feature")["value_mm"].transform("mean")
    assert sorted(both[:, 1]) == pytest.approx(sorted(1000 * off))  # in µm


def test_readers_stand_side_by_side_around_their_part(figure):
    lines = [line for line in figure.axes[0].lines if line.get_marker() != "None"]
    steps = [np.unique(np.round(line.get_xdata() % 1, 6)) for line in lines]
    assert np.concatenate(steps) == pytest.approx([0.82, 0.0, 0.18])


def test_readers_are_told_apart_by_colour_and_by_marker(figure):
    lines = [line for line in figure.axes[0].lines if line.get_marker() != "None"]
    assert [line.get_color() for line in lines] == ["#0072B2", "#D55E00", "#009E73"]
    assert [line.get_marker() for line in lines] == ["o", "s", "^"]
    assert {line.get_linestyle() for line in lines} == {"None"}
    assert all(0.5 < line.get_alpha() < 1 for line in lines)  # points that coincide show
    readers = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    assert readers == list(ReadingTable.read(STUDY).counted["read_by"].unique())


def test_parts_are_named_below_and_the_axis_has_its_unit(figure):
    axes = figure.axes[0]
    parts = list(ReadingTable.read(STUDY).counted["feature"].unique())
    assert [label.get_text() for label in axes.get_xticklabels()] == parts
    assert list(axes.get_xticks()) == list(range(5))
    assert axes.get_ylabel() == "reading less the part's mean, µm"
    (zero,) = [line for line in axes.lines if line.get_marker() == "None"]
    assert (list(zero.get_ydata()), zero.get_color()) == ([0.0, 0.0], "black")
    assert zero.get_linewidth() < 1
    assert_legible(figure)
    assert_wide(figure)
    beside = axes.get_legend().get_window_extent()
    assert beside.x0 >= axes.bbox.x1 - 1
    assert abs((beside.y0 + beside.y1) - (axes.bbox.y0 + axes.bbox.y1)) < 10  # at mid height


def test_six_readers_can_be_told_apart():
    rows = [{"feature": "a", "reading": "1 mm", "by": str(i)} for i in range(6)]
    axes = study_figure(ReadingTable.of(rows), part="feature", appraiser="by").axes[0]
    assert len({line.get_marker() for line in axes.lines} - {"None"}) == 6


def test_names_of_five_parts_do_not_run_into_each_other():
    rows = [{"feature": f"listening post {i}", "reading": "1 mm", "by": "A"} for i in range(1, 6)]
    figure = study_figure(ReadingTable.of(rows), part="feature", appraiser="by")
    assert_legible(figure)
    names = [label.get_window_extent() for label in figure.axes[0].get_xticklabels()]
    assert all(one.x1 < other.x0 for one, other in pairwise(names))
