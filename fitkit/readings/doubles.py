"""Readings that may have been entered twice: the second is not counted until it is decided on.

A copy makes a size look surer than it is. Two readings of one feature that are equal to the second,
or a feature's readings of three or more that are followed by the same ones with the same times, are
taken for a possible copy. Left out: copies without times, since displays repeat themselves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.readings.flags import groups_of

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["double_entries"]

# A time to the second has at least this many signs: 2026-03-16T09:30:15.
_TO_THE_SECOND = 19
_SHORTEST_BLOCK = 3


def double_entries(frame: pd.DataFrame) -> NDArray[np.int64]:
    """Find rows that may be copies of others.

    Parameters
    ----------
    frame : DataFrame of n rows
        Of a `ReadingTable`.

    Returns
    -------
    array of shape (n,)
        Row number (as in column ``row``) of the reading that a row may be a copy of; -1 for none.
    """
    found = np.full(len(frame), -1)
    times = frame["taken_at"]
    if len(frame) < 2 or not (times != "").any():
        return found
    what, shown = ["item", "feature", "mode"], ["reading", "unit", "taken_at"]
    same = frame.groupby([*what, *shown], sort=False, dropna=False).ngroup()
    codes, rows = same.to_numpy(), frame["row"].to_numpy(int)
    first = frame.groupby(codes, sort=False)["row"].transform("first").to_numpy(int)
    exact = (times.str.len() >= _TO_THE_SECOND).to_numpy() & (first != rows)
    found[exact] = first[exact]
    timed = (times != "").to_numpy()
    groups = groups_of(frame, "mode")
    for start, stop in zip(groups.cuts, groups.cuts[1:], strict=False):
        half, odd = divmod(int(stop - start), 2)
        if odd or half < _SHORTEST_BLOCK:
            continue
        at = groups.order[start:stop]
        if timed[at].all() and np.array_equal(codes[at[:half]], codes[at[half:]]):
            found[at[half:]] = rows[at[:half]]
    return found
