"""Averages of a large readings table beside bare pandas on the same frame, in one run."""

from __future__ import annotations

import statistics
import time
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["rows"]

READINGS, FEATURES, RUNS = 100_000, 2_000, 15


def rows() -> list[dict[str, object]]:
    """Give the ratio of times, the runs of both being taken in turns."""
    from scipy.special import stdtrit

    from fitkit.readings import ReadingTable
    from fitkit.stats import estimates, summarise

    rng = np.random.default_rng(1)
    feature = rng.integers(0, FEATURES, READINGS)
    shown = np.round(10 + 0.05 * feature + rng.normal(0, 0.02, READINGS), 2)
    started = time.perf_counter()
    table = ReadingTable.of(
        (
            {"feature": f"bar {n}", "reading": f"{size:.2f}", "mode": "outside"}
            for n, size in zip(feature, shown, strict=True)
        ),
        unit="mm",
    )
    made = time.perf_counter() - started
    frame = table.frame

    def bare() -> object:
        found = frame.groupby("feature")["value_mm"].agg(["mean", "std", "count"])
        found["k"] = stdtrit(found["count"] - 1, 0.975)
        return found

    ours, theirs = _in_turns(lambda: summarise(table), bare)
    started = time.perf_counter()
    estimates(table)
    budgets = time.perf_counter() - started
    return [
        {
            "name": f"summarise {READINGS} readings of {FEATURES} features / bare pandas groupby",
            "ratio": ours / theirs,
            "note": f"{ours * 1e3:.1f} ms against {theirs * 1e3:.1f} ms, median of {RUNS}; "
            "wanted: 1.5 or less",
        },
        {
            "name": f"making that table of text / bare pandas groupby of {READINGS} numbers",
            "ratio": made / theirs,
            "note": f"{made:.2f} s, once: units, schema, rejected rows",
        },
        {
            "name": f"full budgets of {FEATURES} features / summarise",
            "ratio": budgets / ours,
            "note": f"{budgets:.2f} s, once: every input kept for correlation",
        },
    ]


def _in_turns(ours: Callable[[], object], theirs: Callable[[], object]) -> tuple[float, float]:
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(RUNS):
        for work, times in zip((ours, theirs), taken, strict=True):
            started = time.perf_counter()
            work()
            times.append(time.perf_counter() - started)
    return statistics.median(taken[0]), statistics.median(taken[1])


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:10.2f}  {row['name']}: {row['note']}")
