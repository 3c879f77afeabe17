"""A record opens as the sheet that it was printed from, whatever has become of its files."""

from dataclasses import replace

import pytest

from fitkit.calibration import generic_profile, save_profile
from fitkit.flow import load_sheet, prepare, save_sheet
from fitkit.flow.opened import SHEET_FOLDER, opened_sheet
from fitkit.journal import Journal, PrintRecord, trace_code

HEAD = "item,feature,mode,reading,unit,instrument,taken_at,note\n"
SHEET = """
schema = 1
title = "front"
template = "panel"
readings = "front.csv"
[printer]
profile = "bench.toml"
[values]
length = "90 mm"
width = "50 mm"
[[values.cutouts]]
shape = "rectangle"
width = "display_length"
across = "20 mm"
"""
NAME = "cut-out 1 width"


@pytest.fixture
def sheet(tmp_path):
    (tmp_path / "workshop.toml").write_text('journal = "records"\n')
    folder = tmp_path / "parts"
    folder.mkdir()
    (folder / "front.csv").write_text(f"{HEAD}display,display length,outside,35.50,mm,,,\n")
    profile = replace(generic_profile("PETG"), name="bench", printer="bench printer", generic=False)
    save_profile(profile, folder / "bench.toml")
    (folder / "front.toml").write_text(SHEET)
    return load_sheet(folder / "front.toml")


@pytest.fixture
def opened(sheet):
    plan = prepare(sheet)
    made = PrintRecord.new(
        code=trace_code(),
        title=sheet.title,
        template=plan.template,
        sheet=sheet,
        readings=[*sheet.readings_paths, sheet.printer_to_draw_for.profile],
        measured=plan.inputs.estimates,
        profile=plan.inputs.profile,
        fits=plan.rows,
        extra={SHEET_FOLDER: "../parts"},
    )
    journal = Journal(sheet.journal_folder)
    journal.add(made)

    def opened():
        return opened_sheet(journal.print_of(made.code), journal)

    return opened, plan


def test_with_all_files_as_they_were_it_is_the_sheet(sheet, opened):
    again, notes = opened[0]()
    assert notes == ()
    assert again.content() == sheet.content()
    assert again.folder.resolve() == sheet.folder.resolve()
    assert again.journal_folder.resolve() == sheet.journal_folder.resolve()
    assert prepare(again).drawn == opened[1].drawn


@pytest.mark.parametrize("gone", [True, False])
def test_values_as_printed_stand_in_for_readings_that_changed_or_are_gone(sheet, opened, gone):
    (path,) = sheet.readings_paths
    if gone:
        path.unlink()
    else:
        path.write_text(path.read_text().replace("35.50", "36.50"))
    again, (note,) = opened[0]()
    assert note.startswith("front.csv is no longer as when")
    assert again.readings is None
    assert prepare(again).row(NAME).size.drawn_mm == pytest.approx(
        opened[1].row(NAME).size.drawn_mm
    )
    save_sheet(again, sheet.folder / "again.toml")
    assert prepare(load_sheet(sheet.folder / "again.toml")).drawn == prepare(again).drawn


def test_the_recorded_profile_stands_in_for_one_that_is_gone(sheet, opened):
    (sheet.folder / "bench.toml").unlink()
    again, (note,) = opened[0]()
    assert note.startswith("bench.toml is gone: the profile kept in ")
    # It lies in one place, however often it is asked for; once it was a new folder each time.
    assert opened[0]()[0].printer.profile == again.printer.profile
    assert prepare(again).inputs.profile.printer == "bench printer"
    assert prepare(again).drawn == opened[1].drawn


def test_a_record_without_a_sheet_opens_with_its_values(sheet, opened):
    plan = opened[1]
    made = PrintRecord.new(title="front", template=plan.template, profile=plan.inputs.profile)
    journal = Journal(sheet.journal_folder)
    journal.add(made)
    again, _ = opened_sheet(made, journal)
    row = prepare(again).row(NAME)
    assert row.fit.nominal_mm == pytest.approx(35.50)
