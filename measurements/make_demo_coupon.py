"""Make the demo coupon's readings and the bench profile that is fitted to them.

    .venv/bin/python measurements/make_demo_coupon.py

The readings are invented: a seeded generator draws two prints of the calibration coupon from a
printer whose habits are written below, and reads each feature three times with the bench calipers,
zero error, flat jaws in round holes and last digit included. The profile is fitted to the file as
written, by the same call that a maker would use.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import numpy as np

from fitkit.calibration import (
    PrinterProfile,
    PrintSettings,
    fit_coupon,
    parse_feature,
    save_profile,
)
from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.model import TERMS
from fitkit.calibration.order import blank_readings
from fitkit.readings import Instrument, ReadingTable, load_instruments

HERE = Path(__file__).parent
READINGS = HERE / "readings" / "coupon_petg.csv"
INSTRUMENTS = HERE.parent / "shared" / "instruments" / "bench.toml"
PROFILE = HERE.parent / "shared" / "profiles" / "bench-petg.toml"
SEED, PRINTS, REPEATS = 20260309, 2, 3
SETTINGS = PrintSettings(printer="bench printer A", material="PETG", bed_mm=(220.0, 220.0, 240.0))
# What the invented printer does; mm, and fractions for scales.
HABITS = {
    "scale_x": -0.0026,
    "scale_y": -0.0031,
    "scale_z": -0.0012,
    "outside_offset": 0.11,
    "peg_offset": 0.15,
    "inside_closing": 0.13,
    "hole_closing": 0.16,
    "hole_curvature": 0.25,
    "lying_width_closing": 0.12,
    "lying_height_closing": 0.31,
    "height_offset": 0.03,
    "bed_flare": 0.30,
    "skew": 0.0008,
    "pocket_closing": 0.0,
    "wall_bow": 0.0,
    "roof_sag": 0.1,
}
# The thorough coupon of two prints ago, without pocket and bridge.
FEATURES = tuple(
    parse_feature(name)
    for name in (
        *(f"bar {axis} {n}" for axis in "xy" for n in (10, 30, 50, 96)),
        *("bar x 96 at bed", "bar y 96 at bed", "diagonal 1 124", "diagonal 2 124"),
        *("tab 2", "tab 5", "peg 4", "peg 8", "peg 14"),
        *(f"height {n}" for n in (4, 8, 12, 20)),
        *("slot 3", "slot 6", "slot 12"),
        *(f"inside {axis} {n}" for axis in "xy" for n in (30, 75)),
        *(f"hole {n:g}" for n in (2.5, 3, 4, 6, 10, 16)),
        *(f"lying hole {n} {side}" for n in (4, 6, 10) for side in ("width", "height")),
    )
)
PRINT_WIDTH, PRINT_SCALE, FEATURE, HAND = 0.02, 0.0002, 0.015, 0.012


def write_readings() -> None:
    """Fill the empty readings file as a person with the bench calipers would."""
    rng = np.random.default_rng(SEED)
    calipers = load_instruments(INSTRUMENTS)["bench calipers"]
    features = FEATURES
    laid = Sizes.of(
        SizeAt(kind=f.kind, axis=f.axis, drawn_mm=f.drawn_mm, place=f.place, diagonal=f.diagonal)
        for f in features
    )
    habits = np.array([HABITS[term] for term in TERMS])
    sizes = []
    for _ in range(PRINTS):
        # Readings made when a wider line still counted for heights of lying holes.
        wide = np.array([0 if f.kind == "height" else f.kind.sense for f in features])
        own = wide * rng.normal(0, PRINT_WIDTH) + laid.drawn * rng.normal(0, PRINT_SCALE)
        scatter = rng.normal(0, FEATURE, len(features))
        sizes.append(laid.drawn + laid.loads @ habits + own + scatter)
    names = [feature.name for feature in features]
    blank = blank_readings(
        FEATURES, settings=SETTINGS, prints=PRINTS, repeats=REPEATS, instrument=calipers.name
    )
    rows = list(csv.DictReader(io.StringIO(blank)))
    for row in rows:
        number = int(row["item"].rsplit(" ", 1)[1]) - 1
        size = sizes[number][names.index(row["feature"])]
        row["reading"] = f"{_shown(size, row['round'] == 'yes', calipers, rng):.2f}"
        row["taken_at"] = "2026-03-10"
    with READINGS.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def _shown(size: float, is_round: bool, calipers: Instrument, rng: np.random.Generator) -> float:
    """What the display shows: flat jaws in a round hole, zero error, an unsteady hand."""
    if is_round and calipers.inside_face_mm:
        size = float(np.sqrt(size**2 - calipers.inside_face_mm**2))
    return size + calipers.zero_error_mm + rng.normal(0, HAND)


def fit() -> PrinterProfile:
    """Fit the profile to the file."""
    found = fit_coupon(
        ReadingTable.read(READINGS),
        instruments=load_instruments(INSTRUMENTS),
        name="bench-petg",
        nozzle="0.4 mm hardened steel",
        spool="blue, opened in March",
        made_on="2026-03-10",
    )
    profile = found.profile
    note = "invented readings of an invented printer, for the demo"
    provenance = replace(profile.provenance, notes=(note, *profile.provenance.notes))
    return replace(profile, provenance=provenance)


if __name__ == "__main__":
    write_readings()
    save_profile(fit(), PROFILE)
    print(fit().summary())
