"""Verdicts that are taken back: they count for nothing, and stay as history."""

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import (
    NoteRecord,
    drift_points,
    history,
    trial_of,
    trials,
    withdraw,
)
from fitkit.journal.binder import pages
from fitkit.journal.lookup import select, success_periods, summaries
from fitkit.journal.withdrawal import trials_of


@pytest.fixture
def record(journal, made):
    record = made()
    journal.add(record)
    return record


def judged(journal, record, verdict, **rest):
    trial = trial_of(record, {"lid": verdict}, **rest)
    journal.add(trial)
    return trial


def test_a_withdrawn_verdict_teaches_and_counts_no_more(journal, record):
    trial = judged(journal, record, "tight", measured={"lid": "60.12 mm"})
    taken = withdraw(journal, trial.code.lower(), because="tried the wrong lid", maker="J")
    assert (taken.supersedes, taken.withdrawn, taken.maker) == (trial.code, True, "J")
    assert trials(journal) == ()
    assert drift_points(journal) == ()
    (period,) = success_periods(journal)
    assert (period.first_prints, period.tried) == (1, 0)
    # Both records are there: nothing was rewritten.
    assert journal.get(trial.code, corrected=True) == trial
    assert journal.get(trial.code) == taken


def test_the_code_of_a_print_means_its_newest_verdict(journal, record):
    judged(journal, record, "tight")
    second = judged(journal, record, "loose")
    assert withdraw(journal, record.code).supersedes == second.code
    found = {item.code: item.verdict for item in summaries(journal)}
    assert found[record.code] == "tight (lid)"
    withdraw(journal, record.code)
    assert [item.verdict for item in summaries(journal) if item.kind == "print"] == ["not tried"]
    with pytest.raises(JournalError, match="no verdict on 'sound board case' left to withdraw"):
        withdraw(journal, record.code)


def test_verdicts_are_found_through_a_correction_of_the_print(journal, record):
    trial = judged(journal, record, "tight")
    better = record.corrected("wrong spool", spool="blue")
    journal.add(better)
    best = better.corrected("wrong nozzle", nozzle="0.4 mm")
    journal.add(best)
    assert trials_of(journal, best) == (trial,)
    assert withdraw(journal, record.code).supersedes == trial.code


def test_what_was_taken_back_shows_in_log_history_and_binder(journal, record):
    trial = judged(journal, record, "tight")
    withdraw(journal, trial.code, because="wrong lid")
    (shown,) = select(summaries(journal), verdict="Withdrawn")
    assert (shown.kind, shown.verdict) == ("trial", "withdrawn: tight (lid)")
    assert select(summaries(journal), verdict="tight") == []
    (version,) = history(journal, record.title)
    assert (version.verdict, version.trials) == ("not tried", ())
    assert [trial.reason for trial in version.withdrawn] == ["wrong lid"]
    (page,) = pages(journal)
    assert any("lid tight, because: wrong lid" in word for word in page.notes)
    assert page.sizes[0][-1] == "not tried"


def test_only_a_verdict_that_counts_can_be_withdrawn(journal, record):
    trial = judged(journal, record, "tight")
    withdraw(journal, trial.code)
    with pytest.raises(JournalError, match="is withdrawn already"):
        withdraw(journal, trial.code)
    note = NoteRecord(of=record.code, notes=("in bin 4",))
    journal.add(note)
    with pytest.raises(JournalError, match="is a note record; only verdicts and breakages are"):
        withdraw(journal, note.code)
    assert [r.kind for r in journal.records(corrected=True)].count("trial") == 2
