"""A mirrored part from its sheet to its record, and made the same again from there."""

import trimesh

from fitkit.flow import build, load_sheet, prepare
from fitkit.journal import Journal
from fitkit.make import make, make_plates, reprint
from fitkit.solids import tessellate

SHEET = """schema = 1
title = "side bracket"
template = "bracket"
[printer]
generic = "PETG"
[values]
label = "LEFT"
[outputs]
files = ["stl"]
"""


def meshed(part):
    made = tessellate(part.body("bracket").solid)
    return trimesh.Trimesh(made.vertices, made.triangles, process=False)


def test_a_mirrored_sheet_is_made_and_reprinted_as_its_mirror_image(tmp_path):
    from fitkit.workshop import begin_workshop

    begin_workshop(tmp_path)
    path = tmp_path / "bracket.toml"
    path.write_text(SHEET)
    plain = load_sheet(path)
    assert "mirrored" not in plain.content()
    sheet = plain.changed(mirrored=True)
    made = make(sheet)
    record = Journal(made.record.parent).get(made.code)
    assert record.sheet["mirrored"] is True
    # Of an L that lies to the right, the mirror image lies to the left.
    there, other = meshed(build(prepare(plain, label="X"))), meshed(made.part)
    assert there.center_mass[0] > 1
    assert abs(other.center_mass[0] + there.center_mass[0]) < 0.05
    assert made.part.dimensions
    again = reprint(record, tmp_path / "again")
    (first,) = (p for p in made.files if p.suffix == ".stl")
    (second,) = (p for p in again.files if p.suffix == ".stl")
    assert first.read_bytes() == second.read_bytes()


def test_a_pair_has_two_trace_codes(tmp_path):
    from fitkit.workshop import begin_workshop

    begin_workshop(tmp_path)
    path = tmp_path / "bracket.toml"
    path.write_text(SHEET)
    sheet = load_sheet(path)
    job = make_plates([sheet, sheet.changed(mirrored=True)])
    records = Journal(sheet.journal_folder).records()
    assert sorted(bool(one.sheet.get("mirrored")) for one in records) == [False, True]
    assert len({one.code for one in records}) == 2
    assert len(job.plates) == 1
