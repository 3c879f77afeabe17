"""Every bench runs whole at a small size and gives rows of finite ratios; none is judged."""

from __future__ import annotations

import importlib
import math
import pkgutil

import pytest

import bench

BENCHES = sorted(
    module.name
    for module in pkgutil.iter_modules(bench.__path__, "bench.")
    if module.name.startswith("bench.bench_")
)


def test_there_are_benches():
    assert len(BENCHES) >= 11


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.browser if name.endswith("preview") else ())
        for name in BENCHES
    ],
)
def test_a_bench_runs_at_a_small_size(name):
    rows = importlib.import_module(name).rows(smoke=True)
    assert rows
    for row in rows:
        assert row["name"]
        assert isinstance(row.get("note", ""), str)
        assert math.isfinite(row["ratio"])
        # An exponent of growth measured at two small sizes may be anything.
        assert row["ratio"] > 0 or "exponent" in row["name"]
