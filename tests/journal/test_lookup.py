"""Tables, filters, verdicts by print, success at the first print."""

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import NoteRecord, first_print_success, trial_of


@pytest.fixture
def filled(journal, made, fit):
    case = made("sound board case", day=0)
    again = made("sound board case", day=10, material="PLA")
    tray = made("terminal tray", day=20, printer="second", fits=[fit("slot"), fit("peg")])
    seat = made("ball seat", day=40)
    for record in (case, again, tray, seat):
        journal.add(record)
    journal.add(trial_of(case, {"lid": "tight"}, notes="squeaks when pushed"))
    journal.add(trial_of(again, {"lid": "loose"}))
    journal.add(trial_of(again, {"lid": "as wanted"}))
    journal.add(trial_of(tray, {"slot": "as wanted", "peg": "rattles"}))
    journal.add(NoteRecord(of=seat.code, notes=("for the OTTER pond",)))
    return journal, case, again, tray, seat


def test_table_is_newest_first_with_the_latest_verdict(filled):
    journal, case, again, tray, seat = filled
    table = journal.table(kind="print")
    assert list(table.code) == [seat.code, tray.code, again.code, case.code]
    assert list(table.verdict) == ["not tried", "rattles (peg)", "as wanted", "tight (lid)"]


@pytest.mark.parametrize(
    ("wanted", "parts"),
    [
        ({"part": "CASE"}, ["sound board case", "sound board case"]),
        ({"printer": "second"}, ["terminal tray"]),
        ({"material": "pla"}, ["sound board case"]),
        ({"verdict": "tight"}, ["sound board case"]),
        ({"verdict": "as wanted"}, ["sound board case"]),
        ({"verdict": "not tried"}, ["ball seat"]),
        ({"since": "2026-03-22"}, ["ball seat", "terminal tray"]),
        ({"until": "2026-03-02"}, ["sound board case"]),
        ({"since": "2026-03-12", "until": "2026-03-22", "material": "PETG"}, ["terminal tray"]),
        ({"text": "squeaks"}, ["sound board case"]),
        ({"text": "otter pond"}, ["ball seat"]),
        ({"text": "otter squeaks"}, []),
    ],
)
def test_filters(filled, wanted, parts):
    assert list(filled[0].table(kind="print", **wanted).part) == parts


def test_a_wrong_date_is_told(filled):
    with pytest.raises(JournalError, match=r"'last week' is not a date\. Write it as"):
        filled[0].table(since="last week")


def test_verdicts_follow_a_print_that_is_corrected_later(filled):
    journal, case, *_ = filled
    better = case.corrected("wrong material", material="ABS")
    journal.add(better)
    table = journal.table(kind="print", material="ABS")
    assert list(table.verdict) == ["tight (lid)"]


def test_success_counts_each_part_once_by_its_first_print(filled):
    table = first_print_success(filled[0], by="year")
    # case: tight at first, though a later print fitted; tray: one fit rattles; seat: not tried
    assert table.loc[0, ["first_prints", "tried", "fitted"]].tolist() == [3, 2, 0]
    months = first_print_success(filled[0])
    assert months.period.tolist() == ["2026-03", "2026-04"]
    assert months.tried.tolist() == [2, 0]


def test_interval_is_wilsons(journal, made):
    for number in range(10):
        record = made(f"part {number}")
        journal.add(record)
        journal.add(trial_of(record, {"lid": "as wanted" if number < 8 else "tight"}))
    row = first_print_success(journal).iloc[0]
    # Wilson's formula by hand, z = 1.959964: p = 0.8, n = 10
    n, p, z = 10, 0.8, 1.959963985
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * (p * (1 - p) / n + z * z / (4 * n * n)) ** 0.5
    assert row.share == pytest.approx(0.8)
    assert (row.low, row.high) == pytest.approx((middle - half, middle + half), abs=1e-6)


def test_html_table_escapes_what_people_wrote(journal, made):
    journal.add(made("<script>alert(1)</script>"))
    assert "<script>" not in journal._repr_html_()
    assert "&lt;script&gt;" in journal._repr_html_()
