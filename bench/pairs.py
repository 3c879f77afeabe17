"""Timing two ways of doing one thing, in turn, so that a drift of the machine hits both."""

from __future__ import annotations

from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Paired", "paired"]


class Paired(NamedTuple):
    """Median ratio of the pairs, and each way's median time in seconds."""

    ratio: float
    ours_s: float
    other_s: float

    def row(self, name: str, note: str = "") -> dict[str, Any]:
        """Write as a row of the bench table."""
        times = f"{self.ours_s * 1e3:.3g} ms against {self.other_s * 1e3:.3g} ms"
        return {"name": name, "ratio": self.ratio, "note": f"{times}{'; ' if note else ''}{note}"}


def paired(
    ours: Callable[[], object], other: Callable[[], object], *, runs: int = 7, smoke: bool = False
) -> Paired:
    """Time `ours` and `other` in turn, after one run of each that does not count.

    With `smoke` each runs once, and that run counts: the ratio says nothing then.
    """
    if smoke:
        runs = 1
    else:
        ours(), other()
    times = []
    for _ in range(runs):
        start = perf_counter()
        ours()
        middle = perf_counter()
        other()
        times.append((middle - start, perf_counter() - middle))
    a, b = zip(*times, strict=True)
    return Paired(median(x / y for x, y in times), median(a), median(b))
