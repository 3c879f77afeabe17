"""What calibration gains, found on simulated printers: fresh parts drawn in three ways.

Each printer's habits are drawn from what is known of printers of its material. It prints the coupon
twice, the coupon is read and fitted, and then it prints fresh features: drawn at size, with
the one scale that suits the coupon best, and compensated. Every print has its own deviation and
every feature its own scatter, which no drawing can foretell: they are the floor of all three.

Left out: habits that the model has no term for, such as warping.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.coupon import coupon_features
from fitkit.calibration.generic import generic_profile
from fitkit.calibration.model import SENSE, TERMS, design, print_loads

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from fitkit.parts.contract import Axis, SizeKind

__all__ = ["FEATURE_SD_MM", "FLOW_SD_MM", "SCATTER_MM", "errors_by_way"]

# Of print to print, feature to feature and reading to reading: common practice, no source.
FLOW_SD_MM, SCALE_SD, FEATURE_SD_MM, READING_SD_MM = 0.02, 0.0002, 0.02, 0.008
# What no compensation can take away.
SCATTER_MM = float(np.hypot(FLOW_SD_MM, FEATURE_SD_MM))
# Kinds of feature that a fresh part has, with their sizes from and to, mm.
_FRESH: tuple[tuple[SizeKind, Axis, float, float], ...] = (
    ("outside", "x", 5.0, 80.0),
    ("inside", "x", 3.0, 30.0),
    ("hole", "xy", 2.5, 16.0),
    ("peg", "xy", 3.0, 15.0),
    ("hole_lying", "z", 3.0, 10.0),
)


def errors_by_way(
    material: str = "PETG", *, printers: int = 12, parts: int = 100, seed: int = 0
) -> dict[str, NDArray[np.float64]]:
    """Print fresh features on simulated printers, drawn in three ways.

    Parameters
    ----------
    material : str
        Whose printers are drawn.
    printers, parts : int
        How many printers, and how many fresh features on each.
    seed : int
        The same seed draws the same printers.

    Returns
    -------
    dict of array of shape (printers * parts,), mm
        Printed less wanted size: ``as drawn``, ``one scale``, ``compensated``. Each feature meets
        the same luck in all three.
    """
    from fitkit.calibration.compensation import compensate
    from fitkit.calibration.fit import fit_profile
    from fitkit.calibration.settings import PrintSettings
    from fitkit.stats import Estimate

    rng = np.random.default_rng(seed)
    features = coupon_features()
    settings = PrintSettings(material=material)
    known = generic_profile(material).prior
    drawn_mm = np.array([f.drawn_mm for f in features])
    loads = np.array(
        [
            design(
                tuple(TERMS),
                f.drawn_mm,
                f.kind,
                f.axis,
                place=f.place,
                diagonal=f.diagonal,
                wall_mm=f.wall_mm,
            )
            for f in features
        ]
    )
    wide = np.array([float(print_loads(f.drawn_mm, f.kind, f.axis)[0]) for f in features])
    errors: dict[str, list[float]] = {"as drawn": [], "one scale": [], "compensated": []}
    for _ in range(printers):
        habits = rng.multivariate_normal(known.mean, known.cov)
        reads = []
        for _ in range(2):
            sizes = drawn_mm + loads @ habits + wide * rng.normal(0, FLOW_SD_MM)
            sizes += drawn_mm * rng.normal(0, SCALE_SD) + rng.normal(0, FEATURE_SD_MM, len(sizes))
            reads.append(sizes + rng.normal(0, READING_SD_MM, len(sizes)))
        profile = fit_profile(
            [
                {
                    f.name: Estimate.of(f.name, float(mm), READING_SD_MM)
                    for f, mm in zip(features, read, strict=True)
                }
                for read in reads
            ],
            settings=settings,
        )
        read = np.mean(reads, axis=0)
        scale = float(drawn_mm @ read / (drawn_mm @ drawn_mm))
        for _ in range(parts):
            kind, axis, low, high = _FRESH[rng.integers(len(_FRESH))]
            wanted = float(rng.uniform(low, high))
            luck = SENSE[kind] * rng.normal(0, FLOW_SD_MM) + wanted * rng.normal(0, SCALE_SD)
            luck += rng.normal(0, FEATURE_SD_MM)
            target = Estimate.of("wanted", wanted, 0.0)
            drawn = {
                "as drawn": wanted,
                "one scale": wanted / scale,
                "compensated": compensate(target, profile, kind=kind, axis=axis).drawn_mm,
            }
            for way, size in drawn.items():
                printed = size + float(design(tuple(TERMS), size, kind, axis) @ habits)
                errors[way].append(printed + luck - wanted)
    return {way: np.array(found) for way, found in errors.items()}
