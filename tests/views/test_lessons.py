"""A lesson's own bench: a fresh copy, without scripts and caches, that leaves the demo alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.flow import prepare
from fitkit.parts import template
from fitkit.views.lessons import fresh_bench, made_files, part_picture, sheet_of

ROOT = Path(__file__).parents[2]


@pytest.fixture
def lesson(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_copy_holds_what_part_sheets_name(lesson):
    bench = fresh_bench("one", source=ROOT)
    assert bench == Path("made/one/measurements")
    assert (bench / "sound_board.toml").is_file()
    assert (bench / "../shared/instruments/bench.toml").is_file()
    assert not list(bench.rglob("*.py"))


def test_a_second_copy_begins_afresh(lesson):
    bench = fresh_bench("one", source=ROOT)
    (bench / "journal" / "mine.json").write_text("{}")
    assert not (fresh_bench("one", source=ROOT) / "journal" / "mine.json").exists()


def test_files_are_named_with_their_use_the_one_to_print_first(lesson):
    for name in ("case.stl", "case.html", "case.3mf", "notes.txt"):
        (lesson / name).write_text("")
    assert list(made_files(lesson)) == ["case.3mf", "case.stl", "case.html"]


def test_a_file_with_a_use_of_its_own_is_told_so(lesson):
    for name in ("journal.html", "coupon_readings.csv", "board.csv"):
        (lesson / name).write_text("")
    assert made_files(lesson) == {
        "journal.html": "page of the journal, for the binder",
        "board.csv": "readings",
        "coupon_readings.csv": "a row waiting for each reading",
    }


def test_a_sheet_takes_a_templates_values_and_leaves_the_label_to_the_trace_code(lesson):
    spacer = template("spacer").of(label="")
    sheet = sheet_of(spacer, title="foot", folder=lesson, printer={"generic": "PETG"})
    assert prepare(sheet).template == spacer
    assert prepare(sheet, label="K7").template.label == "K7"


def test_a_part_is_drawn_in_colour_on_white():
    image = part_picture(template("spacer").of().build(), size=(160, 120))
    assert image.size == (160, 120)
    assert image.getpixel((0, 0)) == (255, 255, 255)
    assert len(image.getcolors(20_000)) > 10
