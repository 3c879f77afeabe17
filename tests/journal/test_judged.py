"""Trials for the verdict model and drift points for the profile, with no copying by hand."""

import math

import pytest

from fitkit.errors import JournalError
from fitkit.fits import Trial
from fitkit.journal import TrialEntry, TrialRecord, drift_points, trial_of, trials
from fitkit.stats.estimate import Estimate


def test_a_measured_size_gives_the_gap_of_the_parts_that_were_tried(journal, made, fit):
    record = made(fits=[fit()])
    journal.add(record)
    journal.add(
        trial_of(record, {"lid": "tight"}, measured={"lid": Estimate.of("l", 60.12, 0.015)})
    )
    (trial,) = trials(journal)
    assert isinstance(trial, Trial)
    # lid goes into a rim of 60.0 + 0.3: gap = 60.3 - 60.12
    assert trial.gap_mm == pytest.approx(0.18)
    assert trial.u_gap_mm == pytest.approx(math.hypot(0.015, 0.01))
    assert (trial.pair, trial.behaviour, trial.size_mm) == ("lid and rim", "slides", 60.3)
    assert trial.print_code == record.code


def test_without_a_measured_size_the_gap_is_as_foretold(journal, made, fit):
    hole = fit("pocket", sense=1, kind="inside", pair="object in pocket", target_mm=53.7)
    record = made(fits=[hole.model_copy(update={"gap_mm": 0.4, "expected_mm": 53.75})])
    journal.add(record)
    journal.add(trial_of(record, {"pocket": "loose"}))
    (trial,) = trials(journal)
    assert trial.gap_mm == pytest.approx(53.75 - 53.3)
    assert trial.u_gap_mm == pytest.approx(math.hypot(0.04, 0.01))


def test_filters_by_printer_and_material(journal, made):
    for printer, material in (("bench", "PETG"), ("bench", "PLA"), ("second", "PETG")):
        record = made(printer=printer, material=material)
        journal.add(record)
        journal.add(trial_of(record, {"lid": "as wanted"}))
    assert len(trials(journal)) == 3
    assert len(trials(journal, printer="bench")) == 2
    assert len(trials(journal, printer="bench", material="PETG")) == 1


def test_corrected_trials_and_prints_count_once_as_corrected(journal, made):
    record = made()
    journal.add(record)
    trial = trial_of(record, {"lid": "tight"}, measured={"lid": "60.12 mm"})
    journal.add(trial)
    journal.add(trial.corrected("misread", fits=(TrialEntry(name="lid", verdict="loose"),)))
    better = record.corrected("wrong printer", printer="second")
    journal.add(better)
    (found,) = trials(journal)
    assert found.verdict == "loose"
    assert trials(journal, printer="bench") == ()
    assert found.print_code == better.code
    assert drift_points(journal) == ()


def test_trials_without_a_print(journal):
    entry = TrialEntry(
        name="peg", pair="peg and hole", size_mm=8.0, gap_mm=0.2, verdict="as wanted"
    )
    journal.add(TrialRecord(fits=(entry,), extra={"behaviour": "rotates freely"}))
    (trial,) = trials(journal)
    assert (trial.behaviour, trial.gap_mm) == ("rotates freely", 0.2)


def test_drift_points_hold_what_was_foretold_and_found(journal, made):
    record = made()
    journal.add(record)
    journal.add(trial_of(record, {}, measured={"lid": "60.12 mm"}, u_measured="0.03 mm"))
    journal.add(trial_of(record, {}, measured={"lid": "60.3 mm"}, finished=True))
    (point,) = drift_points(journal, printer="bench", material="PETG")
    assert (point.drawn_mm, point.expected_mm, point.measured_mm) == (60.1, 60.02, 60.12)
    assert (point.kind, point.u_measured_mm) == ("outside", 0.03)
    assert trials(journal) == ()


def test_entries_are_checked(made):
    record = made()
    with pytest.raises(JournalError, match=r"no fit 'lib'\. Did you mean 'lid'"):
        trial_of(record, {"lib": "tight"})
    with pytest.raises(JournalError, match=r"'stiff' is no verdict\. There are: will not go"):
        trial_of(record, {"lid": "stiff"})
    with pytest.raises(JournalError, match="no fit was judged or measured"):
        trial_of(record, {})
