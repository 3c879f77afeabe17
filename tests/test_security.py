"""Files from other people: names, notes, paths and archives that mean harm do none.

The attacks are common knowledge of the trade: script in names (OWASP Cheat Sheet Series, Cross Site
Scripting Prevention), paths that lead out of a folder, archives and XML entities that grow without
bound (CWE-409, CWE-776), devices that never end.
"""

import os
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import pytest

from fitkit.core.errors import FitkitError, ReadingError
from fitkit.flow import load_sheet
from fitkit.readings import ReadingTable

EVIL = '<script>x()</script><img src=x onerror="x()">"\'><b>'
SHEET = """\
schema = 1
title = {title}
template = "spacer"
journal = {journal}
readings = "readings.csv"
[printer]
generic = "PETG"
[values]
height = "`{feature}`"
[outputs]
files = ["stl", "sheet"]
folder = {folder}
"""


class Page(HTMLParser):
    """What a browser would act upon."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.acts: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag in ("script", "iframe", "object", "embed", "b", "link", "form"):
            self.acts.append(tag)
        for name, value in attrs:
            if name.startswith("on") or "javascript:" in (value or ""):
                self.acts.append(f"{tag} {name}")
            if name in ("src", "href") and not (value or "").startswith(("data:image/", "#")):
                self.acts.append(f"{tag} {name}={value}")


def toml(text: str) -> str:
    import json

    return json.dumps(text)  # a JSON string is a TOML basic string


@pytest.fixture
def write(tmp_path):
    """Write a sheet with its readings, and give its path."""

    def sheet(*, title="spacer", journal="journal", folder="made", feature="gap", note="") -> Path:
        (tmp_path / "readings.csv").write_text(
            "feature,mode,reading,unit,note\n"
            f'{feature},inside,9.00,mm,"{note}"\n{feature},inside,9.02,mm,\n',
            encoding="utf-8",
        )
        path = tmp_path / "sheet.toml"
        path.write_text(
            SHEET.format(
                title=toml(title), journal=toml(journal), folder=toml(folder), feature=feature
            ),
            encoding="utf-8",
        )
        return path

    return sheet


def test_the_watch_sees_what_a_browser_would_run():
    assert Page(EVIL).acts == ["script", "img src=x", "img onerror", "b"]


def test_names_and_notes_are_words_on_the_dimensioned_sheet(write):
    from fitkit.make import make

    feature = "<script>x()</script>"
    made = make(write(title=EVIL, feature=feature, note="<img src=x onerror=x()>"))
    (page,) = made.folder.glob("*.html")
    text = page.read_text(encoding="utf-8")
    assert Page(text).acts == []
    assert "&lt;script&gt;" in text


def _shown(tmp_path: Path):
    """Everything that draws itself in a notebook, each with hostile words in it."""
    from dataclasses import replace

    from fitkit.calibration import generic_profile
    from fitkit.fits import Chain, Contributor, choose_gap
    from fitkit.journal import Journal, PrintRecord
    from fitkit.stats import Estimate, estimates

    table = ReadingTable.of(
        [
            {"feature": EVIL, "reading": "3.00 mm", "note": EVIL, "left_out": EVIL},
            {"feature": EVIL, "reading": "3.02 mm", "mode": EVIL},
            {"feature": EVIL, "reading": "3.01 mm"},
            {"feature": EVIL, "reading": EVIL},
        ]
    )
    yield "readings", table
    yield "estimate", estimates(table)[EVIL]
    yield "estimate by hand", Estimate.of(EVIL, 3.0, 0.1)
    profile = generic_profile("PETG")
    yield "profile", replace(profile, name=EVIL, printer=EVIL, material=EVIL)
    links = (
        Contributor(name=EVIL, value_mm=3.0, u_mm=0.1, opens=True),
        Contributor(name="b", value_mm=2.0, u_mm=0.1, opens=False),
    )
    yield "chain", Chain(name=EVIL, contributors=links)
    yield "gap", choose_gap("lid and rim", "slides", size_mm=30.0)
    journal = Journal(tmp_path / "journal")
    journal.add(PrintRecord.new(title=EVIL, template=EVIL, printer=EVIL, notes=EVIL))
    yield "journal", journal


def test_names_and_notes_are_words_wherever_a_notebook_shows_them(tmp_path):
    seen = 0
    for what, thing in _shown(tmp_path):
        draw = getattr(thing, "_repr_html_", None)
        if draw is not None:
            assert Page(draw()).acts == [], what
            seen += 1
    assert seen >= 5


@pytest.mark.parametrize("title", ["../../../x", "/etc/x", "..", "a/../../b", "C:\\x"])
def test_no_title_leads_out_of_the_folder_for_files(write, tmp_path, title):
    from fitkit.make import make

    before = set(tmp_path.rglob("*"))
    path = write(title=title)
    made = make(path)
    assert made.folder.resolve().parent == (tmp_path / "made").resolve()
    for new in set(tmp_path.rglob("*")) - before - {path, tmp_path / "readings.csv"}:
        assert new.relative_to(tmp_path).parts[0] in ("made", "journal"), new


def test_a_sheet_can_overwrite_no_file_that_is_there(write, tmp_path):
    """Its folders may be anywhere, but all that is written has a new name with the trace code."""
    from fitkit.make import make

    home = tmp_path / "home"
    home.mkdir()
    kept = {name: f"my {name}" for name in ("spacer.html", "spacer-spacer.stl", ".profile")}
    for name, text in kept.items():
        (home / name).write_text(text, encoding="utf-8")
    made = make(write(folder="home", journal="home"))
    assert made.folder.parent == home
    assert made.code.lower() in made.folder.name
    for name, text in kept.items():
        assert (home / name).read_text(encoding="utf-8") == text


def test_a_sheet_whose_journal_is_a_file_is_refused(write, tmp_path):
    from fitkit.make import make

    (tmp_path / "precious").write_text("x", encoding="utf-8")
    with pytest.raises(FitkitError, match="precious"):
        make(write(journal="precious"))
    assert (tmp_path / "precious").read_text(encoding="utf-8") == "x"


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs a device that never ends")
def test_devices_and_pipes_are_refused_where_a_file_is_meant(tmp_path):
    from fitkit.calibration import load_profile
    from fitkit.checks import load_material
    from fitkit.readings import load_instruments

    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    for load in (ReadingTable.read, load_sheet, load_instruments, load_material, load_profile):
        for path in ("/dev/zero", pipe, tmp_path):
            with pytest.raises(FitkitError, match="not a plain file"):
                load(path)


@pytest.mark.parametrize("opening", ["[", "{a="])
def test_brackets_without_end_are_refused(tmp_path, opening):
    from fitkit.calibration import load_profile
    from fitkit.checks import load_material
    from fitkit.readings import load_instruments

    path = tmp_path / "deep.toml"
    path.write_text("a = " + opening * 100_000, encoding="utf-8")
    for load in (load_sheet, load_instruments, load_material, load_profile):
        with pytest.raises(FitkitError, match="nested too deep"):
            load(path)


def workbook(path: Path, sheet: str, *, shared: str = "") -> Path:
    """Write a workbook's bare bones around a sheet's XML."""
    head = '<?xml version="1.0"?>'
    space = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    links = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    rels = 'xmlns="http://schemas.openxmlformats.org/package/2006/relationships"'
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts = {
        "[Content_Types].xml": f"{head}<Types "
        'xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/xl/s.xml" ContentType="{kinds}.worksheet+xml"/></Types>',
        "_rels/.rels": f'{head}<Relationships {rels}><Relationship Id="r" Target="xl/workbook.xml" '
        f'Type="{links}/officeDocument"/></Relationships>',
        "xl/workbook.xml": f'{head}<workbook {space} xmlns:r="{links}"><sheets>'
        '<sheet name="s" sheetId="1" r:id="r"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f"{head}<Relationships {rels}>"
        f'<Relationship Id="r" Target="s.xml" Type="{links}/worksheet"/></Relationships>',
        "xl/s.xml": f"{head}{shared}<worksheet {space}><sheetData>{sheet}</sheetData></worksheet>",
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return path


def cell(place: str, text: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>{text}</t></is></c>'


HEAD = f'<row r="1">{cell("A1", "feature")}{cell("B1", "reading")}</row>'


def test_the_bare_workbook_is_one_that_reads(tmp_path):
    rows = f'{HEAD}<row r="2">{cell("A2", "a")}{cell("B2", "3.1 mm")}</row>'
    assert ReadingTable.read(workbook(tmp_path / "a.xlsx", rows)).features() == ("a",)


def test_a_workbook_that_unpacks_without_bound_is_refused(tmp_path):
    path = workbook(tmp_path / "a.xlsx", HEAD + " " * 60_000_000)
    assert path.stat().st_size < 100_000
    with pytest.raises(ReadingError, match="unpacks to more than 20 MB"):
        ReadingTable.read(path)


def test_a_stray_cell_in_the_last_corner_is_refused(tmp_path):
    path = workbook(tmp_path / "a.xlsx", f'{HEAD}<row r="1048576">{cell("XFD1048576", "x")}</row>')
    with pytest.raises(ReadingError, match="Delete the stray cells far from the table"):
        ReadingTable.read(path)


def test_entities_that_multiply_are_refused(tmp_path):
    names = [f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10)]
    doctype = f'<!DOCTYPE w [<!ENTITY e0 "lol">{"".join(names)}]>'
    rows = f'{HEAD}<row r="2">{cell("A2", "&e9;")}{cell("B2", "3 mm")}</row>'
    with pytest.raises(ReadingError, match=r"is not a \.xlsx workbook"):
        ReadingTable.read(workbook(tmp_path / "a.xlsx", rows, shared=doctype))


def test_an_entity_cannot_bring_in_another_file(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("s3cret", encoding="utf-8")
    doctype = f'<!DOCTYPE w [<!ENTITY f SYSTEM "{secret.as_uri()}">]>'
    rows = f'{HEAD}<row r="2">{cell("A2", "a&f;")}{cell("B2", "3 mm")}</row>'
    path = workbook(tmp_path / "a.xlsx", rows, shared=doctype)
    try:
        names = ReadingTable.read(path).features()
    except ReadingError as error:
        names = (str(error),)
    assert "s3cret" not in " ".join(names)
