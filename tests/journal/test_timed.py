"""How long prints took: typed, kept, and given to the estimate of the next one."""

from __future__ import annotations

import pytest

from fitkit.checks.moves import KINDS, Moves
from fitkit.core.errors import JournalError
from fitkit.journal import FitEntry, Journal, PrintRecord, TrialRecord, trial_of
from fitkit.journal.timed import hours_of, timed_prints

MOVES = Moves(count=(10.0,) * len(KINDS), length_mm=(100.0,) * len(KINDS), layers=9, plastic_mm3=8)


def made(journal: Journal, printer: str = "Bench", **rest: object) -> PrintRecord:
    fit = FitEntry(
        name="lid", kind="inside", sense=1, target_mm=60.2, drawn_mm=60.3, expected_mm=60.2,
        U95_mm=0.1,
    )  # fmt: skip
    values = {"cost": {"moves": MOVES.content()}} | rest
    record = PrintRecord.new(
        title="lid", template="box lid", fits=[fit], printer=printer, versions={}, **values
    )
    journal.add(record)
    return record


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("1:35", 95 / 60),
        ("0:05", 5 / 60),
        ("12:00:36", 12.01),
        ("95 min", 95 / 60),
        ("1.5 h", 1.5),
        ("1,5 h", 1.5),
        ("1 h 35 min", 95 / 60),
    ],
)
def test_a_time_is_read_as_people_write_it(typed: str, hours: float) -> None:
    assert hours_of(typed) == pytest.approx(hours)


@pytest.mark.parametrize("typed", ["", "soon", "1:75", "0:00", "-1:00", "95", "9999 h", "1:2:3:4"])
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(JournalError, match="not the time that a print took"):
        hours_of(typed)


def test_a_time_alone_is_worth_writing_down(tmp_path) -> None:
    journal = Journal(tmp_path)
    record = made(journal)
    journal.add(trial_of(record, {}, took="1:35"))
    (timed,) = timed_prints(journal, printer="Bench")
    assert timed.hours == pytest.approx(95 / 60)
    assert timed.moves == MOVES


def test_the_last_time_counts_and_other_printers_do_not(tmp_path) -> None:
    journal = Journal(tmp_path)
    first, other = made(journal), made(journal, printer="Fast one")
    bare = made(journal, cost={})
    for record, took in ((first, "1:00"), (first, "1:20"), (other, "0:20"), (bare, "0:30")):
        journal.add(trial_of(record, {"lid": "as wanted"}, took=took))
    assert [t.hours for t in timed_prints(journal, printer="Bench")] == [pytest.approx(4 / 3)]


def test_a_trial_that_says_nothing_is_refused(tmp_path) -> None:
    record = made(Journal(tmp_path))
    with pytest.raises(JournalError, match="no size was judged or measured"):
        trial_of(record, {})
    with pytest.raises(ValueError, match="needs a fit"):
        TrialRecord(of=record.code)
