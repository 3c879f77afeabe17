"""The picture of a gauge study: every reading is there, less its part's mean."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fitkit.errors import StatsError
from fitkit.readings import ReadingTable
from fitkit.stats.figures import study_figure

STUDY = Path(__file__).parents[2] / "measurements" / "readings" / "gauge_study.csv"


def test_each_reading_is_a_point_and_each_part_has_mean_zero():
    table = ReadingTable.read(STUDY)
    axes = study_figure(table, part="feature", appraiser="read_by").axes[0]
    points = [line.get_xydata() for line in axes.lines if line.get_marker() != "None"]
    assert [len(own) for own in points] == [15, 15, 15]
    both = np.vstack(points)
    for place in range(5):
        assert abs(both[np.abs(both[:, 0] - place) < 0.4, 1].mean()) < 1e-9


def test_more_readers_than_looks_are_refused():
    rows = [{"feature": "a", "reading": "1 mm", "read_by": str(i)} for i in range(7)]
    with pytest.raises(StatsError, match="7 readers"):
        study_figure(ReadingTable.of(rows), part="feature", appraiser="read_by")
