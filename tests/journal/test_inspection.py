"""The inspection sheet goes out empty and comes back filled."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from fitkit.core.errors import FaultList, FitError, JournalError
from fitkit.demo import copy_demo
from fitkit.fits.conformity import conformity
from fitkit.journal import Journal
from fitkit.journal.inspection import inspection_text, read_inspection
from fitkit.views.shell import commands


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return copy_demo(tmp_path_factory.mktemp("demo") / "demo")


@pytest.fixture(scope="module")
def made(demo):
    folder = next(path for path in demo.rglob("journal") if path.is_dir())
    return next(one for one in Journal(folder).records("print") if len(one.fits) > 3)


def filled(tmp_path, made, **cells):
    """The empty sheet with cells typed into the row of the first size."""
    head, first, *rest = inspection_text(made).splitlines()
    names = [name.partition(" [")[0] for name in head.split(",")]
    row = first.split(",")
    for name, text in cells.items():
        row[names.index(name.replace("_", " "))] = text
    path = tmp_path / "sheet.csv"
    path.write_text("\n".join([head, ",".join(row), *rest]), "utf-8")
    return path


def test_each_size_is_there_with_its_jaws_and_what_is_expected(made):
    head, *rows = inspection_text(made).splitlines()
    assert head.startswith("size,mark,jaws,drawn [mm],expected [mm],U95 [mm]")
    assert len(rows) == len(made.fits)
    for fit in made.fits:
        (row,) = [row for row in rows if row.startswith(f"{fit.name},")]
        assert f"{fit.drawn_mm:.3f},{fit.expected_mm:.3f},{fit.U95_mm:.3f}" in row


def test_readings_are_averaged_and_compared_with_what_was_expected(tmp_path, made):
    fit = sorted(made.fits, key=lambda one: one.sense == 0)[0]
    near, far = fit.expected_mm + 0.01, fit.expected_mm + 0.03
    comma = f"{far:.2f}".replace(".", ",")
    path = filled(tmp_path, made, read_1=f"{near:.2f}", read_2=f'"{comma}"')
    (one,) = read_inspection(path, made).sizes
    assert one.value_mm == pytest.approx((round(near, 2) + round(far, 2)) / 2)
    assert one.u_mm == 0.02  # no better than calipers, though the two nearly agree
    assert one.as_expected
    assert one.conformity is None
    assert "as expected" in one.told()


def test_limits_bring_a_decision_and_a_far_size_is_told(tmp_path, made):
    path = filled(tmp_path, made, read_1="90.00", lowest="10", highest="20", verdict="tight")
    found = read_inspection(path, made)
    (one,) = found.sizes
    assert one.conformity == "does not conform"
    assert "NOT as expected" in one.told()
    assert list(found.verdicts.values()) == ["tight"]


def test_all_cells_at_fault_are_told_at_once(tmp_path, made):
    path = filled(tmp_path, made, read_1="abc")
    path.write_text(path.read_text("utf-8") + "\nno such size,,,,,,,,12,,\n", "utf-8")
    with pytest.raises(FaultList) as told:
        read_inspection(path, made)
    assert [fault.code for fault in told.value.faults] == [
        "journal.not-a-length",
        "journal.no-such-fit",
    ]
    assert told.value.faults[0].row == 2


def test_an_empty_sheet_and_another_table_are_refused(tmp_path, made):
    path = filled(tmp_path, made)
    with pytest.raises(JournalError) as told:
        read_inspection(path, made)
    assert told.value.code == "journal.nothing-judged"
    path.write_text("a,b\n1,2\n", "utf-8")
    with pytest.raises(JournalError):
        read_inspection(path, made)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (9.95, "does not conform"),  # ISO 14253-1: 10 and 10.2 with U = 0.04
        (9.97, "not decided"),
        (10.03, "not decided"),
        (10.04, "conforms"),
        (10.16, "conforms"),
        (10.23, "not decided"),
        (10.25, "does not conform"),
    ],
)
def test_the_doubt_is_taken_off_the_tolerance_to_prove_either(value, said):
    assert conformity(value, 0.04, 10.0, 10.2) == said


def test_a_tolerance_under_twice_the_doubt_can_never_be_proved():
    assert {conformity(10 + n / 100, 0.04, 10.0, 10.06) for n in range(-3, 10)} == {"not decided"}
    with pytest.raises(FitError):
        conformity(10, 0.04, 10.2, 10.0)


def test_by_commands_a_filled_sheet_becomes_the_record_of_the_print(tmp_path, demo, made):
    folder = next(path for path in demo.rglob("journal") if path.is_dir())
    sheet = tmp_path / "in.csv"
    run = CliRunner().invoke
    out = run(commands, ["inspection", made.code, str(sheet), "--journal", str(folder)])
    assert out.exit_code == 0, out.output
    again = run(commands, ["inspection", made.code, str(sheet), "--journal", str(folder)])
    assert isinstance(again.exception, JournalError)
    fit = sorted(made.fits, key=lambda one: one.sense == 0)[0]
    path = filled(tmp_path, made, read_1=f"{fit.expected_mm:.2f}", verdict="as wanted")
    out = run(commands, ["fitted", made.code, "--sheet", str(path), "--journal", str(folder)])
    assert out.exit_code == 0, out.output
    assert "as expected" in out.output
    newest = max(Journal(folder).records("trial"), key=lambda one: (one.made_at, one.code))
    (entry,) = newest.fits
    assert (entry.name, entry.verdict) == (fit.name, "as wanted")
    assert entry.measured_mm == pytest.approx(round(fit.expected_mm, 2))
    assert entry.u_measured_mm == 0.02
