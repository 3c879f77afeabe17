"""Doubts about what closed jaws showed: they shift every reading of the instrument alike.

Left out: whether a zero check is too old, which the estimates say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.readings.flags import Flag
from fitkit.readings.kinds import zero_check_name

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["zero_flags"]

# Closed jaws in order show less, and repeat to within the second. Common practice, no source.
_MOST_MM = 0.1
_APART_MM = 0.05


def zero_flags(frame: pd.DataFrame) -> tuple[Flag, ...]:
    """Doubt zero checks that are far off, that differ, or that are too large to be one.

    Parameters
    ----------
    frame : DataFrame
        Of a `ReadingTable`.

    Returns
    -------
    tuple of Flag
        With the ways in which a size hangs on the decision.
    """
    checks = frame[frame["zero_check"] & (frame["rejected"] == "")]
    for column in ("left_out", "kept"):
        if column in checks:
            checks = checks[checks[column] == ""]
    found: list[Flag] = []
    ways: tuple[tuple[int, ...], ...]
    for _, rows in checks.groupby("instrument", sort=False):
        shown = rows["value_mm"].to_numpy(float)
        lines = tuple(int(row) for row in rows["row"])
        feature, item = str(rows["feature"].iloc[0]), str(rows["item"].iloc[0])
        if len(shown) > 1 and shown.max() - shown.min() > _APART_MM:
            text = (
                f"closed jaws showed {shown.min():.2f} to {shown.max():.2f} mm, and their mean is "
                "taken off every reading: which of them is right? Clean the jaws and look again"
            )
            ways = tuple((line,) for line in lines) if rows["feature"].nunique() == 1 else ()
        elif abs(shown.mean()) > _MOST_MM:
            text = (
                f"closed jaws showed {shown.mean():.2f} mm, which is taken off every reading: is "
                "it so much? Zero the display, or keep it if it is right"
            )
            ways = (lines,) if rows["feature"].nunique() == 1 else ()
        else:
            continue
        found.append(
            Flag(kind="zero check", feature=feature, item=item, rows=lines, text=text, ways=ways)
        )
    names = {name: zero_check_name(str(name)) for name in frame["feature"].unique()}
    if any(names.values()):
        called = frame["feature"].map(names).astype(bool) & frame["counts"]
        found += [
            Flag(
                kind="zero check",
                feature=str(feature),
                item=str(item),
                rows=(int(row),),
                text=f"closed jaws that show {value:.2f} mm? It is taken for a size, and nothing "
                "is taken off the other readings",
            )
            for item, feature, row, value in frame.loc[
                called, ["item", "feature", "row", "value_mm"]
            ].itertuples(index=False)
        ]
    return tuple(found)
