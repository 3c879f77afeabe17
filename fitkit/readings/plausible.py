"""Readings that an instrument can hardly have shown: beyond its range, or finer than its display.

Left out: what is plausible of the object itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.readings.flags import Flag
from fitkit.readings.numbers import plain_unit

if TYPE_CHECKING:
    from fitkit.readings.instruments import Instruments
    from fitkit.readings.table import ReadingTable

__all__ = ["plausible_flags"]

# No hand instrument shows a ten thousandth of a millimetre. Common practice, no source.
_FINEST_MM = 0.0009
# A display in inch may step finer than the same display in mm, by this much at most.
_FINER = 5.0


def plausible_flags(table: ReadingTable, instruments: Instruments) -> tuple[Flag, ...]:
    """Flag sizes beyond the instrument's range, too many decimals, and steps and depths below zero.

    Parameters
    ----------
    table : ReadingTable
    instruments : Instruments
        Those that nobody described read 0 to 150 mm.

    Returns
    -------
    tuple of Flag
        Of kind ``implausible``.
    """
    rows = table.counted
    if not len(rows):
        return ()
    found = {name: instruments.find(name) for name in rows["instrument"].unique()}
    names = rows["instrument"]
    reach = names.map({name: one.range_mm for name, one in found.items()}).to_numpy(float)
    finest = names.map(
        {name: _FINEST_MM if one.assumed else one.resolution_mm for name, one in found.items()}
    ).to_numpy(float)
    values, steps = rows["value_mm"].to_numpy(float), rows["step_mm"].to_numpy(float)
    inch = (rows["unit"].map(plain_unit) == "in") | rows["reading"].str.contains("[a-z\"″”']")
    finest = np.where(inch, finest / _FINER, finest)
    odd = {
        "beyond": np.abs(values) > reach,
        "decimals": steps < finest * (1 - 1e-6),
        "below": (values < 0) & rows["mode"].isin(("step", "depth")).to_numpy(),
    }
    flags = []
    for kind, which in odd.items():
        for at in np.flatnonzero(which):
            row = rows.iloc[int(at)]
            one = found[row["instrument"]]
            said = {
                "beyond": f"{values[at]:.2f} mm is beyond the {one.range_mm:g} mm that "
                f"{one.name or 'usual calipers'} can read: is the unit right? If the instrument "
                "reads farther, write its range into the instruments file",
                "decimals": f"{row['reading']!r} has more decimals than the display shows: was it "
                "in inch, or is it an average?",
                "below": f"the {row['mode']} is below zero ({values[at]:.2f} mm): which side is "
                "higher?",
            }[kind]
            flags.append(
                Flag(
                    kind="implausible",
                    feature=str(row["feature"]),
                    item=str(row["item"]),
                    rows=(int(row["row"]),),
                    text=said,
                )
            )
    return tuple(flags)
