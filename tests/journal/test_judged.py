"""Trials for the verdict model and drift points for the profile, with no copying by hand."""

import math

import numpy as np
import pytest

from fitkit.core.errors import JournalError, UnitError
from fitkit.fits import Trial
from fitkit.journal import (
    Journal,
    TrialEntry,
    TrialRecord,
    drift_check,
    drift_points,
    trial_of,
    trials,
)
from fitkit.stats.uncertainty import Estimate


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
    with pytest.raises(JournalError, match=r"'stiff' is not a verdict\. There are: will not go"):
        trial_of(record, {"lid": "stiff"})
    with pytest.raises(JournalError, match="no size was judged or measured"):
        trial_of(record, {})


def simulated(folder, made, fit, *, shift_mm, seed, prints=5):
    """Prints whose sizes share a deviation with the standard uncertainty that was foretold."""
    random = np.random.default_rng(seed)
    journal = Journal(folder)
    for day in range(prints):
        record = made(day=day, fits=[fit("lid"), fit("slot", kind="inside", sense=1)])
        journal.add(record)
        shared = random.normal(0.0, 0.04) + shift_mm
        measured = {
            "lid": Estimate.of("lid", 60.02 + shared + random.normal(0, 0.02), 0.02),
            "slot": Estimate.of("slot", 60.02 - shared + random.normal(0, 0.02), 0.02),
        }
        journal.add(trial_of(record, {}, measured=measured))
    return drift_check(journal)


def test_a_measured_size_that_cannot_be_read_is_told_with_its_fit(made):
    with pytest.raises(UnitError, match=r"'60,12x': 'x' is not a unit of length") as caught:
        trial_of(made(), {}, measured={"lid": "60,12x"})
    assert (caught.value.at, caught.value.code) == (("lid", "measured"), "unit.unknown")


def test_a_verdict_on_a_pair_or_on_first_words_goes_to_each_size_meant(made, fit):
    rim, length, width, lug = (
        fit(name, pair=pair, sense=sense)
        for name, pair, sense in (
            ("rim inside length", None, 0),
            ("lid lip outside length", "lid and rim", -1),
            ("lid lip outside width", "lid and rim", -1),
            ("lidded lug", "screw hole", 1),
        )
    )
    case = made(fits=[rim, length, width, lug])
    for name in ("lid", "lid lip", "lid and rim"):
        trial = trial_of(case, {name: "tight"})
        assert {entry.name: entry.verdict for entry in trial.fits} == {
            "lid lip outside length": "tight",
            "lid lip outside width": "tight",
        }
    mixed = trial_of(case, {"lid lip outside width": "loose", "lid": "tight"})
    assert {entry.verdict for entry in mixed.fits if "width" in entry.name} == {"loose"}
    with pytest.raises(JournalError, match="has no fit 'rim'"):
        trial_of(case, {"rim": "tight"})  # it takes no gap
    with pytest.raises(JournalError, match=r"has no fit 'peg'\. It has: none\.$"):
        trial_of(made(fits=[]), {"peg": "tight"})


def test_drift_is_found_and_its_absence_rarely_mistaken(tmp_path, made, fit, monkeypatch):
    monkeypatch.setattr("os.fsync", lambda handle: None)  # many records, no fault in sight
    quiet = [simulated(tmp_path / f"q{n}", made, fit, shift_mm=0.0, seed=n) for n in range(20)]
    moved = [simulated(tmp_path / f"m{n}", made, fit, shift_mm=0.15, seed=n) for n in range(10)]
    assert sum(check.drifted for check in quiet) <= 1
    assert all(check.drifted for check in moved)
    assert moved[0].mean_mm == pytest.approx(0.15, abs=0.06)
    assert "print and measure a coupon again" in str(moved[0])
    assert (moved[0].prints, moved[0].sizes) == (5, 10)


def test_drift_by_hand(journal, made):
    record = made()
    journal.add(record)
    assert drift_check(journal) is None
    journal.add(trial_of(record, {}, measured={"lid": Estimate.of("lid", 60.12, 0.03)}))
    check = drift_check(journal)
    # z = 0.10 / hypot(0.04, 0.03) = 2; chi-square table, 1 degree of freedom: P(> 4) = 0.0455
    assert check.statistic == pytest.approx(4.0)
    assert check.p == pytest.approx(0.0455, abs=5e-5)
    assert not check.drifted
    assert str(check) == (
        "1 size measured on 1 print came out with 0.100 mm more plastic than predicted, on average "
        "(with nothing changed, chance alone does as much in 5 % of cases): no sign of drift"
    )


def holes(fit, *gaps, **changed):
    """A ladder's sizes: a hole for each gap, round a printed peg of 8 mm."""
    found = [
        fit(f"hole {n}", pair="peg and hole", kind="hole", sense=1, nominal_mm=8.0, gap_mm=gap,
            target_mm=8.0 + gap, u_target_mm=0.0, expected_mm=8.0 + gap, u_print_mm=0.03,
            drawn_mm=8.2 + gap, mark=f"{round(100 * gap)}", mate="peg", **changed)
        for n, gap in enumerate(gaps, 1)
    ]  # fmt: skip
    peg = fit(
        "peg", pair=None, wanted="this size", kind="peg", sense=0, nominal_mm=8.0, gap_mm=0.0,
        target_mm=8.0, u_target_mm=0.0, expected_mm=8.01, u_print_mm=0.04, drawn_mm=7.9,
    )  # fmt: skip
    return [*found, peg]


def test_a_size_is_called_by_its_name_or_its_mark_in_any_case(journal, made, fit):
    record = made(fits=holes(fit, 0.1, 0.25, -0.05))
    trial = trial_of(record, {"25": "TIGHT", " Hole  1 ": "Will Not  Go", "-5": "as wanted "})
    assert {entry.name: entry.verdict for entry in trial.fits} == {
        "hole 2": "tight",
        "hole 1": "will not go",
        "hole 3": "as wanted",
    }
    measured = trial_of(record, {}, measured={"10": "8.07 mm"})
    assert (measured.fits[0].name, measured.fits[0].measured_mm) == ("hole 1", 8.07)
    everywhere = trial_of(record, {"Peg and hole": "tight", "25": "loose"})
    assert [entry.verdict for entry in everywhere.fits] == ["tight", "loose", "tight"]


def test_a_mark_that_says_no_single_size_is_refused(journal, made, fit):
    record = made(fits=holes(fit, 0.101, 0.104, 0.2))
    with pytest.raises(JournalError, match="'10' is the mark of 2 sizes: hole 1, hole 2"):
        trial_of(record, {"10": "tight"})
    with pytest.raises(JournalError, match="'hole 3' was named twice"):
        trial_of(record, {"20": "tight", "hole 3": "loose"})
    with pytest.raises(JournalError, match=r"no fit '30'.*hole 3 \(marked 20\)"):
        trial_of(record, {"30": "tight"})


def test_a_size_that_no_print_can_have_is_refused_and_one_that_warped_is_taken(made):
    # "lid" is drawn 60.1 mm.
    for typed in ("6.012 mm", "601.2 mm", "2.37 mm", "60.1 in", "64.31 mm"):
        with pytest.raises(JournalError, match=r"typed where 60\.10 mm was drawn") as caught:
            trial_of(made(), {}, measured={"lid": typed})
        assert caught.value.at == ("lid", "measured")
    for read in ("57.2 mm", "62.9 mm"):
        assert trial_of(made(), {}, measured={"lid": read}).fits[0].measured_mm


def test_a_word_near_a_verdict_is_suggested(made):
    with pytest.raises(JournalError, match=r"'thight' is not a verdict\. Did you mean 'tight'\?"):
        trial_of(made(), {"lid": "thight"})


def test_the_gap_is_left_between_both_printed_halves(journal, made, fit):
    record = made(fits=holes(fit, 0.1, 0.25))
    journal.add(record)
    journal.add(trial_of(record, {"10": "tight"}))
    journal.add(trial_of(record, {"25": "loose"}, measured={"25": "8.22 mm", "peg": "7.96 mm"}))
    expected, measured = trials(journal)
    assert (expected.pair, expected.behaviour, expected.size_mm) == ("peg and hole", "slides", 8.0)
    assert expected.gap_mm == pytest.approx(8.10 - 8.01)  # the peg is expected larger
    assert expected.u_gap_mm == pytest.approx(math.hypot(0.03, 0.04))
    assert measured.gap_mm == pytest.approx(8.22 - 7.96)
    assert measured.u_gap_mm == pytest.approx(math.hypot(0.02, 0.02))


def test_a_hole_expected_a_hair_below_its_screw_still_teaches(journal, made, fit):
    screw = {"pair": "screw hole", "kind": "hole", "sense": 1, "gap_mm": 0.0, "target_mm": 4.0}
    hole = fit("hole 1", nominal_mm=4.0, **screw)
    for expected_mm in (3.999, 3.5):
        record = made(fits=[hole.model_copy(update={"expected_mm": expected_mm})])
        journal.add(record)
        journal.add(trial_of(record, {"hole 1": "will not go"}))
    # Half a millimetre of overlap is a mistake of somebody's, and no lesson about clearances.
    assert [trial.gap_mm for trial in trials(journal)] == [0.0]
