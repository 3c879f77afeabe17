"""The whole of `fitkit make` beside raw build and export of the same solids, in one process.

Raw is what a script without readings, checks, sheet, record or proof would do: build the same
template at the same drawn sizes, and have build123d write STL, STEP and 3MF. Neither counts the
start of an interpreter or the load of the kernel.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]


def rows() -> list[dict[str, Any]]:
    from fitkit.flow import load_sheet, prepare
    from fitkit.make import make
    from fitkit.parts import kernel_ready

    kernel_ready(wait=True)
    found = []
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        for name in ("measurements", "shared"):
            shutil.copytree(ROOT / name, folder / name)
        for sheet_name in ("sound_board", "terminal_tray"):
            path = folder / "measurements" / f"{sheet_name}.toml"
            if not path.is_file():
                continue
            sheet = load_sheet(path)
            plan = prepare(sheet)
            # The coupon's profile is fitted anew each time the sheet is made, as for a user.
            both = paired(
                lambda sheet=sheet: make(sheet, into=folder / "ours"),
                lambda plan=plan: _raw(plan, folder / "raw"),
                runs=5,
            )
            found.append(
                both.row(
                    f"make {sheet_name} whole, against raw build and export",
                    "goal at most 1.5; ours also reads, fits the profile, checks, draws, records",
                )
            )
    return found


def _raw(plan: Any, folder: Path) -> None:
    """Build, and write the three kinds of file plainly."""
    from build123d import Compound, Mesher, export_step, export_stl

    from fitkit.flow import build

    folder.mkdir(exist_ok=True)
    part = build(plan)
    mesher = Mesher()
    for body in part.bodies:
        mesher.add_shape(body.solid, linear_deflection=0.05, angular_deflection=0.2)
        export_stl(body.solid, folder / f"{body.name}.stl", tolerance=0.05, angular_tolerance=0.2)
    mesher.write(folder / "part.3mf")
    export_step(Compound(children=[body.solid for body in part.bodies]), folder / "part.step")


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
