"""A trial piece is made, tried and counted like the part; acts before the print are weighed."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from fitkit.core.errors import PartError, SheetError
from fitkit.flow import load_sheet, prepare
from fitkit.journal import Journal, trial_of
from fitkit.make import make, reprint
from fitkit.make.pieces import make_piece, weigh_acts
from fitkit.views.shell import commands

SHEET = """schema = 1
title = "long tray"
template = "tray insert"
readings = "tray.csv"
journal = "journal"
[printer]
generic = "PETG"
[values]
drawer_length = "box_length"
drawer_width = "box_width"
[use]
handling = "decor only"
"""
LENGTH = "length"


@pytest.fixture
def sheet(tmp_path):
    (tmp_path / "tray.csv").write_text(
        "feature,mode,reading,unit\nbox length,inside,118.40,mm\nbox width,inside,64.30,mm\n"
    )
    (tmp_path / "tray.toml").write_text(SHEET)
    return load_sheet(tmp_path / "tray.toml")


def test_a_piece_has_a_code_of_its_own_and_its_verdict_keeps_the_size_of_the_part(sheet):
    whole = prepare(sheet).row(LENGTH)
    made = make_piece(sheet, LENGTH)
    assert made.folder.name == f"long-tray-trial-piece-{made.code.lower()}"
    journal = Journal(sheet.journal_folder)
    record = journal.print_of(made.code)
    assert [fit.name for fit in record.fits] == [LENGTH]
    assert record.fits[0].drawn_mm == whole.size.drawn_mm
    assert record.notes == ("trial piece of 'length'",)
    journal.add(trial_of(record, {LENGTH: "as wanted"}))
    plan = prepare(sheet)
    assert [trial.print_code for trial in plan.inputs.trials] == [made.code]
    assert plan.row(LENGTH).size.notes[0].startswith(f"kept: fitted as wanted in {made.code}")
    assert plan.row(LENGTH).size.drawn_mm == whole.size.drawn_mm


def test_a_piece_is_made_again_from_its_record_and_leaves_the_files_of_the_part_alone(sheet):
    folder = sheet.folder / "made"
    part = make(sheet, into=folder)
    piece = make_piece(sheet, LENGTH, into=folder)
    assert not any("are replaced" in line for line in piece.told)
    record = Journal(sheet.journal_folder).print_of(piece.code)
    again = reprint(record, sheet.folder / "again", journal=sheet.journal_folder, present=True)
    assert again.differences == ()
    assert Journal(sheet.journal_folder).print_of(part.code).sheet.get("piece") is None


def test_without_a_name_the_least_sure_fit_is_tried_and_a_wrong_name_is_refused(sheet):
    made = make_piece(sheet)
    assert made.plan.sheet.piece in (LENGTH, "width")
    with pytest.raises(PartError, match="no trial piece can be made of 'height'"):
        make_piece(sheet, "height")


def test_acts_raise_the_chance_and_come_by_gain_per_minute(sheet):
    weighed = weigh_acts(sheet)
    assert 0.0 < weighed.chance.p_all < min(weighed.chance.each.values())
    assert weighed.minutes > 30.0
    assert {act.says.split()[1] for act in weighed.acts} >= {"a"}
    gains = [(act.p_all - weighed.chance.p_all) / act.minutes for act in weighed.acts]
    assert gains == sorted(gains, reverse=True)
    assert all(weighed.chance.p_all < act.p_all <= 1.0 for act in weighed.acts)
    piece = next(act for act in weighed.acts if "trial piece" in act.says)
    coupon = next(act for act in weighed.acts if "coupon" in act.says)
    assert piece.minutes < 0.25 * weighed.minutes
    assert coupon.p_all > piece.p_all  # a generic profile gains most by a coupon, and slowly
    assert weighed.advice.startswith("print ")
    assert weighed.advice.count(" g") >= 1


def test_a_fit_larger_than_ladders_are_is_weighed_without_one(sheet):
    (sheet.folder / "tray.csv").write_text(
        "feature,mode,reading,unit\nbox length,inside,121.40,mm\nbox width,inside,122.30,mm\n"
    )
    weighed = weigh_acts(sheet)
    assert weighed.chance.p_all > 0.0
    assert weighed.advice == ""
    assert not any("ladder" in act.says for act in weighed.acts)


def test_a_part_without_wanted_behaviours_has_no_chance_to_tell(sheet):
    own = {"length": {"gap": "0.3 mm"}, "width": {"gap": "0.3 mm"}}
    with pytest.raises(SheetError, match="no fit whose behaviour the sheet names") as error:
        weigh_acts(sheet.changed(fits=own))
    assert error.value.code == "make.no-chance"


def test_the_shell_tells_the_chance_and_makes_the_piece(sheet):
    path = str(sheet.folder / "tray.toml")
    told = CliRunner().invoke(commands, ["chance", path])
    assert told.exit_code == 0, told.output
    assert "both fits can be used at the next print (they go together and" in told.output
    assert "trial-piece" in told.output
    made = CliRunner().invoke(commands, ["trial-piece", path, "width"])
    assert made.exit_code == 0, made.output
    assert "trace code" in made.output
    assert "'width=tight'" in made.output


def test_what_is_made_tells_the_whole_chance(sheet):
    made = make(sheet)
    (finding,) = (one for one in made.findings if one.check == "chance")
    assert finding.severity == "note"
    assert finding.text.startswith("Both fits can be used at the next print (they go together and ")
    assert "chance" in finding.remedy
    sheet_page = next(path for path in made.files if path.suffix == ".html")
    assert "Both fits can be used" in sheet_page.read_text()
