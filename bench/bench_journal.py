"""How the journal behaves at 10,000 records: warm table, growth, the index against no index.

Every ratio compares two things timed in this very run, the best of several rounds each.
"""

from __future__ import annotations

import json
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.journal import FitEntry, Journal, PrintRecord, trace_code
from fitkit.journal.index import CACHE

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["rows"]

COUNT = 10_000
START = datetime(2020, 1, 1, 12, tzinfo=UTC)


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    """Time the journal; each row has name, ratio and note."""
    count = 40 if smoke else COUNT
    with tempfile.TemporaryDirectory() as folder:
        whole, half = Path(folder) / "whole", Path(folder) / "half"
        _fill(whole, count)
        _fill(half, count // 2)
        journal, smaller = Journal(whole), Journal(half)
        cold, cold_half = _cold(journal), _cold(smaller)
        warm, warm_half = _best(journal.table), _best(smaller.table)
        reread = _best(lambda: [json.loads(path.read_bytes()) for path in journal.files()])
    return [
        {
            "name": f"warm table of {count} records, index against reading all files",
            "ratio": reread / warm,
            "note": f"table {warm:.2f} s; merely parsing all files {reread:.2f} s",
        },
        {
            "name": f"warm table, {count} against {count // 2} records",
            "ratio": warm / warm_half,
            "note": "2 is linear growth",
        },
        {
            "name": f"index made again, {count} against {count // 2} records",
            "ratio": cold / cold_half,
            "note": f"2 is linear growth; {cold:.2f} s for {count}",
        },
    ]


def _best(task: Callable[[], object], rounds: int = 3) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return min(times)


def _cold(journal: Journal) -> float:
    times = []
    for _ in range(2):
        (journal.folder / CACHE).unlink(missing_ok=True)
        times.append(_best(journal.table, rounds=1))
    return min(times)


def _fill(folder: Path, count: int) -> None:
    """Write records as plain files: the flush to disk of each is not what is timed here."""
    folder.mkdir()
    fit = FitEntry(
        name="lid",
        pair="lid and rim",
        wanted="slides",
        kind="outside",
        sense=-1,
        gap_mm=0.3,
        target_mm=60.0,
        drawn_mm=60.1,
        expected_mm=60.0,
        U95_mm=0.1,
    )
    for number in range(count):
        record = PrintRecord.new(
            title=f"part {number % 400}",
            template="board case",
            values={"wall": "2.4 mm", "board_length": "68.5 mm"},
            fits=[fit] * 4,
            printer="bench",
            material="PETG",
            notes="an invented print",
            versions={"fitkit": "0"},
            code=trace_code(of=str(number).encode()),
            made_at=START + timedelta(hours=5 * number),
        )
        path = folder / f"{record.made_at:%Y-%m-%d}-{record.code}.json"
        path.write_text(record.to_json(), encoding="utf-8")


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
