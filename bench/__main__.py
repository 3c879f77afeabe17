"""Run every bench and print one table of ratios, each measured side by side in this run.

Each bench is a file ``bench_NAME.py`` with ``rows(*, smoke=False)``: a dictionary a row with
``name``, ``ratio`` and ``note``. With `smoke` it does the same work at a small size, so that the
tests can tell whether it still runs.

python3 run.py bench [WORD ...]     all, or those whose file name has one of the words
"""

from __future__ import annotations

import importlib
import json
import pkgutil
import sys
import traceback
from pathlib import Path

from rich.console import Console
from rich.table import Table

import bench

RESULT = Path("artefacts") / "bench.json"


def main(words: list[str]) -> int:
    """Run the benches, print the table, write it as JSON; status 1 if one could not run."""
    console = Console()
    table = Table("bench", "what is compared", "ratio", "note", title="ratios, side by side")
    table.columns[2].justify = "right"
    results, failed = [], False
    for module in pkgutil.iter_modules(bench.__path__, "bench."):
        name = module.name.removeprefix("bench.bench_")
        if not module.name.startswith("bench.bench_"):
            continue
        if words and not any(word in name for word in words):
            continue
        with console.status(f"{name} …"):
            try:
                rows = importlib.import_module(module.name).rows()
            except Exception:
                failed = True
                console.print(f"{name} could not run:\n{traceback.format_exc(limit=-2)}")
                continue
        for row in rows:
            results.append({"bench": name, **row})
            table.add_row(name, row["name"], f"{row['ratio']:.2f}", row.get("note", ""))
    console.print(table)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(results, indent=1) + "\n", encoding="utf-8")
    console.print(f"written to {RESULT}")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
