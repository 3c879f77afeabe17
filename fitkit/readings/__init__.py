"""What was read, with what, and which doubts there are: nothing is averaged here.

`table` holds `ReadingTable`, checked by `schema`; `cells` brings files and pasted blocks to rows of
text; `flags` finds readings to doubt; `instruments` loads the workshop's calipers; `corrections`
are the plain formulas for zero error, jaws in round holes, and warm parts. Averages, uncertainty
and derived features are the business of `fitkit.stats`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

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

__getattr__ = names_from(__name__, _HOMES)
