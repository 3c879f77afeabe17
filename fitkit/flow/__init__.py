"""The flow room: a part sheet read, worked out and built; nothing here writes a part's files.

- `sheet`        the part sheet: which readings become which part, and how
- `expressions`  a sheet's expressions of features, with units and correlation
- `earlier`      what earlier prints teach: verdicts, sizes measured, sizes that fitted
- `plan`         sheet -> inputs -> plan (targets, drawn sizes) -> part
- `opened`       a record opened again as the sheet that it was printed from
- `built`        a part with its meshes, assembled for views and laid for printing

It strings the rooms above it together and computes nothing itself. Its names arrive on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.flow.built import Built, mesh_part
    from fitkit.flow.plan import FitRow, Inputs, Plan, build, prepare, read_inputs, solve
    from fitkit.flow.sheet import FitWish, PartSheet, PrinterChoice, load_sheet, save_sheet

_HOMES = {
    "PartSheet": "sheet",
    "FitWish": "sheet",
    "PrinterChoice": "sheet",
    "load_sheet": "sheet",
    "save_sheet": "sheet",
    "Inputs": "plan",
    "Plan": "plan",
    "FitRow": "plan",
    "read_inputs": "plan",
    "solve": "plan",
    "prepare": "plan",
    "build": "plan",
    "Built": "built",
    "mesh_part": "built",
}

__all__ = [
    "Built",
    "FitRow",
    "FitWish",
    "Inputs",
    "PartSheet",
    "Plan",
    "PrinterChoice",
    "build",
    "load_sheet",
    "mesh_part",
    "prepare",
    "read_inputs",
    "save_sheet",
    "solve",
]

__getattr__ = names_from(__name__, _HOMES)
