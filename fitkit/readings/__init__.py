"""What was read, with what, and which doubts there are: nothing is averaged here.

`table` holds `ReadingTable`, checked by `schema`; `cells` brings files and pasted blocks to rows of
text; `flags` finds readings to doubt; `instruments` loads the workshop's calipers; `corrections`
are the plain formulas for zero error, jaws in round holes, and warm parts. Averages, uncertainty
and derived features are the business of `fitkit.stats`.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitkit.readings.corrections import chord_error, cooled
    from fitkit.readings.flags import Flag
    from fitkit.readings.instruments import Instrument, load_instruments
    from fitkit.readings.table import ReadingTable

__all__ = ["Flag", "Instrument", "ReadingTable", "chord_error", "cooled", "load_instruments"]

# Loaded on first use: pandas and the schema library take a third of a second.
_HOMES = {
    "Flag": "flags",
    "Instrument": "instruments",
    "ReadingTable": "table",
    "chord_error": "corrections",
    "cooled": "corrections",
    "load_instruments": "instruments",
}


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name in _HOMES:
        return getattr(import_module(f"fitkit.readings.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'fitkit.readings' has no attribute {name!r}")
