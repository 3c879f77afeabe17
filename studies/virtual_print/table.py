"""The table: sizes and parts as wanted, errors, and whether the ± holds, by way, kind and part."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import machines
from studies.virtual_print.parts import PARTS
from studies.virtual_print.ways import LONG, ByHand, Fitkit, None_, OneScale

if TYPE_CHECKING:
    from collections.abc import Mapping

    from studies.virtual_print.machine import Machine
    from studies.virtual_print.ways import Way

__all__ = ["WAYS", "Tally", "run", "told"]

WAYS = (
    "no compensation",
    "one scale factor",
    "offsets and scale by hand",
    "fitkit, nothing measured",
    "fitkit, short coupon",
    "fitkit, two short coupons",
    "fitkit, short coupon and a measured print",
    "fitkit, long coupon, each feature read twice",
)


@dataclass
class Tally:
    """What came out of one way on one class of machines; lists hold one entry a machine's size."""

    error: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    held: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    U_mm: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    size_fits: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    part_fits: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    # Machine by machine: the sort of each size, and whether its ± held.
    by_machine: list[list[tuple[str, bool]]] = field(default_factory=list)
    again: list[int] = field(default_factory=list)

    def all(self, what: Mapping[str, list[float]] | Mapping[str, list[bool]]) -> np.ndarray:
        """Put together what is kept by kind or by part."""
        return np.array([one for found in what.values() for one in found], dtype=float)


def run(count: int, *, odd: bool, seed: int = 1) -> dict[str, Tally]:
    """Let every way draw every part for a number of machines of one class."""
    found = {name: Tally() for name in WAYS}
    for number, machine in enumerate(machines(count, odd=odd, seed=seed)):
        for name, way in _ways(machine, number).items():
            tally = found[name]
            tally.by_machine.append([])
            if isinstance(way, Fitkit):
                tally.again.append(way.again)
            for part, wanted in PARTS.items():
                _print(
                    machine,
                    way,
                    part,
                    [w.shape for w in wanted],
                    [w.half_mm for w in wanted],
                    tally,
                )
    return found


def _print(machine: Machine, way: Way, part: str, shapes, halves, tally: Tally) -> None:  # type: ignore[no-untyped-def]
    drawn = way.draw(shapes, part)
    made = [shape.drawn(mm) for shape, mm in zip(shapes, drawn, strict=True)]
    true = machine.printed(made, night=4 + list(PARTS).index(part))
    fits = []
    for shape, half, mm in zip(shapes, halves, true, strict=True):
        tally.error[shape.sort].append(mm - shape.mm)
        fits.append(abs(mm - shape.mm) <= half)
        tally.size_fits[part].append(fits[-1])
    tally.part_fits[part].append(all(fits))
    if isinstance(way, Fitkit):
        expected, widths = way.expected(shapes, drawn, part)
        for shape, mm, mean, wide in zip(shapes, true, expected, widths, strict=True):
            tally.held[shape.sort].append(abs(mm - mean) <= wide)
            tally.U_mm[shape.sort].append(wide)
            tally.by_machine[-1].append((shape.sort, abs(mm - mean) <= wide))


def _ways(machine: Machine, number: int) -> dict[str, Way]:
    seed = 5000 + 2 * number + machine.odd
    short, two, more, long = Fitkit(), Fitkit(), Fitkit(), Fitkit()
    calipers = Calipers.drawn(seed)
    short.learn_coupon(machine, calipers, night=1)
    two.read = list(short.read)
    two.learn_coupon(machine, calipers, night=2)
    long.learn_coupon(machine, Calipers.drawn(seed), night=1, shapes=LONG)
    more.read = list(short.read)
    # Another print that somebody measured: a tray that is none of the seven parts.
    shapes = [w.shape for w in PARTS["board case"][:2]] + [PARTS["sleeve"][0].shape]
    drawn = [s.drawn(mm) for s, mm in zip(shapes, more.draw(shapes, "tray"), strict=True)]
    more.learn_print("tray", drawn, machine.printed(drawn, night=3), calipers, code="tray 3")
    return {
        "no compensation": None_(),
        # Who works by hand with few readings sees a slip and reads again.
        "one scale factor": OneScale.learned(machine, Calipers.drawn(seed, slips=0.0)),
        "offsets and scale by hand": ByHand.learned(machine, Calipers.drawn(seed, slips=0.0)),
        "fitkit, nothing measured": Fitkit(),
        "fitkit, short coupon": short,
        "fitkit, two short coupons": two,
        "fitkit, short coupon and a measured print": more,
        "fitkit, long coupon, each feature read twice": long,
    }


def told(found: Mapping[str, Tally], *, head: str) -> str:
    """Set the tallies out as two Markdown tables: by way, and by kind of size."""
    hand = _rms(found["offsets and scale by hand"])
    lines = [
        f"### {head}",
        "",
        "| way | size error (rms, mm) | against by hand | sizes as wanted | whole parts | "
        "board case | ± holds | mean ± (mm) |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name, tally in found.items():
        rms = _rms(tally)
        held = tally.all(tally.held)
        line = (
            f"| {name} | {rms:.3f} | {rms / hand:.2f} | {tally.all(tally.size_fits).mean():.2f} | "
            f"{tally.all(tally.part_fits).mean():.2f} | "
            f"{np.mean(tally.part_fits['board case']):.2f} | "
        )
        if len(held):
            line += f"{held.mean():.3f} ± {_se(tally):.3f} | {tally.all(tally.U_mm).mean():.3f} |"
        else:
            line += "| |"
        lines.append(line)
    lines += [
        "",
        "| kind of size | ± holds, nothing measured | short coupon | mean ± (mm) | "
        "rms error (mm) | by hand (mm) |",
        "|---|---|---|---|---|---|",
    ]
    generic, short = found["fitkit, nothing measured"], found["fitkit, short coupon"]
    for sort in short.held:
        lines.append(
            f"| {sort} | {np.mean(generic.held[sort]):.3f} | {np.mean(short.held[sort]):.3f} ± "
            f"{_se(short, sort):.3f} | "
            f"{np.mean(short.U_mm[sort]):.3f} | {_root(short.error[sort]):.3f} | "
            f"{_root(found['offsets and scale by hand'].error[sort]):.3f} |"
        )
    lines += ["", "| part | by hand | short coupon |", "|---|---|---|"]
    for part in PARTS:
        lines.append(
            f"| {part} | {np.mean(found['offsets and scale by hand'].part_fits[part]):.2f} | "
            f"{np.mean(short.part_fits[part]):.2f} |"
        )
    lines += [
        "",
        f"Readings asked for again on a short coupon: {np.mean(short.again):.1f} on average.",
    ]
    return "\n".join(lines)


def _rms(tally: Tally) -> float:
    return _root([one for found in tally.error.values() for one in found])


def _root(found: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(found))))


def _se(tally: Tally, sort: str = "") -> float:
    """Standard error of the coverage: machines are independent, sizes of one machine are not."""
    shares = [
        np.mean([held for one, held in rows if sort in ("", one)]) for rows in tally.by_machine
    ]
    return float(np.std(shares, ddof=1) / np.sqrt(len(shares)))
