"""Rows of a table made by two processes against one, whole runs of the command.

Two jobs: the demo's board case with walls of 12 thicknesses, about a second a row, and 48 hex
spacers, the lightest part that there is. The start of the processes, which two cannot share, is in
all times, and weighs the more the lighter the job. What two processors give at the most on this
machine, a plain loop of the interpreter tells: two of a shared machine are seldom two.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from itertools import count
from pathlib import Path
from typing import Any

from bench.pairs import paired
from fitkit.demo import copy_demo

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]
SPACER = """\
schema = 1
title = "hex spacer"
template = "spacer"
journal = "journal"
[printer]
generic = "PETG"
[values]
height = "10 mm"
[outputs]
files = ["3mf", "step", "stl", "sheet"]
"""
# Name, sheet, the key that varies, its values in mm.
JOBS = (
    ("board cases", "sound_board.toml", "values.wall", [2 + n / 20 for n in range(12)]),
    ("hex spacers", "spacer.toml", "values.height", [4 + n / 2 for n in range(48)]),
)


LOOP = """
import multiprocessing, sys
def count(n): return sum(i * i for i in range(n))
if __name__ == "__main__":
    with multiprocessing.Pool(int(sys.argv[1])) as pool:
        pool.map(count, [int(sys.argv[2])] * 60, chunksize=1)
"""


def _loop(workers: int, size: int) -> None:
    subprocess.run([sys.executable, "-c", LOOP, str(workers), str(size)], check=True)


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    size = 2_000 if smoke else 2_000_000
    loop = paired(lambda: _loop(1, size), lambda: _loop(2, size), runs=3, smoke=smoke)
    found = [loop.row("a plain loop, 1 process / 2 processes", "what this machine gives")]
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench) / "measurements"
        copy_demo(bench)
        (folder / "spacer.toml").write_text(SPACER, encoding="utf-8")
        number = count()

        def make(sheet: str, table: str, workers: int) -> None:
            command = [sys.executable, "-m", "fitkit", "make-many", table, sheet]
            command += ["--into", f"made{next(number)}", "--workers", str(workers)]
            run = subprocess.run(command, cwd=folder, capture_output=True, text=True)
            if run.returncode:  # a row that was not made: say which, or nobody can look for it
                raise RuntimeError(f"{' '.join(command)}\n{run.stdout}{run.stderr}")

        jobs = [(*job, mm[:2]) for *job, mm in JOBS[1:]] if smoke else JOBS
        for name, sheet, key, values in jobs:
            table = f"{name}.csv"
            lines = [f"title,{key}", *(f"{name} {n},{mm} mm" for n, mm in enumerate(values))]
            (folder / table).write_text("\n".join(lines) + "\n", encoding="utf-8")
            both = paired(
                lambda sheet=sheet, table=table: make(sheet, table, 1),
                lambda sheet=sheet, table=table: make(sheet, table, 2),
                runs=3,
                smoke=smoke,
            )
            load = f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}"
            found.append(
                both.row(
                    f"make-many of {len(values)} {name}, 1 process / 2 processes",
                    f"goal at least 1.8; {load}",
                )
            )
    return found


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
