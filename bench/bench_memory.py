"""Peaks of memory, each in an interpreter of its own, beside one that only imports what it must.

The peak is what the system counts as resident, so it holds the libraries too; the comparison is
with an interpreter that has loaded the same libraries and done nothing. On Linux it is ``VmHWM``:
``ru_maxrss`` is handed on by whoever starts a process, and would tell the peak of the bench itself.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]
PEAK = """
import re, resource, sys
from pathlib import Path
status = Path("/proc/self/status")
if status.is_file():
    peak = int(re.search("VmHWM: *(\\d+) kB", status.read_text().replace("\t", " "))[1]) / 2**10
else:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    peak /= 2**20 if sys.platform == "darwin" else 2**10  # bytes there, KiB elsewhere
print(peak)
"""
READ = """
import pandas, GTC, scipy.special, fitkit.readings, fitkit.stats
"""
MAKE = """
import tempfile
from pathlib import Path
from fitkit.demo import copy_demo
import fitkit.make.one, fitkit.journal, fitkit.readings, fitkit.stats, fitkit.checks, fitkit.export
from fitkit.solids import kernel_ready
from fitkit.parts import templates
kernel_ready(wait=True)
templates()
import GTC, scipy.special, matplotlib, PIL.Image, lib3mf
"""
# What is done with COUNT of it -> COUNT, what is loaded before, the work.
WORK = {
    "summary and budgets of {:,} readings": (
        20_000,
        READ,
        """
import numpy as np
sizes = np.round(10 + np.random.default_rng(1).normal(0, 0.02, COUNT), 2)
table = fitkit.readings.ReadingTable.of(
    ({"feature": f"bar {n // 20}", "reading": f"{s:.2f}"} for n, s in enumerate(sizes)), unit="mm")
fitkit.stats.summarise(table); fitkit.stats.estimates(table)
""",
    ),
    "{:,} samples of a 10-link chain": (
        1_000_000,
        "import scipy.special, fitkit.fits",
        """
from fitkit.fits import Chain, Contributor, sample_chain
links = tuple(Contributor(name=f"c{i}", value_mm=10.0, u_mm=0.02, opens=i % 2 == 0)
              for i in range(10))
sample_chain(Chain(name="gap", contributors=links), COUNT)
""",
    ),
    "journal table of {:,} records": (
        2_000,
        "import pandas, fitkit.journal, bench.bench_journal",
        """
import tempfile; from pathlib import Path
with tempfile.TemporaryDirectory() as folder:
    bench.bench_journal._fill(Path(folder) / "journal", COUNT)
    fitkit.journal.Journal(Path(folder) / "journal").table()
""",
    ),
    "make sound_board whole, {} time": (
        1,
        MAKE,
        """
with tempfile.TemporaryDirectory() as folder:
    copy_demo(folder)
    fitkit.make.make(Path(folder) / "measurements" / "sound_board.toml", into=Path(folder) / "out")
""",
    ),
}


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    found = []
    for name, (whole, libraries, work) in WORK.items():
        count = min(whole, 100) if smoke else whole
        idle = _peak_mib(libraries)
        busy = _peak_mib(f"{libraries}\nCOUNT = {count}\n{work}")
        found.append(
            {
                "name": f"peak of memory, {name.format(count)}, against libraries alone",
                "ratio": busy / idle,
                "note": f"{busy:.0f} MiB against {idle:.0f} MiB",
            }
        )
    return found


def _peak_mib(code: str) -> float:
    done = subprocess.run(
        [sys.executable, "-c", code + PEAK], cwd=ROOT, check=True, capture_output=True, text=True
    )
    return float(done.stdout.split()[-1])


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
