"""Does the ± hold on other people's prints? Each printer, or each size, left out in turn.

A printer left out: the prior is learned from the records of the others, and its ± is held against
what the printer's owner read. A size left out: the same prior is updated by the owner's other
sizes, as a coupon would, and the ± of the size left out is held against its reading. That is the
nearest to one's own calibration that other people's figures allow; their printers were read once,
to a hundredth at best, and the kinds are put right where a record's own word misleads.

``python -m studies.records_left_out`` prints both tables.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from fitkit.calibration.posterior import Evidence, learn
from fitkit.fits.iso286 import tolerance_grade
from studies.printer_prior import jaws_sd_mm, learn_prior, records

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.calibration.prior import Prior
    from studies.printer_prior import Record

__all__ = ["LeftOut", "printers_left_out", "priors", "sizes_left_out", "table"]

# Hobby calipers, read once: common practice, no source.
READ_U_MM = 0.02
# A printer of fewer sizes has none that others could tell of.
FEWEST = 3


class LeftOut(NamedTuple):
    """One size that was predicted without its own reading; all but kind in mm."""

    record: str
    kind: str
    drawn_mm: float
    error_mm: float
    u_mm: float
    U95_mm: float

    @property
    def held(self) -> bool:
        """Whether the reading lies within the ±."""
        return abs(self.error_mm) <= self.U95_mm


def priors(*, steps: int = 240) -> dict[str, Prior]:
    """Give the prior learned without each record, by its name.

    Parameters
    ----------
    steps : int
        Of the sampler, as `studies.printer_prior.learn_prior` takes them.

    Returns
    -------
    dict of str to Prior
    """
    names = [record.name for record in records()]
    return {name: learn_prior(records(without=name), steps=steps) for name in names}


def printers_left_out(found: dict[str, Prior]) -> list[LeftOut]:
    """Predict all sizes of each printer from the other printers alone."""
    rows = []
    for record in records():
        rows += _predicted(record, range(len(record.sizes)), found[record.name], None)
    return rows


def sizes_left_out(found: dict[str, Prior]) -> list[LeftOut]:
    """Predict each size from all other sizes of its printer."""
    rows = []
    for record in records():
        count = len(record.sizes)
        if count < FEWEST:
            continue
        for at in range(count):
            others = [i for i in range(count) if i != at]
            sizes = record.sizes.rows(others)
            jaws = jaws_sd_mm(sizes)
            evidence = Evidence(
                sizes=sizes,
                read_mm=sizes.drawn + record.residual_mm[others],
                own=np.full(count - 1, READ_U_MM**2),
                shared=np.outer(jaws, jaws),
                coupon=np.ones(count - 1, dtype=bool),
            )
            rows += _predicted(record, [at], found[record.name], evidence)
    return rows


def _predicted(
    record: Record, which: Iterable[int], prior: Prior, evidence: Evidence | None
) -> list[LeftOut]:
    which = list(which)
    sizes = record.sizes.rows(which)
    found = learn(prior, evidence).predict(sizes)
    error = sizes.drawn + record.residual_mm[which] - found.mean_mm
    # The reading that is held against the ± has an error of its own.
    read = READ_U_MM if evidence is not None else 0.0
    return [
        LeftOut(
            record=record.name,
            kind=str(sizes.asked[i].kind),
            drawn_mm=float(sizes.drawn[i]),
            error_mm=float(error[i]),
            u_mm=math.hypot(found.u_mm[i], read),
            U95_mm=math.hypot(found.U95_mm[i], 1.96 * read),
        )
        for i in range(len(which))
    ]


def table(rows: Sequence[LeftOut], *, head: str, by: Literal["kind", "record"] = "kind") -> str:
    """Set rows out as a Markdown table, a line a kind of size or a record, and one for all.

    Parameters
    ----------
    rows : sequence of LeftOut
    head : str
        What stands above the table.
    by : {"kind", "record"}

    Returns
    -------
    str
        The grade is the finest of ISO 286 that is as wide as twice the mean ± at the geometric
        middle of the sizes.
    """
    kinds: dict[str, list[LeftOut]] = defaultdict(list)
    for row in rows:
        kinds[getattr(row, by)].append(row)
    lines = [
        f"### {head}",
        "",
        f"| {'kind of size' if by == 'kind' else by} | sizes | ± holds | rms error (mm) | "
        "mean ± (mm) | at 95 % |",
        "|---|---|---|---|---|---|",
    ]
    for kind, some in (*sorted(kinds.items()), ("all", list(rows))):
        wide = float(np.mean([row.U95_mm for row in some]))
        middle = math.exp(np.mean([math.log(row.drawn_mm) for row in some]))
        grade = tolerance_grade(f"{2 * wide!r} mm", f"{middle!r} mm")
        lines.append(
            f"| {kind} | {len(some)} | {sum(row.held for row in some)} | "
            f"{math.sqrt(np.mean([row.error_mm**2 for row in some])):.3f} | {wide:.3f} | "
            f"{f'IT{grade}' if grade else 'beyond IT18'} at {middle:.0f} mm |"
        )
    return "\n".join(lines)


def main() -> None:
    """Print both tables."""
    found = priors()
    print(table(printers_left_out(found), head="A printer left out"))
    print()
    own = sizes_left_out(found)
    print(table(own, head="A size left out, the printer's others read"))
    print()
    print(table(own, head="The same by printer", by="record"))


if __name__ == "__main__":
    main()
