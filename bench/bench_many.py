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

ROWS = 24
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
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        (folder / "sheet.toml").write_text(SHEET, encoding="utf-8")
        lines = ["title,values.height"] + [f"spacer {n},{4 + n} mm" for n in range(ROWS)]
        (folder / "table.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        count = iter(range(1000))

        def make(workers: int) -> None:
            command = [sys.executable, "-m", "fitkit", "make-many", "table.csv", "sheet.toml"]
            command += ["--into", f"made{next(count)}", "--workers", str(workers)]
            subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL)

        both = paired(lambda: make(1), lambda: make(2), runs=3)
    load = f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}"
    return [
        both.row(f"make-many of {ROWS} rows, 1 process / 2 processes", f"goal at least 1.8; {load}")
    ]


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
