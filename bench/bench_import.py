"""What importing costs, as whole processes: fitkit against the libraries it cannot do without."""

from __future__ import annotations

import subprocess
import sys
from functools import partial
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]

READ = (
    "from fitkit.readings import ReadingTable; "
    "from fitkit.stats import estimates; "
    "t = ReadingTable.paste('a\\t1.00\\t1.01\\nb\\t2.00\\t2.02', unit='mm')"
)


def _python(code: str) -> None:
    subprocess.run([sys.executable, "-c", code], check=True)


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    """Compare fresh interpreters."""
    base = partial(_python, "import numpy, pandas")
    return [
        paired(partial(_python, "import fitkit"), base, smoke=smoke).row(
            "import fitkit, against import numpy, pandas", "goal at most 1.3"
        ),
        paired(partial(_python, READ), base, smoke=smoke).row(
            "fresh interpreter to first readings table, against import numpy, pandas"
        ),
    ]
