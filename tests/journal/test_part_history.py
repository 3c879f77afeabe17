"""The life of a part: all that changed between two prints, and no credit to one thing alone."""

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import MachineRecord, history, trial_of


def test_three_things_changed_at_once_and_none_is_credited_alone(journal, made, fit):
    first = made(spool="grey", fits=[fit(gap_mm=0.2, target_mm=60.1, drawn_mm=60.2)])
    second = made(day=5, spool="blue", fits=[fit(gap_mm=0.3, target_mm=60.0, drawn_mm=60.1)])
    journal.add(first)
    journal.add(
        MachineRecord(
            printer="bench", what="nozzle", was="brass", now="steel",
            made_at=first.made_at.replace(day=4),
        )
    )  # fmt: skip
    journal.add(MachineRecord(printer="second", what="belt", made_at=first.made_at.replace(day=4)))
    journal.add(second)
    journal.add(trial_of(first, {"lid": "tight"}))
    journal.add(trial_of(second, {"lid": "as wanted"}))
    one, two = history(journal, "Sound Board Case")
    assert (one.verdict, two.verdict) == ("tight (lid)", "as wanted")
    inputs = {c.what: (c.was, c.now) for c in two.changes if c.role == "input"}
    assert inputs == {
        "spool": ("grey", "blue"),
        "lid: gap": ("0.200 mm", "0.300 mm"),
        "bench: nozzle": ("brass", "steel"),
    }
    results = {c.what for c in two.changes if c.role == "result"}
    assert results == {"lid: target", "lid: drawn"}
    assert two.lesson.startswith("3 inputs changed at once (spool, lid: gap, bench: nozzle)")
    assert "cannot be put down to one" in two.lesson
    assert one.changes == ()


def test_one_change_is_named(journal, made):
    journal.add(made())
    journal.add(made(day=1, material="PLA"))
    assert history(journal, "sound board case")[1].lesson == "only one input changed: material"


def test_the_label_and_a_like_print_are_no_change(journal, made):
    journal.add(made(values={"wall": "2.4 mm", "label": "AAA"}))
    journal.add(made(day=1, values={"wall": "2.4 mm", "label": "BBB"}))
    assert history(journal, "sound board case")[1].changes == ()


def test_readings_and_profile_count_as_inputs_and_their_numbers_as_results(journal, made):
    sheet = {"values": {"board_length": "board length"}}
    terms = {
        "name": "bench-petg",
        "provenance": {"made_on": "2026-02-01"},
        "terms": {"scale": 0.99},
    }
    later = {**terms, "terms": {"scale": 0.98}}
    journal.add(made(sheet=sheet, profile=terms))
    journal.add(made(day=1, sheet=sheet, profile=later, values={"board_length": "68.6 mm"}))
    two = history(journal, "sound board case")[1]
    assert [c.what for c in two.changes if c.role == "input"] == ["profile"]
    assert "profile scale: 0.99 -> 0.98" in [str(c) for c in two.changes if c.role == "result"]


def test_by_trace_code_and_with_a_hint_at_the_right_name(journal, made):
    record = made()
    journal.add(record)
    assert history(journal, record.code.lower())[0].record == record
    with pytest.raises(JournalError, match="Did you mean 'sound board case'"):
        history(journal, "sound bord case")
