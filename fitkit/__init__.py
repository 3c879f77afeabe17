"""fitkit: from calipers readings to printed parts that fit at the first print.

The rooms, from the ground up; a room imports only those before it:

    core         errors, units, kinds of size, findings, files
    data         tables of figures, each with its source
    workshop     where a person keeps things, and their habits
    readings     what was read                      -> ReadingTable
    stats        best value with its uncertainty    -> Estimate
    calibration  what a printer does, what to draw  -> PrinterProfile, CompensatedSize
    fits         which gap behaves as wanted        -> GapChoice
    solids       the kernel's verbs, meshes, pictures
    parts        templates                          -> Part
    checks       will it print, hold, stay cool     -> Finding
    export       files that read back
    journal      what was made and how it fitted    -> PrintRecord
    flow         a part sheet worked out            -> Plan
    make         files, records, many parts, orders
    views        shell and notebook tables
    widgets      thin views in JupyterLab

Importing fitkit loads none of them; each comes with its first use, and the CAD kernel comes with
the first solid.
"""

import lazy_loader

from fitkit import moved

__version__ = "0.1.0"

_ROOMS = (
    "calibration",
    "checks",
    "core",
    "data",
    "export",
    "fits",
    "flow",
    "journal",
    "make",
    "parts",
    "readings",
    "solids",
    "stats",
    "views",
    "widgets",
)
__getattr__, __dir__, _ = lazy_loader.attach(__name__, _ROOMS)
__all__ = ["__version__", *_ROOMS]

moved.install()
