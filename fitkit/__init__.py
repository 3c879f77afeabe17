"""fitkit: from calipers readings to printed parts that fit at the first print.

The rooms, in the order in which data flows: `units`, `readings`, `stats`, `fits`, `compensate`
(with `calibration`), `parts`, `flow`, `checks`, `export`, `make`, `journal`. Importing fitkit loads
none of them; each comes with its first use, and the CAD kernel comes with the first solid.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import ModuleType

__version__ = "0.1.0"

_ROOMS = (
    "calibration",
    "checks",
    "compensate",
    "errors",
    "export",
    "fits",
    "flow",
    "journal",
    "make",
    "mesh",
    "parts",
    "readings",
    "stats",
    "units",
    "widgets",
)

__all__ = ["__version__", *_ROOMS]


def __getattr__(name: str) -> ModuleType:
    """Load a room on first use."""
    if name in _ROOMS:
        return import_module(f"fitkit.{name}")
    raise AttributeError(f"module 'fitkit' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
