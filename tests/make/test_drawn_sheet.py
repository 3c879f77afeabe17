"""What is made of a sheet has its drawings, in the page and as files."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import ezdxf
import pytest

from fitkit.flow import load_sheet
from fitkit.make import make
from fitkit.workshop import begin_workshop

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def sheet(tmp_path):
    begin_workshop(tmp_path)
    path = tmp_path / "spacer.toml"
    path.write_text(
        'schema = 1\ntitle = "post <1>"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
        '[outputs]\nfiles = ["sheet", "drawing", "dxf"]\n',
        "utf-8",
    )
    return path


def files(made) -> dict[str, Path]:
    return {path.suffix: path for path in made.files}


def test_page_pdf_and_dxf_carry_the_same_drawing(sheet):
    made = make(sheet)
    found = files(made)
    assert set(found) == {".html", ".pdf", ".dxf"}
    page = found[".html"].read_text("utf-8")
    assert page.count("<svg") == 1
    assert made.code in page[page.index("<svg") :]
    assert "post &lt;1&gt;" in page
    assert "post <1>" not in page
    assert "first-angle" in page
    assert found[".pdf"].read_bytes().startswith(b"%PDF-")
    layers = {one.dxf.layer for one in ezdxf.readfile(found[".dxf"]).modelspace()}
    assert {"seen", "hidden", "dimension", "words", "frame"} <= layers


def test_the_page_says_how_to_print_it(sheet):
    made = make(sheet)
    page = files(made)[".html"].read_text("utf-8")
    box = page[page.index("How to print it") : page.index("Sizes that must fit")]
    assert "0.2 mm, the first 0.2 mm, from a nozzle of 0.4 mm" in box
    assert "not scaled" in box
    assert "none are needed" in box


def test_the_workshop_says_which_projection(sheet):
    home = sheet.parent / "workshop.toml"
    text = home.read_text("utf-8")
    assert 'projection = "first-angle"' in text
    home.write_text(text.replace('projection = "first-angle"', 'projection = "third-angle"'))
    assert load_sheet(sheet).workshop.projection == "third-angle"
    assert "third-angle" in files(make(sheet))[".html"].read_text("utf-8")


def test_the_3mf_says_how_to_print_it_where_the_specification_has_a_place(sheet):
    """Read back by the format's reference library: the core's names, and ours in our own space."""
    import lib3mf

    from fitkit.export.threemf import NAMESPACE

    sheet.write_text(sheet.read_text("utf-8").replace('"sheet", "drawing", "dxf"', '"3mf"'))
    made = make(sheet)
    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(files(made)[".3mf"]))
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    core = {one.GetName(): one.GetValue() for one in entries if not one.GetNameSpace()}
    ours = {one.GetName(): one.GetValue() for one in entries if one.GetNameSpace() == NAMESPACE}
    assert set(core) == {"Title", "Description", "CreationDate", "Application"}
    assert core["Title"] == "post <1>"
    assert date.fromisoformat(core["CreationDate"]) <= date.today()
    for words in (made.code, "layers: 0.2 mm, the first 0.2 mm", "not scaled", "none are needed"):
        assert words in core["Description"]
    assert ours["TraceCode"] == made.code
    assert ours["Layers"] == "0.2 mm, the first 0.2 mm, from a nozzle of 0.4 mm"
    assert ours["Supports"] == "none are needed"
    assert {"Material", "Profile", "WayUp", "Size"} <= set(ours)
