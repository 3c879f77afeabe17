"""The whole of `fitkit make` beside raw build and export of the same solids, in one process.

Raw is what a script without readings, checks, sheet, record or proof would do: build the same
solids with fitkit's own fast template at the drawn sizes, a trace code sunk into them like ours,
and have build123d write STL, STEP and 3MF. Each run has a trace code of its own, as each make has,
so that nothing is kept from the run before. Neither counts the start of an interpreter or the load
of the kernel.
"""

from __future__ import annotations

import tempfile
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bench.pairs import paired

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]
_RUNS = 7


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    from fitkit.demo import copy_demo
    from fitkit.flow import load_sheet
    from fitkit.make import make
    from fitkit.solids import kernel_ready

    kernel_ready(wait=True)
    found = []
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        copy_demo(folder)
        for sheet_name in ("terminal_tray",) if smoke else ("sound_board", "terminal_tray"):
            sheet = load_sheet(folder / "measurements" / f"{sheet_name}.toml")
            raw = _raw_runs(sheet, folder / "raw")
            # The coupon's profile is fitted again each time the sheet is made, as for a user.
            both = paired(
                lambda sheet=sheet: make(sheet, into=folder / "ours"),
                lambda raw=raw: next(raw)(),
                runs=_RUNS,
                smoke=smoke,
            )
            found.append(
                both.row(
                    f"make {sheet_name} whole, against raw build and export",
                    "goal at most 1.5; ours also reads, fits the profile, checks, draws, records",
                )
            )
    return found


def _raw_runs(sheet: Any, folder: Path) -> Any:
    """Give one raw run after another, its plan worked out beforehand."""
    from fitkit.flow import build, prepare
    from fitkit.journal import trace_code

    plans = [prepare(sheet, label=trace_code()) for _ in range(_RUNS + 1)]
    return (
        lambda plan=plan: _export([body.solid for body in build(plan).bodies], folder)
        for plan in plans
    )


def _export(solids: Sequence[Any], folder: Path) -> None:
    """Write the three kinds of file plainly."""
    from build123d import Compound, Mesher, export_step, export_stl

    folder.mkdir(exist_ok=True)
    mesher = Mesher()
    for number, solid in zip(count(1), solids, strict=False):
        mesher.add_shape(solid, linear_deflection=0.05, angular_deflection=0.2)
        export_stl(solid, folder / f"{number}.stl", tolerance=0.05, angular_tolerance=0.2)
    mesher.write(folder / "part.3mf")
    export_step(Compound(children=list(solids)), folder / "part.step")


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
