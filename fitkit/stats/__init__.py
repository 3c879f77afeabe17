"""Best values with their uncertainty: from readings to `Estimate`s, and the doubts about them.

`estimate` is the number that the rest of fitkit carries; `average` makes it from readings;
`derived` puts estimates together (centre distances, walls, offsets); `outliers`, `places` and
`repeatability` judge the readings; `montecarlo` is a second way to propagate; `gauge` splits the
spread of a study into its parts; `repeats` plans how many readings to take; `summary` averages
large tables at once.
"""

from __future__ import annotations

# `average` first: it loads the file `estimate`, whose place in this namespace the function takes.
from fitkit.stats.average import Expansion, estimate, estimates
from fitkit.stats.derived import agreement, centre_distance, port_offset, wall
from fitkit.stats.estimate import BudgetRow, Estimate, Source
from fitkit.stats.gauge import GaugeStudy, crossed_study, one_way_study
from fitkit.stats.montecarlo import MonteCarlo, disagreement, propagate
from fitkit.stats.outliers import OutlierTest, grubbs, outlier_flags, robust
from fitkit.stats.repeatability import Repeatability, pooled_repeatability
from fitkit.stats.repeats import repeats_needed
from fitkit.stats.summary import Summary, summarise

__all__ = [
    "BudgetRow",
    "Estimate",
    "Expansion",
    "GaugeStudy",
    "MonteCarlo",
    "OutlierTest",
    "Repeatability",
    "Source",
    "Summary",
    "agreement",
    "centre_distance",
    "crossed_study",
    "disagreement",
    "estimate",
    "estimates",
    "grubbs",
    "one_way_study",
    "outlier_flags",
    "pooled_repeatability",
    "port_offset",
    "propagate",
    "repeats_needed",
    "robust",
    "summarise",
    "wall",
]
