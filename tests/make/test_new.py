"""A new part: files that need no guess, for every template and variant."""

from __future__ import annotations

import csv
import itertools
import json
import tomllib
from contextlib import suppress
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.optimize import least_squares

import fitkit.core.files
import fitkit.core.staged
import fitkit.workshop
from fitkit.core.errors import ExportError, FaultList, PartError, SheetError, WorkshopError
from fitkit.flow import load_sheet, prepare
from fitkit.flow.expressions import evaluate
from fitkit.make import new_part
from fitkit.make.new import offers
from fitkit.parts import Length, Template, size, template, templates
from fitkit.readings import load_instruments
from fitkit.stats import Estimate
from fitkit.workshop import begin_workshop, find_workshop
from tests.kill_points import forks, killed_at

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.parts.measuring import FromReadings


@pytest.fixture(autouse=True)
def _no_workshop_from_outside(monkeypatch, tmp_path) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FITKIT_WORKSHOP", raising=False)


SHIPPED = {
    title: kind for title, kind in templates().items() if kind.__module__.startswith("fitkit.")
}
MEASURED = [title for title, kind in SHIPPED.items() if not kind.ordered_by]


def variants(title: str) -> list[dict[str, object]]:
    """Every combination of what decides which features are needed."""
    sizes = template(title).how_measured().sizes
    values: dict[str, set[object]] = {}
    for one in sizes:
        for name, wanted in one.when.items():
            values.setdefault(name, set()).update(wanted)
    if title == "board case":
        values["standoff"] |= {"edge rails"}
    if title == "hanger plate":
        values["count"] |= {1}
    if title == "knob":
        values["bore"] |= {"round"}
    names = list(values)
    return [
        dict(zip(names, combination, strict=True))
        for combination in itertools.product(*(sorted(values[name], key=str) for name in names))
    ]


CASES = [(title, variant) for title in MEASURED for variant in variants(title)]


def default_of(part: Template, path: str) -> float:
    """Give a parameter's value as the template starts with it, mm."""
    value: object = part
    for step in path.split("."):
        value = value[int(step)] if step.isdigit() else getattr(value, step)  # type: ignore[index]
    if value is None and path == "insert":
        return 4.6  # over the knurl of a common M3 insert: what the table has for it
    if value is None:  # the lid's diagonal: of a box of 100 x 60 mm with corners of 6 mm
        assert path == "diagonal"
        return float(np.hypot(100 - 12, 60 - 12) + 12)
    assert isinstance(value, float)
    return value


def readings_for(part: Template, sizes: list[FromReadings], features: list[str]) -> list[float]:
    """Find what calipers would show, the parameters being the template's own: the inverse."""
    wanted = [default_of(part, one.parameter) for one in sizes]

    def misses(shown: np.ndarray) -> list[float]:
        known = {
            name: Estimate.of(name, value, 0.0) for name, value in zip(features, shown, strict=True)
        }
        return [
            evaluate(one.text, known).value_mm - value
            for one, value in zip(sizes, wanted, strict=True)
        ]

    start = [200.0 if "diagonal" in name else 150.0 for name in features]
    found = least_squares(misses, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert np.abs(found.fun).max() < 1e-6, "the expressions cannot give the template's own values"
    return [float(value) for value in found.x]


def filled(path: Path, shown: dict[str, float]) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    seen: dict[str, int] = {}
    for row in rows:
        name = row["feature"]
        repeat = seen[name] = seen.get(name, -1) + 1
        row["reading"] = f"{shown[name] + (-0.01, 0.0, 0.01)[repeat]:.2f}"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.mark.parametrize(("title", "variant"), CASES, ids=str)
def test_readings_of_the_templates_own_values_give_them_back(title, variant, tmp_path) -> None:
    readings, sheet, *_ = new_part("mine", template=title, folder=tmp_path, choices=variant)
    kind = template(title)
    part = kind.of(**(dict(kind.measuring.starts_with) | variant))
    sizes = list(kind.measuring.sizes_of(part))
    with readings.open(encoding="utf-8", newline="") as file:
        features = list(dict.fromkeys(row["feature"] for row in csv.DictReader(file)))
    assert features == [one.feature for one in kind.measuring.readings_of(*sizes)]
    filled(readings, dict(zip(features, readings_for(part, sizes, features), strict=True)))
    plan = prepare(load_sheet(sheet))
    for one in sizes:
        found = plan.parameters[one.parameter]
        assert found.value_mm == pytest.approx(
            default_of(part, one.parameter), abs=max(found.U95_mm, 0.01)
        )
        assert 0.01 < found.U95_mm < 0.5
    for name, value in variant.items():
        assert getattr(plan.template, name) == value
    said = " ".join(note for one in plan.inputs.estimates.values() for note in one.notes)
    for lack in ("not said whether it is round", "not described", "is named", "too small"):
        assert lack not in said
    assert not any("without a mode" in note for note in plan.inputs.table.notes)


@pytest.mark.parametrize(("title", "variant"), CASES, ids=str)
def test_every_measured_parameter_of_a_variant_follows_from_readings(title, variant) -> None:
    kind = template(title)
    part = kind.of(**variant)
    told = [name for one in kind.measuring.sizes_of(part) for name in (one.parameter, *one.spares)]
    assert len(told) == len(set(told)), "a parameter follows from two expressions"
    measured = {
        name
        for name, field in kind.model_fields.items()
        if isinstance(field.json_schema_extra, dict) and field.json_schema_extra.get("measured")
    }
    others = {one.parameter: one for one in kind.measuring.sizes}
    assert measured <= set(others) | set(told)
    for name in measured - set(told):  # another variant's: its conditions say so
        assert others[name].when


@pytest.mark.parametrize("title", MEASURED)
def test_features_that_are_declared_are_used_and_say_where_the_jaws_go(title) -> None:
    measuring = template(title).measuring
    assert measuring.readings_of(*measuring.sizes) == measuring.readings
    names = [one.feature for one in measuring.readings]
    assert len(names) == len(set(names))
    for one in measuring.readings:
        assert one.note
        assert not one.between or one.between in names
        assert one.mode == "inside" or not one.between
    assert set(measuring.often) <= set(template(title).model_fields)


# Worked by hand: two holes of 3.2 mm, 50 mm apart, are 53.2 mm over their far edges; a part of
# 11 mm on a board of 1.6 mm stands 12.6 mm over the underside; screw heads of 8 mm, 60 mm apart,
# are 68 mm over all; a drawer of 120 x 80 mm with corners of 4 mm is hypot(112, 72) + 8 = 141.15 mm
# from corner to corner.
HAND = [
    ("board case", {}, {"holes x far edges": 53.2, "over tallest part": 12.6, "solder side": 2.0}),
    ("hanger plate", {"count": 2}, {"heads far edges": 68.0}),
    ("tray insert", {}, {"drawer diagonal": 141.15}),
    ("knob", {"bore": "double D"}, {"over flats": 4.5}),
]


@pytest.mark.parametrize(("title", "variant", "shown"), HAND)
def test_what_calipers_show_is_what_a_person_would_work_out(title, variant, shown) -> None:
    kind = template(title)
    part = kind.of(**variant)
    sizes = list(kind.measuring.sizes_of(part))
    features = [one.feature for one in kind.measuring.readings_of(*sizes)]
    found = dict(zip(features, readings_for(part, sizes, features), strict=True))
    for name, value in shown.items():
        assert found[name] == pytest.approx(value, abs=0.005)


def rows_of(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return {row["feature"]: row for row in reversed(list(csv.DictReader(file)))}


def test_a_board_is_read_at_the_far_edges_of_its_holes_and_no_insert_is_asked_for(tmp_path) -> None:
    rows = rows_of(new_part("mine", folder=tmp_path)[0])
    assert "insert" not in rows
    hole, span, solder = (rows[n] for n in ("mounting hole", "holes x far edges", "solder side"))
    assert (hole["mode"], hole["round"]) == ("inside", "yes")
    assert (span["mode"], span["round"], span["between"]) == ("inside", "no", "mounting hole")
    assert solder["mode"] == "step"
    assert "far edges" in span["note"]


def test_a_variant_chosen_with_its_name_gets_its_features(tmp_path) -> None:
    readings, sheet, *_ = new_part(
        "mine", folder=tmp_path, choices={"standoff": "heat-set", "lugs": "2", "wall": "3 mm"}
    )
    assert "insert" in rows_of(readings)
    values = load_sheet(sheet).values
    assert (values["standoff"], values["lugs"], values["wall"]) == ("heat-set", 2, "3 mm")
    assert values["insert"] == "insert"


def test_a_size_that_is_chosen_is_not_asked_for(tmp_path) -> None:
    readings, sheet, *_ = new_part(
        "mine", template="tray insert", folder=tmp_path, choices={"corner_radius": "0 mm"}
    )
    assert "drawer diagonal" not in rows_of(readings)
    assert load_sheet(sheet).values["corner_radius"] == "0 mm"


def test_a_choice_that_the_template_has_not_is_refused_and_nothing_is_written(tmp_path) -> None:
    with pytest.raises(FaultList, match="standof"):
        new_part("mine", folder=tmp_path / "new", choices={"standof": "screw"})
    with pytest.raises(PartError, match="there is no template 'bord case'"):
        new_part("mine", template="bord case", folder=tmp_path / "new")
    with pytest.raises(SheetError, match=r"Make it with '.*fitkit ladder'"):
        new_part("mine", template="fit ladder", folder=tmp_path / "new")
    for title in (" ", "m" * 81):
        with pytest.raises(SheetError, match="1 to 80 letters"):
            new_part(title, folder=tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("title", MEASURED)
def test_what_a_sheet_offers_as_comments_is_right_once_the_sign_is_taken_away(
    title, tmp_path
) -> None:
    sheet = new_part("mine", template=title, folder=tmp_path)[1]
    text = sheet.read_text(encoding="utf-8")
    assert max(len(line) for line in text.splitlines() if line.startswith("#")) <= 100
    values, often = tomllib.loads(text)["values"], template(title).measuring.often
    offered = text.partition("People often change these")[2].partition("\n\n")[0]
    lines = [line[2:] for line in offered.splitlines() if line.startswith("# ") and " = " in line]
    for line in lines:
        added = tomllib.loads(line)
        (name,) = added
        assert name in often
        assert name not in values
        template(title).of(**added)
    assert "label" in {line.partition(" = ")[0] for line in lines}


def test_a_commented_table_is_right_once_the_signs_are_taken_away(tmp_path) -> None:
    text = new_part("mine", folder=tmp_path)[1].read_text(encoding="utf-8")
    block = text.partition("# [[values.ports]]")[2].partition("\n\n")[0]
    port = tomllib.loads(block.replace("\n# ", "\n").replace("\n  ", "\n#"))
    made = template("board case").of(ports=[port])
    assert (made.ports[0].wall, made.ports[0].width) == ("front", 9.0)  # type: ignore[attr-defined]


def test_an_instruments_file_is_made_to_be_filled_in_and_one_that_is_there_is_used(
    tmp_path,
) -> None:
    readings, sheet, _, made, _ = new_part("mine", folder=tmp_path)
    described = load_instruments(made)
    assert {row["instrument"] for row in rows_of(readings).values()} == set(described)
    assert load_sheet(sheet).instruments_file == made
    one = described["my calipers"]
    assert (one.resolution_mm, one.mpe_mm, one.zero_checked) == (0.01, 0.03, None)
    # What stands there as a comment to fill in is right, too.
    text = made.read_text(encoding="utf-8")
    for key in ("zero_error", "zero_checked", "inside_face", "inside_face_tolerance"):
        text = text.replace(f"# {key} =", f"{key} =")
    made.write_text(text, encoding="utf-8")
    assert load_instruments(made)["my calipers"].inside_face_mm == 0.5
    made.write_text(text.replace("my calipers", "loft calipers"), encoding="utf-8")
    readings, sheet, notebook = new_part("other", folder=tmp_path / "below")
    assert {row["instrument"] for row in rows_of(readings).values()} == {"loft calipers"}
    assert load_sheet(sheet).instruments_file == made
    assert "../instruments.toml" in notebook.read_text(encoding="utf-8")
    assert "loft calipers" in made.read_text(encoding="utf-8")


def test_a_folder_that_belongs_to_no_workshop_becomes_one(tmp_path) -> None:
    made = new_part("mine", folder=tmp_path / "bench")
    assert made[-1] == tmp_path / "bench" / "workshop.toml"
    workshop = find_workshop(tmp_path / "bench")
    assert (workshop.root, workshop.declared) == (tmp_path / "bench", True)
    assert workshop.instruments == made[-2]
    again = new_part("other", folder=tmp_path / "bench" / "below")
    assert [path.name for path in again] == ["other.csv", "other.toml", "other.ipynb"]


def test_a_workshops_habits_are_taken(tmp_path) -> None:
    file = tmp_path / "workshop.toml"
    file.write_text(
        'schema = 1\ninstruments = "mine.toml"\n[habits]\nrepeats = 5\n[printer]\ngeneric="PLA"\n'
    )
    readings, sheet, _, instruments = new_part("mine", template="spacer", folder=tmp_path / "in")
    assert instruments == tmp_path / "mine.toml"
    assert len(readings.read_text(encoding="utf-8").splitlines()) == 1 + 5
    assert load_sheet(sheet).printer_to_draw_for.generic == "PLA"
    # One named by hand wins, and the notebook names it.
    other = begin_workshop(tmp_path / "other")
    made = new_part("far", template="spacer", folder=tmp_path / "in", workshop=other.root)
    assert made[-1] == other.instruments
    assert len(made[0].read_text(encoding="utf-8").splitlines()) == 1 + 3
    cells = json.loads(made[2].read_text(encoding="utf-8"))["cells"]
    assert cells[-1]["source"] == 'trial_entry(workshop="../other")'


def test_a_workshop_that_cannot_be_used_is_not_passed_over(tmp_path) -> None:
    file = tmp_path / "workshop.toml"
    for text, said in (("schema =", "TOML"), ("schema = 1\nread_only = true", "read-only")):
        file.write_text(text)
        with pytest.raises(WorkshopError, match=said):
            new_part("mine", folder=tmp_path / "below")
        assert [path.name for path in tmp_path.rglob("*")] == ["workshop.toml"]


@pytest.mark.parametrize("failing", [".ipynb", "instruments.toml", "workshop.toml"])
def test_a_failure_leaves_nothing_behind(tmp_path, monkeypatch, failing) -> None:
    create = fitkit.core.files.create_atomic

    def full_disk(path: Path, text: str, **rest: bool) -> Path:
        if path.name.endswith(failing):
            raise ExportError("cannot be written: the disk is full", where=str(path))
        return create(path, text, **rest)

    monkeypatch.setattr(fitkit.core.files, "create_atomic", full_disk)
    monkeypatch.setattr(fitkit.core.staged, "create_atomic", full_disk)
    monkeypatch.setattr(fitkit.workshop, "create_atomic", full_disk)
    (tmp_path / "there").mkdir()
    for folder in (tmp_path / "new" / "below", tmp_path / "there"):
        with pytest.raises(ExportError, match="the disk is full"):
            new_part("mine", folder=folder)
    assert [path.name for path in tmp_path.rglob("*")] == ["there"]


@forks
def test_killed_at_any_file_operation_a_new_part_has_all_files_or_can_be_begun_again(
    tmp_path,
) -> None:
    new_part("warm", folder=tmp_path / "warm")
    at = 0
    while True:
        at += 1
        folder = tmp_path / str(at)
        folder.mkdir()
        died = killed_at(lambda folder=folder: new_part("mine", folder=folder), folder, at)
        with suppress(SheetError):  # it is there already
            new_part("mine", folder=folder)
        names = {path.name for path in folder.rglob("*") if path.is_file()}
        assert names >= {"mine.csv", "mine.toml", "mine.ipynb", "instruments.toml"}, at
        assert "workshop.toml" in names
        if not died:
            break
    assert at > 15


def test_titles_without_latin_letters_are_different_files(tmp_path) -> None:
    titles = ("部品", "部屋", "Ящик 2", "Полка 2", "!!!")
    stems = {new_part(title, folder=tmp_path)[1].stem for title in titles}
    assert len(stems) == len(titles)
    assert all(stem.isascii() and stem.strip("_") for stem in stems)


def test_each_template_is_offered_with_a_line_and_a_small_picture() -> None:
    offered = {offer.title: offer for offer in offers()}
    assert set(SHIPPED) <= set(offered)
    for title in SHIPPED:
        assert offered[title].summary
    for title in MEASURED:
        picture = offered[title].picture
        assert picture is not None
        assert picture.stat().st_size < 40_000


def test_a_template_of_ones_own_without_a_declaration_gets_a_reading_for_each_measured_size() -> (
    None
):
    class Foot(Template):
        title = "foot"
        tall: Length = size("9 mm", low="1 mm", high="30 mm", measured=True, help="Its height.")
        wide: Length = size("9 mm", low="1 mm", high="30 mm", help="Chosen.")

    measuring = Foot.how_measured()
    assert [(one.feature, one.mode, one.note) for one in measuring.readings] == [
        ("tall", "outside", "Its height.")
    ]
    assert [(one.parameter, one.text) for one in measuring.sizes] == [("tall", "tall")]


def test_a_case_begins_with_the_things_that_it_holds(tmp_path):
    """Readings of each thing, and a sheet that is solved as soon as they are filled in."""
    holds = {
        "sound board": "board on standoffs",
        "cells": "round cell in saddles",
        "block": "block between arms",
        "ball": "ball in a cup",
        "button": "device in a cut-out",
    }
    readings, sheet, *_ = new_part("post inside", template="case", folder=tmp_path, holds=holds)
    with readings.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(dict.fromkeys(row["item"] for row in rows)) == list(holds)
    usual = {"over tallest part": 12.6, "mounting hole": 3.2, "device behind front": 20.0}
    usual |= {"holes x far edges": 53.2, "holes y far edges": 33.2, "solder side": 1.6}
    usual |= {"body length": 40.0, "body width": 16.0, "board thickness": 1.6}
    for row in rows:
        row["reading"] = str(usual.get(row["feature"], 25.0))
    for row in rows:
        if row["feature"] == "board length":
            row["reading"] = "58.0"
        if row["feature"] == "board width":
            row["reading"] = "38.0"
    with readings.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    content = tomllib.loads(sheet.read_text(encoding="utf-8"))
    assert content["carrier"] == "case"
    plan = prepare(load_sheet(sheet))
    assert [thing.name for thing in plan.template.things] == list(holds)
    assert plan.template.things[1].body_length == pytest.approx(40.0, abs=0.1)


@pytest.mark.parametrize(
    ("template_title", "holds", "code"),
    [
        ("case", {}, "make.no-things"),
        ("case", {"ball": "by magic"}, "holder.unknown"),
        ("panel", {"ball": "ball in a cup"}, "make.no-carrier"),
    ],
)
def test_a_new_case_says_what_it_may_hold(tmp_path, template_title, holds, code):
    with pytest.raises((SheetError, PartError)) as caught:
        new_part("post", template=template_title, folder=tmp_path, holds=holds)
    assert caught.value.code == code
    assert not list(tmp_path.iterdir())
