"""Rows of a table made by two processes against one, whole runs of the command."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]

ROWS = (24, 96)  # the start of the processes, which two do not share, counts less in a longer job
SHEET = """\
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


def rows() -> list[dict[str, Any]]:
    found = []
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        (folder / "sheet.toml").write_text(SHEET, encoding="utf-8")
        count = iter(range(1000))

        def make(table: str, workers: int) -> None:
            command = [sys.executable, "-m", "fitkit", "make-many", table, "sheet.toml"]
            command += ["--into", f"made{next(count)}", "--workers", str(workers)]
            run = subprocess.run(command, cwd=folder, capture_output=True, text=True)
            if run.returncode:  # a row that was not made: say which, or nobody can look for it
                raise RuntimeError(f"{' '.join(command)}\n{run.stdout}{run.stderr}")

        for many in ROWS:
            table = f"table{many}.csv"
            lines = ["title,values.height"] + [f"spacer {n},{4 + n / 4} mm" for n in range(many)]
            (folder / table).write_text("\n".join(lines) + "\n", encoding="utf-8")
            both = paired(
                lambda table=table: make(table, 1), lambda table=table: make(table, 2), runs=3
            )
            load = f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}"
            found.append(
                both.row(
                    f"make-many of {many} rows, 1 process / 2 processes",
                    f"goal at least 1.8; {load}",
                )
            )
    return found


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
