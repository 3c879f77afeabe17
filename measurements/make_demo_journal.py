"""Make the demo journal: a few invented prints of the listening post and how they fitted.

    .venv/bin/python measurements/make_demo_journal.py

The sizes come from the sound board's sheet by the same calls that `fitkit make` uses; what was
"measured" on the prints and how they fitted is invented by a seeded generator, for a printer that
makes outsides 0.12 mm too wide and insides as much too narrow. The first print rests on the generic
profile and comes out tight; before the second, nozzle, spool and the lid's gap all changed.
"""

from __future__ import annotations

import shutil
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fitkit.flow import FitWish, Plan, PrinterChoice, build, load_sheet, prepare
from fitkit.journal import (
    Journal,
    MachineRecord,
    NoteRecord,
    PrintRecord,
    TrialEntry,
    TrialRecord,
    trace_code,
)

if TYPE_CHECKING:
    from fitkit.flow import PartSheet
    from fitkit.parts.contract import Part

HERE = Path(__file__).parent
PRINTER = "bench printer A"
INVENTED = "invented for the demo"
# What the invented printer adds to a drawn size beyond what the generic profile foretells, mm.
BIAS_MM = {"outside": 0.12, "peg": 0.12, "inside": -0.12, "hole": -0.15}


def main(folder: Path, *, solids: bool = True) -> None:
    """Write the demo journal into an empty folder; its own .gitignore stays."""
    for old in folder.iterdir() if folder.is_dir() else ():
        if old.is_dir():
            shutil.rmtree(old)
        elif old.name != ".gitignore":
            old.unlink()
    journal, random = Journal(folder), np.random.default_rng(20_260_302)
    sheet = load_sheet(HERE / "sound_board.toml")
    sheet = sheet.model_copy(update={"printer": PrinterChoice(generic="PETG"), "journal": None})

    first = _printed(journal, sheet, day=2, spool="grey, opened in February", solids=solids)
    _tried(journal, first, random, day=3, bias=1.0)
    journal.add(
        MachineRecord(
            code=trace_code(of=b"nozzle"),
            made_at=_at(9),
            printer=PRINTER,
            what="nozzle",
            was="0.4 mm brass, worn",
            now="0.4 mm hardened steel",
            notes=(INVENTED,),
        )
    )
    wider = sheet.model_copy(update={"fits": {"lid and rim": FitWish(gap="0.45 mm")}})
    second = _printed(journal, wider, day=11, spool="blue, opened in March", solids=solids)
    _tried(journal, second, random, day=12, bias=0.5)
    journal.add(
        NoteRecord(
            code=trace_code(of=b"bin"),
            made_at=_at(12),
            of=second.code,
            notes=("in the bin by the otter pond door; " + INVENTED,),
        )
    )
    _ladder(journal, random)


def _at(day: int, hour: int = 10) -> datetime:
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def _printed(
    journal: Journal, sheet: PartSheet, *, day: int, spool: str, solids: bool
) -> PrintRecord:
    code = trace_code(of=f"sound board case {day}".encode())
    plan: Plan = prepare(sheet, label=code)
    part: Part | None = build(plan) if solids else None
    record = PrintRecord.new(
        code=code,
        made_at=_at(day),
        maker="exhibits bench",
        title=sheet.title,
        template=plan.template,
        sheet=sheet,
        readings=[HERE / str(sheet.readings)],
        measured=plan.inputs.estimates,
        profile=plan.inputs.profile,
        fits=plan.rows,
        part=part,
        printer=PRINTER,
        spool=spool,
        notes=INVENTED,
    )
    journal.add(record)
    return record


def _tried(
    journal: Journal, record: PrintRecord, random: np.random.Generator, *, day: int, bias: float
) -> None:
    entries = []
    for fit in record.fits:
        if not fit.sense:
            continue
        shift = bias * BIAS_MM.get(fit.kind, 0.0) + random.normal(0.0, 0.02)
        measured_mm = round(fit.expected_mm + shift, 2)
        off_mm = fit.sense * (measured_mm - fit.thing_mm) - fit.gap_mm
        verdict = "tight" if off_mm < -0.1 else "loose" if off_mm > 0.1 else "as wanted"
        entries.append(TrialEntry(name=fit.name, measured_mm=measured_mm, verdict=verdict))
    journal.add(
        TrialRecord(
            code=trace_code(of=f"trial {day}".encode()),
            made_at=_at(day),
            maker="exhibits bench",
            of=record.code,
            fits=tuple(entries),
            printer=record.printer,
            material=record.material,
            notes=(INVENTED,),
        )
    )


def _ladder(journal: Journal, random: np.random.Generator) -> None:
    """A ladder of pegs in holes: the gap at which they turn freely is 0.3 mm, or near it."""
    for number, gap_mm in enumerate((0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.50)):
        felt_mm = gap_mm + random.normal(0.0, 0.03)
        verdict = "tight" if felt_mm < 0.22 else "loose" if felt_mm > 0.42 else "as wanted"
        entry = TrialEntry(
            name=f"peg {number + 1}",
            pair="peg and hole",
            size_mm=8.0,
            gap_mm=gap_mm,
            u_gap_mm=0.03,
            verdict=verdict,
        )
        journal.add(
            TrialRecord(
                code=trace_code(of=f"ladder {number}".encode()),
                made_at=_at(6, 9 + number),
                maker="exhibits bench",
                fits=(entry,),
                printer=PRINTER,
                material="PETG",
                notes=(INVENTED,),
                extra={"behaviour": "rotates freely"},
            )
        )


if __name__ == "__main__":
    main(HERE / "journal", solids="--no-solids" not in sys.argv)
