"""A given shape from sheet to files, record and the same part again; judged by trimesh."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import FitkitError, JournalError
from fitkit.demo import copy_demo
from fitkit.flow.sheet import load_sheet
from fitkit.journal import Journal
from fitkit.make import make, reprint
from fitkit.solids.kernel import tessellate

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "how-to" / "given-shapes.md"


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return copy_demo(tmp_path_factory.mktemp("bench"))


@pytest.fixture(scope="module")
def made(bench):
    (example,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    sheet = bench / "owl_of_the_page.toml"
    sheet.write_text(example, encoding="utf-8")
    return make(sheet, into=bench / "made")


def test_the_pages_example_has_thirty_lines_and_is_the_demos_sheet(made):
    (example,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert len([line for line in example.splitlines() if line.strip()]) <= 30
    demo = load_sheet(ROOT / "measurements" / "carved_owl.toml")
    of_page = tomllib.loads(example)
    assert [thing["name"] for thing in of_page["things"]] == [one["name"] for one in demo.things]
    assert of_page["values"] == demo.values


def test_the_owl_is_made_without_stops_and_holds_its_ball(made):
    assert not any(one.severity == "stop" for one in made.findings)
    assert {path.suffix for path in made.files} == {".3mf", ".stl", ".html"}
    (body,) = trimesh.load(made.files[0]).geometry.values()
    stl = trimesh.load_mesh(next(path for path in made.files if path.suffix == ".stl"))
    assert body.is_watertight
    assert body.volume == pytest.approx(stl.volume, rel=1e-6)
    assert body.bounds[0][2] == pytest.approx(0.0, abs=1e-5)
    given = trimesh.load_mesh(ROOT / "measurements" / "shapes" / "carved_owl.stl")
    assert 0.9 * given.volume < body.volume < given.volume
    # The seat is drawn for the ball as read, with gap and compensation.
    drawn = made.plan.row("ball: seat").size.drawn_mm
    assert drawn > made.plan.row("ball: seat").target.value_mm
    (ghost,) = made.part.ghosts
    mesh = made.part.bodies[0].mesh
    whole = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    ball = tessellate(ghost.solid)
    assert not whole.contains(ball.vertices + np.array([0, 0, 0.01])).any()


def test_the_page_of_the_part_has_pictures_and_says_how_large_the_shape_is(made):
    text = next(path for path in made.files if path.suffix == ".html").read_text(encoding="utf-8")
    assert "123.5 mm is known" in text
    assert text.count("<img") >= 2


def test_the_record_keeps_the_made_body_and_not_the_given_shape(made):
    content = json.loads(made.record.read_text(encoding="utf-8"))
    assert content["values"]["shape"].startswith("shape:sha256=")
    assert str(made.folder.parent) not in made.record.read_text(encoding="utf-8")
    (kept,) = made.record.parent.rglob(content["bodies"]["name"])
    (body,) = trimesh.load(kept, file_type="zip").geometry.values()
    mesh = made.part.bodies[0].mesh
    assert body.volume == pytest.approx(mesh.volume(), rel=1e-5)


def test_the_same_files_are_made_again_with_and_without_the_given_shape(made, bench):
    journal = Journal(bench / "journal")
    record = journal.print_of(made.code)
    again = reprint(record, bench / "again", kinds=["stl"], journal=journal.folder)
    assert again.differences == ()
    assert not again.kept
    first = next(path for path in made.files if path.suffix == ".stl")
    assert again.files[0].read_bytes() == first.read_bytes()
    shape = bench / "shapes" / "carved_owl.stl"
    away = shape.rename(bench / "elsewhere.stl")
    try:
        later = reprint(record, bench / "later", kinds=["stl"], journal=journal.folder)
        assert later.kept
        assert "not built to compare" in " ".join(later.notes)
        assert later.files[0].read_bytes() == first.read_bytes()
        with pytest.raises(FitkitError, match="is not there any more"):
            reprint(record, bench / "never", kinds=["stl"], journal=journal.folder, present=True)
        assert not (bench / "never").exists()
    finally:
        away.rename(shape)


def test_kept_triangles_that_were_changed_are_refused(made, bench):
    journal = Journal(bench / "journal")
    record = journal.print_of(made.code)
    path = journal.folder / "bodies" / record.bodies.name
    whole = path.read_bytes()
    path.write_bytes(whole[:-100] + bytes(100))
    try:
        with pytest.raises(JournalError) as caught:
            reprint(record, bench / "spoilt", kinds=["stl"], journal=journal.folder)
        assert caught.value.code == "journal.bodies-damaged"
    finally:
        path.write_bytes(whole)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ('unit = "mm"', "shape.no-unit"),
        ('shape = "shapes/carved_owl.stl"', "shape.none"),
    ],
)
def test_what_is_missing_is_one_message_and_nothing_is_written(bench, change, code):
    text = (bench / "carved_owl.toml").read_text(encoding="utf-8").replace(change, "")
    sheet = bench / "faulty.toml"
    sheet.write_text(text, encoding="utf-8")
    with pytest.raises(FitkitError) as caught:
        make(sheet, into=bench / "faulty")
    error = caught.value
    assert code in (getattr(error, "codes", ()) or (error.code,))
    assert not (bench / "faulty").exists()


def test_a_shape_outside_the_sheets_folder_is_refused(bench):
    text = (bench / "carved_owl.toml").read_text(encoding="utf-8")
    sheet = bench / "outside.toml"
    sheet.write_text(text.replace("shapes/carved", "../shapes/carved"), encoding="utf-8")
    with pytest.raises(FitkitError, match="outside the part sheet's folder"):
        make(sheet, into=bench / "outside")


def test_a_preview_draws_the_coarser_copy():
    from fitkit.export.scene import build_scene
    from fitkit.parts import template

    kind = template("given shape").of(
        shape=str(ROOT / "measurements" / "shapes" / "carved_owl.stl"),
        unit="mm",
        things=[
            {
                "name": "foot",
                "held": "flat foot",
                "place": {"at": ["0 mm", "0 mm", "1 mm"]},
            }
        ],
    )
    seen = []
    build_scene(kind, {}, "owl", report=seen.append)
    scene = seen[0]
    assert scene.head["bodies"][0]["name"] == "shape"
    assert np.isfinite(scene.meshes["shape"].vertices).all()
