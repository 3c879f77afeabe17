"""What is made of a sheet has its drawings, in the page and as files."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import ezdxf
import pytest

from fitkit.flow import load_sheet
from fitkit.journal import Journal
from fitkit.make import make, make_plates
from fitkit.make.remake import reprint
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


def metadata(path):
    """What the format's reference library reads: under the core's names, and in our own space."""
    import lib3mf

    from fitkit.export.threemf import NAMESPACE

    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(path))
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    core = {one.GetName(): one.GetValue() for one in entries if not one.GetNameSpace()}
    ours = {one.GetName(): one.GetValue() for one in entries if one.GetNameSpace() == NAMESPACE}
    return core, ours


def test_the_3mf_says_how_to_print_it_where_the_specification_has_a_place(sheet):
    sheet.write_text(sheet.read_text("utf-8").replace('"sheet", "drawing", "dxf"', '"3mf"'))
    made = make(sheet)
    core, ours = metadata(files(made)[".3mf"])
    assert set(core) == {"Title", "Description", "CreationDate", "Application"}
    assert core["Title"] == "post <1>"
    assert date.fromisoformat(core["CreationDate"]) <= date.today()
    for words in (made.code, "layers: 0.2 mm, the first 0.2 mm", "not scaled", "none are needed"):
        assert words in core["Description"]
    assert ours["TraceCode"] == made.code
    assert ours["Layers"] == "0.2 mm, the first 0.2 mm, from a nozzle of 0.4 mm"
    assert ours["Supports"] == "none are needed"
    assert {"Material", "Profile", "WayUp", "Size"} <= set(ours)


def test_what_is_made_again_says_the_same_of_how_to_print_it_and_is_drawn(sheet, tmp_path):
    sheet.write_text(sheet.read_text("utf-8").replace('"dxf"', '"dxf", "3mf"'))
    made = make(sheet)
    journal = Journal(made.record.parent)
    record = journal.print_of(made.code)
    again = reprint(record, tmp_path / "again", journal=journal.folder)
    assert sorted(p.suffix for p in again.files) == sorted(p.suffix for p in made.files)
    assert metadata(files(again)[".3mf"]) == metadata(files(made)[".3mf"])
    for words in ("How to print it", "<svg"):
        first, second = (files(one)[".html"].read_text("utf-8") for one in (made, again))
        cut = [page[page.index(words) :][:600] for page in (first, second)]
        assert cut[0] == cut[1]


def test_a_record_without_layers_is_made_again_without_a_guess(sheet, tmp_path):
    sheet.write_text(sheet.read_text("utf-8").replace('"sheet", "drawing", "dxf"', '"3mf"'))
    record = Journal(make(sheet).record.parent).records("print")[0]
    profile = {k: v for k, v in record.profile.items() if "layer" not in k and "nozzle" not in k}
    bare = record.model_copy(update={"profile": profile})
    _, ours = metadata(files(reprint(bare, tmp_path / "again"))[".3mf"])
    assert "Layers" not in ours
    assert ours["Material"] == "PETG"


def test_a_plate_says_how_its_parts_are_to_be_printed(sheet, tmp_path):
    sheet.write_text(sheet.read_text("utf-8").replace('"sheet", "drawing", "dxf"', '"3mf"'))
    job = make_plates([sheet, sheet], into=tmp_path / "plates")
    core, ours = metadata(job.plates[0])
    assert sorted(ours["TraceCodes"].split()) == sorted(part.code for part in job.parts)
    assert ours["Layers"] == "0.2 mm, the first 0.2 mm, from a nozzle of 0.4 mm"
    assert ours["Supports"] == "none are needed"
    assert "not scaled" in core["Description"]
