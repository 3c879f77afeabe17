"""What the journal knows against a profile reaches every size that rests on it."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest

from fitkit.demo import copy_demo
from fitkit.flow import load_sheet, prepare, read_inputs
from fitkit.journal import Journal, MachineRecord, PrintRecord, trace_code, trial_of

ROOT = Path(__file__).parents[2]


@pytest.fixture
def sheet(tmp_path):
    """The demo's sheet with an empty journal, where a test may write."""
    copy_demo(tmp_path)
    shutil.rmtree(tmp_path / "measurements" / "journal")
    return load_sheet(tmp_path / "measurements" / "sound_board.toml")


def notes_of(plan):
    return {note for row in plan.rows for note in row.size.notes}


@pytest.mark.parametrize(("read_on", "aged"), [("2026-03-02", True), ("2026-03-10", False)])
def test_the_demos_nozzle_change_counts_against_coupons_before_it(sheet, read_on, aged):
    shutil.copytree(ROOT / "measurements" / "journal", sheet.path(sheet.journal))
    coupon = sheet.path(sheet.printer.coupon)
    table = pd.read_csv(coupon, dtype=str, keep_default_na=False)
    table.assign(taken_at=read_on).to_csv(coupon, index=False)
    told = [note for note in notes_of(prepare(sheet)) if note.startswith("made before")]
    assert bool(told) is aged
    assert all("change of nozzle on 2026-03-09" in note for note in told)
    assert all("print and measure a coupon again" in note for note in told)


def test_the_demos_gaps_rest_on_trials_of_its_own_printer():
    plan = prepare(load_sheet(ROOT / "measurements" / "sound_board.toml"))
    bases = {row.gap.basis for row in plan.rows if row.gap}
    assert bases == {f"{len(plan.inputs.trials)} trials on this printer"}
    assert len(plan.inputs.trials) > 10


def test_a_machine_change_noted_today_is_told_at_the_next_print(sheet):
    assert not any(note.startswith("made before") for note in notes_of(prepare(sheet)))
    Journal(sheet.path(sheet.journal)).add(
        MachineRecord(
            code=trace_code(),
            made_at=datetime(2026, 4, 1, tzinfo=UTC),
            printer=read_inputs(sheet).profile.printer,
            what="spool",
            was="grey",
            now="blue",
        )
    )
    assert any("change of spool on 2026-04-01" in note for note in notes_of(prepare(sheet)))


@pytest.mark.parametrize(("off_mm", "drifted"), [(0.0, False), (0.4, True)])
def test_sizes_measured_on_later_prints_tell_of_drift(sheet, off_mm, drifted):
    journal = Journal(sheet.path(sheet.journal))
    for _ in range(2):
        plan = prepare(sheet)
        made = PrintRecord.new(
            code=trace_code(),
            title=sheet.title,
            template=plan.template,
            sheet=sheet,
            readings=[],
            measured=plan.inputs.estimates,
            profile=plan.inputs.profile,
            fits=plan.rows,
        )
        journal.add(made)
        sizes = {
            fit.name: f"{fit.expected_mm - off_mm:.3f} mm"
            for fit in made.fits
            if fit.kind == "inside"
        }
        journal.add(trial_of(made, {}, measured=sizes))
    told = [note for note in notes_of(prepare(sheet)) if note.startswith("later prints")]
    assert bool(told) is drifted
