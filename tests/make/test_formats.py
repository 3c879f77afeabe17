"""A file format is one row in one table: sheets, makes, reprints and lessons ask that table."""

import pytest

from fitkit.core.errors import FaultList, InputError
from fitkit.export import Format, format_named, formats, register_format, usual_formats
from fitkit.export.formats import _known
from fitkit.flow.sheet import load_sheet
from fitkit.journal import Journal
from fitkit.make import make, reprint
from fitkit.views.lessons import made_files

SHEET = """\
schema = 1
title = "foot"
template = "spacer"
journal = "journal"
[printer]
generic = "PETG"
[outputs]
files = [{files}]
"""


def _list_of_bodies(job):
    path = job.folder / f"{job.stem}.txt"
    lines = [f"{name}: {mesh.volume():.1f} mm³" for name, mesh in job.meshes.items()]
    path.write_text("\n".join([job.metadata["TraceCode"], *lines]), encoding="utf-8")
    return [path]


LIST = Format(
    name="list",
    suffix=".txt",
    purpose="names and volumes of the bodies",
    of="meshes",
    write=_list_of_bodies,
)


@pytest.fixture
def listed():
    """Add a format of one's own for a while."""
    yield register_format(LIST)
    del _known["list"]


def sheet(folder, *names):
    path = folder / "foot.toml"
    path.write_text(SHEET.format(files=", ".join(f'"{name}"' for name in names)), encoding="utf-8")
    return path


def test_a_format_from_outside_is_made_and_made_again(tmp_path, listed):
    made = make(sheet(tmp_path, "list", "stl"), into=tmp_path / "made")
    by_suffix = {path.suffix: path for path in made.files}
    assert set(by_suffix) == {".stl", ".txt"}
    code, first = by_suffix[".txt"].read_text(encoding="utf-8").splitlines()
    assert code == made.code
    assert first.endswith(" mm³")
    assert made_files(made.folder)[by_suffix[".txt"].name] == "names and volumes of the bodies"
    record = Journal(tmp_path / "journal").print_of(made.code)
    assert set(record.sheet["outputs"]["files"]) == {"list", "stl"}
    again = reprint(record, tmp_path / "again")
    assert {path.name for path in again.files} == {path.name for path in made.files}
    text = (again.folder / by_suffix[".txt"].name).read_text(encoding="utf-8")
    assert text == f"{made.code}\n{first}"


def test_a_record_whose_sheet_names_no_files_is_made_again_in_the_formats_it_holds(
    tmp_path, listed
):
    made = make(sheet(tmp_path, "list"), into=tmp_path / "made")
    record = Journal(tmp_path / "journal").print_of(made.code)
    without = record.model_copy(
        update={"sheet": {k: v for k, v in record.sheet.items() if k != "outputs"}}
    )
    again = reprint(without, tmp_path / "again")
    assert [path.suffix for path in again.files] == [".txt"]


def test_a_sheet_is_told_which_formats_there_are(tmp_path):
    with pytest.raises(FaultList) as caught:
        load_sheet(sheet(tmp_path, "stl", "stp"))
    (fault,) = caught.value
    assert (fault.path, fault.code) == ("outputs.files.1", "export.no-such-format")
    assert "'stp' is not a file format" in fault.what
    there = "3mf, step, stl, sheet, drawing, dxf, view"
    assert fault.remedy == f"Did you mean 'step'? There are: {there}."


def test_a_sheet_that_names_no_files_gets_the_usual_ones(tmp_path, listed):
    assert usual_formats() == ("3mf", "step", "stl", "sheet")
    path = sheet(tmp_path)
    path.write_text(path.read_text().partition("[outputs]")[0])
    assert load_sheet(path).outputs.files == usual_formats()


def test_each_format_says_what_it_is_for_and_has_an_ending_of_its_own():
    assert all(one.purpose and one.of in ("meshes", "solids", "page") for one in formats())
    assert len({one.suffix for one in formats()}) == len(formats())
    with pytest.raises(InputError) as caught:
        register_format(Format(name="x", suffix="txt", purpose="x", of="meshes", write=LIST.write))
    assert caught.value.code == "export.suffix"
    with pytest.raises(InputError):
        format_named("x")
