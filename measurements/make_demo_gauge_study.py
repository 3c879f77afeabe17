"""Make the demo's gauge study: five printed dowels, read by three people, three times each.

    .venv/bin/python measurements/make_demo_gauge_study.py

The readings are invented: a seeded generator gives each dowel its size and each reader a habit of
pressing the jaws, then reads with an unsteady hand to the display's last digit.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

READINGS = Path(__file__).parent / "readings" / "gauge_study.csv"
SEED, REPEATS = 20_260_316, 3
DOWELS_MM = {"dowel 1": 8.06, "dowel 2": 8.11, "dowel 3": 8.03, "dowel 4": 8.17, "dowel 5": 8.09}
PRESS_MM = {"Ash": 0.0, "Birch": -0.012, "Hazel": 0.006}
HAND_MM, STEP_MM, ZERO_MM = 0.012, 0.01, -0.02
COLUMNS = ("item", "feature", "mode", "reading", "unit", "instrument", "taken_at", "read_by")


def main() -> None:
    """Write the readings, in a random order, as a study should be read."""
    rng = np.random.default_rng(SEED)
    rows = []
    for _ in range(REPEATS):
        for reader, press in PRESS_MM.items():
            for name in rng.permutation(list(DOWELS_MM)):
                shown = DOWELS_MM[name] + press + ZERO_MM + rng.normal(0.0, HAND_MM)
                text = f"{round(shown / STEP_MM) * STEP_MM:.2f}"
                head = ("printed dowels", name, "outside", text, "mm", "bench calipers")
                rows.append((*head, "2026-03-16", reader))
    with READINGS.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    main()
