"""Pictures of readings: every reading as a point, so that no average hides anything.

Each function returns a matplotlib `Figure` of its own, made without pyplot. Colours are those of
Okabe and Ito (2008), which the colour-blind can part; each reader also has a marker.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import StatsError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fitkit.readings import ReadingTable

__all__ = ["study_figure"]

_LOOKS = (
    ("#0072B2", "o"),
    ("#D55E00", "s"),
    ("#009E73", "^"),
    ("#CC79A7", "D"),
    ("#E69F00", "v"),
    ("#56B4E9", "X"),
)


def study_figure(table: ReadingTable, *, part: str, appraiser: str) -> Figure:
    """Draw each reading of a gauge study less its part's mean, by part and reader.

    Parameters
    ----------
    table : ReadingTable
    part, appraiser : str
        Columns, as `fitkit.stats.crossed_study` takes them.

    Returns
    -------
    matplotlib Figure
        One of its own, which no pyplot state knows.

    Raises
    ------
    StatsError
        If there are more readers than can be told apart.
    """
    from matplotlib.figure import Figure

    frame = table.counted
    parts, readers = list(frame[part].unique()), list(frame[appraiser].unique())
    if len(readers) > len(_LOOKS):
        raise StatsError(
            f"{len(readers)} readers cannot be told apart in one picture",
            code="stats.too-many-readers",
            remedy=f"Draw at most {len(_LOOKS)}.",
        )
    off = 1000.0 * (frame["value_mm"] - frame.groupby(part)["value_mm"].transform("mean"))
    figure = Figure(figsize=(7.0, 3.6), layout="constrained")
    axes = figure.subplots()
    axes.spines[["top", "right"]].set_visible(False)
    for number, (reader, (colour, mark)) in enumerate(zip(readers, _LOOKS, strict=False)):
        mine = frame[appraiser] == reader
        place = np.array([parts.index(name) for name in frame.loc[mine, part]])
        beside = 0.18 * (number - 0.5 * (len(readers) - 1))
        axes.plot(
            place + beside,
            off[mine],
            color=colour,
            marker=mark,
            linestyle="none",
            alpha=0.8,
            label=reader,
        )
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_xticks(range(len(parts)), parts, fontsize=8)
    axes.set_ylabel("reading less the part's mean, µm")
    axes.legend(fontsize=8, frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure
