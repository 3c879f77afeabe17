"""What calibration costs and gains, each row measured side by side in one run.

Times: inverting a profile by its closed form beside a bracketed root search. Errors: fresh
simulated parts drawn at size, with one scale for all, and compensated; ratios of root mean squares.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import replace

import numpy as np

__all__ = ["rows"]

RUNS, PRINTERS, PARTS = 15, 30, 60
FLOW_SD_MM, SCALE_SD, FEATURE_SD_MM, READING_SD_MM = 0.02, 0.0002, 0.02, 0.008


def rows(*, smoke: bool = False) -> list[dict[str, object]]:
    runs, printers, parts = (1, 2, 5) if smoke else (RUNS, PRINTERS, PARTS)
    return [*_times(runs), *_errors(printers, parts)]


def _times(runs: int) -> list[dict[str, object]]:
    from scipy.optimize import brentq

    from fitkit.calibration import generic_profile
    from fitkit.calibration.compensation import compensate
    from fitkit.stats.uncertainty import Estimate

    profile = generic_profile("PETG")
    targets = [Estimate.of("t", float(t), 0.0) for t in np.geomspace(0.8, 300, 50)]

    def ours() -> list[float]:
        return [compensate(t, profile, kind="hole").drawn_mm for t in targets]

    def searched() -> list[float]:
        def drawn(wanted: float) -> float:
            def off(n: float) -> float:
                return float(profile.predict(n, kind="hole")[0]) - wanted

            return float(brentq(off, 0.1, 400.0, xtol=1e-12))

        return [drawn(t.value_mm) for t in targets]

    gap = float(np.max(np.abs(np.array(ours()) - np.array(searched()))))
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(runs):
        for work, times in zip((ours, searched), taken, strict=True):
            started = time.perf_counter()
            work()
            times.append(time.perf_counter() - started)
    mine, theirs = (statistics.median(t) / len(targets) for t in taken)
    return [
        {
            "name": "compensate, all notes and U95 / bare root search of the same profile",
            "ratio": mine / theirs,
            "note": f"{mine * 1e6:.0f} µs against {theirs * 1e6:.0f} µs a size; the two agree "
            f"within {gap:.0e} mm",
        }
    ]


def _errors(printers: int, parts: int) -> list[dict[str, object]]:
    from fitkit.calibration import coupon_features, generic_profile
    from fitkit.calibration.compensation import compensate
    from fitkit.calibration.layout import Layout
    from fitkit.calibration.model import SENSE, TERMS, design
    from fitkit.calibration.regression import regress
    from fitkit.stats.uncertainty import Estimate

    rng = np.random.default_rng(20260302)
    features = coupon_features()
    layout = Layout.of(features * 2, np.repeat([0, 1], len(features)))
    generic = generic_profile("PETG")
    half = np.sqrt(3.0 * np.diag(generic.cov))
    kinds = (
        ("outside", "x", 5.0, 80.0),
        ("inside", "x", 3.0, 30.0),
        ("hole", "xy", 2.5, 16.0),
        ("peg", "xy", 3.0, 15.0),
        ("hole_lying", "z", 3.0, 10.0),
    )
    errors: dict[str, list[float]] = {"as drawn": [], "one scale": [], "compensated": []}
    fits: list[float] = []
    for _ in range(printers):
        habits = generic.coef + rng.uniform(-half, half)
        own = np.repeat(rng.normal(0, [[FLOW_SD_MM], [SCALE_SD]], (2, 2)), len(features), axis=1)
        sizes = layout.drawn_mm + layout.matrix @ habits + layout.width * own[0]
        sizes += layout.scale * own[1] + rng.normal(0, FEATURE_SD_MM, len(sizes))
        sizes += rng.normal(0, READING_SD_MM, len(sizes))
        started = time.perf_counter()
        found = regress(layout, sizes, np.full(len(sizes), READING_SD_MM**2))
        fits.append(time.perf_counter() - started)
        profile = replace(
            generic, generic=False, coef=found.coef, cov=found.cov, spread=found.spread
        )
        scale = float(layout.drawn_mm @ sizes / (layout.drawn_mm @ layout.drawn_mm))
        for _ in range(parts):
            kind, axis, low, high = kinds[rng.integers(len(kinds))]
            wanted = float(rng.uniform(low, high))
            luck = SENSE[kind] * rng.normal(0, FLOW_SD_MM) + wanted * rng.normal(0, SCALE_SD)
            luck += rng.normal(0, FEATURE_SD_MM)
            compensated = compensate(Estimate.of("t", wanted, 0.0), profile, kind=kind, axis=axis)
            for name, drawn in (
                ("as drawn", wanted),
                ("one scale", wanted / scale),
                ("compensated", compensated.drawn_mm),
            ):
                printed = drawn + float(design(tuple(TERMS), drawn, kind, axis) @ habits)
                errors[name].append(printed + luck - wanted)
    rms = {name: float(np.sqrt(np.mean(np.square(found)))) for name, found in errors.items()}
    scatter = float(np.hypot(FLOW_SD_MM, FEATURE_SD_MM))
    return [
        {
            "name": f"rms error of fresh parts, {name} / compensated",
            "ratio": rms[name] / rms["compensated"],
            "note": f"{rms[name]:.3f} mm against {rms['compensated']:.3f} mm; printers at random "
            f"within the generic ranges, their own scatter about {scatter:.3f} mm; fit "
            f"{1e3 * statistics.median(fits):.0f} ms",
        }
        for name in ("as drawn", "one scale")
    ]


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:8.2f}  {row['name']}\n          {row['note']}")
