"""How long a print takes, from its moves; learned from prints that were timed.

A move speeds up and slows down evenly: length / speed + speed / acceleration, or twice the root of
length over acceleration where it is too short for full speed. Speed, acceleration and the time
before the first line are not known at first: each is held as a range of what desktop printers do,
and every timed print weighs the combinations by how well they predict it (Bayes, on a grid).
Leaves out pauses for cooling that a slicing step adds to small layers.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.checks.moves import Moves

__all__ = ["LEARNED_FROM", "PrintTime", "TimedPrint", "print_time"]

FloatArray = npt.NDArray[np.float64]

# From so many timed prints on, the band is called learned.
LEARNED_FROM = 3
# Speed of each kind of move over that of inner walls, middle and spread (in logarithms), as slicing
# steps set them out of the box: outer walls, inner walls, skins, infill, jumps, turns from line to
# line. Common practice, no source.
_RATIO = ((0.65, 0.22), (1.0, 0.0), (0.85, 0.12), (1.15, 0.0), (2.1, 0.25), (2.1, 0.25))
# Middle and spread (in logarithms) of what desktop printers do. Common practice, no source.
_SPEED = (90.0, 0.5)  # mm/s
_ACCELERATION = (2000.0, 0.9)  # mm/s²
_START_S = (300.0, 0.4)
_LAYER_S = 0.5
# A print's time over the predicted one, in logarithms: what the estimate of the moves leaves out.
_RESIDUAL = 0.05
# Places along each range: speed, acceleration, start, outer walls, skins, jumps.
_NODES = (21, 13, 3, 3, 3, 3)


class TimedPrint(NamedTuple):
    """A print that somebody timed: its moves and the hours that it took."""

    moves: Moves
    hours: float


class PrintTime(NamedTuple):
    """Hours of a print: middle, 90 % band, and how many timed prints it rests on."""

    hours: float
    low: float
    high: float
    timed: int

    @property
    def learned(self) -> bool:
        """Whether enough prints were timed for the band to mean something."""
        return self.timed >= LEARNED_FROM


def print_time(moves: Moves, timed: Sequence[TimedPrint] = ()) -> PrintTime:
    """Predict how long a print takes.

    Parameters
    ----------
    moves : Moves
    timed : sequence of TimedPrint
        Earlier prints on the same printer.

    Returns
    -------
    PrintTime
        Hours; the band holds nine prints in ten if the printer keeps to its settings.
    """
    grid, weight = _printers()
    weight = weight.copy()
    for one in timed:
        off = (np.log(one.hours) - np.log(_hours(one.moves, grid))) / _RESIDUAL
        # Somebody may have timed a print with a pause in it: far-off ones count for little.
        weight += -2.5 * np.log1p(off**2 / 4)
    share = np.exp(weight - weight.max())
    share /= share.sum()
    hours = np.log(_hours(moves, grid))
    order = np.argsort(hours)
    values, below = hours[order], np.cumsum(share[order])
    low, middle, high = (
        float(values[np.searchsorted(below, at).clip(0, len(values) - 1)])
        for at in (0.05, 0.5, 0.95)
    )
    out = 1.645 * _RESIDUAL
    spread_low = np.hypot(middle - low, out)
    spread_high = np.hypot(high - middle, out)
    return PrintTime(
        float(np.exp(middle)),
        float(np.exp(middle - spread_low)),
        float(np.exp(middle + spread_high)),
        len(timed),
    )


@cache
def _printers() -> tuple[FloatArray, FloatArray]:
    """Habits of the grid's printers, shape (6, n), and their log weights.

    Rows: speed, acceleration, start; the ratios of outer walls, of skins, and of jumps and turns.
    """
    ranges = (_SPEED, _ACCELERATION, _START_S, _RATIO[0], _RATIO[2], _RATIO[4])
    ways, chance = [], []
    for (middle, spread), nodes in zip(ranges, _NODES, strict=True):
        reach = 2.5 if nodes > 3 else 1.5
        at = np.linspace(-reach, reach, nodes)
        ways.append(middle * np.exp(spread * at))
        chance.append(-(at**2) / 2)
    grid = np.stack([axis.ravel() for axis in np.meshgrid(*ways, indexing="ij")])
    weight = sum(axis.ravel() for axis in np.meshgrid(*chance, indexing="ij"))
    return grid, np.asarray(weight)


def _hours(moves: Moves, grid: FloatArray) -> FloatArray:
    """Hours of a print on each printer of the grid, shape (n,)."""
    speed, acceleration, start, outer, skin, jump = grid
    ratios = (outer, _RATIO[1][0], skin, _RATIO[3][0], jump, jump)
    seconds = start + _LAYER_S * moves.layers
    for ratio, count, length in zip(ratios, moves.count, moves.length_mm, strict=True):
        if length <= 0:
            continue
        fast = ratio * speed
        each = length / max(count, 1e-9)
        reaches = each >= fast**2 / acceleration
        one = np.where(reaches, each / fast + fast / acceleration, 2 * np.sqrt(each / acceleration))
        seconds = seconds + one * length / each
    return np.asarray(seconds / 3600)
