"""What calibration costs and gains, each row measured side by side in one run.

Times: inverting a profile by its terms beside a bracketed root search. Errors: fresh
simulated parts drawn at size, with one scale for all, and compensated; ratios of root mean squares.
"""

from __future__ import annotations

import statistics
import time

import numpy as np

__all__ = ["rows"]

RUNS, PRINTERS, PARTS = 15, 30, 60
READING_SD_MM = 0.008


def rows(*, smoke: bool = False) -> list[dict[str, object]]:
    runs, printers, parts = (1, 2, 5) if smoke else (RUNS, PRINTERS, PARTS)
    return [*_times(runs), _update(runs), *_errors(runs, printers, parts)]


def _update(runs: int) -> dict[str, object]:
    """The whole update by two long coupons, beside inverting one matrix of that size."""
    from fitkit.calibration import CouponSizes, coupon_features, generic_profile
    from fitkit.calibration.choose import as_expected
    from fitkit.calibration.posterior import Evidence, learn

    profile = generic_profile("PETG")
    one = as_expected(coupon_features(CouponSizes.thorough()), profile)
    both = Evidence.joined([one, one])
    count = len(both.sizes)
    matrix = np.eye(count) + 0.5
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(runs):
        for work, times in zip(
            (lambda: learn(profile.prior, both), lambda: np.linalg.inv(matrix)), taken, strict=True
        ):
            started = time.perf_counter()
            work()
            times.append(time.perf_counter() - started)
    mine, bare = (statistics.median(times) for times in taken)
    points = len(learn(profile.prior, both).weights)
    return {
        "name": f"update of a printer by {count} readings / inverting one matrix of that size",
        "ratio": mine / bare,
        "note": f"{1e3 * mine:.0f} ms; {points} points of the grid are kept",
    }


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


def _errors(runs: int, printers: int, parts: int) -> list[dict[str, object]]:
    from fitkit.calibration import coupon_features, fit_profile, generic_profile
    from fitkit.stats.uncertainty import Estimate
    from studies.compensation import SCATTER_MM, errors_by_way

    errors = errors_by_way("PETG", printers=printers, parts=parts, seed=20260302)
    rms = {name: float(np.sqrt(np.mean(np.square(found)))) for name, found in errors.items()}
    generic = generic_profile("PETG")
    coupon = {
        f.name: Estimate.of(
            f.name, float(generic.predict(f.drawn_mm, kind=f.kind, axis=f.axis)[0]), READING_SD_MM
        )
        for f in coupon_features()
    }
    fits = []
    for _ in range(runs):
        started = time.perf_counter()
        fit_profile(coupon).predict(10.0, kind="hole")
        fits.append(time.perf_counter() - started)
    return [
        {
            "name": f"rms error of fresh parts, {name} / compensated",
            "ratio": rms[name] / rms["compensated"],
            "note": f"{rms[name]:.3f} mm against {rms['compensated']:.3f} mm; printers at random "
            f"from what is known of printers, their own scatter about {SCATTER_MM:.3f} mm; fit "
            f"{1e3 * statistics.median(fits):.0f} ms",
        }
        for name in ("as drawn", "one scale")
    ]


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:8.2f}  {row['name']}\n          {row['note']}")
