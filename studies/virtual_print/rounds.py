"""Print until it fits: each part is printed, measured and drawn again, up to six times.

A size that is as wanted is kept as it is drawn; all others are drawn again by what was read. By
hand that is the error read, taken off; fitkit takes the readings as more of the same printer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import machines
from studies.virtual_print.parts import PARTS
from studies.virtual_print.ways import ByHand, Fitkit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from studies.virtual_print.machine import Machine
    from studies.virtual_print.parts import Wanted
    from studies.virtual_print.shapes import Shape

__all__ = ["MOST", "Rounds", "run_rounds", "told_rounds"]

MOST = 6


class Learner(Protocol):
    """A way that goes on learning from a part's prints."""

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """Give drawn sizes in mm."""

    def saw(self, drawn: Sequence[Shape], read_mm: Sequence[float], part: str, code: str) -> None:
        """Learn from a print that was measured."""


@dataclass
class Corrected:
    """By hand: begin by offsets and scale, then take off the error that was read."""

    hand: ByHand
    next_mm: dict[str, float] = field(default_factory=dict)

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """As corrected, or by offsets and scale at first."""
        first = self.hand.draw(wanted, part)
        return [self.next_mm.get(shape.name, mm) for shape, mm in zip(wanted, first, strict=True)]

    def saw(self, drawn: Sequence[Shape], read_mm: Sequence[float], part: str, code: str) -> None:
        """Take the errors off."""
        targets = {wanted.shape.name: wanted.shape.mm for wanted in PARTS[part]}
        for shape, read in zip(drawn, read_mm, strict=True):
            self.next_mm[shape.name] = shape.mm - (
                self.hand.true_of(shape, read) - targets[shape.name]
            )


@dataclass
class Updated:
    """fitkit's model, beginning with what a coupon told, if any."""

    way: Fitkit

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """By all that was read so far."""
        return self.way.draw(wanted, part)

    def saw(self, drawn: Sequence[Shape], read_mm: Sequence[float], part: str, code: str) -> None:
        """Join the readings."""
        self.way.read += [(shape, mm, code, part) for shape, mm in zip(drawn, read_mm, strict=True)]


@dataclass
class Rounds:
    """The print at which each part of each machine fitted, `MOST` + 1 if none did."""

    fitted_at: dict[str, list[int]] = field(default_factory=lambda: {p: [] for p in PARTS})

    def by(self, print_number: int) -> float:
        """Share of parts that fit by a print."""
        return float(
            np.mean([n <= print_number for found in self.fitted_at.values() for n in found])
        )

    @property
    def prints(self) -> float:
        """Mean number of prints until a part fits."""
        return float(np.mean([n for found in self.fitted_at.values() for n in found]))


def run_rounds(count: int, *, odd: bool, seed: int = 1) -> dict[str, Rounds]:
    """Let each way print each part of each machine until it fits.

    Parameters
    ----------
    count : int
        Machines.
    odd : bool
        Of which class.
    seed : int

    Returns
    -------
    dict of way to Rounds
    """
    found: dict[str, Rounds] = {}
    for number, machine in enumerate(machines(count, odd=odd, seed=seed)):
        pair = 5000 + 2 * number + machine.odd
        hand = ByHand.learned(machine, Calipers.drawn(pair, slips=0.0))
        short = Fitkit()
        short.learn_coupon(machine, Calipers.drawn(pair), night=1)
        for index, (part, wanted) in enumerate(PARTS.items()):
            ways: dict[str, Learner] = {
                "offsets and scale by hand, then corrected": Corrected(hand),
                "fitkit, nothing measured before": Updated(Fitkit()),
                "fitkit, short coupon": Updated(Fitkit(read=list(short.read))),
            }
            for name, way in ways.items():
                at = _until_it_fits(machine, way, part, wanted, index, pair)
                found.setdefault(name, Rounds()).fitted_at[part].append(at)
    return found


def _until_it_fits(
    machine: Machine, way: Learner, part: str, wanted: Sequence[Wanted], index: int, pair: int
) -> int:
    # Who measures a part sees a slip beside what he expected, and reads again.
    calipers = Calipers.drawn(pair, slips=0.0)
    shapes = [one.shape for one in wanted]
    kept: dict[str, float] = {}
    for number in range(1, MOST + 1):
        drawn = [
            shape.drawn(kept.get(shape.name, mm))
            for shape, mm in zip(shapes, way.draw(shapes, part), strict=True)
        ]
        true = machine.printed(drawn, night=4 + index + len(PARTS) * (number - 1))
        good = [abs(mm - one.shape.mm) <= one.half_mm for one, mm in zip(wanted, true, strict=True)]
        if all(good):
            return number
        kept |= {shape.name: shape.mm for shape, fits in zip(drawn, good, strict=True) if fits}
        read = [calipers.read(shape, mm) for shape, mm in zip(drawn, true, strict=True)]
        way.saw(drawn, read, part, f"{part} {number}")
    return MOST + 1


def told_rounds(found: Mapping[str, Rounds], *, head: str) -> str:
    """Set out, a line a way, how many parts fit by the first, second and third print.

    Parameters
    ----------
    found : mapping of way to Rounds
    head : str

    Returns
    -------
    str
        A Markdown table.
    """
    lines = [
        f"#### {head}: measured and drawn again",
        "",
        "| way | parts that fit by print 1 | 2 | 3 | prints until it fits | board case |",
        "|---|---|---|---|---|---|",
    ]
    for name, rounds in found.items():
        case = float(np.mean(rounds.fitted_at["board case"]))
        lines.append(
            f"| {name} | {rounds.by(1):.2f} | {rounds.by(2):.2f} | {rounds.by(3):.2f} | "
            f"{rounds.prints:.2f} | {case:.2f} |"
        )
    return "\n".join(lines)
