"""Averages of a large readings table beside bare pandas on the same frame, in one run."""

from __future__ import annotations

import time

import numpy as np

from bench.pairs import paired

__all__ = ["rows"]

READINGS, FEATURES, RUNS = 100_000, 2_000, 15


def rows(*, smoke: bool = False) -> list[dict[str, object]]:
    """Give the ratio of times, the runs of both being taken in turns."""
    from scipy.special import stdtrit

    from fitkit.readings import ReadingTable
    from fitkit.stats import estimates, summarise

    readings, features = (400, 20) if smoke else (READINGS, FEATURES)
    rng = np.random.default_rng(1)
    feature = rng.integers(0, features, readings)
    shown = np.round(10 + 0.05 * feature + rng.normal(0, 0.02, readings), 2)
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

    both = paired(lambda: summarise(table), bare, runs=RUNS, smoke=smoke)
    started = time.perf_counter()
    estimates(table)
    budgets = time.perf_counter() - started
    return [
        {
            "name": f"summarise {readings} readings of {features} features / bare pandas groupby",
            "ratio": both.ratio,
            "note": f"{both.ours_s * 1e3:.1f} ms against {both.other_s * 1e3:.1f} ms, of {RUNS}; "
            "wanted: 1.5 or less",
        },
        {
            "name": f"making that table of text / bare pandas groupby of {readings} numbers",
            "ratio": made / both.other_s,
            "note": f"{made:.2f} s, once: units, schema, rejected rows",
        },
        {
            "name": f"full budgets of {features} features / summarise",
            "ratio": budgets / both.ours_s,
            "note": f"{budgets:.2f} s, once: every input kept for correlation",
        },
    ]


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:10.2f}  {row['name']}: {row['note']}")
