"""Files named by parameters: where they count from, what may be opened, made again without them."""

from __future__ import annotations

import os

import ezdxf
import pytest

from fitkit.core.errors import FaultList, PartError
from fitkit.core.given_file import content_of, embedded, name_of
from fitkit.flow import build, load_sheet, prepare
from fitkit.journal.plain import typed_values
from fitkit.parts import template
from fitkit.parts.designs.board_case import BoardCase

SHEET = """
schema = 1
title = "case"
template = "board case"
[printer]
generic = "PETG"
[[values.ports]]
wall = "front"
along = "20 mm"
above = "4 mm"
shape = "outline"
outline = "{outline}"
"""


@pytest.fixture
def project(tmp_path):
    """A sheet in a folder of its own, its outline below it, another one outside."""
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline(
        [(0, 0, 0), (6, 0, 1), (6, 4, 0), (0, 4, 1)], format="xyb", close=True
    )
    folder = tmp_path / "project"
    (folder / "plugs").mkdir(parents=True)
    for path in (folder / "plugs" / "slot.dxf", tmp_path / "outside.dxf"):
        drawing.saveas(path)

    def sheet(outline):
        path = folder / "case.toml"
        path.write_text(SHEET.format(outline=outline), encoding="utf-8")
        return load_sheet(path)

    return sheet


def test_a_path_counts_from_the_sheet_and_the_part_is_made_again_without_the_file(
    project, tmp_path, monkeypatch
):
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    plan = prepare(project("plugs/slot.dxf"))
    first = build(plan)
    (tmp_path / "project" / "plugs" / "slot.dxf").unlink()
    kept = typed_values(plan.template)
    again = template("board case").of(**kept).build(plan.drawn)
    assert again.bodies[0].solid.volume == pytest.approx(first.bodies[0].solid.volume, rel=1e-12)
    assert name_of(kept["ports"][0]["outline"]) == "slot.dxf"


@pytest.mark.parametrize("name", ["../outside.dxf", "{absolute}", "link.dxf"])
def test_a_sheet_opens_no_file_outside_its_folder(project, tmp_path, name):
    os.symlink(tmp_path / "outside.dxf", tmp_path / "project" / "link.dxf")
    name = name.format(absolute=(tmp_path / "outside.dxf").as_posix())
    with pytest.raises(FaultList) as caught:
        prepare(project(name))
    assert "key values.ports 1.outline" in str(caught.value)
    assert "lies outside the part sheet's folder. Copy the file beside the sheet" in str(
        caught.value
    )


def test_a_file_that_is_not_there_is_named_with_the_parameter(project):
    with pytest.raises(
        FaultList, match=r"values.ports 1.outline: there is no file 'none.dxf'. Check"
    ):
        prepare(project("none.dxf"))
    port = {"shape": "outline", "outline": "none.dxf"}
    with pytest.raises(
        FaultList, match=r"board case, ports 1.outline: there is no file 'none.dxf'. Check"
    ):
        BoardCase.of(ports=[port])
    with pytest.raises(PartError, match=r"ports 1.outline: no file is named. Name a DXF"):
        BoardCase.of(ports=[{"shape": "outline"}]).fit_sizes()


def test_a_template_of_one_s_own_takes_files_too(tmp_path, monkeypatch):
    from fitkit.core.given_file import GivenFile, file_parameter
    from fitkit.parts import Template

    class Badge(Template):
        title = "badge"
        emblem: GivenFile = file_parameter("Its emblem.", group="Form", endings=(".dxf",))

    monkeypatch.chdir(tmp_path)
    (tmp_path / "owl.dxf").write_bytes(b"owl")
    assert content_of(Badge.of(emblem="owl.dxf").emblem) == b"owl"
    assert Badge.of().emblem == ""


def test_content_comes_back_byte_by_byte_and_damage_is_told(tmp_path, monkeypatch):
    path = tmp_path / "ein Stecker; ä.dxf"
    path.write_bytes(bytes(range(256)) * 40)
    held = embedded(str(path))
    assert content_of(held) == path.read_bytes()
    assert name_of(held) == path.name
    assert embedded(held) == held
    for damaged in (held[:-8], held.replace("base64,", "base64,!"), held[:60]):
        with pytest.raises(PartError, match="content is damaged"):
            content_of(damaged)
    monkeypatch.setattr("fitkit.core.given_file.MOST_BYTES", 1000)
    content_of.cache_clear()
    with pytest.raises(PartError, match="content is damaged"):  # unpacks to too much
        content_of(held)
    path.write_bytes(b"x" * 1001)
    with pytest.raises(PartError, match="has 0 MB, over 0 MB"):
        embedded(str(path))
