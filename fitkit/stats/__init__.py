"""Best values with their uncertainty: from readings to `Estimate`s, and the doubts about them.

`estimate` is the number that the rest of fitkit carries; `average` makes it from readings;
`derived` puts estimates together (centre distances, walls, offsets); `outliers`, `places` and
`repeatability` judge the readings; `montecarlo` is a second way to propagate; `gauge` splits the
spread of a study into its parts; `summary` averages large tables at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitkit.stats.average import estimate, estimates
    from fitkit.stats.derived import agreement, centre_distance, port_offset, wall
    from fitkit.stats.estimate import BudgetRow, Estimate, Source
    from fitkit.stats.gauge import GaugeStudy, crossed_study, one_way_study, repeats_needed
    from fitkit.stats.montecarlo import MonteCarlo, propagate
    from fitkit.stats.outliers import OutlierTest, grubbs, robust
    from fitkit.stats.repeatability import Repeatability, pooled_repeatability
    from fitkit.stats.summary import Summary, summarise

__all__ = [
    "BudgetRow",
    "Estimate",
    "GaugeStudy",
    "MonteCarlo",
    "OutlierTest",
    "Repeatability",
    "Source",
    "Summary",
    "agreement",
    "centre_distance",
    "crossed_study",
    "estimate",
    "estimates",
    "grubbs",
    "one_way_study",
    "pooled_repeatability",
    "port_offset",
    "propagate",
    "repeats_needed",
    "robust",
    "summarise",
    "wall",
]

_HOMES = {
    "BudgetRow": "estimate",
    "Estimate": "estimate",
    "GaugeStudy": "gauge",
    "MonteCarlo": "montecarlo",
    "OutlierTest": "outliers",
    "Repeatability": "repeatability",
    "Source": "estimate",
    "Summary": "summary",
    "agreement": "derived",
    "centre_distance": "derived",
    "crossed_study": "gauge",
    "estimate": "average",
    "estimates": "average",
    "grubbs": "outliers",
    "one_way_study": "gauge",
    "pooled_repeatability": "repeatability",
    "port_offset": "derived",
    "propagate": "montecarlo",
    "repeats_needed": "gauge",
    "robust": "outliers",
    "summarise": "summary",
    "wall": "derived",
}


def __getattr__(name: str) -> Any:
    """Load a public name on first use: the uncertainty library takes a third of a second."""
    if name not in _HOMES:
        raise AttributeError(f"module 'fitkit.stats' has no attribute {name!r}")
    value = getattr(import_module(f"fitkit.stats.{_HOMES[name]}"), name)
    # The file `estimate` and the function of that name meet here: the function is the public one.
    globals()[name] = value
    return value
