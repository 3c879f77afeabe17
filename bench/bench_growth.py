"""How times grow with the work: 1x, 10x and 100x, the fitted exponent, a log-log picture.

An exponent of 1 is growth in proportion. It is the slope of a straight line through the logarithms
of the three medians of processor time, which other programs disturb less. The picture goes to
``artefacts/growth.png``, the points to ``growth.json``.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from statistics import median
from time import process_time
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["rows"]

FOLDER = Path("artefacts")
RUNS = 5
Task = tuple[str, int, "Callable[[int], Callable[[], object]]"]


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    with tempfile.TemporaryDirectory() as folder:
        curves = {name: _curve(base, task, smoke) for name, base, task in _tasks(Path(folder))}
    content = {
        name: {"sizes": sizes, "seconds": seconds, "exponent": _exponent(sizes, seconds)}
        for name, (sizes, seconds) in curves.items()
    }
    if not smoke:
        FOLDER.mkdir(exist_ok=True)
        (FOLDER / "growth.json").write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
        _draw(content, FOLDER / "growth.png")
    return [
        {
            "name": f"{name}: exponent of growth",
            "ratio": curve["exponent"],
            "note": ", ".join(
                f"{size}: {1e3 * seconds:.3g} ms"
                for size, seconds in zip(curve["sizes"], curve["seconds"], strict=True)
            ),
        }
        for name, curve in content.items()
    ]


def _tasks(folder: Path) -> list[Task]:
    """Name, size at 1x, and what makes a call of a size."""
    from bench.bench_checks import _wavy_tray
    from bench.bench_journal import _fill
    from fitkit.checks import CheckContext, Use, published_material, run_checks
    from fitkit.fits import Chain, Contributor, Trial, learn, sample_chain
    from fitkit.journal import Journal
    from fitkit.parts.contract import Body, Part
    from fitkit.readings import ReadingTable
    from fitkit.stats import estimates, summarise

    def table(count: int) -> ReadingTable:
        rng = np.random.default_rng(1)
        shown = np.round(10 + rng.normal(0, 0.02, count), 2)
        rows = (
            {"feature": f"bar {n // 10}", "reading": f"{size:.2f}", "mode": "outside"}
            for n, size in enumerate(shown)
        )
        return ReadingTable.of(rows, unit="mm")

    def summary(count: int) -> Callable[[], object]:
        made = table(count)
        return lambda: summarise(made)

    def budgets(count: int) -> Callable[[], object]:
        made = table(count)
        return lambda: estimates(made)

    def chain(count: int) -> Callable[[], object]:
        links = tuple(
            Contributor(name=f"c{i}", value_mm=10.0 + i, u_mm=0.02, opens=i % 2 == 0)
            for i in range(10)
        )
        made = Chain(name="gap", contributors=links)
        return lambda: sample_chain(made, count)

    def posterior(count: int) -> Callable[[], object]:
        words = ("will not go", "tight", "as wanted", "as wanted", "loose")

        def trials(run: int) -> tuple[Trial, ...]:
            return tuple(
                Trial(
                    pair="peg and hole",
                    behaviour="slides",
                    size_mm=10.0,
                    gap_mm=0.05 * (n % 9) + 1e-6 * run,  # new each time: models are kept
                    verdict=words[n * len(words) // count],
                )
                for n in range(count)
            )

        runs = iter(range(10**9))
        return lambda: learn("peg and hole", "slides", size_mm=10.0, trials=trials(next(runs)))

    def journal(count: int) -> Callable[[], object]:
        place = folder / f"journal{count}"
        _fill(place, count)
        made = Journal(place)
        return lambda: made.table()

    def checks(count: int) -> Callable[[], object]:
        mesh = _wavy_tray(round((count / 4) ** 0.5) + 1)
        body = Body(name="case", solid=None)  # type: ignore[arg-type]
        part = Part(title="tray", template="bench", bodies=(body,))
        context = CheckContext(
            bed_mm=(200.0, 200.0, 200.0),
            meshes={"case": mesh},
            material=published_material("PETG"),
            use=Use(watts=0),
            collisions=False,
        )
        return lambda: run_checks(part, context)

    return [
        ("readings table of text", 300, lambda count: lambda: table(count)),
        ("summary of readings", 1_000, summary),
        ("full budgets of readings", 100, budgets),
        ("samples of a 10-link chain", 10_000, chain),
        ("gap learned from trials", 5, posterior),
        ("journal table, index warm", 50, journal),
        ("checks, by triangles", 1_000, checks),
    ]


def _curve(
    base: int, task: Callable[[int], Callable[[], object]], smoke: bool
) -> tuple[list[int], list[float]]:
    sizes = [base, 2 * base] if smoke else [base, 10 * base, 100 * base]
    seconds = []
    for size in sizes:
        call = task(size)
        call()
        times = []
        for _ in range(1 if smoke else RUNS):
            start = process_time()
            call()
            times.append(process_time() - start)
        seconds.append(median(times))
    return sizes, seconds


def _exponent(sizes: list[int], seconds: list[float]) -> float:
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def _draw(curves: dict[str, Any], path: Path) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8, 5), layout="constrained")
    axes = figure.subplots()
    for (name, curve), mark in zip(curves.items(), "osv^Dx+*", strict=False):
        label = f"{name}: exponent {curve['exponent']:.2f}"
        axes.loglog(curve["sizes"], curve["seconds"], marker=mark, label=label)
    axes.set(
        xlabel="size of the work", ylabel="processor time, s", title="growth of times with the work"
    )
    axes.grid(which="both", alpha=0.3)
    axes.legend(fontsize="small")
    figure.savefig(path, dpi=120)


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
